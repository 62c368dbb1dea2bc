//! What counts of one step when two revisions are compared: where the tool goes, how fast, and under which conditions.

use super::change::Aspect;
use crate::motion::{
    Axes, CutterSide, FeedMode, LengthOffset, ModalState, PathMode, Plane, SpindleSense, TraceId, UNSTATED,
};
use crate::source::{SourceId, Span};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Steps of the grid on which positions are held against each other, a millimetre: no control resolves finer.
const POSITIONS: f64 = 1e5;
/// The same for feeds, steps a mm/min.
const FEEDS: f64 = 1e4;
/// A way shorter than this is none, mm.
const STILL: f64 = 1e-7;

/// A number on a grid of so many steps a unit.
fn on_grid(value: f64, steps: f64) -> i64 {
    // A cast saturates, so huge coordinates share the border of the grid instead of overflowing.
    libm::round(value * steps) as i64
}

/// A position or angle on its grid.
pub(super) fn position(value: f64) -> i64 {
    on_grid(value, POSITIONS)
}

/// A feed on its grid; `None` when there is none.
pub(super) fn feed(value: Option<f64>) -> Option<i64> {
    value.map(|value| on_grid(value, FEEDS))
}

/// The block an act comes from, as far as it has to be found again.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct At {
    /// Which source.
    pub source: SourceId,
    /// Calls that led here.
    pub trace: TraceId,
    /// The block without its line end.
    pub span: Span,
}

/// Where a word or block begins: its source and byte offset.
pub(super) type Word = (SourceId, u32);

/// Everything in force that a move depends on besides its path and feed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Conditions {
    pub tool: u32,
    pub speed: Option<f64>,
    pub surface: bool,
    pub sense: SpindleSense,
    pub length: Option<u32>,
    pub cutter: (CutterSide, Option<u32>),
    pub work_offset: u8,
    pub feed_mode: FeedMode,
    pub path: PathMode,
    pub mist: bool,
    pub flood: bool,
    pub overrides: bool,
    pub extraction: Option<bool>,
}

impl Conditions {
    fn of(state: &ModalState) -> Self {
        Self {
            tool: state.tool.value,
            speed: state.speed.value,
            surface: state.constant_surface.value,
            sense: state.spindle.value,
            length: match state.length.value {
                LengthOffset::Off => None,
                LengthOffset::On { h, .. } => Some(h),
            },
            cutter: state.cutter.value,
            work_offset: state.work_offset.value,
            feed_mode: state.feed_mode.value,
            path: state.path.value,
            mist: state.mist.value,
            flood: state.flood.value,
            overrides: state.overrides.value,
            extraction: state.extraction.value,
        }
    }

    /// The same but for how F counts, which says nothing of a rapid or a stop.
    pub fn idle(self) -> Self {
        Self { feed_mode: FeedMode::PerMinute, ..self }
    }

    /// As numbers that can be ordered and hashed.
    fn key(&self) -> [i64; 14] {
        let optional = |value: Option<u32>| value.map_or(-1, i64::from);
        let (side, d) = self.cutter;
        [
            i64::from(self.tool),
            self.speed.map_or(-1, |speed| on_grid(speed, FEEDS)),
            i64::from(self.surface),
            self.sense as i64,
            optional(self.length),
            side as i64,
            optional(d),
            i64::from(self.work_offset),
            self.feed_mode as i64,
            self.path as i64,
            i64::from(self.mist),
            i64::from(self.flood),
            i64::from(self.overrides),
            self.extraction.map_or(-1, i64::from),
        ]
    }
}

/// Every set of conditions a run came through, each once.
#[derive(Debug, Default)]
pub(super) struct ConditionBook {
    list: Vec<Entry>,
    known: BTreeMap<[i64; 14], u32>,
    last: Option<(u32, u32)>,
}

/// Conditions with their digests, alike in both revisions: for a feed move, and for any other act.
#[derive(Debug)]
struct Entry {
    conditions: Conditions,
    feeding: u64,
    idle: u64,
    /// Words that first stated them.
    stated: Vec<(Aspect, Word)>,
}

