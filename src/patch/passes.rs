//! Trimming passes to be changed: runs of moves at one height, whose Z words are written anew, and plunges, which become
//! ramps or helices along the move behind them.

use super::block_edit::{BlockEdit, Line, Text, number};
use super::edit::Edit;
use super::scene::{BlockKey, Snapshot};
use super::style::Rounding;
use super::way::{Liberty, Ramp};
use crate::motion::{
    Arc, BlockRef, CutterSide, CycleCall, Distance, Expand, ModalState, MotionFault, Observer, Step, StepKind,
};
use crate::units::{Degrees, Millimetres};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::TAU;

/// Heights closer than this are one, mm.
const LEVEL: f64 = 1e-4;
/// Height above the material at which a ramp begins, mm. House value.
const ABOVE: f64 = 0.5;
/// Most legs or turns of a way down. House value.
const MOST_LEGS: u32 = 24;

/// Moves of one tool that all end at one height, the one that leads there first.
#[derive(Clone, Debug, Default)]
pub struct Run {
    tool: u32,
    z: f64,
    blocks: Vec<BlockKey>,
    /// Whether some of it is given in increments.
    incremental: bool,
}

/// A plunge with the move behind it.
#[derive(Clone, Debug)]
pub struct Plunge {
    tool: u32,
    /// Place and the heights it begins and ends at.
    at: [f64; 2],
    z: (f64, f64),
    state: Snapshot,
    compensated: bool,
    /// How often its block runs.
    runs: u32,
    next: Option<Next>,
}

/// A level move at feed.
#[derive(Clone, Copy, Debug)]
struct Next {
    block: BlockRef,
    to: [f64; 2],
    around: Option<Arc>,
}

/// Watches a run for the passes around wanted blocks.
#[derive(Default)]
pub struct Passes {
    wanted: BTreeSet<BlockKey>,
    plunges_wanted: BTreeSet<BlockKey>,
    open: Run,
    /// Runs with a wanted block.
    runs: Vec<Run>,
    plunges: BTreeMap<BlockKey, Plunge>,
    last: Option<BlockKey>,
}

impl Passes {
    /// Looks for the runs around `wanted` blocks, and for plunges made by `plunges`.
    pub fn new(wanted: BTreeSet<BlockKey>, plunges: BTreeSet<BlockKey>) -> Self {
        Self { wanted, plunges_wanted: plunges, ..Self::default() }
    }

    /// Whether there is nothing to look for.
    pub fn is_empty(&self) -> bool {
        self.wanted.is_empty() && self.plunges_wanted.is_empty()
    }

    /// Ends the last run; call once.
    pub fn finish(&mut self) {
        let run = std::mem::take(&mut self.open);
        if run.blocks.iter().any(|block| self.wanted.contains(block)) {
            self.runs.push(run);
        }
    }

    fn level(&mut self, step: &Step<'_>, z: f64) {
        let tool = step.state.tool.value;
        if self.open.blocks.is_empty() || self.open.tool != tool || (self.open.z - z).abs() > LEVEL {
            self.finish();
            self.open = Run { tool, z, ..Run::default() };
        }
        self.open.blocks.push((step.block.source, step.block.span.start));
        self.open.incremental |= step.state.distance.value == Distance::Incremental;
    }

    fn plunge(&mut self, step: &Step<'_>) {
        let key = (step.block.source, step.block.span.start);
        let ([x, y, z0], [x1, y1, z1]) = (step.from.xyz, step.to.xyz);
        let still = (x - x1).abs() < LEVEL && (y - y1).abs() < LEVEL;
        if let Some(plunge) = self.last.take().and_then(|last| self.plunges.get_mut(&last)) {
            plunge.next = next_of(step);
        }
        if step.kind != StepKind::Line || !still || z1 >= z0 || !self.plunges_wanted.contains(&key) {
            return;
        }
        let first = Plunge {
            tool: step.state.tool.value,
            at: [x1, y1],
            z: (z0, z1),
            state: Snapshot::of(step.state),
            compensated: step.state.cutter.value.0 != CutterSide::Off,
            runs: 0,
            next: None,
        };
        self.plunges.entry(key).or_insert(first).runs += 1;
        self.last = Some(key);
    }

