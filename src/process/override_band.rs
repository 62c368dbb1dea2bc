//! The feed overrides at which a hole or a cut keeps its floor, its ceiling and its exit limit at once.

use super::cutting::CutReading;
use super::reading::{HoleReading, Reading};
use super::zone::Zone;
use crate::job::Limit;
use crate::units::{MmPerRev, MmPerTooth};

/// Percentages of the programmed feed that keep every limit; an end without a limit is `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OverrideBand {
    /// Least.
    pub least: Option<BandEnd>,
    /// Most.
    pub most: Option<BandEnd>,
}

/// One end of a band and what sets it.
#[derive(Clone, Debug, PartialEq)]
pub struct BandEnd {
    /// Per cent of the programmed feed.
    pub percent: f64,
    /// Which limit.
    pub set_by: SetBy,
    /// What 100 % gives, in `unit`.
    pub programmed: f64,
    /// The limit, in `unit`.
    pub limit: f64,
    /// `mm/rev` or `mm/tooth`.
    pub unit: &'static str,
    /// Where the limit comes from.
    pub origin: String,
    /// The waiver that takes the limit so far.
    pub waiver: Option<String>,
}

/// What a waiver makes of a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Allowance {
    /// The limit, mm/rev.
    pub limit: f64,
    /// Where it comes from.
    pub origin: String,
    /// What the waiver holds to instead, mm/rev.
    pub bound: f64,
    /// Its id.
    pub waiver: String,
}

/// A limit as a band is held against it.
#[derive(Clone, Copy)]
struct Held<'a> {
    value: f64,
    set_by: SetBy,
    unit: &'static str,
    origin: &'a str,
    waiver: Option<&'a String>,
}

/// Limits that may set an end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetBy {
    /// Least feed in the body of a hole, or along a cut.
    Floor,
    /// Least feed while slowed for the exit.
    ExitFloor,
    /// Most feed in a layer or at the wall.
    Ceiling,
    /// Most feed at the entry.
    Entry,
    /// Most feed at the exit.
    Exit,
    /// Most feed by the plate model.
    Thrust,
}

impl SetBy {
    /// The words reports print.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Floor => "chip-load floor",
            Self::ExitFloor => "chip-load floor at the exit",
            Self::Ceiling => "feed ceiling",
            Self::Entry => "entry feed",
            Self::Exit => "exit feed",
            Self::Thrust => "critical thrust",
        }
    }
}

/// Per cent within which a posted feed counts as its limit: posts round F and S to their last digit. House value.
const ROUNDING: f64 = 0.5;

impl OverrideBand {
    /// Band of a hole: every pass with a known feed against its window.
    #[must_use]
    pub fn of_hole(reading: &HoleReading) -> Self {
        Self::of_waived_hole(reading, &[])
    }

    /// The same, with waived limits taken as far as their waivers go.
    #[must_use]
    pub fn of_waived_hole(reading: &HoleReading, allowed: &[Allowance]) -> Self {
        let mut band = Self::default();
        for pass in &reading.passes {
            let Some(feed) = pass.per_rev else { continue };
            let early = reading.is_exit_feed(pass);
            for (limit, set_by) in limits_of(pass).into_iter().filter(|(_, by)| !(early && *by == SetBy::Floor)) {
                let allowance = allowed.iter().find(|one| one.origin == limit.origin && one.limit == limit.value.0);
                let value = allowance.map_or(limit.value.0, |allowance| allowance.bound);
                let waiver = allowance.map(|allowance| &allowance.waiver);
                band.hold(feed.0, Held { value, set_by, unit: MmPerRev::SYMBOL, origin: &limit.origin, waiver });
            }
        }
        band
    }

    /// Band of a cut: floor on the thickest chip, ceiling at the wall. Stretches in core only have no limits, and where
    /// the tool only enters, leaves or crosses an earlier cut no floor counts.
    #[must_use]
    pub fn of_cut(readings: &[CutReading]) -> Self {
        let mut band = Self::default();
        let unit = MmPerTooth::SYMBOL;
        for reading in readings {
            let Some(wall) = reading.per_tooth else { continue };
            if let Some(floor) = reading.floor.as_ref().filter(|_| !reading.brief) {
                let chip = reading.chip_max.map_or(wall.0, |chip| chip.to_mm().0.min(wall.0));
                let (value, set_by, origin) = (floor.value.0, SetBy::Floor, floor.origin.as_str());
                band.hold(chip, Held { value, set_by, unit, origin, waiver: None });
            }
            if let Some(ceiling) = &reading.ceiling {
                let (value, set_by, origin) = (ceiling.value.0, SetBy::Ceiling, ceiling.origin.as_str());
                band.hold(wall.0, Held { value, set_by, unit, origin, waiver: None });
            }
        }
        band
    }

