//! One row in its new order or at its new height, with its text and what that gains.

use super::solve::{Solved, solve};
use super::stops::Row;
use super::travel::{CLEAR, Spot, Travel};
use super::write::Writer;
use crate::patch::Style;
use crate::tune::{Change, Run, Task, counted};
use crate::units::{Millimetres, UnitSystem, trimmed};

/// Seconds a row must gain before its order is changed: a house value.
pub(super) const WORTH: f64 = 0.05;

/// A row in its new order, with its text.
pub(super) struct Sorted<'a> {
    /// The row.
    pub row: &'a Row,
    tool: u32,
    /// What is changed, as reports name it.
    pub name: String,
    solved: Solved,
    /// The row's new text.
    pub text: Vec<u8>,
    /// Whether the job pins some of its stops.
    pinned: bool,
    /// Whether the last stop stayed last: what follows the row may lean on it.
    last_stays: bool,
    /// How low the tool now stays between holes, where that is what changed.
    lowered: Option<f64>,
}

impl<'a> Sorted<'a> {
    /// The row in a quicker order.
    ///
    /// # Errors
    /// With the reason, when there is none worth a change or the row cannot be ordered.
    pub fn of(row: &'a Row, pins: &[(usize, usize)], run: &Run, task: &Task<'_>) -> Result<Self, String> {
        Self::with(row, pins, run, task, false)
    }

    /// The row in the quickest order that keeps its last stop last; `None` when it is that already, or none is worth it.
    pub fn with_last_kept(&self, pins: &[(usize, usize)], run: &Run, task: &Task<'_>) -> Option<Self> {
        if self.last_stays { None } else { Self::with(self.row, pins, run, task, true).ok() }
    }

    fn with(
        row: &'a Row,
        pins: &[(usize, usize)],
        run: &Run,
        task: &Task<'_>,
        last_stays: bool,
    ) -> Result<Self, String> {
        let (tool, travel) = travel(row, run, task)?;
        let spots = spots(row, false);
        let style = Style::learn(run.main(), run.units == UnitSystem::Metric, Some(&task.job.machine));
        let writer = Writer { row, spots: &spots, travel: &travel, bytes: run.main(), style: &style };
        let mut solved = solve(row, &spots, &travel, pins, last_stays)?;
        let as_it_is: Vec<usize> = (0..row.stops.len()).collect();
        solved.seconds.0 += between(&writer, &as_it_is, &|place| row.stops.get(place).map_or(0.0, |stop| stop.leave));
        solved.seconds.1 += between(&writer, &solved.order, &|place| writer.leave(&solved.order, place));
        if solved.order == as_it_is || solved.seconds.1 >= solved.seconds.0 - WORTH {
            return Err(solved.stays(!pins.is_empty()));
        }
        let text = writer.text(&solved.order)?;
        Ok(Self {
            row,
            tool,
            name: order_of(row, run),
            solved,
            text,
            pinned: !pins.is_empty(),
            last_stays,
            lowered: None,
        })
    }

    /// The row as it is, with the tool left as low as each hole is begun, but for hops over what stands in the way; `None`
    /// when that is no gain.
    ///
    /// # Errors
    /// With the reason, when it is not known how low the tool may go.
    pub fn low(row: &'a Row, run: &Run, task: &Task<'_>) -> Result<Option<Self>, String> {
        let (tool, travel) = travel(row, run, task)?;
        let spots = spots(row, true);
        let style = Style::learn(run.main(), run.units == UnitSystem::Metric, Some(&task.job.machine));
        let writer = Writer { row, spots: &spots, travel: &travel, bytes: run.main(), style: &style };
        let order: Vec<usize> = (0..row.stops.len()).collect();
        let now = |place: usize| row.stops.get(place).map_or(0.0, |stop| stop.leave);
        let then = |place: usize| writer.leave(&order, place);
        let seconds = (between(&writer, &order, &now), between(&writer, &order, &then));
        if seconds.1 > seconds.0 - WORTH {
            return Ok(None);
        }
        let text = writer.text(&order)?;
        let lowest = (0..order.len()).map(then).fold(f64::INFINITY, f64::min);
        let solved = Solved { order, seconds, bound: None };
        let name = height_between(row, run);
        Ok(Some(Self { row, tool, name, solved, text, pinned: false, last_stays: true, lowered: Some(lowest) }))
    }

