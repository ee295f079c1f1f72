//! What a station shows of its measuring, beside the reading: the zero check, the next pass, how well the
//! pitch diameter is known, what the usual formulas would have said, what a doubtful reading may come from.

use std::collections::VecDeque;
use std::sync::Arc;

use overwire_config::LatheSettings;
use overwire_core::compression::recommended_force;
use overwire_core::cutting::{Advice, Learned, NextPass, passes_at, usual_noise};
use overwire_core::decimal::{Decimal, MOST_PLACES, format_to};
use overwire_core::diagnosis::{Diagnosis, Expected, Question, UnitFrom, diagnose};
use overwire_core::form::{Form, Placed, Position};
use overwire_core::holding::{Held, lift};
use overwire_core::judge::{Judge, Purpose};
use overwire_core::suitability::{Profile, box_constants, suitability, usual_formulas};
use overwire_core::uncertainty::{Budget, Shown};
use overwire_core::units::{Length, Unit};
use overwire_core::zero_check::ZeroStanding;
use serde::Serialize;

use super::unit_of;
use crate::clock::iso;
use crate::record::grounds::ZeroNote;
use crate::record::standing::Standing;
use crate::record::{Flags, Judged};
use crate::register::{Prepared, Register};
use crate::station::passes;

/// Most explanations shown of one reading.
const MOST_CAUSES: usize = 3;

/// The zero check of a station.
#[derive(Debug, Clone, Serialize)]
pub struct ZeroView {
    /// `within`, `off_by`, `old`, `clock_went_back` or `missing`.
    pub state: &'static str,
    /// One sentence.
    pub sentence: String,
    /// When the last one was made.
    pub at: Option<String>,
    /// Whether the shop asks for one.
    pub asked_for: bool,
}

impl ZeroView {
    /// Of where the last check stands, in a unit.
    pub fn of(
        standing: &ZeroStanding,
        note: Option<&ZeroNote>,
        hours: u32,
        utc_offset_s: i32,
        unit: Unit,
    ) -> ZeroView {
        let places = fine_places(unit);
        let off = note.map(|note| {
            let off = Length::from_mm(note.off_mm).unwrap_or(Length::ZERO);
            off_words(off, unit, places)
        });
        let sentence = match (standing, off) {
            (ZeroStanding::Within { .. }, Some(off)) => {
                format!("{} It was {off}.", standing.sentence(unit, places))
            }
            _ => standing.sentence(unit, places),
        };
        ZeroView {
            state: standing.code(),
            sentence,
            at: note.map(|note| iso(note.at_us, utc_offset_s)),
            asked_for: hours > 0,
        }
    }
}

fn off_words(off: Length, unit: Unit, places: u8) -> String {
    let text = off.abs().to_text(unit, places);
    if off.mm().abs() < 5e-6 {
        "right".to_owned()
    } else if off > Length::ZERO {
        format!("{text} high")
    } else {
        format!("{text} low")
    }
}

/// Places for small amounts: 0.00001 in, 0.0001 mm.
pub fn fine_places(unit: Unit) -> u8 {
    match unit {
        Unit::Inch => 5,
        Unit::Millimetre => 4,
    }
}

/// Places for a size on a dial: 0.0001 in, 0.001 mm.
fn size_places(unit: Unit) -> u8 {
    fine_places(unit) - 1
}

/// What to cut next.
#[derive(Debug, Clone, Serialize)]
pub struct CutView {
    /// `cut`, `below_the_dial`, `at_size` or `already_under`.
    pub advice: &'static str,
    /// One sentence.
    pub sentence: String,
    /// `cross_slide` or `compound`.
    pub slide: &'static str,
    /// The figure to dial, in the dial's own numbers; none where it is not known or nothing is to be cut.
    pub dial: Option<String>,
    /// In-feed square to the axis.
    pub radial: Option<String>,
    /// What is left after it.
    pub leaves: Option<String>,
    /// What to know, in sentences.
    pub notes: Vec<String>,
    /// What was told to be dialled for the next pass.
    pub dialled: Option<String>,
}

/// What next-pass advice is made from.
#[derive(Debug, Clone)]
pub struct CutGround {
    /// The lathe.
    pub lathe: LatheSettings,
    /// What it did so far.
    pub learned: Option<Learned>,
    /// What was dialled.
    pub dialled: Option<String>,
}

