//! Straight moves fed through air: by rapid, where they run high over the part and clear of the fixture.

use super::air::ABOVE;
use super::order::jumps;
use super::order::travel::Travel;
use super::origin::Origin;
use super::proof::{Trail, nothing_worse};
use super::{Change, Left, Outcome, Run, Task, counted};
use crate::job::Machine;
use crate::motion::{
    BlockRef, CutterSide, CycleCall, Expand, FeedMode, ModalState, MotionFault, Observer, Step, StepKind, TraceId,
};
use crate::patch::{Edit, Edits, Style, number};
use crate::source::{Source, SourceId};
use crate::syntax::{Block, Blocks, Lexis};
use crate::units::{Millimetres, MmPerMin, UnitSystem};
use std::collections::{BTreeMap, BTreeSet};

/// Air kept between tool or holder and what stands around the part, mm: a house value.
const ROOM: f64 = 5.0;
/// Way through air that is worth a change or a word, mm: a house value.
const WORTH: f64 = 10.0;
/// Most links that are proved one by one where they do not hold together: a house value.
const MOST_ALONE: usize = 50;

/// Feed moves in a row that may go by rapid.
#[derive(Clone, Debug)]
struct Link {
    tool: u32,
    moves: Vec<Move>,
    /// The feed move that takes their G1 over.
    heir: Option<BlockRef>,
    /// Why they cannot.
    fault: Option<String>,
}

/// One feed move.
#[derive(Clone, Copy, Debug)]
struct Move {
    block: BlockRef,
    from: [f64; 3],
    to: [f64; 3],
    feed: f64,
    /// Its number among all steps.
    number: usize,
}

impl Move {
    fn way(&self) -> [f64; 3] {
        let ([x, y, z], [to_x, to_y, to_z]) = (self.from, self.to);
        [to_x - x, to_y - y, to_z - z]
    }

    /// Seconds that a rapid saves, without the time to speed up and slow down.
    fn saved(&self, machine: &Machine) -> f64 {
        let axes = self.way().into_iter().zip(machine.rapid);
        let rapid = axes.map(|(way, rate)| rate.map_or(0.0, |rate| 60.0 * way.abs() / rate.0)).fold(0.0, f64::max);
        60.0 * self.length() / self.feed - rapid
    }

    fn length(&self) -> f64 {
        self.way().iter().map(|way| way * way).sum::<f64>().sqrt()
    }
}

impl Link {
    fn length(&self) -> f64 {
        self.moves.iter().map(Move::length).sum()
    }
}

/// Watches a run for feed moves that stay high over the part, under the origin the job speaks of.
struct Scan {
    /// Height they must keep, program mm.
    height: f64,
    steps: usize,
    links: Vec<Link>,
    /// Whether the last link may go on.
    open: bool,
    origin: Origin,
}

impl Scan {
    /// The move of a step that stays in the air, in the main program, as far as the step alone tells.
    fn airborne(&self, step: &Step<'_>) -> Option<Move> {
        let plain = step.kind == StepKind::Line && step.part.is_none() && in_main(step.block);
        let state = step.state;
        let free = state.cutter.value.0 == CutterSide::Off && state.feed_mode.value != FeedMode::InverseTime;
        let (from, to) = (step.from.point()?, step.to.point()?);
        let ([.., from_z], [.., to_z]) = (from, to);
        let high = from_z.min(to_z) >= self.height - 1e-6;
        let feed = step.feed.filter(|feed| *feed > 0.0)?;
        (plain && free && high).then_some(Move { block: step.block, from, to, feed, number: self.steps })
    }

    fn feeds(&mut self, block: BlockRef, state: &ModalState) {
        let Some(link) = self.links.last_mut().filter(|_| std::mem::take(&mut self.open)) else { return };
        let own = block.span.start <= state.motion.at && state.motion.at < block.span.end;
        if !own {
            link.heir = Some(block);
            if !in_main(block) {
                link.fault = Some("a subprogram takes their G1 over".to_owned());
            }
        }
    }
}

fn in_main(block: BlockRef) -> bool {
    block.source == SourceId::default() && block.trace == TraceId::default()
}

