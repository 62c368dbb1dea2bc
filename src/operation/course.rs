//! The course of a program as an operator follows it: what each tool call leads to, where the tool first comes near,
//! where it first cuts, where the machine stops, and which way it goes.

use super::Survey;
use crate::motion::{BlockRef, LengthOffset, ModalState, MotionFault, Observer, Step, StepKind};
use crate::source::{SourceId, Span};

/// Stops, ways and strokes kept for drawing; more would only blacken the picture. House value.
const MOST_DRAWN: usize = 6_000;
/// Sideways movement below this counts as none, mm; house value.
const SIDEWAYS: f64 = 1e-4;
/// Blocks kept between a tool call and its first cut. A word in one that is not kept counts as set before: it is restored
/// by hand rather than relied on. House value.
const MOST_RUN: usize = 6_000;
/// Chords of a drawn arc, in degrees; house value.
const CHORD: f64 = 12.0;

/// What a second look at the steps of a run gives.
#[derive(Clone, Debug, Default)]
pub struct Course {
    /// One entry a stretch of a tool in the spindle, in order.
    pub tools: Vec<ToolCourse>,
    /// Planned and optional stops before the end.
    pub stops: Vec<Stop>,
    /// Sideways rapids, from and to, program mm.
    pub rapids: Vec<([f64; 2], [f64; 2])>,
    /// Ways cut below the entry face, as chords, program mm.
    pub cuts: Vec<([f64; 2], [f64; 2])>,
    /// Whether more was moved than is kept for drawing.
    pub cut_off: bool,
    /// For each hole of the survey the last block that brought the tool over it; its own block where none did.
    pub reached_by: Vec<BlockRef>,
    /// For each cut of the survey likewise.
    pub cut_from: Vec<BlockRef>,
}

/// One stretch of a tool.
#[derive(Clone, Debug)]
pub struct ToolCourse {
    /// Tool number; 0 when none or unknown.
    pub tool: u32,
    /// Block of the tool change; `None` for a tool in the spindle from the start.
    pub change: Option<BlockRef>,
    /// Block of the main program to take the program up at: that of the tool change, or the call that leads to it before
    /// anything is cut. `None` where there is none: a control put into a subprogram does not know where to return.
    pub from: Option<BlockRef>,
    /// Blocks run from there to the first cut.
    pub run: Vec<(SourceId, Span)>,
    /// First block that brings the tip to a known height, and that height.
    pub approach: Option<(BlockRef, f64)>,
    /// Last height above the entry face before the first cut, and its block.
    pub near: Option<(BlockRef, f64)>,
    /// First block that cuts, the height it ends at, and everything modal there.
    pub cut: Option<FirstCut>,
    /// Last block before the tool first goes lower than its approach: what must have run before going on at a hole
    /// further down, with the tool still high enough to travel.
    pub ready: Option<BlockRef>,
    /// Everything modal at the last move of the main program before the first cut, or at the cut where that stands there.
    pub state: Option<ModalState>,
}

/// The first cut of a tool.
#[derive(Clone, Debug)]
pub struct FirstCut {
    /// Its block.
    pub block: BlockRef,
    /// Height the move ends at, program mm.
    pub to: f64,
    /// Feed of the tool centre, mm/min.
    pub feed: Option<f64>,
    /// Everything modal.
    pub state: ModalState,
}

/// M0 or M1.
#[derive(Clone, Copy, Debug)]
pub struct Stop {
    /// 0 or 1.
    pub code: u8,
    /// Its block.
    pub block: BlockRef,
    /// Tool in the spindle.
    pub tool: u32,
}

/// Watches a run; hand it to `motion::run`, then take the course out.
pub struct CourseWatch<'a> {
    course: Course,
    survey: &'a Survey,
    /// Height of the entry face; without one nothing counts as cut.
    entry: Option<f64>,
    /// Next hole and next cut of the survey.
    next: usize,
    next_cut: usize,
    over: Option<BlockRef>,
    /// Whether heights are those of the tool in the spindle, not of the one before it.
    settled: bool,
    block: BlockRef,
    before: Option<BlockRef>,
    /// Last block of the main program, and whether anything was cut since.
    main: BlockRef,
    has_cut: bool,
    /// Blocks run since then, that one among them.
    since: Vec<(SourceId, Span)>,
}

