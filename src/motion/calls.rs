//! Calls and returns: where a program goes on, how often, and by which trace.

use super::code::Callee;
use super::runner::{Flow, Place, Runner};
use super::words::whole;
use super::{Action, Code, FaultKind, Observer, Settings, Trace, TraceId};
use crate::program::MOST_NESTED_CALLS;
use crate::source::{SourceId, Span};
use memchr::memchr2_iter;
use std::collections::BTreeMap;

/// Calls under way and traces of all calls made.
pub(super) struct Calls {
    /// What `TraceId` names; the main program first.
    pub traces: Vec<Trace>,
    frames: Vec<Frame>,
    blocks: u64,
    /// Whether some return led to a block of its own choice, from where the same call may come again and again.
    returned_elsewhere: bool,
    /// Repeats of canned cycles so far.
    repeats: u64,
    /// Line numbers of places called.
    lines: BTreeMap<(SourceId, u32), u32>,
}

/// One call under way.
#[derive(Clone, Copy, Debug)]
struct Frame {
    target: Place,
    back: Place,
    /// Repeats still to come.
    left: u32,
    trace: TraceId,
}

impl Default for Calls {
    fn default() -> Self {
        Self {
            traces: vec![Trace::default()],
            frames: Vec::new(),
            blocks: 0,
            returned_elsewhere: false,
            repeats: 0,
            lines: BTreeMap::new(),
        }
    }
}

impl Calls {
    /// Whether a subprogram is running.
    pub fn is_inside(&self) -> bool {
        !self.frames.is_empty()
    }

    /// Whether the running subprogram starts at that byte.
    pub fn starts_at(&self, at: u32) -> bool {
        self.frames.last().is_some_and(|frame| frame.target.at == at)
    }

    /// The calls that led here.
    pub fn trace(&self) -> TraceId {
        self.frames.last().map_or(TraceId::default(), |frame| frame.trace)
    }

    /// Counts a block read; false when there have been too many calls, or too many blocks inside them.
    pub fn count(&mut self, settings: &Settings) -> bool {
        self.blocks += u64::from(self.is_inside() || self.returned_elsewhere);
        self.blocks <= settings.most_called_blocks && self.traces.len() as u64 <= settings.most_calls
    }

    /// Counts repeats of a canned cycle; false when there have been too many of them.
    pub fn count_repeats(&mut self, repeats: u32, settings: &Settings) -> bool {
        self.repeats += u64::from(repeats.saturating_sub(1));
        self.repeats <= settings.most_calls
    }

    fn add_trace(&mut self, calls: Vec<(SourceId, Span)>, repeat: u32) -> TraceId {
        self.traces.push(Trace { calls, repeat });
        TraceId(u32::try_from(self.traces.len() - 1).unwrap_or(u32::MAX))
    }
}

