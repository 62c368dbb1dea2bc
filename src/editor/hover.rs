//! What is in force at a block, and what it comes to: modes, tool, feed for each edge, depth in the layers, holes made.

use super::depth;
use super::desk::Desk;
use super::study::{Judged, Study};
use super::watch::{Moment, Watch};
use crate::motion::{
    CutterSide, Distance, FeedMode, LengthOffset, ModalState, MotionMode, PathMode, Plane, ReturnLevel, SpindleSense,
    work_offset_code,
};
use crate::operation::Hole;
use crate::process::{HoleReading, Zone};
use crate::render::Book;
use crate::source::{SourceId, Span};
use crate::units::{Millimetres, MmPerMin, MmPerRev, RevPerMin, UnitSystem, counted, grouped, trimmed};

/// Passes and holes named one by one; more are only counted. House value.
const SHOWN: usize = 8;

/// What to show for the block on a line, as Markdown.
pub fn of_line(study: &Study, id: SourceId, line: Span, desk: &Desk<'_>) -> Option<String> {
    let judged = study.judged()?;
    let mut watch = Watch::new(id, Span::new(line.start, line.end.saturating_add(1)));
    judged.run(&desk.library(&study.path), &mut watch);
    let moment = watch.moments.values().next()?;
    let Some(state) = &moment.state else { return Some("this block is never followed by a move".to_owned()) };
    let mut parts = vec![setting(judged, state)];
    parts.push(codes(state).join(" "));
    parts.extend(doubt(state));
    parts.push(position(moment, judged.report.units));
    parts.extend(moment.feed.map(|feed| chip(judged, state, feed)));
    let layers = moment.lowest.zip(judged.job.as_ref());
    parts.extend(layers.and_then(|(z, job)| depth::in_layers(z, job, judged.report.units)));
    parts.extend(holes(judged, id, line));
    if moment.runs > 1 {
        parts.push(format!("runs {} times; this is the first", grouped(moment.runs)));
    }
    Some(parts.join("\n\n"))
}

/// Tool, spindle and feed as they are set.
fn setting(judged: &Judged, state: &ModalState) -> String {
    let tool = match state.tool.value {
        0 => "no tool known in the spindle".to_owned(),
        tool => Book::new(&judged.report).tool(tool),
    };
    let offset = match state.length.value {
        LengthOffset::Off => "length offset off".to_owned(),
        LengthOffset::On { h, .. } => format!("H{h}"),
    };
    let speed = state.speed.value.map_or("S not known".to_owned(), |speed| format!("S{}", trimmed(speed, 1)));
    let sense = match state.spindle.value {
        SpindleSense::Stopped => "stopped",
        SpindleSense::Clockwise => "clockwise",
        SpindleSense::Counterclockwise => "counterclockwise",
    };
    let feed = state.feed_word.value.map_or("F not known".to_owned(), |feed| format!("F{}", trimmed(feed, 4)));
    format!("**{tool}**, {offset}, {speed} {sense}, {feed}")
}

/// The modal codes in force, as a program writes them.
fn codes(state: &ModalState) -> Vec<String> {
    let plain = [
        match state.plane.value {
            Plane::Xy => "G17",
            Plane::Zx => "G18",
            Plane::Yz => "G19",
        },
        match state.units.value {
            UnitSystem::Metric => "G21",
            UnitSystem::Inch => "G20",
        },
        match state.distance.value {
            Distance::Absolute => "G90",
            Distance::Incremental => "G91",
        },
        match state.feed_mode.value {
            FeedMode::InverseTime => "G93",
            FeedMode::PerMinute => "G94",
            FeedMode::PerRev => "G95",
        },
        match state.return_level.value {
            ReturnLevel::Initial => "G98",
            ReturnLevel::RPlane => "G99",
        },
        match state.path.value {
            PathMode::ExactPath => "G61",
            PathMode::ExactStop => "G61.1",
            PathMode::Continuous => "G64",
        },
    ];
    let motion = match state.motion.value {
        MotionMode::None => "G80",
        MotionMode::Rapid => "G0",
        MotionMode::Line => "G1",
        MotionMode::ArcCw => "G2",
        MotionMode::ArcCcw => "G3",
        MotionMode::Probe => "G38.2",
        MotionMode::Cycle(code) => code.name(),
    };
    let (side, d) = state.cutter.value;
    let d = d.map(|d| format!(" D{d}")).unwrap_or_default();
    let cutter = match side {
        CutterSide::Off => "G40".to_owned(),
        CutterSide::Left => format!("G41{d}"),
        CutterSide::Right => format!("G42{d}"),
    };
    let switched = [(state.mist.value, "M7"), (state.flood.value, "M8"), (!state.overrides.value, "M49")];
    let mut codes = vec![motion.to_owned()];
    codes.extend(plain.map(str::to_owned));
    codes.extend([cutter, work_offset_code(state.work_offset.value)]);
    codes.extend(switched.into_iter().filter(|(on, _)| *on).map(|(_, code)| code.to_owned()));
    codes
}