impl CutView {
    /// After a reading between passes; none where there is nothing to go by.
    pub fn of(
        prepared: &Prepared,
        last: &Standing,
        ground: &CutGround,
        unit: Unit,
    ) -> Option<CutView> {
        let judged = &last.reading.judged;
        let own = last
            .reading
            .tags
            .job
            .as_ref()
            .is_some_and(|job| *job.name == *prepared.job.name)
            && last.reading.tags.feature.as_deref() == Some(&*prepared.feature);
        let cutting = last.reading.tags.purpose == Purpose::Cutting.code();
        if !own || !cutting || !last.counts() || judged.held.is_some() || judged.seat != "ok" {
            return None;
        }
        let size = Length::from_mm(judged.pitch_diameter_mm?).ok()?;
        let board = passes::next(&prepared.thread, size, &ground.lathe, ground.learned)?;
        let places = size_places(unit);
        let pass = match &board.advice {
            Advice::Cut(pass) => Some(pass),
            _ => None,
        };
        let mut notes = pass
            .map(|pass| pass_notes(pass, unit, places))
            .unwrap_or_default();
        notes.extend(board.learned.map(|learned| learned.sentence()));
        notes.extend(passes_to_come(&board.advice, judged, &ground.lathe, unit));
        let text = |length: Length| format_to(length.in_unit(unit), places);
        Some(CutView {
            advice: board.advice.code(),
            sentence: board.advice.sentence(unit, places),
            slide: board.slide.code(),
            dial: pass.and_then(|pass| pass.in_feed.dial.ok()).map(text),
            radial: pass.map(|pass| text(pass.in_feed.radial)),
            leaves: pass.map(|pass| text(pass.leaves)),
            notes,
            dialled: ground.dialled.clone(),
        })
    }
}

/// How many passes of the shop's depth it takes to the middle, where more than one.
fn passes_to_come(
    advice: &Advice,
    judged: &Judged,
    lathe: &LatheSettings,
    unit: Unit,
) -> Option<String> {
    let deepest = lathe.deepest?;
    let middle = (judged.limit_min_mm? + judged.limit_max_mm?) / 2.0;
    let left = Length::from_mm(judged.pitch_diameter_mm? - middle).ok()?;
    let passes = passes_at(left, deepest * 0.5).ok()?;
    let several = matches!(advice, Advice::Cut(_)) && passes.count > 1;
    several.then(|| {
        let depth = deepest.to_text(unit, size_places(unit));
        format!(
            "{} passes of {depth} on diameter would reach the middle.",
            passes.count
        )
    })
}

fn pass_notes(pass: &NextPass, unit: Unit, places: u8) -> Vec<String> {
    let spring = pass
        .spring
        .iter()
        .map(|spring| spring.sentence(unit, places));
    let warnings = pass
        .warnings
        .iter()
        .map(|warning| warning.sentence(unit, places));
    spring.chain(warnings).collect()
}

/// How well the pitch diameter is known.
#[derive(Debug, Clone, Serialize)]
pub struct TrustView {
    /// Expanded uncertainty.
    pub uncertainty: Option<String>,
    /// One sentence: the uncertainty, or what keeps it from being known.
    pub sentence: String,
    /// The budget, largest contribution first.
    pub rows: Vec<BudgetRow>,
    /// The decision rule, in a sentence.
    pub rule: Option<String>,
    /// Inside these a pitch diameter passes by the rule.
    pub accept: Option<super::LimitsView>,
}

/// One line of the budget.
#[derive(Debug, Clone, Serialize)]
pub struct BudgetRow {
    /// What contributes.
    pub source: String,
    /// How it is known.
    pub spread: &'static str,
    /// What it contributes to the pitch diameter, one standard deviation.
    pub contribution: String,
    /// Its share of the whole, percent.
    pub share: u32,
}