impl<O: Observer> Runner<'_, O> {
    /// M97, M98, M99 and their like.
    pub(super) fn call(&mut self, code: &'static Code, span: Span) -> Flow {
        let Action::Call(callee) = code.action else { return self.give_back() };
        let by_line = callee == Callee::Line || !self.words.has(b'P') && self.words.has(b'Q');
        let letter = if by_line && callee == Callee::Program { b'Q' } else { b'P' };
        let Some(number) = self.words.get(letter).and_then(whole) else {
            self.report(FaultKind::CallWithoutNumber, span);
            self.lose();
            return Flow::Next;
        };
        let repeats = self.words.get(b'L').and_then(whole);
        let here = self.block.source;
        let (number, times, target) = if by_line {
            let at = self.programs.sequence(here, self.block.span.start, number);
            (number, repeats.unwrap_or(1), at.map(|at| (here, at)))
        } else {
            let (number, times) = self.programs.unpack(here, number, repeats);
            (number, times, self.programs.target(here, number))
        };
        if times == 0 {
            return Flow::Next;
        }
        let fault = match target {
            None => FaultKind::CallMissing(number),
            Some(target) if self.is_running(target) => FaultKind::CallRecursive(number),
            Some(_) if self.calls.frames.len() >= MOST_NESTED_CALLS => FaultKind::CallTooDeep(MOST_NESTED_CALLS as u32),
            Some(target) => return self.enter(target, times),
        };
        self.report(fault, self.words.span(letter));
        self.lose();
        if let FaultKind::CallMissing(number) = fault {
            self.missing = Some(number);
        }
        Flow::Next
    }

    fn is_running(&self, target: (SourceId, u32)) -> bool {
        let main = self.programs.programs().first().map(|program| (program.source, program.start));
        let mut running = self.calls.frames.iter().map(|frame| (frame.target.source, frame.target.at));
        main == Some(target) || running.any(|place| place == target)
    }

    fn enter(&mut self, target: (SourceId, u32), times: u32) -> Flow {
        let parent = self.calls.traces.get(self.block.trace.0 as usize);
        let mut sites = parent.map(|trace| trace.calls.clone()).unwrap_or_default();
        sites.push((self.block.source, self.block.span));
        let trace = self.calls.add_trace(sites, 0);
        let back = Place { source: self.block.source, at: self.resume, line: self.block.index + 1 };
        let target = self.place(target);
        self.calls.frames.push(Frame { target, back, left: times - 1, trace });
        Flow::Jump(target)
    }

    fn place(&mut self, (source, at): (SourceId, u32)) -> Place {
        let programs = self.programs;
        let bytes = programs.sources().get(usize::from(source.0)).map(|source| source.bytes.as_slice());
        let before = bytes.and_then(|bytes| bytes.get(..at as usize)).unwrap_or_default();
        let line = *self.calls.lines.entry((source, at)).or_insert_with(|| {
            let ends = memchr2_iter(b'\n', b'\r', before);
            let single = ends.filter(|end| before.get(*end) == Some(&b'\n') || before.get(end + 1) != Some(&b'\n'));
            u32::try_from(single.count()).unwrap_or(u32::MAX)
        });
        Place { source, at, line }
    }

    /// M99: back to the caller, or by P to one of its blocks. In the main program it starts over, which is its end here.
    fn give_back(&mut self) -> Flow {
        let wanted = self.words.get(b'P').and_then(whole);
        let Some(frame) = self.calls.frames.last().copied().filter(|_| wanted.is_some()) else { return self.leave() };
        let at = wanted.and_then(|number| self.programs.sequence(frame.back.source, frame.back.at, number));
        let Some(at) = at else {
            self.report(FaultKind::CallMissing(wanted.unwrap_or(0)), self.words.span(b'P'));
            self.lose();
            return self.leave();
        };
        self.calls.frames.pop();
        self.calls.returned_elsewhere = true;
        Flow::Jump(self.place((frame.back.source, at)))
    }

    /// The end of a subprogram: its next repeat, or back to the block behind the call.
    pub(super) fn leave(&mut self) -> Flow {
        let Some(frame) = self.calls.frames.last().copied() else { return Flow::End };
        if frame.left == 0 {
            self.calls.frames.pop();
            return Flow::Jump(frame.back);
        }
        let trace = self.calls.traces.get(frame.trace.0 as usize).cloned().unwrap_or_default();
        let trace = self.calls.add_trace(trace.calls, trace.repeat + 1);
        if let Some(running) = self.calls.frames.last_mut() {
            running.left -= 1;
            running.trace = trace;
        }
        Flow::Jump(frame.target)
    }

    /// Whether an O word opens a program other than the one running: that one has ended without saying so.
    pub(super) fn opens_another(&self, at: u32) -> bool {
        let Some(id) = self.programs.program_at(self.block.source, at) else { return false };
        let running_main = !self.calls.is_inside() && id == crate::program::ProgramId(0);
        !running_main && !self.calls.starts_at(at)
    }
}