    /// The edits that put the passes around `blocks` of one text to another height, with their leave.
    ///
    /// # Errors
    /// With the reason, when the height is not written in a way that can be changed.
    pub fn deepened(
        &self,
        blocks: &BTreeSet<BlockKey>,
        depth: Millimetres,
        text: &Text<'_>,
    ) -> Result<Vec<(Edit, Liberty)>, String> {
        let Some((source, _)) = blocks.first() else { return Ok(Vec::new()) };
        let mut edits = Vec::new();
        for run in self.runs.iter().filter(|run| run.blocks.iter().any(|block| blocks.contains(block))) {
            if run.incremental {
                return Err("its height is given in increments".to_owned());
            }
            let before = edits.len();
            let inside = run.blocks.iter().filter(|(other, _)| other == source);
            edits.extend(inside.filter_map(|(_, start)| height_at(*start, run.z, depth, text)));
            if edits.len() == before {
                return Err("the height of this pass does not stand in a plain Z word".to_owned());
            }
        }
        if edits.is_empty() { Err("no pass at one height is cut at its place".to_owned()) } else { Ok(edits) }
    }

    /// The edits that turn a plunge into a way down along the move behind it.
    ///
    /// # Errors
    /// With the reason, when there is no room or no plain text for one.
    pub fn ramped(
        &self,
        block: BlockKey,
        (top, slope): (Millimetres, Degrees),
        diameter: &dyn Fn(u32) -> Option<f64>,
        text: &Text<'_>,
    ) -> Result<(Vec<Edit>, Liberty), String> {
        let plunge = self.plunges.get(&block).ok_or("its block is no plunge along Z alone")?;
        plunge.can_change()?;
        let next = plunge.next.ok_or("no level move follows the plunge, which a ramp could run along")?;
        let diameter = diameter(plunge.tool).ok_or("the tool's diameter is not known")?;
        let start = plunge.z.0.min(top.0 + ABOVE);
        let units = text.units.mm();
        let top = text.style.as_written(b'Z', start / units, Rounding::Up) * units;
        let way = match next.around {
            None => zigzag(plunge, &next, top, slope, diameter)?,
            Some(arc) => helix(plunge, &next, top, slope, &arc)?,
        };
        let mut edit = BlockEdit::open(text, block.1)?;
        let z = edit.block.word(b'Z').cloned().ok_or("its Z does not stand in its block")?;
        edit.replace(z.span, text.style.word(b'Z', top / units, Rounding::Up));
        let next_block = text.block(next.block.span.start).ok_or("the move behind the plunge is not in the text")?;
        let mut feed = next_block.word(b'F').map(|word| text.typed(word.span));
        for line in way.lines(&next_block, text) {
            edit.line_after(line.into_iter().chain(feed.take()).collect());
        }
        let far = way.far.map(|value| text.style.as_written(b'X', value / units, Rounding::Nearest) * units);
        let far = if next.around.is_some() { way.far } else { far };
        let leave = Liberty { ramp: Some(Ramp { at: plunge.at, far, top }), ..Liberty::default() };
        Ok((edit.finish()?, leave))
    }
}

impl Observer for Passes {
    fn step(&mut self, step: &Step<'_>) {
        match step.kind {
            StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => {}
            _ => return,
        }
        self.level(step, step.to.xyz[2]);
        self.plunge(step);
    }

