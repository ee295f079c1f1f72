//! How the statistics of a job are worked out, as the page's address says it: so that a link says it too.
//!
//! | name | what it chooses |
//! | --- | --- |
//! | `chart` | `individuals` (left out), `groups`, `short-runs` |
//! | `rules` | `usual` (left out), `nelson`, `western-electric`; some of them by number, `nelson:1,2=8` |
//! | `shape` | how pieces scatter: `log-normal`, `weibull`, `folded-normal`, `as-read`; left out: normally |
//! | `freeze` | limits from so many pieces, or groups, at the start (of each phase) |
//! | `freeze_to` | limits from the pieces up to this one |
//! | `phase` | again and again: `wires`, `instrument`, `zero`, `method`, `operator`, `job`, `remark` |
//! | `remark` | the word that a remark must hold to begin a phase; left out: `tool` |
//! | `breaks` | lines of a piece's number and what changed: a phase begins there |
//! | `by` | groups of `count` (left out) pieces, or of those of an `hour`, a `shift`, a `day` |
//! | `size` | how many pieces are a group; left out: 5 |
//! | `shifts` | when shifts begin: `06:00 14:00 22:00` (left out) |
//! | `spread` | of groups: `range`, `deviation`; left out: what fits |
//! | `with` | again and again: another thread for short runs, as `JOB, FEATURE` |
//! | `ewma` | the weighted average: weight and limits; left out: `0.2,2.962` |
//! | `cusum` | the cumulative sums: allowance and limit, `half` for a head start; left out: `0.5,5` |
//! | `target` | what both go by: `middle` of the limits, or a size in the unit shown; left out: the centre line |
//! | `sigma` | `own`: deviations of short runs are counted in their thread's sigma too |

use std::str::FromStr;

use overwire_core::stats::capability::Shape;
use overwire_core::stats::cusum::CusumSettings;
use overwire_core::stats::ewma::EwmaSettings;
use overwire_core::stats::run_rules::{RulesError, RunRules};
use overwire_core::stats::small_shifts::ShiftSettingsError;
use overwire_core::units::Unit;

use crate::chart::MarkKind;
use crate::findings::changes::Changing;
use crate::findings::groups::Spread;
use crate::findings::process::{Break, Freeze, Scatter, Target, Watch};
use crate::register::forms::Refusals;

/// What is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charted {
    /// Piece by piece.
    Individuals,
    /// Groups of pieces.
    Groups(Grouping),
    /// Deviations of several threads.
    ShortRuns,
}

/// Which pieces are a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grouping {
    /// So many, one after another.
    Count(usize),
    /// Those of an hour.
    Hour,
    /// Those of a shift.
    Shift,
    /// Those of a day.
    Day,
}

/// Everything that can be chosen.
#[derive(Debug, Clone)]
pub struct Choices {
    /// What is charted.
    pub charted: Charted,
    /// Run rules.
    pub rules: RunRules,
    /// How pieces scatter.
    pub scatter: Option<Scatter>,
    /// Which pieces limits come from.
    pub freeze: Freeze,
    /// What begins a phase when it changes.
    pub changing: Vec<Changing>,
    /// The word of a remark that begins a phase.
    pub remark: Option<String>,
    /// Phases that a person names.
    pub breaks: Vec<Break>,
    /// When shifts begin, in minutes of the day, in order.
    pub shifts: Vec<i64>,
    /// Which spread of groups.
    pub spread: Spread,
    /// How small shifts are looked for; a target that is a size is in the unit shown.
    average: EwmaSettings,
    sums: CusumSettings,
    target: Aim,
    /// Other threads of short runs.
    pub with: Vec<String>,
    /// Whether deviations are counted in sigma in any case.
    pub standardised: bool,
}

/// What was said in the address.
pub struct Said<'a>(pub &'a [(String, String)]);

impl Said<'_> {
    /// The first value of a name; empty where it was not said.
    pub fn text(&self, name: &str) -> &str {
        self.each(name).next().unwrap_or_default()
    }

    /// Every value of a name that is not empty.
    pub fn each(&self, name: &str) -> impl Iterator<Item = &str> {
        let named = self.0.iter().filter(move |(known, _)| known == name);
        named
            .map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
    }
}

/// Most characters of a word or a name of a change.
const LONGEST: usize = 80;