impl TrustView {
    /// Of what a feature is judged by; none where the shop makes no budget and asks for no rule.
    pub fn of(prepared: &Prepared) -> Option<TrustView> {
        let unit = prepared.unit;
        let acceptance = prepared.judge.as_ref().and_then(Judge::acceptance);
        let sentence = match (&prepared.trust.budget, &prepared.trust.problem) {
            (Some(budget), _) => budget.uncertainty.sentence(unit),
            (None, Some(problem)) => problem.clone(),
            (None, None) => return None,
        };
        let places = fine_places(unit);
        let expanded = |budget: &Budget| {
            Shown::of(budget.uncertainty.expanded(), unit, MOST_PLACES).to_string()
        };
        let bounds = acceptance.and_then(|acceptance| acceptance.acceptance_limits());
        Some(TrustView {
            uncertainty: prepared.trust.budget.as_ref().map(expanded),
            sentence,
            rows: prepared
                .trust
                .budget
                .as_ref()
                .map(|budget| rows(budget, unit))
                .unwrap_or_default(),
            rule: acceptance.map(|acceptance| acceptance.rule().sentence()),
            accept: bounds.map(|bounds| super::LimitsView {
                min: format_to(bounds.lower.in_unit(unit), places),
                max: format_to(bounds.upper.in_unit(unit), places),
            }),
        })
    }
}

fn rows(budget: &Budget, unit: Unit) -> Vec<BudgetRow> {
    let mut rows: Vec<_> = budget.rows.iter().collect();
    rows.sort_by(|one, other| other.share.total_cmp(&one.share));
    rows.into_iter()
        .map(|row| BudgetRow {
            source: row.source.words(),
            spread: row.spread.words(),
            contribution: row.contribution.to_text(unit, fine_places(unit) + 1),
            share: (row.share * 100.0).round() as u32,
        })
        .collect()
}

/// The thread over these wires, in sentences: constants, what other formulas say, suitability, force, holding.
pub fn about_wires(prepared: &Prepared) -> Vec<String> {
    let Some(judge) = &prepared.judge else {
        return Vec::new();
    };
    let mut said = about(judge, prepared.unit);
    said.extend(force_compared(prepared));
    said
}

/// How the instrument's force compares with what is recommended, where it is not near it.
fn force_compared(prepared: &Prepared) -> Option<String> {
    let own = prepared.measuring.facts.force?.newtons();
    let recommended = recommended_force(prepared.thread.geometry.pitch);
    let wanted = recommended.force.newtons();
    let off = own / wanted - 1.0;
    (off.abs() > recommended.within).then(|| {
        format!(
            "This instrument presses with {} N, {} % {} than recommended.",
            format_to(own, 1),
            format_to(off.abs() * 100.0, 0),
            if off > 0.0 { "more" } else { "less" }
        )
    })
}

/// The same of a judge.
pub fn about(judge: &Judge, unit: Unit) -> Vec<String> {
    let (thread, wires) = (judge.thread(), judge.wires());
    let geometry = &thread.geometry;
    let places = fine_places(unit);
    let (smallest, largest) = thread.pitch_diameter_zone();
    let middle = (smallest + largest) * 0.5;
    let mut said = Vec::new();
    if let Ok(constants) = box_constants(geometry, wires, middle) {
        said.push(constants.sentence(unit, places));
    }
    if let Ok(seated) = overwire_core::helix::over_wires(geometry, wires, middle)
        && let Ok(usual) = usual_formulas(geometry, wires, seated.over_wires)
    {
        let reading = seated.over_wires.to_text(unit, places);
        said.push(format!(
            "For {reading} over wires: {}",
            usual.sentence(unit, places + 1)
        ));
    }
    let profile = Profile::sharp(geometry);
    if let Ok(found) = suitability(geometry, &profile, wires, smallest, largest) {
        said.push(found.sentence(unit, places));
    }
    said.push(recommended_force(geometry.pitch).sentence());
    if let Ok(lift) = lift(geometry, wires, middle, Held::Square) {
        said.push(format!(
            "Held square to the axis: {}",
            lift.sentence(unit, places)
        ));
    }
    said
}

