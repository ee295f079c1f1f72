//! How a thread is to be gauged, as a Unified designation may say in brackets.

/// A gauging system of ASME B1.3, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GaugingSystem {
    /// 21: go and not-go gauges decide.
    TwentyOne,
    /// 22: the pitch diameter is measured as well.
    TwentyTwo,
    /// 23: lead, flank angles and roundness are measured as well.
    TwentyThree,
}

impl GaugingSystem {
    /// The system of this number; `None` when there is none.
    pub const fn from_number(number: u32) -> Option<GaugingSystem> {
        match number {
            21 => Some(GaugingSystem::TwentyOne),
            22 => Some(GaugingSystem::TwentyTwo),
            23 => Some(GaugingSystem::TwentyThree),
            _ => None,
        }
    }

    /// Its number.
    pub const fn number(self) -> u32 {
        match self {
            GaugingSystem::TwentyOne => 21,
            GaugingSystem::TwentyTwo => 22,
            GaugingSystem::TwentyThree => 23,
        }
    }

    /// What it asks for, in one sentence.
    pub const fn sentence(self) -> &'static str {
        match self {
            GaugingSystem::TwentyOne => {
                "Gauging system 21: go and not-go gauges decide, not the pitch diameter over wires."
            }
            GaugingSystem::TwentyTwo => {
                "Gauging system 22: the pitch diameter is measured beside the go gauge."
            }
            GaugingSystem::TwentyThree => {
                "Gauging system 23: beside pitch diameter and go gauge, lead, flank angles and \
                 roundness are measured."
            }
        }
    }
}
