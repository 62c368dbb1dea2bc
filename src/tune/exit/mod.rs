//! The fastest staircase of feeds through a hole: few stages, each within every floor and ceiling of the depths it covers.
//!
//! [`plan`] is a pure function of tool, laminate and depths. Where no feed is right it says what would make one right.

mod openings;
mod staircase;

pub use openings::Opening;
pub use staircase::{Piece, Step, fastest};

use crate::job::{Laminate, Limit, Tool};
use crate::process::{DepthLimits, Gap, PlateStep, limits_over_depth};
use crate::units::{Millimetres, MmPerRev};

/// One hole to be drilled, with what the program and the machine bring besides laminate and tool.
#[derive(Clone, Debug)]
pub struct Drilling<'a> {
    /// What is drilled.
    pub laminate: &'a Laminate,
    /// What with.
    pub tool: &'a Tool,
    /// Diameter of a hole that is there already; 0 for none.
    pub pilot: Millimetres,
    /// Tip depth at which feeding begins; above the entry face it is negative.
    pub from: Millimetres,
    /// Tip depth at which it ends.
    pub bottom: Millimetres,
    /// Most feeds along the hole. A stated entry feed may have one more.
    pub stages: usize,
    /// Share by which feeds stay under their ceilings, 0 up to 1.
    pub margin: f64,
    /// A floor besides those of laminate and tool, such as the slowest table feed at this speed.
    pub floor: Option<Limit<MmPerRev>>,
    /// A ceiling besides those of laminate and tool, such as the machine's fastest feed at this speed.
    pub ceiling: Option<Limit<MmPerRev>>,
}

/// What came of planning a hole.
#[derive(Clone, Debug, PartialEq)]
pub enum Plan {
    /// The fastest staircase.
    Schedule(Schedule),
    /// No feed is right at some depth.
    NoWindow(NoWindow),
    /// A ceiling is not known, so nothing may be raised.
    Unknown(Vec<Gap>),
}

/// Stages from where feeding begins to the bottom, without a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// The stages, from the top down; neighbours differ in feed.
    pub stages: Vec<Stage>,
}

impl Schedule {
    /// Turns of the spindle from top to bottom.
    #[must_use]
    pub fn turns(&self) -> f64 {
        self.stages.iter().map(|stage| (stage.to - stage.from) / Millimetres(stage.per_rev.0)).sum()
    }
}

/// One feed over a stretch of tip depths.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Tip depth it begins at.
    pub from: Millimetres,
    /// Tip depth it ends at.
    pub to: Millimetres,
    /// Feed for each turn.
    pub per_rev: MmPerRev,
    /// What set it.
    pub held: Held,
    /// The limit that set it, with its origin.
    pub limit: Limit<MmPerRev>,
    /// The plate model at its deepest point, where the model speaks.
    pub plate: Option<PlateStep>,
}

/// Which side of the window set a feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// The ceiling, less the margin.
    Ceiling,
    /// The floor, for the margin would have gone below it.
    Floor,
}

/// Where and why no feed is right.
#[derive(Clone, Debug, PartialEq)]
pub struct NoWindow {
    /// Tip depths it holds for.
    pub depth: (Millimetres, Millimetres),
    /// Least feed there.
    pub floor: Limit<MmPerRev>,
    /// Most feed there.
    pub ceiling: Limit<MmPerRev>,
    /// Changes of set-up that would open a window, each on its own.
    pub openings: Vec<Opening>,
}

/// The fastest staircase for one hole.
#[must_use]
pub fn plan(drilling: &Drilling<'_>) -> Plan {
    let limits = match limits_over_depth(drilling.laminate, drilling.tool, drilling.pilot) {
        Ok(limits) => drilling.clip(limits),
        Err(gap) => return Plan::Unknown(vec![gap]),
    };
    let mut gaps: Vec<Gap> = Vec::new();
    for gap in limits.iter().filter_map(|piece| piece.gap.as_ref()) {
        if !gaps.contains(gap) {
            gaps.push(gap.clone());
        }
    }
    let (false, Some(limits)) = (limits.is_empty() || !gaps.is_empty(), bridged(limits)) else {
        return Plan::Unknown(gaps);
    };
    if let Some(shut) =
        limits.iter().filter(|piece| piece.gap() > 0.0).reduce(|a, b| if b.gap() > a.gap() { b } else { a })
    {
        return Plan::NoWindow(shut.no_window(drilling));
    }
    let pieces: Vec<Piece> = limits.iter().map(|piece| piece.bare(drilling.margin)).collect();
    let entry = usize::from(drilling.laminate.entry.is_some());
    match fastest(&pieces, drilling.stages.max(1) + entry) {
        Some(steps) => Plan::Schedule(Schedule { stages: steps.iter().map(|step| stage(step, &limits)).collect() }),
        None => Plan::NoWindow(openings::more_stages(&limits, &pieces)),
    }
}