impl Observer for Scan {
    fn step(&mut self, step: &Step<'_>) {
        let shifted = self.origin.has_moved(step);
        match (self.airborne(step), step.kind) {
            (Some(one), _) => {
                let tool = step.state.tool.value;
                let fault = shifted.then(|| "the origin is shifted there".to_owned());
                match self.links.last_mut().filter(|link| self.open && link.tool == tool) {
                    Some(link) => {
                        link.moves.push(one);
                        link.fault = link.fault.take().or(fault);
                    }
                    None => self.links.push(Link { tool, moves: vec![one], heir: None, fault }),
                }
                self.open = true;
            }
            (None, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_)) => self.feeds(step.block, step.state),
            (None, StepKind::Rapid) => self.open = false,
            _ => {}
        }
        self.steps += 1;
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        (self.open, self.steps) = (false, self.steps + 1);
        self.origin.pass(call);
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

/// Lets what is fed through air go by rapid.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let height = task.job.head.entry_z.0 + ABOVE;
    let mut scan = Scan { height, steps: 0, links: Vec::new(), open: false, origin: Origin::of(task.job) };
    run.watch(task, &mut scan);
    // Without jumps no block of the main program runs twice.
    let jumping = jumps(run.main());
    let waived = run.waived_places();
    let (mut good, mut left) = (Vec::new(), BTreeMap::new());
    for link in scan.links.iter().filter(|link| link.length() >= WORTH) {
        let why = match &link.fault {
            _ if jumping => Some("the program jumps to block numbers".to_owned()),
            Some(why) => Some(why.clone()),
            None => against(link, &waived, run, task).err(),
        };
        match why {
            None => good.push(link.clone()),
            Some(why) => *left.entry((link.tool, why)).or_insert(0) += link.moves.len(),
        }
    }
    let (proved, next) = prove(good, run, task, &mut left);
    let stays = |((tool, why), moves): ((u32, String), usize)| Left {
        what: format!("{} through air at feed with T{tool}", counted(moves, "move")),
        why,
    };
    let changes = next.iter().flat_map(|next| changes(&proved, run, next, task)).collect();
    Outcome { next, changes, left: left.into_iter().map(stays).collect(), contradiction: None }
}

/// Whether nothing is known against a link.
fn against(link: &Link, waived: &BTreeMap<u32, &str>, run: &Run, task: &Task<'_>) -> Result<(), String> {
    let travel = Travel::new(task.job, link.tool)?;
    if !travel.knows_fixture() {
        return Err("`fixture.zones` is not given: what stands around the part is not known".to_owned());
    }
    for one in &link.moves {
        let span = one.block.span;
        if let Some((_, id)) = waived.range(span.start..span.end.max(span.start)).next() {
            return Err(format!("waiver {id} speaks of them"));
        }
        if let Some(zone) = travel.near(one.from, one.to, ROOM) {
            return Err(format!(
                "{} `{}` is nearer than {}",
                zone.kind.word(),
                zone.id,
                run.units.length(Millimetres(ROOM))
            ));
        }
        let block = read(run.main(), one.block).ok_or("its block cannot be read")?;
        if !is_plain(&block) {
            return Err("more than a straight move stands in their blocks".to_owned());
        }
        if one.saved(&task.job.machine) <= 0.0 {
            return Err("by rapid they would be no faster".to_owned());
        }
    }
    Ok(())
}

/// Whether a block holds nothing but a straight feed move along X, Y and Z.
fn is_plain(block: &Block) -> bool {
    let bare =
        block.delete.is_none() && block.control.is_none() && block.assignments.is_empty() && block.faults.is_empty();
    let code = |value: f64| [1.0, 17.0, 90.0, 91.0, 94.0].contains(&value);
    bare && block.words.iter().all(|word| match word.letter {
        b'G' => number(word).is_some_and(code),
        b'X' | b'Y' | b'Z' | b'F' => number(word).is_some(),
        _ => false,
    })
}

fn read(bytes: &[u8], block: BlockRef) -> Option<Block> {
    let mut read = Block::default();
    Blocks::new(bytes, block.span.start as usize, Lexis::default()).next(&mut read).then_some(read)
}