impl Choices {
    /// Reads them.
    ///
    /// # Errors
    /// A sentence for each that is not understood.
    pub fn read(said: &Said<'_>) -> Result<Choices, Refusals> {
        let mut refusals = Refusals::default();
        super::refuse_unknown(said, &mut refusals);
        let charted = charted(said, &mut refusals);
        let (changing, remark) = phases(said, &mut refusals);
        let choices = Choices {
            rules: rules(said.text("rules"), &mut refusals),
            scatter: scatter(said.text("shape"), &mut refusals),
            freeze: freeze(said, &mut refusals),
            breaks: breaks(said.text("breaks"), &mut refusals),
            shifts: shifts(said.text("shifts"), &mut refusals),
            spread: spread(said.text("spread"), &mut refusals),
            average: settings(said, "ewma", &mut refusals),
            sums: settings(said, "cusum", &mut refusals),
            target: target(said.text("target"), &mut refusals),
            with: said.each("with").map(str::to_owned).collect(),
            standardised: standardised(said.text("sigma"), &mut refusals),
            charted,
            changing,
            remark,
        };
        if choices.charted != Charted::Individuals {
            refuse_shifts(said, &mut refusals);
        }
        if choices.charted == Charted::ShortRuns {
            choices.refuse_what_short_runs_lack(&mut refusals);
        }
        refusals.into_result().map(|()| choices)
    }

    /// Whether phases were asked for.
    pub fn in_phases(&self) -> bool {
        !self.changing.is_empty() || self.remark.is_some() || !self.breaks.is_empty()
    }

    /// How small shifts are looked for, where lengths are shown in a unit.
    pub fn watch(&self, unit: Unit) -> Watch {
        Watch {
            average: self.average,
            sums: self.sums,
            target: match self.target {
                Aim::Centre => Target::Centre,
                Aim::Middle => Target::Middle,
                Aim::Size(size) => Target::At(size * unit.mm_per_unit()),
            },
        }
    }

    fn refuse_what_short_runs_lack(&self, refusals: &mut Refusals) {
        let not = "Not of short runs: chart pieces or groups, or leave this out.";
        if self.in_phases() {
            refusals.note("phase", not);
        }
        if self.freeze != Freeze::Never {
            refusals.note("freeze", not);
        }
        if self.scatter.is_some() {
            refusals.note("shape", "Not of short runs: they have no limits in common.");
        }
    }
}

/// What small shifts are shifts from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Aim {
    Centre,
    Middle,
    /// In the unit shown.
    Size(f64),
}

/// Small shifts are looked for among single pieces only.
fn refuse_shifts(said: &Said<'_>, refusals: &mut Refusals) {
    for name in ["ewma", "cusum", "target"] {
        if !said.text(name).is_empty() {
            refusals.note(
                name,
                "Of single pieces only: chart those, or leave this out.",
            );
        }
    }
}