/// A piece whose ceiling is known.
#[derive(Clone, Debug)]
struct Bounded {
    limits: DepthLimits,
    ceiling: Limit<MmPerRev>,
}

impl Bounded {
    /// How far the floor lies above the ceiling; negative where there is a window.
    fn gap(&self) -> f64 {
        self.limits.floor.as_ref().map_or(f64::NEG_INFINITY, |floor| floor.value.0 - self.ceiling.value.0)
    }

    fn bare(&self, margin: f64) -> Piece {
        let floor = self.limits.floor.as_ref().map_or(0.0, |floor| floor.value.0);
        let most = self.ceiling.value.0;
        Piece {
            length: (self.limits.to - self.limits.from).0,
            floor,
            most,
            kept: most * (1.0 - margin.clamp(0.0, 1.0)),
        }
    }

    fn no_window(&self, drilling: &Drilling<'_>) -> NoWindow {
        let floor = self.limits.floor.clone().unwrap_or_else(|| self.ceiling.clone());
        NoWindow {
            depth: (self.limits.from, self.limits.to),
            openings: openings::of(drilling, &self.limits, &floor, &self.ceiling),
            floor,
            ceiling: self.ceiling.clone(),
        }
    }
}

impl Drilling<'_> {
    /// The pieces between the first and last depth, the outer ones stretched to them, with the extra limits put in.
    fn clip(&self, mut limits: Vec<DepthLimits>) -> Vec<DepthLimits> {
        limits.retain(|piece| piece.to > self.from && piece.from < self.bottom);
        if let Some(first) = limits.first_mut() {
            first.from = self.from;
        }
        if let Some(last) = limits.last_mut() {
            last.to = self.bottom;
        }
        for piece in &mut limits {
            if let Some(floor) = &self.floor
                && piece.floor.as_ref().is_none_or(|own| floor.value > own.value)
            {
                piece.floor = Some(floor.clone());
            }
            if let (Some(ceiling), Some(own)) = (&self.ceiling, &piece.ceiling)
                && ceiling.value < own.value
            {
                piece.ceiling = Some(ceiling.clone());
            }
        }
        limits
    }
}

/// Gives each core, which has no ceiling, the higher one of its neighbours: no stage is made for a core alone. `None`
/// where nothing but core is drilled.
fn bridged(limits: Vec<DepthLimits>) -> Option<Vec<Bounded>> {
    let known: Vec<Option<Limit<MmPerRev>>> = limits.iter().map(|piece| piece.ceiling.clone()).collect();
    let bounded = limits.into_iter().enumerate().map(|(index, limits)| {
        let before = known.iter().take(index + 1).rev().flatten().next();
        let after = known.iter().skip(index).flatten().next();
        let higher = [before, after].into_iter().flatten().reduce(|a, b| if b.value > a.value { b } else { a });
        let ceiling = limits.ceiling.clone().or_else(|| higher.cloned())?;
        Some(Bounded { limits, ceiling })
    });
    bounded.collect()
}

/// A stage from its step: the limit that set it is the lowest ceiling or the highest floor of the pieces it covers.
fn stage(step: &Step, limits: &[Bounded]) -> Stage {
    let covered = limits.get(step.pieces.clone()).unwrap_or_default();
    let ends = covered.first().zip(covered.last());
    let (from, to) = ends.map_or_else(Default::default, |(first, last)| (first.limits.from, last.limits.to));
    let lowest = covered.iter().map(|piece| &piece.ceiling).reduce(|a, b| if b.value < a.value { b } else { a });
    let floors = covered.iter().filter_map(|piece| piece.limits.floor.as_ref());
    let highest = floors.reduce(|a, b| if b.value > a.value { b } else { a });
    let (held, limit) = match highest.filter(|floor| floor.value.0 >= step.feed) {
        Some(floor) => (Held::Floor, Some(floor)),
        None => (Held::Ceiling, lowest),
    };
    let per_rev = MmPerRev(step.feed);
    let limit = limit.cloned().unwrap_or_else(|| Limit::new(per_rev, String::new()));
    let plate = covered.iter().rev().find_map(|piece| piece.limits.plate.clone());
    Stage { from, to, per_rev, held, limit, plate }
}