/// What a doubtful reading may come from, the likeliest first; nothing for one that is in no doubt.
pub fn causes(
    prepared: Option<&Prepared>,
    last: Option<&Standing>,
    before: Option<Length>,
    station_unit: Unit,
    register: &Register,
) -> Vec<String> {
    let (Some(prepared), Some(last)) = (prepared, last) else {
        return Vec::new();
    };
    let judged = &last.reading.judged;
    let strange = judged.held.is_some() || judged.flags.any(Flags::OUT_OF_WINDOW);
    let named = judged.flags.any(Flags::EMPTY | Flags::CLOSED_JAWS);
    let unseated = judged.seat != "ok" && !judged.seat.is_empty();
    let doubtful = !named && (strange || unseated);
    let Some(judge) = prepared
        .judge
        .as_ref()
        .filter(|_| doubtful && last.void.is_none())
    else {
        return Vec::new();
    };
    let Some(diagnosis) = explain(judge, prepared, last, before, station_unit, register) else {
        return Vec::new();
    };
    let unit = unit_of(last.reading.unit);
    let places = size_places(unit);
    let told: Vec<String> = diagnosis
        .explaining()
        .take(MOST_CAUSES)
        .map(|cause| cause.sentence(unit, places))
        .collect();
    if told.is_empty() && !unseated {
        vec![diagnosis.sentence(unit, places)]
    } else {
        told
    }
}

fn explain(
    judge: &Judge,
    prepared: &Prepared,
    last: &Standing,
    before: Option<Length>,
    station_unit: Unit,
    register: &Register,
) -> Option<Diagnosis> {
    let reading = &last.reading;
    let number = Decimal::parse(&reading.text).ok()?;
    let unit = unit_of(reading.unit);
    let step = number.step(unit).ok()?;
    let tolerance = judge.window().map_or(Length::ZERO, |(min, max)| max - min);
    let (other_sets, other_jobs) = register.alternatives(prepared);
    let cutting = reading.tags.purpose == Purpose::Cutting.code();
    let expected = match before.filter(|_| cutting) {
        Some(before) => Expected::AfterPass {
            before,
            most_cut: None,
        },
        None => Expected::Finished,
    };
    let grounds = reading.judged.grounds();
    Some(diagnose(&Question {
        over_wires: Length::from_mm(reading.judged.over_wires_mm).ok()?,
        judge,
        expected,
        noise: usual_noise(step, tolerance),
        unit: match reading.unit_from {
            crate::record::UnitFrom::Frame => UnitFrom::Reading,
            _ => UnitFrom::Setting(station_unit),
        },
        typed: reading.unit_from == crate::record::UnitFrom::Typed,
        crest: None,
        zero_offset: grounds
            .zero
            .and_then(|zero| Length::from_mm(zero.off_mm).ok()),
        other_sets: &other_sets,
        other_jobs: &other_jobs,
    }))
}

/// Taper and out-of-round of the piece last measured.
#[derive(Debug, Clone, Serialize)]
pub struct FormView {
    /// The piece.
    pub piece: i64,
    /// What the readings tell.
    pub sentence: String,
    /// What to know.
    pub cautions: Vec<&'static str>,
}

impl FormView {
    /// Of the readings of one piece that carry positions; none where they are too few.
    pub fn of(
        recent: &VecDeque<Arc<Standing>>,
        prepared: Option<&Prepared>,
        unit: Unit,
    ) -> Option<FormView> {
        let prepared = prepared?;
        let newest = recent.iter().find(|standing| standing.counts())?;
        let own = &newest.reading.tags;
        let placed: Vec<Placed> = recent
            .iter()
            .filter(|standing| standing.counts())
            .filter(|standing| {
                let tags = &standing.reading.tags;
                tags.job == own.job
                    && tags.feature == own.feature
                    && (tags.piece, tags.attempt) == (own.piece, own.attempt)
                    && tags.purpose == Purpose::Inspecting.code()
            })
            .filter_map(|standing| placed(standing))
            .collect();
        let form = Form::of(&placed, prepared.thread.geometry.starts).ok()?;
        Some(FormView {
            piece: own.piece,
            sentence: form.sentence(unit, size_places(unit)),
            cautions: form
                .cautions
                .iter()
                .map(|caution| caution.sentence())
                .collect(),
        })
    }
}

fn placed(standing: &Standing) -> Option<Placed> {
    let reading = &standing.reading;
    Some(Placed {
        position: Position::parse(reading.tags.position.as_deref()?).ok()?,
        pitch_diameter: Length::from_mm(reading.judged.pitch_diameter_mm?).ok()?,
    })
}