impl<'a> CourseWatch<'a> {
    /// A watch for the program that left `survey` behind.
    #[must_use]
    pub fn new(survey: &'a Survey, entry: Option<f64>) -> Self {
        let block = BlockRef::default();
        Self {
            course: Course::default(),
            survey,
            entry,
            next: 0,
            next_cut: 0,
            over: None,
            settled: true,
            block,
            before: None,
            main: block,
            has_cut: false,
            since: Vec::new(),
        }
    }

    /// What was seen.
    #[must_use]
    pub fn finish(self) -> Course {
        let Self { mut course, survey, .. } = self;
        course.reached_by.extend(survey.holes.iter().skip(course.reached_by.len()).map(super::Hole::first_block));
        course.cut_from.extend(survey.cuts.iter().skip(course.cut_from.len()).map(|cut| cut.first));
        course
    }

    /// Holes and cuts that begin in the block of this step were reached by the last block that moved over them.
    fn reach(&mut self, block: BlockRef) {
        while let Some(hole) = self.survey.holes.get(self.next) {
            let begins = (hole.source, hole.block, hole.trace) == (block.source, block.span.start, block.trace);
            if !begins {
                return;
            }
            self.course.reached_by.push(self.over.unwrap_or(block));
            self.next += 1;
        }
    }

    fn reach_cut(&mut self, block: BlockRef) {
        while self.survey.cuts.get(self.next_cut).is_some_and(|cut| cut.first == block) {
            self.course.cut_from.push(self.over.unwrap_or(block));
            self.next_cut += 1;
        }
    }

    /// After a tool change no height counts, and no way the tool went, until its length offset is stated or Z is moved.
    fn settle(&mut self, step: &Step<'_>) {
        let ([_, _, z], [_, _, to_z]) = (step.from.xyz, step.to.xyz);
        let moved = step.to.known.has(2) && (!step.from.known.has(2) || (to_z - z).abs() > SIDEWAYS);
        let length = &step.state.length;
        let own = matches!(length.value, LengthOffset::On { .. }) && length.tool == step.state.tool.value;
        self.settled |= moved || own;
    }

    /// Whether a step takes the tool below its first approach.
    fn goes_lower(&self, step: &Step<'_>) -> bool {
        let [_, _, z] = step.to.xyz;
        let approach = self.course.tools.last().and_then(|stretch| stretch.approach);
        step.to.known.has(2) && approach.is_some_and(|(_, height)| z < height - SIDEWAYS)
    }

    /// The stretch of the tool now in the spindle.
    fn stretch(&mut self, tool: u32) -> Option<&mut ToolCourse> {
        if self.course.tools.is_empty() {
            self.course.tools.push(ToolCourse::new(tool, None));
        }
        self.course.tools.last_mut()
    }

    fn change(&mut self, step: &Step<'_>) {
        (self.over, self.settled) = (None, false);
        let from = (!self.has_cut).then_some(self.main);
        let run = self.since.clone();
        let new = ToolCourse::new(step.state.tool.value, Some(step.block));
        self.course.tools.push(ToolCourse { from, run, ..new });
    }

    fn moved(&mut self, step: &Step<'_>) {
        let ([x, y, z], [to_x, to_y, to_z]) = (step.from.xyz, step.to.xyz);
        let known = step.to.known.has(0) && step.to.known.has(1);
        let came = step.from.known.has(0) && step.from.known.has(1);
        let sideways = known && (!came || (to_x - x).abs() > SIDEWAYS || (to_y - y).abs() > SIDEWAYS);
        let rapid = step.kind == StepKind::Rapid;
        let low = if step.from.known.has(2) { z.min(to_z) } else { to_z };
        let cutting = !rapid && step.to.known.has(2) && self.entry.is_some_and(|entry| low < entry - SIDEWAYS);
        self.settle(step);
        let over = sideways && rapid && self.settled;
        // A tool set down where it already stands is taken up where it goes on down.
        if over || self.over.is_none() && self.goes_lower(step) {
            self.over = Some(step.block);
        }
        if sideways && came && rapid {
            draw(&mut self.course.rapids, &mut self.course.cut_off, [x, y], [to_x, to_y]);
        }
        if sideways && came && cutting {
            chords(step, |from, to| draw(&mut self.course.cuts, &mut self.course.cut_off, from, to));
        }
        self.reach(step.block);
        self.reach_cut(step.block);
        self.has_cut |= cutting;
        self.note(step, cutting);
    }

