//! What the registers say of how well and under what conditions is measured: the forms' texts as quantities.
//!
//! A form is checked when it is saved; here a text that does not parse is taken as not given.

use overwire_config::UncertaintySettings;
use overwire_core::acceptance::{Acceptance, DecisionRule, Guard, RuleError};
use overwire_core::compression::{Expansion, Force, Material, Pressing};
use overwire_core::correction::{Inputs, Temperature, Temperatures, Warmth, WireConvention};
use overwire_core::decimal::Decimal;
use overwire_core::judge::Judge;
use overwire_core::uncertainty::{Budget, Uncertainty};
use overwire_core::units::{Length, Unit};

use super::WireSet;
use super::budget::{self, Repeats};
use super::forms::{InstrumentForm, JobForm, Refusals, WireSetForm, number, unit};

/// An instrument's quantities.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct InstrumentFacts {
    /// Largest error its certificate allows, either way.
    pub max_error: Option<Length>,
    /// Step of its display.
    pub resolution: Option<Length>,
    /// Measuring force.
    pub force: Option<Force>,
    /// What a zero check measures; zero is closed anvils.
    pub zero_standard: Length,
    /// How far a zero check may be off; none: two steps of the display.
    pub zero_tolerance: Option<Length>,
    /// Whether the last zero check is taken off every reading.
    pub correct_zero: bool,
}

impl InstrumentFacts {
    /// How far a zero check may be off: as given, or two steps of the display.
    pub fn tolerance_of_zero(&self) -> Option<Length> {
        self.zero_tolerance.or_else(|| Some(self.resolution? * 2.0))
    }
}

fn quantity(text: &str, unit: Option<Unit>) -> Option<Length> {
    Decimal::parse_typed(text.trim()).ok()?.length(unit?).ok()
}

impl InstrumentForm {
    /// Its quantities.
    pub fn facts(&self) -> InstrumentFacts {
        let unit = Unit::parse(&self.unit).ok();
        let length = |text: &str| quantity(text, unit);
        InstrumentFacts {
            max_error: length(&self.max_error),
            resolution: length(&self.resolution),
            force: force(&self.force_n),
            zero_standard: length(&self.zero_standard).unwrap_or(Length::ZERO),
            zero_tolerance: length(&self.zero_tolerance),
            correct_zero: self.correct_zero,
        }
    }

    /// Checks what belongs to its quantities.
    pub(super) fn check_facts(&self, refusals: &mut Refusals) {
        for (field, text) in [
            ("range_min", &self.range_min),
            ("range_max", &self.range_max),
            ("resolution", &self.resolution),
            ("max_error", &self.max_error),
            ("zero_standard", &self.zero_standard),
            ("zero_tolerance", &self.zero_tolerance),
        ] {
            if text.is_empty() {
                continue;
            }
            let found = number(refusals, field, text, "a number");
            unit(refusals, "unit", &self.unit);
            let value = found.map(|found| found.value());
            if value.is_some_and(|value| value < 0.0) && field != "range_min" {
                refusals.note(field, "This cannot be below 0.");
            }
            let counts_up = matches!(field, "resolution" | "max_error" | "zero_tolerance");
            if counts_up && value == Some(0.0) {
                refusals.note(field, "This must be above 0.");
            }
        }
        self.check_sizes(refusals);
        if !self.force_n.is_empty()
            && number(refusals, "force_n", &self.force_n, "a force").is_some()
            && force(&self.force_n).is_none()
        {
            refusals.note(
                "force_n",
                "Say the measuring force in newtons, above 0 and at most 500.",
            );
        }
    }
}

/// The largest error or tolerance of a micrometer that is one, mm.
const LARGEST_ERROR_MM: f64 = 0.5;

impl InstrumentForm {
    fn check_sizes(&self, refusals: &mut Refusals) {
        let unit = Unit::parse(&self.unit).ok();
        let length = |text: &str| quantity(text, unit);
        if let (Some(min), Some(max)) = (length(&self.range_min), length(&self.range_max))
            && min >= max
        {
            refusals.note("range_max", "The range ends above where it begins.");
        }
        for (field, text) in [
            ("resolution", &self.resolution),
            ("max_error", &self.max_error),
            ("zero_tolerance", &self.zero_tolerance),
        ] {
            if length(text).is_some_and(|length| length.mm() > LARGEST_ERROR_MM) {
                refusals.note(
                    field,
                    "This is more than any micrometer: is the unit right?",
                );
            }
        }
    }
}

fn force(text: &str) -> Option<Force> {
    Force::from_newtons(Decimal::parse_typed(text.trim()).ok()?.value()).ok()
}