/// Words that stated what is in force.
fn stated(state: &ModalState) -> Vec<(Aspect, Word)> {
    let words = [
        (Aspect::Tool, state.tool.at, state.tool.source),
        (Aspect::Speed, state.speed.at, state.speed.source),
        (Aspect::SpeedMode, state.constant_surface.at, state.constant_surface.source),
        (Aspect::SpindleSense, state.spindle.at, state.spindle.source),
        (Aspect::LengthOffset, state.length.at, state.length.source),
        (Aspect::CutterCompensation, state.cutter.at, state.cutter.source),
        (Aspect::WorkOffset, state.work_offset.at, state.work_offset.source),
        (Aspect::FeedMode, state.feed_mode.at, state.feed_mode.source),
        (Aspect::PathMode, state.path.at, state.path.source),
        (Aspect::Mist, state.mist.at, state.mist.source),
        (Aspect::Flood, state.flood.at, state.flood.source),
        (Aspect::Overrides, state.overrides.at, state.overrides.source),
        (Aspect::Extraction, state.extraction.at, state.extraction.source),
    ];
    let said = words.into_iter().filter(|(_, at, _)| *at != UNSTATED);
    said.map(|(aspect, at, source)| (aspect, (SourceId(source), at))).collect()
}

fn digest(key: [i64; 14]) -> u64 {
    let mut hasher = DefaultHasher::new();
    key.hash(&mut hasher);
    hasher.finish()
}

impl ConditionBook {
    /// The number of the conditions a state stands for.
    pub fn number(&mut self, state: &ModalState) -> u32 {
        if let Some((_, number)) = self.last.filter(|(generation, _)| *generation == state.generation) {
            return number;
        }
        let conditions = Conditions::of(state);
        let key = conditions.key();
        let next = u32::try_from(self.list.len()).unwrap_or(u32::MAX);
        let number = *self.known.entry(key).or_insert(next);
        if number == next {
            let (feeding, idle) = (digest(key), digest(conditions.idle().key()));
            self.list.push(Entry { conditions, feeding, idle, stated: stated(state) });
        }
        self.last = Some((state.generation, number));
        number
    }

    /// The conditions of a number.
    pub fn get(&self, number: u32) -> Option<&Conditions> {
        self.list.get(number as usize).map(|entry| &entry.conditions)
    }

    /// The word that first stated one of an act's conditions.
    pub fn stated(&self, act: &Act, aspect: Aspect) -> Option<Word> {
        let stated = &self.list.get(act.conditions as usize)?.stated;
        stated.iter().find(|(known, _)| *known == aspect).map(|(_, word)| *word)
    }

    /// What counts of an act's conditions; nothing for words, which were read before the state of their block was known.
    pub fn digest(&self, act: &Act) -> u64 {
        if matches!(act.what, What::Event(Event::Words(_))) {
            return 0;
        }
        self.list.get(act.conditions as usize).map_or(0, |entry| if act.feeds() { entry.feeding } else { entry.idle })
    }

    /// Whether an act that does not feed runs under the conditions of one that does.
    pub fn covers(&self, feeding: &Act, idle: &Act) -> bool {
        let of = |act: &Act| self.list.get(act.conditions as usize).map(|entry| entry.idle);
        of(feeding) == of(idle)
    }
}

/// Something that happens while the tool stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Event {
    /// A dwell of so many seconds.
    Dwell(f64),
    /// A dwell whose unit nobody declared, as typed; `None` when nothing was typed in its block.
    Pause(Option<f64>),
    /// A stop or end by its M number.
    Stop(u8),
    /// A tool change, to this tool.
    ToolChange(u32),
    /// Words that move nothing here but may do anything at the machine: a digest of them.
    Words(u64),
}

/// What an act is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum What {
    /// Positioning.
    Rapid,
    /// Straight feed.
    Line,
    /// Arc about a centre through so many radians, negative clockwise.
    Arc([f64; 2], f64),
    /// No move.
    Event(Event),
}

/// One step as it counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Act {
    pub what: What,
    pub from: [f64; 3],
    pub to: [f64; 3],
    /// Rotary axes at the end.
    pub abc: [f64; 3],
    /// Whether rotary axes turn.
    pub turns: bool,
    pub known: Axes,
    /// Axes known at the start.
    pub known_before: Axes,
    pub plane: Plane,
    pub feed: Option<f64>,
    /// The F word in force.
    pub feed_word: Option<Word>,
    pub conditions: u32,
    pub at: At,
}

impl Act {
    /// Where its block begins.
    pub fn block(&self) -> Word {
        (self.at.source, self.at.span.start)
    }

    /// Whether it is a feed move.
    pub fn feeds(&self) -> bool {
        matches!(self.what, What::Line | What::Arc(..))
    }

    /// Whether the tool moves.
    pub fn moves(&self) -> bool {
        !matches!(self.what, What::Event(_))
    }