/// Settings of a chart for small shifts; the usual ones where nothing was said.
fn settings<Settings>(said: &Said<'_>, name: &str, refusals: &mut Refusals) -> Settings
where
    Settings: FromStr<Err = ShiftSettingsError> + Default,
{
    match said.text(name) {
        "" => Settings::default(),
        text => text.parse().unwrap_or_else(|error: ShiftSettingsError| {
            let found: String = error.found.chars().take(LONGEST).collect();
            refusals.note(name, format!("Say {}; `{found}` is not.", error.wanted));
            Settings::default()
        }),
    }
}

fn target(text: &str, refusals: &mut Refusals) -> Aim {
    match (text, text.parse()) {
        ("", _) => Aim::Centre,
        ("middle", _) => Aim::Middle,
        (_, Ok(size)) if f64::is_finite(size) => Aim::Size(size),
        _ => {
            let wanted = "Say a size in the unit shown, as 9.026, or middle: that of the limits.";
            refusals.note("target", wanted);
            Aim::Centre
        }
    }
}

fn spread(said: &str, refusals: &mut Refusals) -> Spread {
    match said {
        "range" => return Spread::Range,
        "deviation" => return Spread::Deviation,
        "" => {}
        _ => refusals.note(
            "spread",
            "Say range or deviation, or nothing for what fits.",
        ),
    }
    Spread::Fitting
}

fn standardised(said: &str, refusals: &mut Refusals) -> bool {
    if !["", "own"].contains(&said) {
        refusals.note("sigma", "Say own, or nothing.");
    }
    said == "own"
}

fn charted(said: &Said<'_>, refusals: &mut Refusals) -> Charted {
    match said.text("chart") {
        "" | "individuals" => Charted::Individuals,
        "groups" => Charted::Groups(grouping(said, refusals)),
        "short-runs" => Charted::ShortRuns,
        _ => {
            refusals.note("chart", "Say individuals, groups or short-runs.");
            Charted::Individuals
        }
    }
}

fn grouping(said: &Said<'_>, refusals: &mut Refusals) -> Grouping {
    match said.text("by") {
        "" | "count" => match said.text("size") {
            "" => Grouping::Count(5),
            size => match size.parse() {
                Ok(size @ 2..=100) => Grouping::Count(size),
                _ => {
                    refusals.note("size", "Say 2 to 100 pieces a group.");
                    Grouping::Count(5)
                }
            },
        },
        "hour" => Grouping::Hour,
        "shift" => Grouping::Shift,
        "day" => Grouping::Day,
        _ => {
            refusals.note("by", "Say count, hour, shift or day.");
            Grouping::Day
        }
    }
}

fn rules(text: &str, refusals: &mut Refusals) -> RunRules {
    text.parse().unwrap_or_else(|error: RulesError| {
        refusals.note("rules", format!("{error}."));
        RunRules::usual()
    })
}

fn scatter(text: &str, refusals: &mut Refusals) -> Option<Scatter> {
    match text {
        "" | "normal" => None,
        "log-normal" => Some(Scatter::As(Shape::LogNormal)),
        "weibull" => Some(Scatter::As(Shape::Weibull)),
        "folded-normal" => Some(Scatter::As(Shape::FoldedNormal)),
        "as-read" => Some(Scatter::AsRead),
        _ => {
            let known = "Say log-normal, weibull, folded-normal or as-read, or nothing.";
            refusals.note("shape", known);
            None
        }
    }
}

fn freeze(said: &Said<'_>, refusals: &mut Refusals) -> Freeze {
    match (said.text("freeze"), said.text("freeze_to")) {
        ("", "") => Freeze::Never,
        (count, "") => match count.parse() {
            Ok(count @ 2..=1_000_000) => Freeze::First(count),
            _ => {
                refusals.note("freeze", "Say how many pieces or groups, 2 at least.");
                Freeze::Never
            }
        },
        ("", piece) => match piece.parse() {
            Ok(piece) => Freeze::UpTo(piece),
            Err(_) => {
                refusals.note("freeze_to", "Say the number of a piece.");
                Freeze::Never
            }
        },
        _ => {
            refusals.note(
                "freeze_to",
                "Freeze from so many, or up to a piece; not both.",
            );
            Freeze::Never
        }
    }
}

fn phases(said: &Said<'_>, refusals: &mut Refusals) -> (Vec<Changing>, Option<String>) {
    let (mut changing, mut remark) = (Vec::new(), None);
    for name in said.each("phase") {
        let known = Changing::ALL.iter().find(|(known, _)| *known == name);
        match (known, name) {
            (Some((_, change)), _) => changing.push(*change),
            (None, "remark") => {
                let word = match said.text("remark") {
                    "" => "tool",
                    word => word,
                };
                remark = Some(word.chars().take(LONGEST).collect());
            }
            (None, _) => {
                let known: Vec<&str> = Changing::ALL.iter().map(|(known, _)| *known).collect();
                refusals.note("phase", format!("Say {} or remark.", known.join(", ")));
            }
        }
    }
    (changing, remark)
}

/// A line a change: the number of the first piece after it, and what changed.
fn breaks(text: &str, refusals: &mut Refusals) -> Vec<Break> {
    let mut breaks = Vec::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (piece, name) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let label = match name.trim() {
            "" => "a change",
            name => name,
        };
        match piece.trim_end_matches([':', ',', '=']).parse() {
            Ok(piece) => breaks.push(Break {
                piece,
                kind: MarkKind::Other,
                label: label.chars().take(LONGEST).collect(),
            }),
            Err(_) => {
                let shown: String = line.chars().take(LONGEST).collect();
                let sentence =
                    format!("`{shown}`: begin with the piece's number, as in `41 new insert`.");
                refusals.note("breaks", sentence);
            }
        }
    }
    breaks
}

