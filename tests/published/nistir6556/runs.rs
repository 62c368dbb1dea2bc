//! Our own runs in the language of the report, as canonical calls and as short words.

use lastply::motion::{
    Arc, BlockRef, Dialect, MotionFault, Observer, Settings, SpindleSense, Step, StepKind, ToolOffset, ToolTable, run,
};
use lastply::program::ProgramGraph;
use lastply::source::{NoLibrary, Source};
use lastply::units::trimmed;

use super::calls::{Call, What};

/// What one program did.
#[derive(Default)]
pub struct Run {
    /// Its calls.
    pub calls: Vec<Call>,
    /// Faults with the text of their line, in order.
    pub faults: Vec<(MotionFault, String)>,
    /// The same calls as short words, with the text of their line.
    words: Vec<(String, String)>,
    source: Vec<u8>,
}

impl Run {
    /// Short words of the line that starts with `start`: `T` traverse, `F` feed, `D` dwell, spindle changes of cycles.
    pub fn line(&self, start: &str) -> String {
        let words = self.words.iter().filter(|(line, _)| line.starts_with(start)).map(|(_, word)| word.as_str());
        words.collect::<Vec<_>>().join(" ")
    }

    /// The same of the lines that read `block` and nothing else.
    pub fn block(&self, block: &str) -> String {
        let words = self.words.iter().filter(|(line, _)| line == block).map(|(_, word)| word.as_str());
        words.collect::<Vec<_>>().join(" ")
    }

    fn text_of(&self, block: BlockRef) -> String {
        String::from_utf8_lossy(block.span.of(&self.source)).trim().to_owned()
    }
}

impl Observer for Run {
    fn step(&mut self, step: &Step<'_>) {
        let line = self.text_of(step.block);
        self.words.extend(word(step).map(|word| (line, word)));
        self.calls.extend(call(step));
    }

    fn fault(&mut self, fault: MotionFault) {
        let line = self.text_of(fault.block);
        self.faults.push((fault, line));
    }
}

/// Runs `text` on the machine the vectors were made on.
pub fn strict(text: &str) -> Run {
    let settings = Settings::new(Dialect::named("rs274-ngc").unwrap(), None);
    run_with(text, &settings)
}

/// Runs `text` under `settings`.
pub fn run_with(text: &str, settings: &Settings) -> Run {
    let graph = ProgramGraph::read(Source::new("case.ngc", text), &NoLibrary, &settings.lexis());
    let mut observed = Run { source: text.into(), ..Run::default() };
    run(&graph, settings, &tool_table(), &mut observed);
    observed
}

/// The tool table of the vectors: slot, length, diameter, in the units the program has active.
fn tool_table() -> ToolTable {
    let rows = [
        (1, 2.0, 1.0),
        (2, 1.0, 0.2),
        (5, 1.5, 0.25),
        (10, 2.4, -0.03),
        (20, 173.74, 0.0),
        (21, 247.615, 0.0),
        (32, 296.515, 0.0),
        (41, 228.36, 0.0),
        (60, 0.0, 0.0),
    ];
    let offset = |length, diameter| ToolOffset { length: Some(length), diameter: Some(diameter) };
    let entries = rows.map(|(slot, length, diameter)| (slot, offset(length, diameter))).into();
    ToolTable { entries, program_units: true }
}

/// A step as the report's interpreter would print it; `None` for what it prints elsewhere.
fn call(step: &Step<'_>) -> Option<Call> {
    let unit = step.state.units.value.mm();
    let point = step.to.xyz.map(|value| value / unit);
    let straight = || point.into_iter().chain(step.to.abc).collect();
    let (what, numbers) = match step.kind {
        StepKind::Rapid => (What::Traverse, straight()),
        StepKind::Line => (What::Feed, straight()),
        StepKind::ArcCw(arc) => (What::Arc, arc_numbers(step, &arc, -1.0)),
        StepKind::ArcCcw(arc) => (What::Arc, arc_numbers(step, &arc, 1.0)),
        StepKind::Dwell(seconds) => (What::Dwell, vec![seconds?]),
        StepKind::Stop(code) => (What::Stop, vec![stop_number(code)]),
        StepKind::ToolChange => (What::ToolChange, vec![f64::from(step.state.tool.value)]),
        StepKind::Spindle | StepKind::End => return None,
    };
    Some(Call {
        what,
        numbers,
        plane: step.state.plane.value,
        sense: step.state.spindle.value,
        speed: step.state.speed.value.unwrap_or(0.0),
        feed: step.feed.map_or(0.0, |feed| feed / unit),
    })
}

fn arc_numbers(step: &Step<'_>, arc: &Arc, turns: f64) -> Vec<f64> {
    let unit = step.state.units.value.mm();
    let (first, second, normal) = arc.plane.axes();
    let (end, centre) = (step.to.xyz, arc.centre);
    let lengths = [end[first], end[second], centre[first], centre[second]].map(|value| value / unit);
    let mut numbers = lengths.to_vec();
    numbers.extend([turns, end[normal] / unit]);
    numbers.extend(step.to.abc);
    numbers
}

fn stop_number(code: u8) -> f64 {
    match code {
        1 => 1.0,
        2 | 30 => 2.0,
        _ => 0.0,
    }
}

fn word(step: &Step<'_>) -> Option<String> {
    let unit = step.state.units.value.mm();
    let text = |point: [f64; 3]| point.map(|value| trimmed(value / unit, 4)).join(",");
    let to = text(step.to.xyz);
    let about = |turn: &str, arc: Arc| {
        let (first, second, _) = arc.plane.axes();
        let centre = [arc.centre[first], arc.centre[second]].map(|value| trimmed(value / unit, 4)).join(",");
        format!("{turn}({to}) about ({centre})")
    };
    Some(match step.kind {
        StepKind::Rapid => format!("T({to})"),
        StepKind::Line => format!("F({to})"),
        StepKind::ArcCw(arc) => about("cw", arc),
        StepKind::ArcCcw(arc) => about("ccw", arc),
        StepKind::Dwell(seconds) => format!("D({})", trimmed(seconds?, 4)),
        StepKind::Stop(code) => format!("M{code}"),
        StepKind::ToolChange => format!("tool {}", step.state.tool.value),
        StepKind::Spindle => match step.state.spindle.value {
            SpindleSense::Stopped => "stop".to_owned(),
            SpindleSense::Clockwise => "cw".to_owned(),
            SpindleSense::Counterclockwise => "ccw".to_owned(),
        },
        StepKind::End => return None,
    })
}