impl WireSetForm {
    /// Under what conditions the certificate gives the diameters.
    pub fn wire_convention(&self) -> WireConvention {
        match self.convention.as_str() {
            "under_load" => WireConvention::UnderLoad,
            "free" => WireConvention::Free,
            _ => WireConvention::NotStated,
        }
    }

    /// What the wires are made of.
    pub fn wire_material(&self) -> Material {
        Material::parse(&self.material).unwrap_or(Material::HardenedSteel)
    }

    /// Expanded uncertainty (k = 2) of a diameter.
    pub fn diameter_uncertainty(&self) -> Option<Length> {
        quantity(&self.uncertainty, Unit::parse(&self.unit).ok())
    }

    /// Checks what belongs to its quantities.
    pub(super) fn check_facts(&self, refusals: &mut Refusals) {
        check_material(refusals, &self.material);
        if !self.uncertainty.is_empty() {
            let found = number(refusals, "uncertainty", &self.uncertainty, "an uncertainty");
            if found.is_some_and(|found| found.value() < 0.0) {
                refusals.note("uncertainty", "An uncertainty cannot be below 0.");
            }
            let (unit, first) = (Unit::parse(&self.unit).ok(), self.diameters.first());
            let diameter = first.and_then(|text| quantity(text, unit));
            if let (Some(own), Some(diameter)) = (quantity(&self.uncertainty, unit), diameter)
                && own.mm() > 0.05 * diameter.mm()
            {
                refusals.note(
                    "uncertainty",
                    "This is more than a twentieth of the wire: is the unit right?",
                );
            }
        }
    }
}

impl JobForm {
    /// What the pieces are made of.
    pub fn part_material(&self) -> Material {
        Material::parse(&self.material).unwrap_or(Material::Steel)
    }
}

pub(super) fn check_material(refusals: &mut Refusals, text: &str) {
    if !text.is_empty() && Material::parse(text).is_none() {
        let known: Vec<&str> = Material::ALL
            .iter()
            .map(|material| material.code())
            .collect();
        refusals.note("material", format!("Say one of {}.", known.join(", ")));
    }
}

/// What is known of the measuring beside a job: from the station, the settings and the record.
#[derive(Debug, Clone, Copy, Default)]
pub struct Conditions<'a> {
    /// Name of the instrument.
    pub instrument: Option<&'a str>,
    /// The shop's settings; none makes no budget.
    pub uncertainty: Option<&'a UncertaintySettings>,
    /// The record's repeats of this job.
    pub repeats: Option<Repeats>,
    /// Step of the display, as readings show it.
    pub display: Option<Length>,
}

/// Under what conditions a feature is measured.
#[derive(Debug, Clone)]
pub struct Measuring {
    /// The instrument.
    pub facts: InstrumentFacts,
    /// How the wires are certified.
    pub convention: WireConvention,
    /// What presses on what, where the force is known.
    pub pressing: Option<Pressing>,
    /// How the part grows with warmth.
    pub part: Expansion,
    /// How the wires grow with warmth.
    pub wires: Expansion,
}

/// How well a pitch diameter is known.
#[derive(Debug, Clone, Default)]
pub struct Trust {
    /// The budget.
    pub budget: Option<Budget>,
    /// What keeps one from being drawn up.
    pub problem: Option<String>,
}

/// Micrometers are made of steel.
const MICROMETER: Material = Material::Steel;

impl Measuring {
    /// Of a job's pieces over a set of wires with an instrument.
    pub fn new(job: &JobForm, wires: Option<&WireSet>, facts: InstrumentFacts) -> Measuring {
        let wire_material = wires.map_or(Material::HardenedSteel, |set| {
            set.newest.form.wire_material()
        });
        let pressing = facts.force.map(|force| Pressing {
            wires: wire_material.elasticity(),
            ..Pressing::on(job.part_material(), force)
        });
        Measuring {
            facts,
            convention: wires.map_or(WireConvention::NotStated, |set| {
                set.newest.form.wire_convention()
            }),
            pressing,
            part: job.part_material().elasticity().expansion(),
            wires: wire_material.elasticity().expansion(),
        }
    }