    /// Indices of the two in-plane axes and of the axis across.
    pub fn axes(&self) -> (usize, usize, usize) {
        self.plane.axes()
    }

    /// A coordinate of the end; 0 where it is not known, which `known` tells.
    pub fn end(&self, axis: usize) -> f64 {
        self.to.get(axis).copied().filter(|_| self.known.has(axis)).unwrap_or(0.0)
    }

    /// A coordinate of the start.
    pub fn start(&self, axis: usize) -> f64 {
        self.from.get(axis).copied().unwrap_or(0.0)
    }

    /// Whether the coordinate of an axis changes.
    pub fn changes(&self, axis: usize) -> bool {
        let known_before = self.known_before.has(axis);
        self.known.has(axis) && (!known_before || (self.end(axis) - self.start(axis)).abs() > STILL)
    }

    /// Whether it goes sideways, in its plane or by a rotary axis.
    pub fn is_lateral(&self) -> bool {
        let (first, second, _) = self.axes();
        self.turns || self.changes(first) || self.changes(second)
    }

    /// In-plane coordinates of the start.
    pub fn origin(&self) -> [f64; 2] {
        let (first, second, _) = self.axes();
        [self.start(first), self.start(second)]
    }

    /// In-plane coordinates of the end.
    pub fn target(&self) -> [f64; 2] {
        let (first, second, _) = self.axes();
        [self.end(first), self.end(second)]
    }

    /// Adds what its path is, counted from `place`, to a digest. What a rapid keeps, its height or its place in the plane,
    /// is the matter of the move before it.
    pub fn hash_path(&self, place: [f64; 2], path: &mut impl Hasher) {
        let (_, _, normal) = self.axes();
        let [x, y] = self.target();
        let [from_x, from_y] = place;
        match self.what {
            What::Event(_) => return,
            What::Rapid => 1_u8.hash(path),
            What::Line => 2_u8.hash(path),
            What::Arc([i, j], sweep) => {
                (3_u8, position(i - from_x), position(j - from_y), position(sweep)).hash(path);
            }
        }
        self.known.0.hash(path);
        if self.feeds() || self.is_lateral() {
            (position(x - from_x), position(y - from_y)).hash(path);
        }
        if self.feeds() || self.changes(normal) {
            position(self.end(normal)).hash(path);
        }
        if self.turns {
            self.abc.map(position).hash(path);
        }
    }

    /// Adds what it is besides its path to a digest.
    pub fn hash_manner(&self, book: &ConditionBook, manner: &mut impl Hasher) {
        (book.digest(self), feed(self.feed)).hash(manner);
        self.hash_event(manner);
    }

    /// Adds what happens while the tool stands to a digest.
    pub fn hash_event(&self, manner: &mut impl Hasher) {
        match self.what {
            What::Event(Event::Dwell(seconds)) => (1_u8, on_grid(seconds, FEEDS)).hash(manner),
            What::Event(Event::Pause(typed)) => (2_u8, typed.map(|typed| on_grid(typed, FEEDS))).hash(manner),
            What::Event(Event::Stop(number)) => (3_u8, number).hash(manner),
            What::Event(Event::ToolChange(tool)) => (4_u8, tool).hash(manner),
            What::Event(Event::Words(digest)) => (5_u8, digest).hash(manner),
            What::Rapid | What::Line | What::Arc(..) => 0_u8.hash(manner),
        }
    }
}

/// The act of a step; `None` for one that neither moves nor counts.
pub(super) fn act_of(what: What, step: &crate::motion::Step<'_>, conditions: u32) -> Option<Act> {
    let (from, to, word) = (step.from, step.to, step.state.feed_word);
    let turns = from.abc.iter().zip(&to.abc).any(|(from, to)| (from - to).abs() > STILL);
    let act = Act {
        what,
        from: from.xyz,
        to: to.xyz,
        abc: to.abc,
        turns,
        known: to.known,
        known_before: from.known,
        plane: step.state.plane.value,
        feed: if matches!(what, What::Line | What::Arc(..)) { step.feed } else { None },
        feed_word: (word.at != UNSTATED).then_some((SourceId(word.source), word.at)),
        conditions,
        at: At { source: step.block.source, trace: step.block.trace, span: step.block.span },
    };
    let rests = matches!(what, What::Rapid | What::Line) && !turns && (0..3).all(|axis| !act.changes(axis));
    (!rests).then_some(act)
}