    fn cycle(&mut self, _call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        self.finish();
        self.last = None;
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

/// The Z word of a block that says `old`, saying `depth`.
fn height_at(start: u32, old: f64, depth: Millimetres, text: &Text<'_>) -> Option<(Edit, Liberty)> {
    let units = text.units.mm();
    let block = text.block(start)?;
    let word = block.word(b'Z')?;
    number(word).filter(|z| (z * units - old).abs() <= LEVEL)?;
    let new = text.style.as_written(b'Z', depth.0 / units, Rounding::Down) * units;
    let written = text.style.word(b'Z', depth.0 / units, Rounding::Down);
    let leave = Liberty { height: Some((old, new)), ..Liberty::default() };
    ((new - old).abs() > LEVEL).then(|| (Edit::replace(word.span, written), leave))
}

fn next_of(step: &Step<'_>) -> Option<Next> {
    let around = match step.kind {
        StepKind::Line => None,
        StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => Some(arc),
        _ => return None,
    };
    let ([.., z0], [x, y, z1]) = (step.from.xyz, step.to.xyz);
    ((z0 - z1).abs() < LEVEL).then_some(Next { block: step.block, to: [x, y], around })
}

impl Plunge {
    fn can_change(&self) -> Result<(), String> {
        let reason = match self {
            Self { runs: 2.., .. } => "its block runs more than once",
            Self { compensated: true, .. } => "cutter radius compensation is on",
            Self { state: Snapshot { distance: Distance::Incremental, .. }, .. } => "its height is given in increments",
            _ => return Ok(()),
        };
        Err(reason.to_owned())
    }
}

/// A way down: the heights it passes through, and the point it turns at or turns around.
struct WayDown {
    at: [f64; 2],
    far: [f64; 2],
    heights: Vec<f64>,
    turns: bool,
}

/// To and fro along the move behind the plunge, which clears the same way again at full depth.
fn zigzag(plunge: &Plunge, next: &Next, top: f64, slope: Degrees, diameter: f64) -> Result<WayDown, String> {
    let [dx, dy] = [next.to[0] - plunge.at[0], next.to[1] - plunge.at[1]];
    let room = libm::hypot(dx, dy);
    if room < diameter {
        return Err("the move behind the plunge is shorter than the tool is wide: no room for a ramp".to_owned());
    }
    let depth = top - plunge.z.1;
    let whole = depth / libm::tan(slope.0.to_radians());
    let leg = (whole / 2.0).max(diameter).min(room);
    // An even number, so that the ramp ends where the plunge did.
    let legs = (1..=MOST_LEGS / 2).map(|pairs| 2 * pairs).find(|legs| f64::from(*legs) * leg >= whole - LEVEL);
    let legs = legs.ok_or("no room for a ramp along the move behind the plunge")?;
    let share = leg / room;
    let far = [plunge.at[0] + dx * share, plunge.at[1] + dy * share];
    Ok(WayDown { at: plunge.at, far, heights: heights(top, plunge.z.1, legs), turns: false })
}

/// Round the full circle behind the plunge.
fn helix(plunge: &Plunge, next: &Next, top: f64, slope: Degrees, arc: &Arc) -> Result<WayDown, String> {
    let whole = arc.sweep > TAU - 1e-3 && libm::hypot(next.to[0] - plunge.at[0], next.to[1] - plunge.at[1]) < LEVEL;
    if !whole {
        return Err("an arc of less than a full turn follows the plunge".to_owned());
    }
    let pitch = TAU * arc.radius * libm::tan(slope.0.to_radians());
    let turns = (1..=MOST_LEGS).find(|turns| f64::from(*turns) * pitch >= top - plunge.z.1 - LEVEL);
    let turns = turns.ok_or("no room for a helix: the circle behind the plunge is too small")?;
    let far = [arc.centre[0], arc.centre[1]];
    Ok(WayDown { at: plunge.at, far, heights: heights(top, plunge.z.1, turns), turns: true })
}

fn heights(top: f64, bottom: f64, legs: u32) -> Vec<f64> {
    (1..=legs).map(|leg| top + (bottom - top) * f64::from(leg) / f64::from(legs)).collect()
}

impl WayDown {
    fn lines(&self, next: &crate::syntax::Block, text: &Text<'_>) -> Vec<Line> {
        let units = text.units.mm();
        let circle: Line = next
            .words
            .iter()
            .filter(|word| matches!(word.letter, b'X' | b'Y' | b'I' | b'J' | b'R') || is_motion(word))
            .map(|word| text.typed(word.span))
            .collect();
        let mut lines = Vec::new();
        for (leg, height) in self.heights.iter().enumerate() {
            let z = text.style.word(b'Z', height / units, Rounding::Up);
            let mut line = if self.turns { circle.clone() } else { Line::new() };
            if !self.turns {
                let (from, to) = if leg % 2 == 0 { (self.at, self.far) } else { (self.far, self.at) };
                for (letter, from, to) in [(b'X', from[0], to[0]), (b'Y', from[1], to[1])] {
                    let moved = (from - to).abs() > LEVEL;
                    line.extend(moved.then(|| text.style.word(letter, to / units, Rounding::Nearest)));
                }
            }
            line.push(z);
            lines.push(line);
        }
        lines
    }
}

fn is_motion(word: &crate::syntax::Word) -> bool {
    word.letter == b'G' && number(word).is_some_and(|code| code == 2.0 || code == 3.0)
}
