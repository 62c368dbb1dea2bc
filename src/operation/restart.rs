//! Where a broken-off program can be taken up again: what each tool call states anew, and what must be restored by hand.

use super::course::{Course, FirstCut, ToolCourse};
use crate::motion::{
    BlockRef, CutterSide, Distance, FeedMode, LengthOffset, ModalState, MotionMode, PathMode, Plane, ReturnLevel, Set,
    SpindleSense,
};
use crate::source::{SourceId, Span};
use crate::units::{UnitSystem, trimmed};

/// Where a program can be taken up again.
#[derive(Clone, Debug, Default)]
pub struct Restarts {
    /// One for each block of the main program that is a tool call, or a call that leads to one, before a cut.
    pub offered: Vec<Restart>,
    /// Tool calls that only the top of the program leads to.
    pub from_top: Vec<BlockRef>,
}

/// One place to take up the program.
#[derive(Clone, Debug)]
pub struct Restart {
    /// Block of the main program.
    pub block: BlockRef,
    /// Tool it calls first.
    pub tool: u32,
    /// Tool calls it leads to: that of `tool`, then those inside subprograms that have no restart of their own.
    pub leads_to: Vec<BlockRef>,
    /// Last block that must have run before going on further down; `None` where the program has to run on.
    pub ready: Option<BlockRef>,
    /// Height the tool is then at, program mm.
    pub height: Option<f64>,
    /// Words between the block and the first cut, as programs write them.
    pub restated: Vec<String>,
    /// What holds at the first cut and was set before the block.
    pub by_hand: Vec<Inherited>,
}

/// A modal value that a restart would lack.
#[derive(Clone, Debug, PartialEq)]
pub struct Inherited {
    /// Its word, such as `M51`; words for people where the control has many.
    pub word: String,
    /// What it does.
    pub meaning: &'static str,
    /// Where it was set; `None` when no word ever set it and the control's power-up state is relied on.
    pub set_at: Option<(SourceId, u32)>,
}

/// The restarts of a program. A tool call inside a subprogram is taken up at the call in the main program that leads to
/// it: put into the subprogram, the control would not know where to return. Where something is cut between the two, the
/// restart before it is the one that leads there.
#[must_use]
pub fn restarts(course: &Course) -> Restarts {
    let mut found = Restarts::default();
    for stretch in &course.tools {
        let (Some(change), Some(cut)) = (stretch.change, &stretch.cut) else { continue };
        match (stretch.from, found.offered.last_mut()) {
            (Some(block), _) => found.offered.push(restart(stretch, block, change, cut)),
            (None, Some(earlier)) => earlier.leads_to.push(change),
            (None, None) => found.from_top.push(change),
        }
    }
    found
}

fn restart(stretch: &ToolCourse, block: BlockRef, change: BlockRef, cut: &FirstCut) -> Restart {
    let mut found = Restart {
        block,
        tool: stretch.tool,
        leads_to: vec![change],
        ready: stretch.ready.filter(|ready| ready.trace.0 == 0),
        height: stretch.approach.map(|(_, height)| height),
        restated: Vec::new(),
        by_hand: Vec::new(),
    };
    for Fact { word, meaning, at } in facts(stretch.state.as_ref().unwrap_or(&cut.state), &cut.state) {
        let has = |(source, at): (u16, u32)| {
            let inside = |(of, span): &(SourceId, Span)| of.0 == source && span.start <= at && at < span.end;
            stretch.run.iter().any(inside)
        };
        if at.is_some_and(has) {
            found.restated.push(word);
        } else {
            let set_at = at.map(|(source, at)| (SourceId(source), at));
            found.by_hand.push(Inherited { word, meaning, set_at });
        }
    }
    found
}

/// A modal value at the first cut.
struct Fact {
    word: String,
    meaning: &'static str,
    /// Source and byte of its word.
    at: Option<(u16, u32)>,
}