    /// The band in which both hold.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        other.least.into_iter().for_each(|end| self.raise(end));
        other.most.into_iter().for_each(|end| self.lower(end));
        self
    }

    /// Whether no override keeps every limit.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.percent().is_some_and(|(least, most)| least > most)
    }

    /// Whole per cents from least to most, rounded into the band; `None` unless both ends are known.
    #[must_use]
    pub fn percent(&self) -> Option<(f64, f64)> {
        Some((self.least()?, self.most()?))
    }

    /// The band as reports print it, such as `feed override 67 % to 100 %`.
    #[must_use]
    pub fn text(&self) -> String {
        let (least, most) = (self.least(), self.most());
        let text = match (least, most) {
            (Some(least), Some(most)) if least > most => return "no feed override keeps every limit".to_owned(),
            (Some(least), Some(most)) if least == most => format!("feed override {least} % only"),
            (Some(least), Some(most)) => format!("feed override {least} % to {most} %"),
            (Some(least), None) => format!("feed override {least} % or more"),
            (None, Some(most)) => format!("feed override {most} % or less"),
            (None, None) => return "no limit of feed is known".to_owned(),
        };
        let mut waivers: Vec<&str> = Vec::new();
        for id in self.least.iter().chain(&self.most).filter_map(|end| end.waiver.as_deref()) {
            if !waivers.contains(&id) {
                waivers.push(id);
            }
        }
        let text = if waivers.is_empty() { text } else { format!("{text} ({})", waivers.join(", ")) };
        let outside = least.is_some_and(|least| least > 100.0) || most.is_some_and(|most| most < 100.0);
        if outside { text + ", not as programmed" } else { text }
    }

    /// Least whole per cent inside the band.
    #[must_use]
    pub fn least(&self) -> Option<f64> {
        self.least.as_ref().map(|end| libm::ceil(end.percent - 1e-6))
    }

    /// Most whole per cent inside the band.
    #[must_use]
    pub fn most(&self) -> Option<f64> {
        self.most.as_ref().map(|end| libm::floor(end.percent + 1e-6))
    }

    fn hold(&mut self, programmed: f64, held: Held<'_>) {
        let Held { value: limit, set_by, unit, origin, waiver } = held;
        let mut percent = 100.0 * limit / programmed;
        if !percent.is_finite() {
            return;
        }
        let floor = matches!(set_by, SetBy::Floor | SetBy::ExitFloor);
        let rounded = if floor {
            (0.0..=ROUNDING).contains(&(percent - 100.0))
        } else {
            (0.0..=ROUNDING).contains(&(100.0 - percent))
        };
        if rounded {
            percent = 100.0;
        }
        let end =
            BandEnd { percent, set_by, programmed, limit, unit, origin: origin.to_owned(), waiver: waiver.cloned() };
        if floor { self.raise(end) } else { self.lower(end) }
    }

    fn raise(&mut self, end: BandEnd) {
        if self.least.as_ref().is_none_or(|least| end.percent > least.percent) {
            self.least = Some(end);
        }
    }

    fn lower(&mut self, end: BandEnd) {
        if self.most.as_ref().is_none_or(|most| end.percent < most.percent) {
            self.most = Some(end);
        }
    }
}

/// The limits of a pass with their names.
#[must_use]
pub fn limits_of(pass: &Reading) -> Vec<(&Limit<MmPerRev>, SetBy)> {
    let window = &pass.window;
    let floor = if pass.zone == Zone::Exit { SetBy::ExitFloor } else { SetBy::Floor };
    let near = if pass.zone == Zone::Exit { SetBy::Exit } else { SetBy::Entry };
    let found = [
        (window.floor(), floor),
        (window.layer_ceiling.as_ref(), SetBy::Ceiling),
        (window.zone_ceiling.as_ref(), near),
        (window.thrust_ceiling.as_ref(), SetBy::Thrust),
    ];
    found.into_iter().filter_map(|(limit, set_by)| Some((limit?, set_by))).collect()
}
