//! A go gauge, or the mating part, beside the measured pitch diameter: do they say the same of a piece?
//!
//! A go gauge asks one thing: is the thread too large anywhere? It feels the functional diameter, that is the pitch
//! diameter with all that errors of lead and flank angle add to it. So a piece within its limits over wires may
//! rightly not go, while one over its upper limit should never go. That a piece is too small it does not notice.
//! Source: common practice, no source; for kappa see [`Agreement`].

use super::Agreement;
use crate::decimal::format_to;

/// Where the measured pitch diameter of a piece lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasuredSize {
    /// Over the upper limit.
    Over,
    /// Between the limits.
    Within,
    /// Under the lower limit: nothing that a go gauge asks about.
    Under,
}

/// Pieces that were measured and tried.
///
/// ```
/// use overwire_core::study::{GoGauge, MeasuredSize};
/// let pieces = [(MeasuredSize::Over, false), (MeasuredSize::Within, true), (MeasuredSize::Within, false), (MeasuredSize::Under, true)];
/// let found = GoGauge::of(pieces);
/// assert_eq!((found.counts.second_refused, found.under), (1, 1));
/// assert!(found.sentences()[0].starts_with("Of 4 pieces both say the same of 3 (75 %)"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GoGauge {
    /// The measurement first, which refuses what is over the upper limit; the gauge second, which refuses what does
    /// not go.
    pub counts: Agreement,
    /// How many of the pieces are under the lower limit.
    pub under: u32,
}

impl GoGauge {
    /// Counts pieces by where they lie and whether the gauge goes.
    pub fn of(pieces: impl IntoIterator<Item = (MeasuredSize, bool)>) -> GoGauge {
        let mut under = 0_u32;
        let pieces = pieces.into_iter();
        let judged = pieces.inspect(|(measured, _)| {
            under = under.saturating_add(u32::from(*measured == MeasuredSize::Under));
        });
        let counts = Agreement::count(judged.map(|(measured, goes)| {
            let passes = measured != MeasuredSize::Over;
            (passes, goes)
        }));
        GoGauge { counts, under }
    }

    /// What the counts say.
    pub fn sentences(&self) -> Vec<String> {
        let mut sentences = vec![self.agreement_words(), self.kappa_words()];
        sentences.extend(self.miss_words());
        if self.under > 0 {
            let (pieces, count) = match self.under {
                1 => ("1 piece is".to_owned(), "it counts"),
                many => (format!("{many} pieces are"), "they count"),
            };
            sentences.push(format!(
                "{pieces} under the lower limit: a go gauge does not ask about that, so {count} as not over."
            ));
        }
        sentences.push(
            "The two may rightly differ: over wires one groove is felt on each side, a go gauge feels the functional \
             diameter of the whole thread, with what errors of lead and flank angle add to it."
                .to_owned(),
        );
        sentences
    }

    fn agreement_words(&self) -> String {
        let counts = &self.counts;
        let same = counts.both_refused.saturating_add(counts.both_passed);
        let all = counts.pieces();
        match counts.agreement() {
            Ok(share) => format!(
                "Of {} {} both say the same of {same} ({}).",
                format_to(all, 0),
                if all > 1.0 { "pieces" } else { "piece" },
                percent(share)
            ),
            Err(reason) => format!("–: {reason}."),
        }
    }

    fn kappa_words(&self) -> String {
        let number = |kappa: f64| format_to(kappa, 2);
        match (self.counts.kappa(), self.counts.kappa_interval(0.95)) {
            (Ok(kappa), Ok(interval)) => format!(
                "Kappa {}, between {} and {} (95 % sure, by an approximation for many pieces): 0 is what chance \
                 gives, 1 agreement throughout.",
                number(kappa),
                number(interval.low),
                number(interval.high)
            ),
            (Ok(kappa), Err(_)) => format!(
                "Kappa {}, without an interval: where both agree on every piece, or on none, no error can be told.",
                number(kappa)
            ),
            (Err(_), _) => {
                "Kappa –: both say one and the same of all pieces, which chance would give too."
                    .to_owned()
            }
        }
    }

