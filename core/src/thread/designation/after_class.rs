//! What the systems other than Unified and metric let follow their class.

use super::tail::Allowed;
use crate::units::Unit;

/// After an inch class such as `2G`.
pub(super) const INCH: Allowed = Allowed {
    unit: Unit::Inch,
    engagement: false,
    gauging: false,
    expected: "starts as in (2 STARTS), LH or the end",
};

/// After a metric class such as `7e`.
pub(super) const METRIC: Allowed = Allowed {
    unit: Unit::Millimetre,
    engagement: false,
    gauging: false,
    expected: "starts as in (2 STARTS), LH or the end",
};

/// Where there is only one start, or where starts were said before.
pub(super) const HAND_ONLY: Allowed = Allowed {
    unit: Unit::Millimetre,
    engagement: false,
    gauging: false,
    expected: "LH or the end",
};
