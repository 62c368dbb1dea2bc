//! Times and clearances of a run, for the JSON report.

use super::json::{PlaceOut, QuantityOut, quantity, spot};
use super::{book::Book, times};
use crate::check::Report;
use crate::diagnostic::Quantity;
use crate::operation::Clearance;
use crate::units::Millimetres;
use schemars::JsonSchema;
use serde::Serialize;

/// Where the time goes, in seconds.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct TimesOut {
    /// Whether the machine's accelerations and rapid rates were known; else every time is a lower bound, and feeding is
    /// at the commanded feed.
    pub planned: bool,
    /// All of it.
    pub total: f64,
    /// Feeding, in material or not.
    pub feeding: f64,
    /// Rapids whose rates are known.
    pub rapids: f64,
    /// Dwells.
    pub dwells: f64,
    /// Tool changes, where the job gives their time.
    pub tool_changes: f64,
    /// Waiting for the spindle, where the job gives its time.
    pub spindle_waits: f64,
    /// Each tool's share, in order of first use.
    pub tools: Vec<ToolTimeOut>,
}

/// One tool's share of the time, in seconds.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ToolTimeOut {
    /// Tool number; 0 before any tool change.
    pub tool: u32,
    /// Feeding, in material or not.
    pub feeding: f64,
    /// Rapids whose rates are known.
    pub rapids: f64,
}

/// How near a tool comes to what stands around the part, at its nearest.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ClearanceOut {
    /// What comes near: `tool` or `holder`.
    pub part: &'static str,
    /// What it comes near: the id of a zone of the fixture, `the table` or `the backing`.
    pub obstacle: String,
    /// Clearance with the obstacle's position tolerance taken off; below zero the tool can hit it.
    pub gap: QuantityOut,
    /// Axis the gap lies along most: `X`, `Y` or `Z`.
    pub axis: &'static str,
    /// Block of the move, with the tool in the spindle.
    #[serde(flatten)]
    pub place: PlaceOut,
}

/// The times of a report.
pub(super) fn times_out(report: &Report) -> TimesOut {
    let times = &report.survey.times;
    let share = |(tool, feeding, rapids)| ToolTimeOut { tool, feeding, rapids };
    TimesOut {
        planned: times.planned,
        total: times.total(),
        feeding: times.cutting,
        rapids: times.rapid,
        dwells: times.dwell,
        tool_changes: times.tool_change,
        spindle_waits: times.spin_up,
        tools: times::by_tool(report).into_iter().map(share).collect(),
    }
}

/// The least clearance of each tool.
pub(super) fn clearances_out(book: &Book<'_>) -> Vec<ClearanceOut> {
    book.report.survey.clearances.least.iter().map(|clearance| clearance_out(book, clearance)).collect()
}

fn clearance_out(book: &Book<'_>, clearance: &Clearance) -> ClearanceOut {
    let gap = Quantity { value: clearance.gap, unit: Millimetres::SYMBOL };
    let place = spot(book, clearance.block.source, clearance.block.span);
    ClearanceOut {
        part: clearance.part.word(),
        obstacle: book.obstacle(clearance.obstacle),
        gap: quantity(&gap, book.report.units),
        axis: clearance.axis_letter(),
        place: PlaceOut { tool: Some(clearance.tool).filter(|tool| *tool != 0), ..place },
    }
}
