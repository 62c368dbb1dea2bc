//! Amounts as people write them: a number with a unit, or a bare number under the file's `units`.

use crate::units::{
    Degrees, M_PER_FOOT, MM_PER_INCH, MetresPerMin, Micrometres, Millimetres, MmPerMin, MmPerRev, MmPerTooth, Newtons,
    RevPerMin, Seconds, UnitSystem,
};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, de};
use std::borrow::Cow;
use std::fmt;

/// An amount before its unit is known.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Amount {
    /// A number alone.
    Bare(f64),
    /// Text, such as `.250 in`.
    Text(String),
}

/// A kind of quantity: its units, and the one a bare number has.
pub(super) trait Measure: Sized {
    /// What it is, in words, with its article.
    const WHAT: &'static str;
    /// An example as a file would give it.
    const EXAMPLE: &'static str;
    /// Symbols, each with its size in the unit the value is kept in.
    const UNITS: &'static [(&'static str, f64)];
    /// Symbol of a bare number in a metric and in an inch file; the same twice where shops of both kinds agree.
    const BARE: (&'static str, &'static str);
    /// From a number in the unit the value is kept in.
    fn keep(value: f64) -> Self;
}

macro_rules! measure {
    ($name:ident, $what:literal, $example:literal, $bare:expr, $units:expr) => {
        impl Measure for $name {
            const WHAT: &'static str = $what;
            const EXAMPLE: &'static str = $example;
            const UNITS: &'static [(&'static str, f64)] = &$units;
            const BARE: (&'static str, &'static str) = $bare;
            fn keep(value: f64) -> Self {
                Self(value)
            }
        }
    };
}

/// Standard acceleration of gravity, m/s2, exact (3rd General Conference on Weights and Measures, 1901).
const GRAVITY: f64 = 9.806_65;
/// Newtons in one pound-force: 0.453 592 37 kg, exact (1959 agreement), times standard gravity.
const N_PER_LBF: f64 = 0.453_592_37 * GRAVITY;
/// N/mm2 in one pound-force for each square inch.
const N_PER_MM2_IN_PSI: f64 = N_PER_LBF / (MM_PER_INCH * MM_PER_INCH);

/// Acceleration, m/s2.
pub(super) struct Acceleration(pub f64);
/// Jerk, m/s3.
pub(super) struct Jerk(pub f64);
/// Stress or modulus, N/mm2.
pub(super) struct Stress(pub f64);
/// Fracture energy, N/mm.
pub(super) struct FractureEnergy(pub f64);
/// Length of material cut over a tool's life, m.
pub(super) struct CutLength(pub f64);

measure!(
    Millimetres,
    "a length",
    "6.0 mm",
    ("mm", "in"),
    [("mm", 1.0), ("in", MM_PER_INCH), ("um", 0.001), ("m", 1000.0)]
);
measure!(
    Micrometres,
    "a small length",
    "5 um",
    ("um", "um"),
    [("um", 1.0), ("mm", 1000.0), ("in", 25_400.0), ("uin", 0.0254)]
);
measure!(
    MmPerRev,
    "a feed for each turn",
    "0.03 mm/rev",
    ("mm/rev", "in/rev"),
    [("mm/rev", 1.0), ("in/rev", MM_PER_INCH), ("um/rev", 0.001), ("ipr", MM_PER_INCH),]
);
measure!(
    MmPerTooth,
    "a feed for each edge",
    "0.015 mm/tooth",
    ("mm/tooth", "in/tooth"),
    [("mm/tooth", 1.0), ("in/tooth", MM_PER_INCH), ("um/tooth", 0.001), ("ipt", MM_PER_INCH),]
);
measure!(
    MmPerMin,
    "a table feed",
    "120 mm/min",
    ("mm/min", "in/min"),
    [("mm/min", 1.0), ("in/min", MM_PER_INCH), ("m/min", 1000.0), ("ipm", MM_PER_INCH),]
);
measure!(
    MetresPerMin,
    "a surface speed",
    "100 m/min",
    ("m/min", "ft/min"),
    [("m/min", 1.0), ("ft/min", M_PER_FOOT), ("sfm", M_PER_FOOT), ("m/s", 60.0),]
);
measure!(RevPerMin, "a spindle speed", "12000 rev/min", ("rev/min", "rev/min"), [("rev/min", 1.0), ("rpm", 1.0)]);
measure!(Seconds, "a time", "2 s", ("s", "s"), [("s", 1.0), ("ms", 0.001), ("min", 60.0)]);
measure!(Degrees, "an angle", "118 deg", ("deg", "deg"), [("deg", 1.0)]);
measure!(Newtons, "a force", "60 N", ("N", "N"), [("N", 1.0), ("kN", 1000.0), ("lbf", N_PER_LBF)]);
measure!(
    Acceleration,
    "an acceleration",
    "2.0 m/s2",
    ("m/s2", "m/s2"),
    [("m/s2", 1.0), ("in/s2", 0.0254), ("g", GRAVITY),]
);
measure!(Jerk, "a jerk", "20 m/s3", ("m/s3", "m/s3"), [("m/s3", 1.0), ("mm/s3", 0.001), ("in/s3", 0.0254)]);
measure!(
    Stress,
    "a modulus",
    "138 GPa",
    ("N/mm2", "N/mm2"),
    [("N/mm2", 1.0), ("MPa", 1.0), ("GPa", 1000.0), ("psi", N_PER_MM2_IN_PSI),]
);
measure!(
    FractureEnergy,
    "a fracture energy",
    "0.25 N/mm",
    ("N/mm", "N/mm"),
    [("N/mm", 1.0), ("kJ/m2", 1.0), ("J/m2", 0.001)]
);
measure!(
    CutLength,
    "a length of cut",
    "12 m",
    ("m", "m"),
    [("m", 1.0), ("mm", 0.001), ("ft", M_PER_FOOT), ("in", 0.0254)]
);

