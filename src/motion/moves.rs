//! Every step of a run as a row of the moves table.

use super::{MotionFault, Observer, Pose, SpindleSense, Step, StepKind};
use crate::program::ProgramGraph;
use crate::source::Source;
use crate::units::{UnitSystem, trimmed};

/// One row: lengths in mm, angles in degrees, feed in mm/min.
#[derive(Clone, Debug, PartialEq)]
pub struct MoveRow {
    /// Which source.
    pub source: crate::source::SourceId,
    /// Line from 1.
    pub line: u32,
    /// N number as typed, without its letter.
    pub n: Option<String>,
    /// `rapid`, `line`, `arc-cw`, `arc-ccw`, `dwell` or `stop`.
    pub kind: &'static str,
    /// End of the move; `None` for axes that are not known.
    pub end: [Option<f64>; 6],
    /// Centre of an arc from its start.
    pub centre: [Option<f64>; 3],
    /// Feed.
    pub feed: Option<f64>,
    /// Spindle speed, rev/min.
    pub rpm: Option<f64>,
    /// `cw`, `ccw` or `off`.
    pub sense: &'static str,
    /// Tool in the spindle, 0 when none or unknown.
    pub tool: u32,
    /// Part of a canned cycle, or the seconds of a dwell.
    pub step: String,
}

/// Column heads, in order.
pub const COLUMNS: [&str; 17] =
    ["line", "n", "kind", "x", "y", "z", "a", "b", "c", "i", "j", "k", "feed", "rpm", "sense", "tool", "step"];

/// An observer that hands on every move as it happens, so that none need be kept.
pub struct Moves<'a, F> {
    sources: &'a [Source],
    each: F,
    /// How many faults there were.
    pub faults: u64,
    /// Units the program speaks, as last set.
    pub units: UnitSystem,
}

impl<'a, F: FnMut(&MoveRow)> Moves<'a, F> {
    /// Calls `each` with every row in order.
    #[must_use]
    pub fn new(programs: &'a ProgramGraph, each: F) -> Self {
        Self { sources: programs.sources(), each, faults: 0, units: UnitSystem::default() }
    }

    /// N number of a step's block.
    fn n(&self, step: &Step<'_>) -> Option<String> {
        let source = self.sources.get(usize::from(step.block.source.0))?;
        let text = step.block.span.of(&source.bytes);
        let text = text.trim_ascii_start();
        let text = text.strip_prefix(b"/").unwrap_or(text).trim_ascii_start();
        let digits = text.strip_prefix(b"N").or_else(|| text.strip_prefix(b"n"))?;
        let digits: String =
            digits.iter().take_while(|byte| byte.is_ascii_digit()).map(|byte| char::from(*byte)).collect();
        Some(digits).filter(|digits| !digits.is_empty())
    }
}

impl<F: FnMut(&MoveRow)> Observer for Moves<'_, F> {
    fn step(&mut self, step: &Step<'_>) {
        self.units = step.state.units.value;
        let (kind, centre) = match step.kind {
            StepKind::Rapid => ("rapid", None),
            StepKind::Line => ("line", None),
            StepKind::ArcCw(arc) => ("arc-cw", Some(arc)),
            StepKind::ArcCcw(arc) => ("arc-ccw", Some(arc)),
            StepKind::Dwell(_) => ("dwell", None),
            StepKind::Stop(_) => ("stop", None),
            StepKind::Spindle | StepKind::ToolChange | StepKind::End => return,
        };
        let offset = |axis: usize| Some(centre?.centre.get(axis)? - step.from.xyz.get(axis)?);
        let in_plane = |axis: &usize| centre.is_some_and(|arc| arc.plane.axes().2 != *axis);
        let note = match step.kind {
            StepKind::Dwell(Some(seconds)) => format!("{} s", trimmed(seconds, 3)),
            StepKind::Stop(number) => format!("M{number}"),
            _ => step.part.map(super::CyclePart::label).unwrap_or_default(),
        };
        let row = MoveRow {
            source: step.block.source,
            line: step.block.index + 1,
            n: self.n(step),
            kind,
            end: axes(&step.to),
            centre: [0, 1, 2].map(|axis| Some(axis).filter(in_plane).and_then(offset)),
            feed: step.feed,
            rpm: step.state.speed.value,
            sense: match step.state.spindle.value {
                SpindleSense::Stopped => "off",
                SpindleSense::Clockwise => "cw",
                SpindleSense::Counterclockwise => "ccw",
            },
            tool: step.state.tool.value,
            step: note,
        };
        (self.each)(&row);
    }

    fn fault(&mut self, _fault: MotionFault) {
        self.faults += 1;
    }
}

fn axes(pose: &Pose) -> [Option<f64>; 6] {
    [0, 1, 2, 3, 4, 5].map(|axis| pose.axis(axis))
}