/// What a statement that was not followed may have changed.
fn doubt(state: &ModalState) -> Option<String> {
    let doubtful = state.doubtful;
    let parts = [(doubtful.feed, "feed"), (doubtful.spindle, "spindle"), (doubtful.modes, "other modes")];
    let parts: Vec<&str> = parts.into_iter().filter(|(on, _)| *on).map(|(_, word)| word).collect();
    (!parts.is_empty()).then(|| format!("in doubt behind a statement that was not followed: {}", parts.join(", ")))
}

fn position(moment: &Moment, units: UnitSystem) -> String {
    let axis = |(index, letter)| match moment.end.axis(index) {
        Some(value) => units.coordinate(letter, Millimetres(value)),
        None => format!("{letter} not known"),
    };
    let place = [(0, 'X'), (1, 'Y'), (2, 'Z')].map(axis).join(" ");
    let deepest = moment.lowest.zip(moment.end.axis(2)).filter(|(low, end)| low < end);
    let deepest = deepest.map(|(low, _)| format!(", down to {}", units.coordinate('Z', Millimetres(low))));
    format!("then at {place}{}", deepest.unwrap_or_default())
}

/// Feed, feed for each turn and feed for each edge.
fn chip(judged: &Judged, state: &ModalState, feed: f64) -> String {
    let units = judged.report.units;
    let mut text = format!("feed {}", units.feed(MmPerMin(feed)));
    let Some(speed) = state.speed.value.filter(|speed| *speed > 0.0) else {
        return text + "; for each turn not known without S";
    };
    let turn = MmPerMin(feed) / RevPerMin(speed);
    text.push_str(&format!(" = {}", units.per_rev(turn)));
    let edges = judged.job.as_ref().and_then(|job| job.tool(state.tool.value)?.edges);
    match edges {
        Some(edges) => text.push_str(&format!(
            " = {} on {}",
            units.per_tooth(turn.per_tooth(edges)),
            counted(edges.into(), "edge")
        )),
        None => text.push_str("; for each edge not known without the tool's edges"),
    }
    text
}

/// The holes made at the block, and how the first is made.
fn holes(judged: &Judged, id: SourceId, line: Span) -> Option<String> {
    let survey = &judged.report.survey;
    let text = judged.texts.get(usize::from(id.0))?;
    let here = |hole: &Hole| {
        let recipe = survey.recipe_of(hole);
        let further = recipe.and_then(|recipe| recipe.strokes.iter().map(|stroke| u32::from(stroke.block)).max());
        let first = text.line_number(hole.block);
        hole.source == id && (first..=first + further.unwrap_or(0)).contains(&text.line_number(line.start))
    };
    let made: Vec<u32> = (0..).zip(&survey.holes).filter(|(_, hole)| here(hole)).map(|(index, _)| index).collect();
    let first = survey.holes.get(*made.first()? as usize)?;
    let book = Book::new(&judged.report);
    let names: Vec<String> = made.iter().take(SHOWN).map(|index| book.hole(*index)).collect();
    let more = made.len().saturating_sub(SHOWN) as u64;
    let more = if more > 0 { format!(" and {} more", grouped(more)) } else { String::new() };
    let mut text = format!("hole {}{more}", names.join(", "));
    if let Some(reading) = judged.report.readings.get(first.recipe as usize) {
        text.push_str(&passes(judged, reading));
    }
    Some(text)
}

/// Layer by layer: zone, tip depth, feed for each turn and the window it has to keep.
fn passes(judged: &Judged, reading: &HoleReading) -> String {
    let units = judged.report.units;
    let layers = judged.job.as_ref().and_then(|job| job.laminate.as_ref()).map_or(&[][..], |laminate| &laminate.layers);
    let limit = |limit: Option<MmPerRev>| limit.map_or("-".to_owned(), |limit| units.per_rev(limit));
    let mut text = String::new();
    for pass in reading.passes.iter().take(SHOWN) {
        let layer = layers.get(pass.layer).map_or("", |layer| layer.name.as_str());
        let zone = match pass.zone {
            Zone::Entry => "entry",
            Zone::Body => "body",
            Zone::Exit => "exit",
        };
        let (from, to) = (units.length(pass.depth.0), units.length(pass.depth.1));
        let (floor, ceiling) = (pass.window.floor().map(|at| at.value), pass.window.ceiling().map(|at| at.value));
        let turn = pass.per_rev.map_or("feed not known".to_owned(), |turn| units.per_rev(turn));
        // Above its zone a feed slowed for the exit need not keep the window of full feed.
        let window = match pass.zone != Zone::Exit && reading.is_exit_feed(pass) {
            true => "already slowed for the exit".to_owned(),
            false => format!("window {} to {}", limit(floor), limit(ceiling)),
        };
        text.push_str(&format!("\n- {layer} {zone}, tip {from} to {to}: {turn}, {window}"));
    }
    for gap in reading.gaps.iter().take(SHOWN) {
        let key = gap.key.as_ref().map(|key| format!("; give `{key}` in the job file")).unwrap_or_default();
        text.push_str(&format!("\n- not worked out: {}{key}", gap.why));
    }
    text
}