/// Every modal value that bears on a cut, with its word; feed and return level as they are at the cut itself, for a
/// subprogram that leads there states its own. Values that no word ever set count only where they matter.
fn facts(state: &ModalState, cut: &ModalState) -> Vec<Fact> {
    let mut facts = vec![
        fact(&state.units, "units", |units| word(*units == UnitSystem::Metric, "G21", "G20")),
        fact(&state.distance, "absolute or incremental", |way| word(*way == Distance::Absolute, "G90", "G91")),
        fact(&state.plane, "plane", |plane| plane_word(*plane).to_owned()),
        fact(&state.feed_mode, "feed mode", |mode| feed_word(*mode).to_owned()),
        fact(&state.work_offset, "work offset", |number| offset_word(*number)),
        fact(&state.cutter, "radius compensation", |(side, d)| cutter_word(*side, *d)),
        fact(&state.length, "length offset", length_word),
        fact(&state.speed, "spindle speed", |speed| {
            speed.map_or_else(|| "S".to_owned(), |speed| format!("S{}", trimmed(speed, 1)))
        }),
        fact(&state.spindle, "spindle", |sense| sense_word(*sense).to_owned()),
    ];
    if cut.feed_word.is_stated() {
        facts.push(fact(&cut.feed_word, "feed", |feed| {
            feed.map_or_else(|| "F".to_owned(), |feed| format!("F{}", trimmed(feed, 4)))
        }));
    }
    if matches!(cut.motion.value, MotionMode::Cycle(_)) && cut.return_level.is_stated() {
        let level = |level: &ReturnLevel| word(*level == ReturnLevel::Initial, "G98", "G99");
        facts.push(fact(&cut.return_level, "return level", level));
    }
    facts.extend(if_on(state));
    facts
}

/// Values that only matter once they have been switched on.
fn if_on(state: &ModalState) -> Vec<Fact> {
    let mut facts = Vec::new();
    if state.path.is_stated() {
        facts.push(fact(&state.path, "path mode", |mode| path_word(*mode).to_owned()));
    }
    if state.mist.value {
        facts.push(fact(&state.mist, "mist", |_| "M7".to_owned()));
    }
    if state.flood.value {
        facts.push(fact(&state.flood, "flood", |_| "M8".to_owned()));
    }
    if state.extraction.value == Some(true) {
        facts.push(fact(&state.extraction, "switch it on", |_| "dust extraction".to_owned()));
    }
    if !state.overrides.value {
        facts.push(fact(&state.overrides, "overrides locked", |_| "M49".to_owned()));
    }
    facts
}

fn fact<T>(set: &Set<T>, meaning: &'static str, word: impl Fn(&T) -> String) -> Fact {
    Fact { word: word(&set.value), meaning, at: set.is_stated().then_some((set.source, set.at)) }
}

fn word(first: bool, one: &str, other: &str) -> String {
    if first { one } else { other }.to_owned()
}

fn plane_word(plane: Plane) -> &'static str {
    match plane {
        Plane::Xy => "G17",
        Plane::Zx => "G18",
        Plane::Yz => "G19",
    }
}

fn feed_word(mode: FeedMode) -> &'static str {
    match mode {
        FeedMode::InverseTime => "G93",
        FeedMode::PerMinute => "G94",
        FeedMode::PerRev => "G95",
    }
}

/// G54 to G59, then G59.1 to G59.3 (NISTIR 6556, section 3.5.13).
fn offset_word(number: u8) -> String {
    match number {
        1..=6 => format!("G{}", 53 + u32::from(number)),
        _ => format!("G59.{}", number.saturating_sub(6)),
    }
}

fn cutter_word(side: CutterSide, d: Option<u32>) -> String {
    let d = d.map(|d| format!(" D{d}")).unwrap_or_default();
    match side {
        CutterSide::Off => "G40".to_owned(),
        CutterSide::Left => format!("G41{d}"),
        CutterSide::Right => format!("G42{d}"),
    }
}

fn length_word(offset: &LengthOffset) -> String {
    match offset {
        LengthOffset::Off => "G49".to_owned(),
        LengthOffset::On { h, .. } => format!("G43 H{h}"),
    }
}

fn path_word(mode: PathMode) -> &'static str {
    match mode {
        PathMode::ExactPath => "G61",
        PathMode::ExactStop => "G61.1",
        PathMode::Continuous => "G64",
    }
}

fn sense_word(sense: SpindleSense) -> &'static str {
    match sense {
        SpindleSense::Stopped => "M5",
        SpindleSense::Clockwise => "M3",
        SpindleSense::Counterclockwise => "M4",
    }
}