/// The program with some links at rapid.
fn written(links: &[Link], run: &Run, task: &Task<'_>) -> Option<Run> {
    let bytes = run.main();
    let style = Style::learn(bytes, run.units == UnitSystem::Metric, Some(&task.job.machine));
    let mut edits = Vec::new();
    for link in links {
        for (index, one) in link.moves.iter().enumerate() {
            edits.extend(moved_by(&read(bytes, one.block)?, 0, index == 0, &style));
        }
        if let Some(heir) = link.heir {
            edits.extend(moved_by(&read(bytes, heir)?, 1, true, &style));
        }
    }
    let text = Edits::new(edits, bytes.len()).ok()?.apply(bytes);
    let name = run.sources.first().map_or("", |source| source.name.as_str());
    Some((task.replay)(Source::new(name, text)))
}

/// A block that moves by G0 or G1: in the place of its own G1, or before its words where it has to say so.
fn moved_by(block: &Block, code: u8, says: bool, style: &Style) -> Option<Edit> {
    let new = style.code(b'G', code);
    let moves = |value: f64| value == 0.0 || value == 1.0;
    if let Some(own) = block.words.iter().find(|word| word.letter == b'G' && number(word).is_some_and(moves)) {
        return Some(Edit::replace(own.span, new));
    }
    let first = block.words.first().filter(|_| says)?;
    Some(Edit::insert(first.span.start, if style.spaced { format!("{new} ") } else { new }))
}

/// The links that hold, and the program with them: all together, else one after the other.
fn prove(
    links: Vec<Link>,
    run: &Run,
    task: &Task<'_>,
    left: &mut BTreeMap<(u32, String), usize>,
) -> (Vec<Link>, Option<Run>) {
    if links.is_empty() {
        return (links, None);
    }
    let trail = Trail::of(run, task);
    let attempt = |links: &[Link]| {
        let next = written(links, run, task).ok_or("it could not be written")?;
        let freed: BTreeSet<usize> = links.iter().flat_map(|link| &link.moves).map(|one| one.number).collect();
        if !trail.is_same(&Trail::of(&next, task), &|number| freed.contains(&number)) {
            return Err("another step of the tool would change".to_owned());
        }
        nothing_worse(run, &next).map(|()| next)
    };
    if let Ok(next) = attempt(&links) {
        return (links, Some(next));
    }
    let (mut kept, mut next) = (Vec::new(), None);
    for (index, link) in links.into_iter().enumerate() {
        let (tool, moves) = (link.tool, link.moves.len());
        kept.push(link);
        let tried =
            if index < MOST_ALONE { attempt(&kept) } else { Err("too many to be proved one by one".to_owned()) };
        match tried {
            Ok(run) => next = Some(run),
            Err(why) => {
                kept.pop();
                *left.entry((tool, why)).or_insert(0) += moves;
            }
        }
    }
    (kept, next)
}

/// What the links of each tool buy, by their share of the time fed.
fn changes(links: &[Link], run: &Run, next: &Run, task: &Task<'_>) -> Vec<Change> {
    let mut tools: BTreeMap<u32, (usize, f64, f64)> = BTreeMap::new();
    for link in links {
        let (moves, length, share) = tools.entry(link.tool).or_default();
        *moves += link.moves.len();
        *length += link.length();
        *share += link.moves.iter().map(|one| one.saved(&task.job.machine)).sum::<f64>();
    }
    let all: f64 = tools.values().map(|(.., share)| share).sum();
    let saved = run.seconds() - next.seconds();
    let rates: Vec<String> =
        task.job.machine.rapid.iter().flatten().map(|rate| run.units.feed(MmPerMin(rate.0))).collect();
    let told = tools.into_iter().map(|(tool, (moves, length, share))| Change {
        tool: Some(tool),
        holes: 0,
        what: format!("{} through air by rapid, {}", counted(moves, "move"), run.units.length(Millimetres(length))),
        why: vec![
            format!("at least {} above the entry face: house value", run.units.length(Millimetres(ABOVE))),
            format!(
                "no zone of the job file's fixture within {} of tool and holder: house value",
                run.units.length(Millimetres(ROOM))
            ),
            format!("rapid rates {}; source: job file: machine.rapid", rates.join(", ")),
        ],
        gain: Some(saved * share / all).filter(|gain| gain.is_finite()),
    });
    told.collect()
}