/// Times of the day, in minutes, in order.
fn shifts(text: &str, refusals: &mut Refusals) -> Vec<i64> {
    let usual = "06:00 14:00 22:00";
    let text = if text.is_empty() { usual } else { text };
    let minutes = |word: &str| -> Option<i64> {
        let (hour, minute) = word.split_once(':').unwrap_or((word, "0"));
        let (hour, minute): (i64, i64) = (hour.parse().ok()?, minute.parse().ok()?);
        let sound = (0..24).contains(&hour) && (0..60).contains(&minute);
        sound.then_some(hour * 60 + minute)
    };
    let words = text.split([' ', ',', ';']).filter(|word| !word.is_empty());
    let found: Option<Vec<i64>> = words.map(minutes).collect();
    let Some(mut found) = found else {
        refusals.note("shifts", "Say when shifts begin: 06:00 14:00 22:00.");
        return Vec::new();
    };
    found.sort_unstable();
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(said: &[(&str, &str)]) -> Result<Choices, Refusals> {
        let said: Vec<(String, String)> = said
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
            .collect();
        Choices::read(&Said(&said))
    }

    #[test]
    fn nothing_said_is_the_usual_and_every_choice_is_understood() {
        let usual = read(&[]).unwrap();
        assert_eq!(usual.charted, Charted::Individuals);
        assert!(!usual.in_phases() && usual.freeze == Freeze::Never && usual.scatter.is_none());
        let phased = read(&[
            ("phase", "wires"),
            ("phase", "remark"),
            ("remark", "insert"),
            ("breaks", "41: new bar\r\n57\r\n"),
            ("freeze", "20"),
            ("shape", "weibull"),
            ("rules", "nelson"),
        ])
        .unwrap();
        assert_eq!(phased.changing, [Changing::Wires]);
        assert_eq!(phased.remark.as_deref(), Some("insert"));
        let named: Vec<(i64, &str)> = phased
            .breaks
            .iter()
            .map(|found| (found.piece, found.label.as_str()))
            .collect();
        assert_eq!(named, [(41, "new bar"), (57, "a change")]);
        assert_eq!(phased.freeze, Freeze::First(20));
        let shifts = read(&[
            ("chart", "groups"),
            ("by", "shift"),
            ("shifts", "22, 6:30 14:00"),
        ]);
        assert_eq!(shifts.unwrap().shifts, [390, 840, 1320]);
        let watched = read(&[
            ("ewma", "0.1,2.7"),
            ("cusum", "0.5, 4, half"),
            ("target", "0.5"),
        ])
        .unwrap()
        .watch(Unit::Inch);
        assert_eq!(
            (watched.average.weight, watched.sums.head_start),
            (0.1, 2.0)
        );
        assert_eq!(watched.target, Target::At(12.7));
        assert_eq!(usual.watch(Unit::Inch), Watch::default());
        let sized = read(&[("chart", "groups"), ("size", "4")]).unwrap();
        assert_eq!(sized.charted, Charted::Groups(Grouping::Count(4)));
    }

    #[test]
    fn what_is_not_understood_is_refused_at_its_field() {
        let cases: [(&[(&str, &str)], &str); 18] = [
            (&[("spread", "sideways")], "spread"),
            (&[("sigma", "theirs")], "sigma"),
            (&[("foo", "bar")], "foo"),
            (&[("rules", "nelson:9")], "rules"),
            (&[("chart", "pie")], "chart"),
            (&[("chart", "groups"), ("size", "1")], "size"),
            (&[("chart", "groups"), ("by", "moon")], "by"),
            (&[("chart", "short-runs"), ("freeze", "20")], "freeze"),
            (&[("chart", "short-runs"), ("breaks", "7")], "phase"),
            (&[("freeze", "1")], "freeze"),
            (&[("freeze", "5"), ("freeze_to", "9")], "freeze_to"),
            (&[("breaks", "soon")], "breaks"),
            (&[("shifts", "25:00")], "shifts"),
            (&[("ewma", "1.5,3")], "ewma"),
            (&[("cusum", "0.5")], "cusum"),
            (&[("target", "soon")], "target"),
            (&[("target", "inf")], "target"),
            (&[("chart", "groups"), ("ewma", "0.1,2.7")], "ewma"),
        ];
        for (said, field) in cases {
            let refusals = read(said).unwrap_err().0;
            assert_eq!(refusals.keys().collect::<Vec<_>>(), [field], "{said:?}");
        }
    }
}