    /// What corrections are made from, for one reading.
    pub fn inputs(
        &self,
        zero_off: Option<Length>,
        part_celsius: Option<f64>,
        gauge_celsius: Option<f64>,
    ) -> Inputs {
        let warmth = |celsius: Option<f64>, expansion| {
            let temperature = Temperature::from_celsius(celsius?).ok()?;
            Some(Warmth {
                temperature,
                expansion,
            })
        };
        Inputs {
            zero_reading: zero_off.filter(|_| self.facts.correct_zero),
            temperatures: Temperatures {
                part: warmth(part_celsius, self.part),
                wires: warmth(gauge_celsius, self.wires),
                micrometer: warmth(gauge_celsius, MICROMETER.elasticity().expansion()),
            },
            pressing: self.pressing,
            convention: self.convention,
        }
    }

    /// The largest error allowed of the instrument, where it was entered.
    pub fn max_error(&self) -> Option<Length> {
        self.facts.max_error
    }

    /// The budget, where the shop wants one.
    pub(super) fn trust(
        &self,
        judge: Option<&Judge>,
        wires: Option<&WireSet>,
        conditions: &Conditions<'_>,
    ) -> Trust {
        let (Some(settings), Some(judge), Some(set)) = (conditions.uncertainty, judge, wires)
        else {
            return Trust::default();
        };
        let Some((min, max)) = judge.window() else {
            return Trust::default();
        };
        let drawn = budget::budget(&budget::Question {
            geometry: &judge.thread().geometry,
            wires: judge.wires(),
            over_wires: (min + max) * 0.5,
            instrument: &self.facts,
            display: conditions.display,
            wire_uncertainty: set.newest.form.diameter_uncertainty(),
            pressing: self.pressing.as_ref(),
            convention: self.convention,
            expansions: [self.part, self.wires],
            settings,
            repeats: conditions.repeats,
        });
        match drawn {
            Ok(budget) => Trust {
                budget: Some(budget),
                problem: None,
            },
            Err(problem) => Trust {
                budget: None,
                problem: Some(problem),
            },
        }
    }
}

impl Trust {
    /// The uncertainty, where it is known.
    pub fn uncertainty(&self) -> Option<Uncertainty> {
        self.budget.as_ref().map(|budget| budget.uncertainty)
    }
}

/// Usual ratio of tolerance to uncertainty, N of N:1.
const USUAL_RATIO: f64 = 4.0;

impl JobForm {
    /// The decision rule; `Ok(None)` compares with the limits.
    ///
    /// # Errors
    /// What is wrong with the rule, by field.
    pub fn rule(&self) -> Result<Option<DecisionRule>, Refusals> {
        let mut refusals = Refusals::default();
        let mut value = |usual: f64| match self.decision_value.trim() {
            "" => Some(usual),
            text => number(&mut refusals, "decision_value", text, "a number")
                .map(|decimal| decimal.value()),
        };
        let found = match self.decision.as_str() {
            "" | "simple" => return Ok(None),
            "ratio" => value(USUAL_RATIO).map(DecisionRule::simple_with_ratio),
            "guarded" if self.decision_value.trim().is_empty() => {
                Some(Ok(DecisionRule::iso_14253()))
            }
            "guarded" => match value(95.0) {
                Some(percent) if percent > 50.0 && percent < 100.0 => Some(guarded(percent)),
                Some(_) => {
                    refusals.note("decision_value", "Say a percentage above 50 and below 100.");
                    None
                }
                None => None,
            },
            _ => {
                refusals.note("decision", "Say simple, ratio or guarded.");
                None
            }
        };
        match found {
            Some(Ok(rule)) => Ok(Some(rule)),
            Some(Err(error)) => {
                refusals.note("decision_value", format!("{error}."));
                Err(refusals)
            }
            None => Err(refusals),
        }
    }
}

/// Guard bands inside and outside for a conformance probability in percent.
fn guarded(percent: f64) -> Result<DecisionRule, RuleError> {
    let risk = Guard::ConsumersRisk(1.0 - percent / 100.0);
    DecisionRule::guarded(risk, risk)
}

/// A job's decision rule laid over the limits; none compares with the limits. A rule that cannot be applied
/// says why.
pub(super) fn decision(
    job: &JobForm,
    judge: &Judge,
    trust: &Trust,
) -> Result<Option<Acceptance>, String> {
    let (Ok(Some(rule)), Some(limits)) = (job.rule(), judge.thread().limits) else {
        return Ok(None);
    };
    match Acceptance::new(limits, rule, trust.uncertainty()) {
        Ok(acceptance) => Ok(Some(acceptance)),
        Err(_) => {
            let why = trust
                .problem
                .as_deref()
                .unwrap_or("No uncertainty: the settings have no [uncertainty].");
            Err(format!(
                "No verdict: the job's verdict takes the uncertainty into account, and none is \
                 known. {why}"
            ))
        }
    }
}