    /// What a move is to the stretch of its tool.
    fn note(&mut self, step: &Step<'_>, cutting: bool) {
        let (entry, before, settled) = (self.entry, self.before, self.settled);
        let Some(stretch) = self.stretch(step.state.tool.value) else { return };
        let [.., z] = step.to.xyz;
        if stretch.cut.is_some() || !step.to.known.has(2) || !settled {
            return;
        }
        if step.block.trace.0 == 0 {
            stretch.state = Some(step.state.clone());
        }
        if stretch.ready.is_none() && stretch.approach.is_some_and(|(_, height)| z < height - SIDEWAYS) {
            stretch.ready = before;
        }
        if cutting {
            let state = step.state.clone();
            stretch.cut = Some(FirstCut { block: step.block, to: z, feed: step.feed, state });
            return;
        }
        let changes = !step.from.known.has(2) || step.from.xyz != step.to.xyz;
        if stretch.approach.is_none() && changes {
            stretch.approach = Some((step.block, z));
        }
        if entry.is_some_and(|entry| z >= entry) && stretch.near.is_none_or(|(_, near)| near != z) {
            stretch.near = Some((step.block, z));
        }
    }
}

impl ToolCourse {
    fn new(tool: u32, change: Option<BlockRef>) -> Self {
        let (from, run) = (None, Vec::new());
        Self { tool, change, from, run, approach: None, near: None, cut: None, ready: None, state: None }
    }
}

impl Observer for CourseWatch<'_> {
    fn step(&mut self, step: &Step<'_>) {
        match step.kind {
            StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => self.moved(step),
            StepKind::ToolChange => self.change(step),
            StepKind::Stop(code @ (0 | 1)) if self.course.stops.len() < MOST_DRAWN => {
                self.course.stops.push(Stop { code, block: step.block, tool: step.state.tool.value });
            }
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::End => {}
        }
    }

    fn block(&mut self, block: BlockRef, _understood: bool) {
        self.before = Some(self.block);
        self.block = block;
        if block.trace.0 == 0 {
            (self.main, self.has_cut) = (block, false);
            self.since.clear();
        }
        keep(&mut self.since, block);
        if let Some(stretch) = self.course.tools.last_mut().filter(|stretch| stretch.cut.is_none()) {
            keep(&mut stretch.run, block);
        }
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

fn keep(run: &mut Vec<(SourceId, Span)>, block: BlockRef) {
    if run.len() < MOST_RUN {
        run.push((block.source, block.span));
    }
}

fn draw(ways: &mut Vec<([f64; 2], [f64; 2])>, cut_off: &mut bool, from: [f64; 2], to: [f64; 2]) {
    if ways.len() < MOST_DRAWN {
        ways.push((from, to));
    } else {
        *cut_off = true;
    }
}

/// A feed move as straight chords.
fn chords(step: &Step<'_>, mut each: impl FnMut([f64; 2], [f64; 2])) {
    let ([x, y, _], [to_x, to_y, _]) = (step.from.xyz, step.to.xyz);
    let (arc, turn) = match step.kind {
        StepKind::ArcCw(arc) => (arc, -1.0),
        StepKind::ArcCcw(arc) => (arc, 1.0),
        _ => return each([x, y], [to_x, to_y]),
    };
    let [cx, cy, _] = arc.centre;
    let start = libm::atan2(y - cy, x - cx);
    let count = libm::ceil(arc.sweep.to_degrees() / CHORD).clamp(1.0, 120.0);
    let mut from = [x, y];
    let mut number = 1.0;
    while number <= count {
        let angle = start + turn * arc.sweep * number / count;
        let to = [cx + arc.radius * libm::cos(angle), cy + arc.radius * libm::sin(angle)];
        each(from, to);
        from = to;
        number += 1.0;
    }
}
