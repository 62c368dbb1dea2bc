//! The program cut into stops: blocks that together make one hole and may be moved together.

use super::scan::{Now, Ran, Scan};
use crate::motion::{CycleCall, CycleCode, Distance, MotionMode};
use crate::operation::Survey;
use crate::patch::number;
use crate::source::{SourceId, Span};
use crate::syntax::{Block, Blocks, Lexis, Word};
use std::collections::BTreeMap;

/// Blocks that make one hole.
#[derive(Clone, Debug)]
pub(super) struct Stop {
    /// Its blocks, empty lines before them included.
    pub lines: Vec<Line>,
    /// Index of its hole in the survey.
    pub hole: u32,
    /// Where, as programmed.
    pub at: [f64; 2],
    /// Where, counted from the first origin as the job counts.
    pub place: [f64; 2],
    /// Height it begins to feed at.
    pub low: f64,
    /// Height the rapid out of the hole begins at.
    pub deep: f64,
    /// Height it leaves the tool at.
    pub leave: f64,
    /// Its cycle, for a hole made by one; else it is written move by move.
    pub call: Option<CycleCall>,
    /// Highest a cycle can leave the tool at.
    pub initial: Option<f64>,
    /// State before its first block and after its last.
    pub state: (Now, Now),
    /// Words in force before it, as typed.
    pub typed: Typed,
}

/// Words by letter as last typed; the cycle code under G.
pub(super) type Typed = BTreeMap<u8, String>;

/// One line of a stop.
#[derive(Clone, Debug)]
pub(super) struct Line {
    /// The block as read.
    pub block: Block,
    /// What it does.
    pub ran: Ran,
}

/// Stops that follow each other with nothing between them, and what stands around them.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// The stops.
    pub stops: Vec<Stop>,
    /// Where the tool comes from.
    pub from: Option<[f64; 3]>,
    /// Where it next moves sideways to.
    pub next: Option<[f64; 2]>,
    /// Bytes of the stops.
    pub span: Span,
}

impl Row {
    /// A place as programmed in this row, counted from the first origin.
    pub fn placed(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let shift = self.stops.first().map_or([0.0, 0.0], |stop| {
            let ([x, y], [place_x, place_y]) = (stop.at, stop.place);
            [place_x - x, place_y - y]
        });
        [x + shift[0], y + shift[1]]
    }
}

/// Cuts the main program into rows of at least two stops.
pub(super) fn rows(bytes: &[u8], scan: &Scan, survey: &Survey) -> Vec<Row> {
    let mut cutter = Cutter::new(bytes, survey);
    for (index, ran) in scan.ran.iter().enumerate() {
        cutter.take(ran);
        if cutter.rows.len() > cutter.followed {
            cutter.follow(scan.ran.get(index..).unwrap_or_default());
        }
    }
    cutter.end();
    cutter.follow(&[]);
    cutter.rows
}

struct Cutter<'a> {
    bytes: &'a [u8],
    survey: &'a Survey,
    /// First bytes of blocks with the holes they make.
    made: Vec<(u32, u32)>,
    rows: Vec<Row>,
    /// Rows whose next place is known.
    followed: usize,
    stops: Vec<Stop>,
    from: Option<[f64; 3]>,
    open: Option<Open>,
    /// Empty lines that belong to the stop that follows.
    leading: Vec<Line>,
    state: Option<Now>,
    typed: Typed,
    at: Option<[f64; 3]>,
}

/// A stop being gathered.
struct Open {
    lines: Vec<Line>,
    typed: Typed,
    before: Now,
    from: Option<[f64; 3]>,
    low: Option<f64>,
}

impl<'a> Cutter<'a> {
    fn new(bytes: &'a [u8], survey: &'a Survey) -> Self {
        let main = (0..).zip(&survey.holes).filter(|(_, hole)| hole.source == SourceId::default());
        let mut made: Vec<(u32, u32)> = main.map(|(index, hole)| (hole.block, index)).collect();
        made.sort_unstable();
        Self {
            bytes,
            survey,
            made,
            rows: Vec::new(),
            followed: 0,
            stops: Vec::new(),
            from: None,
            open: None,
            leading: Vec::new(),
            state: None,
            typed: Typed::new(),
            at: None,
        }
    }