    /// Misses and false alarms, the measurement taken for the truth.
    fn miss_words(&self) -> [String; 2] {
        let Agreement {
            both_refused,
            first_refused,
            second_refused,
            both_passed,
        } = self.counts;
        let missed = match self.counts.missed() {
            Ok(share) => format!(
                "Of {} measured over the upper limit the gauge lets {first_refused} go (misses, {}).",
                both_refused.saturating_add(first_refused),
                percent(share)
            ),
            Err(_) => "Misses –: no piece is measured over the upper limit.".to_owned(),
        };
        let alarms = match self.counts.false_alarms() {
            Ok(share) => format!(
                "Of {} not over it the gauge refuses {second_refused} (false alarms where the measurement is the \
                 truth, {}).",
                both_passed.saturating_add(second_refused),
                percent(share)
            ),
            Err(_) => "False alarms –: every piece is measured over the upper limit.".to_owned(),
        };
        [missed, alarms]
    }

    /// What to think of pieces on which the two differ.
    pub fn cautions(&self) -> Vec<String> {
        let refused = (self.counts.second_refused > 0).then_some(
            "Measured not over, and the gauge does not go: to be expected of a thread of poor form, and no fault of \
             the gauge by itself. Look for errors of lead, flank angle, root and crest, for burrs and for dirt.",
        );
        let goes = (self.counts.first_refused > 0).then_some(
            "Measured over the upper limit, and the gauge goes: errors of form cannot do that, they only make a \
             thread feel larger. Is the gauge worn or the wrong one, or did a wire not sit?",
        );
        let told = refused.into_iter().chain(goes);
        told.map(str::to_owned).collect()
    }
}

fn percent(share: f64) -> String {
    format!("{} %", format_to(share * 100.0, 0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use MeasuredSize::{Over, Under, Within};

    fn told(pieces: &[(MeasuredSize, bool)]) -> String {
        let found = GoGauge::of(pieces.iter().copied());
        [found.sentences(), found.cautions()].concat().join("\n")
    }

    /// AIAG's table of two judges (from memory): 44, 6, 3 and 97 of 150, kappa 0.86.
    #[test]
    fn counts_agreement_kappa_misses_and_false_alarms_are_told() {
        let table = [
            ((Over, false), 44),
            ((Over, true), 6),
            ((Within, false), 3),
            ((Within, true), 97),
        ];
        let pieces: Vec<(MeasuredSize, bool)> = table
            .iter()
            .flat_map(|(piece, count)| vec![*piece; *count])
            .collect();
        let told = told(&pieces);
        for part in [
            "Of 150 pieces both say the same of 141 (94 %).",
            "Kappa 0.86, between 0.78 and 0.95",
            "Of 50 measured over the upper limit the gauge lets 6 go (misses, 12 %).",
            "Of 100 not over it the gauge refuses 3",
            "to be expected of a thread of poor form",
            "Is the gauge worn",
        ] {
            assert!(told.contains(part), "{part}: {told}");
        }
        assert!(!told.contains("under the lower limit"), "{told}");
    }

    #[test]
    fn what_cannot_be_had_says_why() {
        let alike = told(&[(Within, true), (Under, true)]);
        for part in [
            "both say the same of 2 (100 %)",
            "Kappa –: both say one and the same",
            "Misses –: no piece is measured over",
            "1 piece is under the lower limit",
        ] {
            assert!(alike.contains(part), "{part}: {alike}");
        }
        assert!(
            !alike.contains("poor form") && !alike.contains("worn"),
            "{alike}"
        );
        let parted = told(&[(Within, true), (Over, false)]);
        assert!(
            parted.contains("Kappa 1.00, without an interval"),
            "{parted}"
        );
        let over = told(&[(Over, false)]);
        assert!(
            over.contains("Of 1 piece both") && over.contains("False alarms –"),
            "{over}"
        );
        assert!(told(&[]).starts_with("–: needs 1 piece"), "{}", told(&[]));
    }
}