    pub fn change(&self, units: UnitSystem) -> Change {
        let (before, after) = self.solved.seconds;
        let seconds = |value: f64| format!("{} s", trimmed(value, 1));
        if let Some(lowest) = self.lowered {
            let height = units.coordinate('Z', Millimetres(lowest));
            return Change {
                tool: Some(self.tool),
                holes: self.row.stops.len(),
                what: format!("the tool stays at {height} between holes but for hops"),
                why: vec![format!(
                    "no zone of the job file's fixture stands between there; hops clear the rest by {}, a house value",
                    units.length(Millimetres(CLEAR))
                )],
                gain: Some(before - after),
            };
        }
        let mut why =
            vec!["least rapid time, by the machine's rates and accelerations, clamp hops included".to_owned()];
        if self.pinned {
            why.push("kept: what the job pins; source: job file: tune.pin".to_owned());
        }
        if let Some((bound, within)) = self.solved.bound.zip(self.solved.within()) {
            let bound = seconds(bound);
            why.push(format!(
                "no order takes less than {bound} (1-tree bound): this one is within {within} of the best"
            ));
        }
        Change {
            tool: Some(self.tool),
            holes: self.row.stops.len(),
            what: format!("travel between holes, taken alone, {} becomes {}", seconds(before), seconds(after)),
            why,
            gain: Some(before - after),
        }
    }
}

/// How a row's tool travels.
///
/// # Errors
/// With the reason, when it is not known what it may run into, how fast it goes, or a waiver speaks of its holes.
fn travel<'t>(row: &Row, run: &Run, task: &Task<'t>) -> Result<(u32, Travel<'t>), String> {
    let tool = tool_of(row, run);
    let travel = Travel::new(task.job, tool)?;
    if !travel.knows_fixture() {
        return Err("`fixture.zones` is not given: what stands between the holes is not known".to_owned());
    }
    let holes: Vec<u32> = row.stops.iter().map(|stop| stop.hole).collect();
    match run.waived(&holes) {
        Some(id) => Err(format!("waiver {id} speaks of them")),
        None => Ok((tool, travel)),
    }
}

/// Seconds between stops in an order, left at those heights by their place in it.
fn between(writer: &Writer<'_>, order: &[usize], leave: &dyn Fn(usize) -> f64) -> f64 {
    let spots: Vec<Spot> = order.iter().filter_map(|index| writer.spots.get(*index).copied()).collect();
    let leaves: Vec<f64> = (0..order.len()).map(leave).collect();
    writer.travel.between(&spots, &leaves)
}

/// The row's stops as travel sees them: left as low as the row goes already, or as low as each is begun.
fn spots(row: &Row, lower: bool) -> Vec<Spot> {
    let inner = row.stops.split_last().map(|(_, inner)| inner).unwrap_or_default();
    let row_low = inner.iter().map(|stop| stop.leave).fold(f64::INFINITY, f64::min);
    row.stops.iter().map(|stop| Spot::of(stop, row_low, lower)).collect()
}

/// What an order is the order of.
pub(super) fn order_of(row: &Row, run: &Run) -> String {
    format!("order of {} with T{}", counted(row.stops.len(), "hole"), tool_of(row, run))
}

/// What a height is kept between.
pub(super) fn height_between(row: &Row, run: &Run) -> String {
    format!("height between {} with T{}", counted(row.stops.len(), "hole"), tool_of(row, run))
}

fn tool_of(row: &Row, run: &Run) -> u32 {
    let hole = row.stops.first().and_then(|stop| run.survey.holes.get(stop.hole as usize));
    hole.and_then(|hole| run.survey.recipe_of(hole)).map_or(0, |recipe| recipe.tool)
}