/// No amount of the trade comes near; sums and products of smaller ones stay finite.
const MOST: f64 = 1e12;

/// Why an amount could not be read.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum AmountFault {
    /// No number where one should be, or one beyond all measure.
    NotANumber,
    /// A bare number in a file that names no units.
    NoUnits,
    /// The unit measures something else or nothing.
    Unit(String),
}

impl Amount {
    /// The number as written; NaN where there is none.
    pub fn number(&self) -> f64 {
        match self {
            Self::Bare(number) => *number,
            Self::Text(text) => parse(split(text.trim()).0).unwrap_or(f64::NAN),
        }
    }

    /// The unit as written; empty where there is none.
    pub fn symbol(&self) -> &str {
        match self {
            Self::Bare(_) => "",
            Self::Text(text) => split(text.trim()).1,
        }
    }

    /// The quantity, in a file of these units.
    pub fn read<M: Measure>(&self, units: Option<UnitSystem>) -> Result<M, AmountFault> {
        let number = self.number();
        if !number.is_finite() {
            return Err(AmountFault::NotANumber);
        }
        let symbol = match (self.symbol(), units) {
            ("", _) if M::BARE.0 == M::BARE.1 => M::BARE.0,
            ("", Some(UnitSystem::Metric)) => M::BARE.0,
            ("", Some(UnitSystem::Inch)) => M::BARE.1,
            ("", None) => return Err(AmountFault::NoUnits),
            (written, _) => written,
        };
        let size = M::UNITS.iter().find(|(known, _)| *known == symbol);
        let (_, size) = size.ok_or_else(|| AmountFault::Unit(symbol.to_owned()))?;
        let value = number * size;
        if value.abs() > MOST { Err(AmountFault::NotANumber) } else { Ok(M::keep(value)) }
    }
}

/// How many of `unit`, one of the symbols that quantities are kept in, one `symbol` is; `None` where they measure
/// different things.
pub(in crate::job) fn size_in(symbol: &str, unit: &str) -> Option<f64> {
    let tables = [
        Millimetres::UNITS,
        MmPerRev::UNITS,
        MmPerTooth::UNITS,
        MmPerMin::UNITS,
        MetresPerMin::UNITS,
        RevPerMin::UNITS,
        Seconds::UNITS,
        Degrees::UNITS,
        Newtons::UNITS,
        CutLength::UNITS,
    ];
    let table = tables.iter().find(|table| table.first().is_some_and(|(kept, _)| *kept == unit));
    match table {
        Some(table) => table.iter().find(|(known, _)| *known == symbol).map(|(_, size)| *size),
        None => (symbol == unit || symbol.is_empty()).then_some(1.0),
    }
}

/// Number and unit of a text; a micro sign is read as `u`.
fn split(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-./".contains(c))).unwrap_or(text.len());
    let (number, symbol) = text.split_at(end);
    (number, symbol.trim_start())
}

/// A decimal number, or a fraction such as `1/4`.
fn parse(text: &str) -> Option<f64> {
    match text.split_once('/') {
        Some((over, under)) => Some(over.parse::<f64>().ok()? / under.parse::<f64>().ok()?),
        None => text.parse().ok(),
    }
}

impl<'de> Deserialize<'de> for Amount {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AmountVisitor)
    }
}

struct AmountVisitor;

impl de::Visitor<'_> for AmountVisitor {
    type Value = Amount;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number, or text such as \"6.0 mm\"")
    }

    fn visit_i64<E>(self, value: i64) -> Result<Amount, E> {
        #[expect(clippy::cast_precision_loss, reason = "no amount of the trade has sixteen digits")]
        Ok(Amount::Bare(value as f64))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Amount, E> {
        Ok(Amount::Bare(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Amount, E> {
        Ok(Amount::Text(value.replace(['\u{b5}', '\u{3bc}'], "u")))
    }
}

impl JsonSchema for Amount {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Amount".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["number", "string"] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> Result<f64, AmountFault> {
        Amount::Text(text.to_owned()).read::<Millimetres>(None).map(|mm| mm.0)
    }

    #[test]
    fn a_unit_may_stand_with_or_without_a_space() {
        assert_eq!(length(".250 in"), Ok(6.35));
        assert_eq!(length("1/4in"), Ok(6.35));
        assert_eq!(length("-38.30 mm"), Ok(-38.3));
        assert_eq!(length("10 um"), Ok(0.01));
    }

    #[test]
    fn a_wrong_or_missing_unit_is_named() {
        assert_eq!(length("12"), Err(AmountFault::NoUnits));
        assert_eq!(length("12 mm/rev"), Err(AmountFault::Unit("mm/rev".to_owned())));
        assert_eq!(length("mm"), Err(AmountFault::NotANumber));
        assert_eq!(length("1/0 mm"), Err(AmountFault::NotANumber));
        assert_eq!(length("999999999999 m"), Err(AmountFault::NotANumber));
        assert_eq!(length("inf mm"), Err(AmountFault::NotANumber));
    }

    #[test]
    fn bare_numbers_follow_the_file_where_shops_differ() {
        let bare = Amount::Bare(328.0);
        assert_eq!(bare.read::<MetresPerMin>(Some(UnitSystem::Inch)).map(|v| v.0), Ok(328.0 * 0.3048));
        assert_eq!(bare.read::<Micrometres>(Some(UnitSystem::Inch)).map(|v| v.0), Ok(328.0));
        assert_eq!(bare.read::<RevPerMin>(None).map(|v| v.0), Ok(328.0));
    }
}
