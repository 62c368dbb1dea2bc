//! Quantities that cannot be mixed up: one type a unit, and how each reads in a metric or an inch program.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Declares a quantity held as `f64` with arithmetic inside its own unit only.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit's symbol as reports print it.
            pub const SYMBOL: &'static str = $symbol;
        }
        impl Add for $name { type Output = Self; fn add(self, other: Self) -> Self { Self(self.0 + other.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, other: Self) -> Self { Self(self.0 - other.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, by: f64) -> Self { Self(self.0 * by) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, by: f64) -> Self { Self(self.0 / by) } }
        impl Div for $name { type Output = f64; fn div(self, other: Self) -> f64 { self.0 / other.0 } }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", trimmed(self.0, 3), $symbol)
            }
        }
    };
}

quantity!(/// Length in millimetres.
    Millimetres, "mm");
quantity!(/// Small length in micrometres: edge radii, coatings, fibres.
    Micrometres, "um");
quantity!(/// Feed of the tool centre in millimetres a minute.
    MmPerMin, "mm/min");
quantity!(/// Feed for each turn of the spindle.
    MmPerRev, "mm/rev");
quantity!(/// Feed for each cutting edge and turn.
    MmPerTooth, "mm/tooth");
quantity!(/// Spindle speed in turns a minute.
    RevPerMin, "rev/min");
quantity!(/// Surface speed of the cutting edge.
    MetresPerMin, "m/min");
quantity!(/// Axial force on the laminate.
    Newtons, "N");
quantity!(/// Time.
    Seconds, "s");
quantity!(/// Angle in degrees.
    Degrees, "deg");

/// Millimetres in one inch, exact by definition (International yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;
/// Metres in one foot, exact.
pub const M_PER_FOOT: f64 = 0.3048;

impl Div<RevPerMin> for MmPerMin {
    type Output = MmPerRev;
    fn div(self, speed: RevPerMin) -> MmPerRev {
        MmPerRev(self.0 / speed.0)
    }
}

impl Mul<RevPerMin> for MmPerRev {
    type Output = MmPerMin;
    fn mul(self, speed: RevPerMin) -> MmPerMin {
        MmPerMin(self.0 * speed.0)
    }
}

impl MmPerRev {
    /// Share of one of `edges` cutting edges.
    #[must_use]
    pub fn per_tooth(self, edges: u32) -> MmPerTooth {
        MmPerTooth(self.0 / f64::from(edges.max(1)))
    }
}

impl MmPerTooth {
    /// Feed of all `edges` in one turn.
    #[must_use]
    pub fn per_rev(self, edges: u32) -> MmPerRev {
        MmPerRev(self.0 * f64::from(edges.max(1)))
    }
}

impl Micrometres {
    /// The same length in millimetres.
    #[must_use]
    pub fn to_mm(self) -> Millimetres {
        Millimetres(self.0 / 1000.0)
    }
}

/// The length unit a program speaks, and so the unit its findings are worded in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Millimetres, mm/min, mm/rev, m/min.
    #[default]
    Metric,
    /// Inches, in/min, in/rev, ft/min.
    Inch,
}

impl UnitSystem {
    /// Millimetres in one unit of length of this system.
    #[must_use]
    pub fn mm(self) -> f64 {
        match self {
            Self::Metric => 1.0,
            Self::Inch => MM_PER_INCH,
        }
    }

    /// A number in one of the units above, rounded and in the unit this system reads it in.
    #[must_use]
    pub fn reading(self, value: f64, unit: &'static str) -> (f64, &'static str) {
        let (value, unit, decimals) = self.converted(value, unit);
        let scale = libm::pow(10.0, f64::from(decimals));
        (libm::round(value * scale) / scale + 0.0, unit)
    }

    /// The same as text, such as `0.06 mm/rev`.
    #[must_use]
    pub fn worded(self, value: f64, unit: &'static str) -> String {
        let (value, unit, decimals) = self.converted(value, unit);
        format!("{} {unit}", trimmed(value, usize::from(decimals)))
    }

    /// Value, unit and decimals worth reading: no control resolves finer. A unit without an inch twin stays as it is.
    fn converted(self, value: f64, unit: &'static str) -> (f64, &'static str, u8) {
        match (self, unit) {
            (Self::Metric, "mm") => (value, unit, 3),
            (Self::Metric, "mm/min" | "m/min" | "m") => (value, unit, 1),
            (Self::Metric, "mm/rev" | "mm/tooth") => (value, unit, 4),
            (Self::Inch, "mm") => (value / MM_PER_INCH, "in", 4),
            (Self::Inch, "mm/min") => (value / MM_PER_INCH, "in/min", 2),
            (Self::Inch, "mm/rev") => (value / MM_PER_INCH, "in/rev", 5),
            (Self::Inch, "mm/tooth") => (value / MM_PER_INCH, "in/tooth", 5),
            (Self::Inch, "m/min") => (value / M_PER_FOOT, "ft/min", 0),
            (Self::Inch, "m") => (value / M_PER_FOOT, "ft", 1),
            _ => (value, unit, 2),
        }
    }