    fn take(&mut self, ran: &Ran) {
        let mut block = Block::default();
        let read = Blocks::new(self.bytes, ran.block.span.start as usize, Lexis::default()).next(&mut block);
        if !read || !ran.understood || ran.other || !movable(&block, ran) {
            return self.stop_here(ran);
        }
        let line = Line { block, ran: ran.clone() };
        if line.block.words.is_empty() {
            return self.quiet(line);
        }
        let Some(now) = ran.now.or(self.state) else { return self.stop_here(ran) };
        if self.state.is_some_and(|state| state.frame != now.frame) || now.frame.distance == Distance::Incremental {
            self.stop_here(ran);
        }
        let before = self.state.unwrap_or(now);
        let places = [b'X', b'Y'].iter().any(|letter| line.block.word(*letter).is_some());
        match ran.call {
            Some(_) if places => self.begin(line, before),
            None if places && !ran.feeds => self.begin(line, before),
            _ => self.go_on(line),
        }
        self.pass(ran);
    }

    /// A line without words: part of the stop it stands in, else of the next one. A comment between stops ends the row: it
    /// may tell the operator what has to be done before the holes behind it.
    fn quiet(&mut self, line: Line) {
        match &mut self.open {
            Some(open) => open.lines.push(line),
            None if line.block.comments.is_empty() => self.leading.push(line),
            None => self.end(),
        }
    }

    /// Something that stays where it is.
    fn stop_here(&mut self, ran: &Ran) {
        self.end();
        self.pass(ran);
    }

    fn pass(&mut self, ran: &Ran) {
        self.state = ran.now.or(self.state);
        self.at = ran.to.or(self.at);
        let mut block = Block::default();
        let main = ran.block.source == SourceId::default();
        if !main || !Blocks::new(self.bytes, ran.block.span.start as usize, Lexis::default()).next(&mut block) {
            return;
        }
        let drills = ran.call.is_some() || self.is_for_cycle(&block);
        for word in &block.words {
            let kept = match word.letter {
                b'X' | b'Y' | b'F' => true,
                b'Z' | b'R' | b'Q' | b'P' => drills,
                b'G' => ran.call.is_some() && is_cycle(word),
                _ => false,
            };
            if kept {
                let text = String::from_utf8_lossy(word.span.of(self.bytes)).into_owned();
                self.typed.insert(word.letter, text);
            }
        }
    }

    /// Whether a block that makes no hole changes words of the cycle in force, not the P of a dwell or a call.
    fn is_for_cycle(&self, block: &Block) -> bool {
        let cycle = self.state.is_some_and(|state| matches!(state.motion, MotionMode::Cycle(_)));
        cycle
            && block.words.iter().all(|word| word.letter != b'M' && (word.letter != b'G' || number(word) != Some(4.0)))
    }

    fn begin(&mut self, line: Line, before: Now) {
        if self.open.is_some() {
            self.end();
        }
        if self.stops.is_empty() {
            self.from = line.ran.from.or(self.at);
        }
        let mut lines = std::mem::take(&mut self.leading);
        let (call, from) = (line.ran.call, line.ran.from);
        lines.push(line);
        self.open = Some(Open { lines, typed: self.typed.clone(), before, from, low: None });
        if call.is_some() {
            self.close();
        }
    }

    fn go_on(&mut self, line: Line) {
        let Some(open) = &mut self.open else { return self.end() };
        let ran = &line.ran;
        if ran.feeds && open.low.is_none() {
            open.low = ran.from.map(|[_, _, z]| z);
        }
        let out = open.low.zip(ran.to).is_some_and(|(low, [_, _, z])| !ran.feeds && z >= low - 1e-6);
        let done = ran.call.is_some() || out;
        open.lines.push(line);
        if done {
            self.close();
        }
    }

