//! How stiff things are, and how they grow with warmth.
//!
//! Common handbook values, written down from memory: good for a correction of a few
//! micrometres, not for design. Type your own where you know better.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why the properties of a material were refused.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{what} of {found} is not plausible; expected {expected}")]
pub struct MaterialError {
    /// Which number.
    pub what: &'static str,
    /// What was given.
    pub found: f64,
    /// What would be accepted.
    pub expected: &'static str,
}

impl MaterialError {
    /// A stable name for files and messages.
    pub const fn code(&self) -> &'static str {
        "material-implausible"
    }
}

/// How a body yields to force and warmth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elasticity {
    /// Young's modulus in N/mm².
    modulus: f64,
    poisson: f64,
    expansion: Expansion,
    /// Peak contact pressure in N/mm² up to which it springs back.
    elastic_pressure: f64,
}

impl Elasticity {
    /// Properties of your own: modulus in N/mm², Poisson's ratio, expansion, and the peak
    /// contact pressure in N/mm² up to which the body springs back (about 1.6 times the yield
    /// strength).
    ///
    /// # Errors
    /// [`MaterialError`] when a number is outside what solids have.
    pub fn checked(
        modulus_n_per_mm2: f64,
        poisson: f64,
        expansion: Expansion,
        elastic_pressure_n_per_mm2: f64,
    ) -> Result<Elasticity, MaterialError> {
        within(
            "modulus",
            modulus_n_per_mm2,
            (100.0, 1.2e6),
            "100 to 1200000 N/mm²",
        )?;
        within("Poisson's ratio", poisson, (0.0, 0.499), "0 to 0.499")?;
        let pressure = elastic_pressure_n_per_mm2;
        within(
            "elastic pressure",
            pressure,
            (1.0, 1e5),
            "1 to 100000 N/mm²",
        )?;
        Ok(Elasticity {
            modulus: modulus_n_per_mm2,
            poisson,
            expansion,
            elastic_pressure: pressure,
        })
    }

    /// `(1 - ν²) / E`, in mm²/N.
    pub(crate) fn compliance(&self) -> f64 {
        (1.0 - self.poisson * self.poisson) / self.modulus
    }

    /// Young's modulus, in N/mm².
    pub const fn modulus_n_per_mm2(&self) -> f64 {
        self.modulus
    }

    /// Poisson's ratio.
    pub const fn poisson(&self) -> f64 {
        self.poisson
    }

    /// How much it grows with warmth.
    pub const fn expansion(&self) -> Expansion {
        self.expansion
    }

    /// The peak contact pressure in N/mm² up to which it springs back.
    pub const fn elastic_pressure_n_per_mm2(&self) -> f64 {
        self.elastic_pressure
    }
}

fn within(
    what: &'static str,
    found: f64,
    (least, most): (f64, f64),
    expected: &'static str,
) -> Result<(), MaterialError> {
    if (least..=most).contains(&found) {
        Ok(())
    } else {
        Err(MaterialError {
            what,
            found,
            expected,
        })
    }
}

/// A coefficient of linear expansion.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Expansion(f64);

impl Expansion {
    /// So many millionths of the length for one kelvin: 11.5 for steel.
    ///
    /// # Errors
    /// [`MaterialError`] below -10 or above 500.
    pub fn from_millionths_per_kelvin(millionths: f64) -> Result<Expansion, MaterialError> {
        let expected = "-10 to 500 millionths per kelvin";
        within("expansion", millionths, (-10.0, 500.0), expected)?;
        Ok(Expansion(millionths * 1e-6))
    }

    const fn handbook(millionths: f64) -> Expansion {
        Expansion(millionths * 1e-6)
    }

    /// As a plain number per kelvin.
    pub const fn per_kelvin(self) -> f64 {
        self.0
    }

    /// In millionths per kelvin.
    pub const fn millionths_per_kelvin(self) -> f64 {
        self.0 * 1e6
    }
}

/// Materials of parts, wires and anvils, with common handbook values from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Hardened steel: wires, anvils, gauges, hard parts.
    HardenedSteel,
    /// Steel as it comes off the lathe.
    Steel,
    /// Austenitic stainless steel.
    StainlessSteel,
    /// Grey cast iron.
    CastIron,
    /// Sintered carbide.
    Carbide,
    /// Wrought aluminium alloy.
    Aluminium,
    /// Brass.
    Brass,
    /// Titanium alloy.
    Titanium,
    /// A stiff plastic such as acetal.
    Plastic,
}

impl Material {
    /// Every material, for lists.
    pub const ALL: [Material; 9] = [
        Material::HardenedSteel,
        Material::Steel,
        Material::StainlessSteel,
        Material::CastIron,
        Material::Carbide,
        Material::Aluminium,
        Material::Brass,
        Material::Titanium,
        Material::Plastic,
    ];

    /// A stable name for files and messages.
    pub const fn code(self) -> &'static str {
        match self {
            Material::HardenedSteel => "hardened-steel",
            Material::Steel => "steel",
            Material::StainlessSteel => "stainless-steel",
            Material::CastIron => "cast-iron",
            Material::Carbide => "carbide",
            Material::Aluminium => "aluminium",
            Material::Brass => "brass",
            Material::Titanium => "titanium",
            Material::Plastic => "plastic",
        }
    }

    /// The material with this name.
    pub fn parse(text: &str) -> Option<Material> {
        Material::ALL
            .into_iter()
            .find(|material| material.code() == text)
    }

    /// Common handbook values, from memory.
    pub const fn elasticity(self) -> Elasticity {
        let (modulus, poisson, millionths, elastic_pressure) = match self {
            Material::HardenedSteel => (206_000.0, 0.29, 11.5, 3_200.0),
            Material::Steel => (206_000.0, 0.29, 11.5, 640.0),
            Material::StainlessSteel => (196_000.0, 0.29, 17.0, 480.0),
            Material::CastIron => (110_000.0, 0.26, 10.5, 400.0),
            Material::Carbide => (600_000.0, 0.22, 5.5, 6_400.0),
            Material::Aluminium => (70_000.0, 0.33, 23.0, 400.0),
            Material::Brass => (100_000.0, 0.34, 19.0, 320.0),
            Material::Titanium => (114_000.0, 0.34, 8.6, 1_300.0),
            Material::Plastic => (2_800.0, 0.38, 110.0, 100.0),
        };
        Elasticity {
            modulus,
            poisson,
            expansion: Expansion::handbook(millionths),
            elastic_pressure,
        }
    }

    /// One sentence for a person: what the numbers are worth.
    pub const fn sentence(self) -> &'static str {
        "Stiffness and expansion are common handbook values from memory: check against your material."
    }
}