    /// A length, to 0.001 mm or 0.0001 in.
    #[must_use]
    pub fn length(self, value: Millimetres) -> String {
        self.worded(value.0, Millimetres::SYMBOL)
    }

    /// A table feed.
    #[must_use]
    pub fn feed(self, value: MmPerMin) -> String {
        self.worded(value.0, MmPerMin::SYMBOL)
    }

    /// A feed for each turn.
    #[must_use]
    pub fn per_rev(self, value: MmPerRev) -> String {
        self.worded(value.0, MmPerRev::SYMBOL)
    }

    /// A feed for each edge.
    #[must_use]
    pub fn per_tooth(self, value: MmPerTooth) -> String {
        self.worded(value.0, MmPerTooth::SYMBOL)
    }

    /// A surface speed.
    #[must_use]
    pub fn surface_speed(self, value: MetresPerMin) -> String {
        self.worded(value.0, MetresPerMin::SYMBOL)
    }

    /// A coordinate word of this system, such as `Z-43.8` or `Z-.47`, as a program would say it.
    #[must_use]
    pub fn coordinate(self, letter: char, value: Millimetres) -> String {
        match self {
            Self::Metric => format!("{letter}{}", trimmed(value.0, 3)),
            Self::Inch => format!("{letter}{}", trimmed(value.0 / MM_PER_INCH, 4)),
        }
    }

    /// The same for a height that must at least be reached downwards: cut to its digits, never above `value`.
    #[must_use]
    pub fn coordinate_down(self, letter: char, value: Millimetres) -> String {
        let step = match self {
            Self::Metric => 0.001,
            Self::Inch => 0.0001 * MM_PER_INCH,
        };
        // A hair of float noise must not push a round number a whole step down.
        self.coordinate(letter, Millimetres(libm::floor(value.0 / step + 1e-4) * step))
    }
}

/// A number with at most `decimals` decimals, without trailing zeros, and never `-0`.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// The plural of an English noun that takes an `s`, with its count in groups of three digits.
#[must_use]
pub(crate) fn counted(count: u64, noun: &str) -> String {
    let ending = if count == 1 { "" } else { "s" };
    format!("{} {noun}{ending}", grouped(count))
}

/// Digits in groups of three, as in `4 212`.
#[must_use]
pub(crate) fn grouped(count: u64) -> String {
    let digits = count.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feeds_convert_through_speed_and_edges() {
        let per_rev = MmPerMin(159.0) / RevPerMin(2650.0);
        assert_eq!(per_rev, MmPerRev(0.06));
        assert_eq!(per_rev.per_tooth(2), MmPerTooth(0.03));
        assert_eq!(MmPerTooth(0.03).per_rev(2) * RevPerMin(2650.0), MmPerMin(159.0));
    }

    #[test]
    fn an_inch_program_reads_in_inches() {
        assert_eq!(UnitSystem::Inch.length(Millimetres(6.35)), "0.25 in");
        assert_eq!(UnitSystem::Inch.feed(MmPerMin(162.56)), "6.4 in/min");
        assert_eq!(UnitSystem::Inch.per_rev(MmPerRev(0.04064)), "0.0016 in/rev");
        assert_eq!(UnitSystem::Metric.coordinate('Z', Millimetres(-43.8)), "Z-43.8");
    }

    #[test]
    fn readings_carry_no_float_noise_and_keep_units_without_an_inch_twin() {
        assert_eq!(UnitSystem::Metric.reading(36.5359, "mm"), (36.536, "mm"));
        assert_eq!(UnitSystem::Inch.reading(1612.9, "mm"), (63.5, "in"));
        assert_eq!(UnitSystem::Inch.reading(99.95291, "m/min"), (328.0, "ft/min"));
        assert_eq!(UnitSystem::Inch.reading(12.0, "holes"), (12.0, "holes"));
        assert_eq!(UnitSystem::Metric.worded(-0.0001, "mm"), "0 mm");
    }

    #[test]
    fn trimmed_never_prints_a_negative_zero() {
        assert_eq!(trimmed(-0.0001, 3), "0");
        assert_eq!(trimmed(120.0, 1), "120");
        assert_eq!(trimmed(100.0, 0), "100");
    }

    #[test]
    fn counts_read_in_groups_of_three() {
        assert_eq!(grouped(0), "0");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(4212), "4 212");
        assert_eq!(counted(1, "hole"), "1 hole");
        assert_eq!(counted(1_000_000, "hole"), "1 000 000 holes");
    }
}