    /// Ends the stop that is open; one that makes no hole, or more than one, ends the row.
    fn close(&mut self) {
        let Some(open) = self.open.take() else { return };
        match self.stop(open) {
            Some(stop) => self.stops.push(stop),
            None => self.end(),
        }
    }

    fn stop(&self, open: Open) -> Option<Stop> {
        let (first, last) = (open.lines.first()?, open.lines.last()?);
        let [x, y, leave] = last.ran.to?;
        let span = (first.block.span.start, last.block.span.end);
        let from = self.made.partition_point(|(block, _)| *block < span.0);
        let made: Vec<u32> =
            self.made.iter().skip(from).take_while(|(block, _)| *block <= span.1).map(|(_, hole)| *hole).collect();
        let [hole] = made.as_slice() else { return None };
        let call = last.ran.call;
        if last.ran.calls > 1 {
            return None;
        }
        let placed = open.lines.iter().find_map(|line| line.ran.to)?;
        let [placed_x, placed_y, _] = placed;
        if (placed_x - x).abs() > 1e-6 || (placed_y - y).abs() > 1e-6 {
            return None;
        }
        Some(Stop {
            hole: *hole,
            at: [x, y],
            deep: self.deep(*hole, call)?,
            place: self.survey.holes.get(*hole as usize).map(|hole| [hole.x, hole.y])?,
            low: call.map(|call| call.r).or(open.low)?,
            leave,
            call,
            initial: last.ran.initial,
            state: (open.before, last.ran.now?),
            typed: open.typed,
            lines: open.lines,
        })
        .filter(|_| open.from.is_some() || call.is_some())
    }

    /// The bottom of a hole, or R where its cycle feeds out.
    fn deep(&self, hole: u32, call: Option<CycleCall>) -> Option<f64> {
        let hole = self.survey.holes.get(hole as usize)?;
        let bottom = self.survey.recipe_of(hole)?.bottom;
        Some(call.filter(|call| matches!(call.code, CycleCode::G85 | CycleCode::G89)).map_or(bottom, |call| call.r))
    }

    /// Ends the row.
    fn end(&mut self) {
        self.open = None;
        self.leading.clear();
        let stops = std::mem::take(&mut self.stops);
        let from = self.from.take();
        if let (Some(first), Some(last)) = (stops.first(), stops.last())
            && stops.len() > 1
        {
            let start = first.lines.first().map_or(0, |line| line.block.span.start);
            let end = last.lines.last().map_or(start, |line| line.block.end.end);
            self.rows.push(Row { stops, from, next: None, span: Span::new(start, end) });
        }
    }

    /// Tells the rows just ended where the tool next moves sideways to.
    fn follow(&mut self, ahead: &[Ran]) {
        for row in self.rows.iter_mut().skip(self.followed) {
            let end = row.stops.last().map(|stop| stop.at);
            let places = ahead.iter().filter_map(|ran| ran.to.map(|[x, y, _]| [x, y]));
            row.next = places.into_iter().find(|place| Some(*place) != end);
        }
        self.followed = self.rows.len();
    }
}

/// Whether a block holds nothing but moves of a hole.
fn movable(block: &Block, ran: &Ran) -> bool {
    let plain = block.delete.is_none()
        && block.control.is_none()
        && block.assignments.is_empty()
        && block.faults.is_empty()
        && block.program.is_none()
        && block.percent.is_none();
    let turning = ran.feeds && ran.call.is_none();
    plain
        && block.words.iter().all(|word| match word.letter {
            b'G' => number(word).is_some_and(|code| is_cycle(word) || code <= 4.0 || code == 98.0 || code == 99.0),
            b'X' | b'Y' | b'Z' | b'R' | b'Q' | b'P' | b'F' => number(word).is_some(),
            b'I' | b'J' | b'K' => turning && number(word).is_some(),
            _ => false,
        })
}

/// Whether a word names a canned cycle that only drills.
pub(super) fn is_cycle(word: &Word) -> bool {
    word.letter == b'G' && number(word).is_some_and(|code| [73.0, 81.0, 82.0, 83.0, 85.0, 89.0].contains(&code))
}
