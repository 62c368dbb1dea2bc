//! Runs a program: block after block, through calls and returns, each in the published order of execution.

use super::offsets::Offsets;
use super::series::Series;
use super::usage::Plan;
use super::words::{Faults, Words};
use super::{
    Axes, BlockRef, Compensation, Distance, Doubt, FaultKind, ModalState, MotionFault, MotionMode, Observer, Pose, Set,
    Settings, Step, StepKind, ToolTable, Trace,
};
use crate::program::ProgramGraph;
use crate::source::Span;
use crate::syntax::{Block, Blocks, Parameters, Row};

/// Runs the main program of `programs` and shows every step to `observer`. Returns the call traces that `TraceId` names.
pub fn run<O: Observer>(
    programs: &ProgramGraph,
    settings: &Settings,
    tools: &ToolTable,
    observer: &mut O,
) -> Vec<Trace> {
    let mut runner = Runner::new(programs, settings, tools, observer);
    runner.follow();
    runner.calls.traces
}

/// Where reading goes on behind a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Flow {
    /// The next block.
    Next,
    /// Another place, by a call or a return.
    Jump(Place),
    /// Nowhere.
    End,
}

/// A place to read from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Place {
    /// Which source.
    pub source: crate::source::SourceId,
    /// Byte offset of a line.
    pub at: u32,
    /// That line's number from 0.
    pub line: u32,
}

/// Everything that changes while a program runs.
pub(super) struct Runner<'a, O> {
    pub programs: &'a ProgramGraph,
    pub settings: &'a Settings,
    pub tools: &'a ToolTable,
    pub observer: &'a mut O,
    pub state: ModalState,
    /// Where the controlled point is.
    pub pose: Pose,
    pub parameters: Parameters,
    /// Words of the present block.
    pub words: Words,
    /// Motion of the present block.
    pub plan: Plan,
    pub block: BlockRef,
    /// Line end of the present block, where reading goes on.
    pub resume: u32,
    pub offsets: Offsets,
    /// Canned-cycle values kept from block to block.
    pub series: Series,
    /// Forms of cycle calls so far.
    pub forms: u32,
    /// Motion mode before the last cycle.
    pub earlier: MotionMode,
    /// Whether I, J, K of arcs are positions or increments.
    pub arc_centre: Distance,
    /// Cutter radius compensation, when it moves the path.
    pub compensation: Option<Compensation>,
    /// Last F of each feed mode, for controls that keep them apart.
    pub feeds: [Option<f64>; 3],
    /// F was given in another feed mode and nobody declared whether it stays.
    pub feed_doubtful: bool,
    pub calls: super::calls::Calls,
    /// The last program called that is not there.
    pub missing: Option<u32>,
    /// What reading the present block came upon.
    pub faults: Faults,
    /// Undeclared facts told already.
    told: Vec<&'static str>,
    /// Whether a percent sign opened the main program.
    opened: bool,
}

impl<'a, O: Observer> Runner<'a, O> {
    fn new(programs: &'a ProgramGraph, settings: &'a Settings, tools: &'a ToolTable, observer: &'a mut O) -> Self {
        let strict = settings.dialect.strict;
        let known = settings.dialect.start_known;
        Self {
            programs,
            settings,
            tools,
            observer,
            state: ModalState::at_start(settings),
            pose: Pose { known: if known { Axes::ALL } else { Axes::default() }, ..Pose::default() },
            parameters: if strict { Parameters::strict() } else { Parameters::default() },
            words: Words::default(),
            plan: Plan::default(),
            block: BlockRef::default(),
            resume: 0,
            offsets: Offsets::at_start(known),
            series: Series::default(),
            forms: 0,
            earlier: MotionMode::None,
            arc_centre: Distance::Incremental,
            compensation: None,
            feeds: [None; 3],
            feed_doubtful: false,
            calls: super::calls::Calls::default(),
            missing: None,
            faults: Faults::new(),
            told: Vec::new(),
            opened: false,
        }
    }

    fn follow(&mut self) {
        let programs = self.programs;
        let (mut block, mut row) = (Block::default(), Row::default());
        let mut place = Place::default();
        while let Some(source) = programs.sources().get(usize::from(place.source.0)) {
            let mut blocks = Blocks::new(&source.bytes, place.at as usize, self.settings.lexis());
            let flow = loop {
                let flow = if blocks.next_row(&mut row) {
                    self.row(&row, place)
                } else if blocks.next(&mut block) {
                    self.block(&block, place)
                } else {
                    self.end_of_text()
                };
                if flow != Flow::Next {
                    break flow;
                }
                place.line += 1;
            };
            match flow {
                Flow::Jump(to) => place = to,
                Flow::Next | Flow::End => break,
            }
        }
        self.still(StepKind::End);
    }

    fn end_of_text(&mut self) -> Flow {
        if self.calls.is_inside() {
            return self.leave();
        }
        self.report(if self.opened { FaultKind::PercentOpen } else { FaultKind::NoEnd }, self.block.span);
        Flow::End
    }

    fn row(&mut self, row: &Row, place: Place) -> Flow {
        if !self.arrive(row.span, row.end, place) {
            return Flow::End;
        }
        if let Some(to) = self.next_place(row) {
            self.observer.block(self.block, true);
            self.drill_again(to);
            return Flow::Next;
        }
        self.faults.clear();
        self.words.take_row(row);
        self.perform(false).unwrap_or(Flow::Next)
    }

    fn block(&mut self, block: &Block, place: Place) -> Flow {
        if !self.arrive(block.span, block.end, place) {
            return Flow::End;
        }
        if let Some(span) = block.percent {
            return self.percent(span);
        }
        if block.program.is_some() && self.opens_another(block.span.start) {
            return self.end_of_text();
        }
        if self.settings.block_delete && block.delete.is_some() {
            self.observer.block(self.block, true);
            return Flow::Next;
        }
        if block.is_empty() && block.faults.is_empty() {
            self.observer.block(self.block, true);
            return Flow::Next;
        }
        self.faults.clear();
        self.faults.extend(block.faults.iter().map(|fault| (FaultKind::Text(fault.kind), fault.span)));
        self.words.read(block, self.settings, &self.parameters, &mut self.faults);
        if let Some(control) = block.control {
            self.faults.push((FaultKind::NotFollowed(control.kind), control.span));
        }
        let Some(flow) = self.perform(block.control.is_some()) else { return Flow::Next };
        self.assign(block);
        flow
    }

    /// Comes to the next block; false when subprograms have run for too long.
    fn arrive(&mut self, span: Span, end: Span, place: Place) -> bool {
        self.block = BlockRef { source: place.source, span, index: place.line, trace: self.calls.trace() };
        self.resume = end.end;
        let goes_on = self.calls.count(self.settings);
        if !goes_on {
            self.report(FaultKind::CallTooLong, span);
        }
        goes_on
    }

    /// Runs the words read, unless what reading them came upon leaves the block undone. `controlled` says that a
    /// statement beside them is not followed.
    fn perform(&mut self, controlled: bool) -> Option<Flow> {
        self.check_use();
        let understood = self.faults.iter().all(|(kind, _)| kind.is_understood());
        self.observer.block(self.block, understood);
        if !self.faults.is_empty() {
            if self.tell_faults() {
                self.abandon();
                return None;
            }
            if controlled {
                self.lose();
                return None;
            }
            if self.faults.iter().any(|(kind, _)| kind.changes_frame()) {
                self.lose();
            }
        }
        Some(self.execute())
    }

    /// Reports what reading the block came upon; true when the block is left undone.
    fn tell_faults(&mut self) -> bool {
        let strict = self.settings.dialect.strict;
        let faults = std::mem::take(&mut self.faults);
        let mut stops = false;
        for (kind, span) in &faults {
            self.report(*kind, *span);
            stops |= kind.stops(strict);
        }
        self.faults = faults;
        stops
    }

    /// Notes a fault of the present block's reading.
    pub fn note(&mut self, kind: FaultKind, span: Span) {
        self.faults.push((kind, span));
    }

    /// Tells the observer of a fault; an undeclared fact only once.
    pub fn report(&mut self, kind: FaultKind, span: Span) {
        if let FaultKind::Undeclared(key) = kind {
            if self.told.contains(&key) {
                return;
            }
            self.told.push(key);
        }
        self.observer.fault(MotionFault { kind, span, block: self.block });
    }

    fn percent(&mut self, span: Span) -> Flow {
        self.observer.block(self.block, true);
        if self.calls.is_inside() {
            return if self.calls.starts_at(self.block.span.start) { Flow::Next } else { self.leave() };
        }
        if !self.opened && span.start <= self.block.span.start {
            self.opened = true;
            return Flow::Next;
        }
        Flow::End
    }

    /// Settings of a line happen after everything else on it (NISTIR 6556, section 3.3.3).
    fn assign(&mut self, block: &Block) {
        if block.assignments.is_empty() {
            return;
        }
        // All values are read before the first parameter is set.
        let values: Vec<_> = block
            .assignments
            .iter()
            .map(|setting| {
                let index = setting.target.eval_index(&self.parameters);
                (index, setting.value.eval(&self.parameters), setting.span)
            })
            .collect();
        for (index, value, span) in values {
            match (index, value) {
                (Ok(index), Ok(value)) => self.parameters.set(index, value),
                (Ok(index), Err(error)) => {
                    self.parameters.forget(index);
                    self.report(FaultKind::of_value('#', error), span);
                }
                (Err(error), _) => self.report(FaultKind::of_value('#', error), span),
            }
        }
    }

    /// A block that cannot run leaves the axes it names unknown.
    pub fn abandon(&mut self) {
        let named = self.words.axes().0;
        self.pose.known.0 &= !named;
    }

    /// A statement that is not followed may have moved everything and changed every mode.
    pub fn lose(&mut self) {
        self.pose.known = Axes::default();
        self.parameters.forget_all();
        self.state.lost = Axes::ALL;
        self.state.doubtful = Doubt { feed: true, spindle: true, modes: true };
        self.state.generation += 1;
    }

    /// A modal value set by the word at `span`.
    pub fn stated<T>(&self, value: T, span: Span) -> Set<T> {
        Set { value, at: span.start, source: self.block.source.0, tool: self.state.tool.value }
    }

    /// Shows a step that does not move.
    pub fn still(&mut self, kind: StepKind) {
        self.go(kind, self.pose, None, None);
    }

    /// Shows a step and arrives at its end.
    pub fn go(&mut self, kind: StepKind, to: Pose, feed: Option<f64>, part: Option<super::CyclePart>) {
        let step = Step { kind, from: self.pose, to, feed, part, block: self.block, state: &self.state };
        self.observer.step(&step);
        self.pose = to;
    }
}
