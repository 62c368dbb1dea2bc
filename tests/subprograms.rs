//! Subprograms as they run: which block each step comes from, how often, and what a missing one leaves in doubt.

use lastply::motion::{
    BlockRef, CycleCall, Dialect, Expand, ModalState, MotionFault, Observer, Settings, Step, StepKind, ToolTable,
    Trace, run,
};
use lastply::program::ProgramGraph;
use lastply::source::{Library, Source};
use lastply::units::trimmed;

/// One observed move: kind and end point, line text, trace.
struct Seen {
    moves: Vec<(String, String, u32)>,
    faults: Vec<(String, &'static str)>,
    doubts: Vec<bool>,
    graph: Vec<Vec<u8>>,
}

impl Observer for Seen {
    fn step(&mut self, step: &Step<'_>) {
        let kind = match step.kind {
            StepKind::Rapid => "T",
            StepKind::Line => "F",
            _ => return,
        };
        let to = step.to.xyz.map(|value| trimmed(value, 3)).join(",");
        let bytes = &self.graph[usize::from(step.block.source.0)];
        let line = String::from_utf8_lossy(step.block.span.of(bytes)).trim().to_owned();
        self.moves.push((format!("{kind}({to})"), line, step.block.trace.0));
        self.doubts.push(step.state.doubtful.modes || step.state.doubtful.feed);
    }

    fn cycle(&mut self, _call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        Expand::Steps
    }

    fn fault(&mut self, fault: MotionFault) {
        self.faults.push((fault.kind.message(), fault.kind.rule()));
    }
}

struct Beside(Vec<(u32, &'static str)>);

impl Library for Beside {
    fn find(&self, number: u32) -> Option<Source> {
        let (_, text) = self.0.iter().find(|(known, _)| *known == number)?;
        Some(Source::new(format!("O{number}.nc"), *text))
    }
}

fn shop(main: &str, beside: Vec<(u32, &'static str)>) -> (Seen, Vec<Trace>) {
    let settings = Settings::new(Dialect::named("shop").unwrap(), None);
    let graph = ProgramGraph::read(Source::new("main.nc", main), &Beside(beside), &settings.lexis());
    let sources = graph.sources().iter().map(|source| source.bytes.clone()).collect();
    let mut seen = Seen { moves: Vec::new(), faults: Vec::new(), doubts: Vec::new(), graph: sources };
    let traces = run(&graph, &settings, &ToolTable::default(), &mut seen);
    (seen, traces)
}

fn moves(seen: &Seen) -> String {
    seen.moves.iter().map(|(word, ..)| word.as_str()).collect::<Vec<_>>().join(" ")
}

const START: &str = "G21 G90 G94 G0 X0. Y0. Z5.\n";

#[test]
fn a_subprogram_runs_as_often_as_the_call_says_with_a_trace_each() {
    let main = format!("O1\n{START}M98 P2 L2\nG0 Z9.\nM30\nO2\nG91 G1 X1. F100.\nG90\nM99\n");
    let (seen, traces) = shop(&main, Vec::new());
    assert_eq!(moves(&seen), "T(0,0,5) F(1,0,5) F(2,0,5) T(2,0,9)");
    assert_eq!(seen.moves[1].1, "G91 G1 X1. F100.");
    let at = |index: usize| &traces[seen.moves[index].2 as usize];
    assert!(at(0).calls.is_empty());
    assert_eq!(at(1).calls.len(), 1);
    assert_eq!((at(1).repeat, at(2).repeat), (0, 1));
    let (source, call) = at(1).calls[0];
    assert_eq!(source.0, 0);
    assert_eq!(call.of(main.as_bytes()), b"M98 P2 L2");
    assert!(at(3).calls.is_empty());
    assert!(seen.faults.is_empty(), "{:?}", seen.faults);
}

#[test]
fn modes_pass_through_a_call_both_ways() {
    let main = format!("O1\n{START}G91\nM98 P2\nX1.\nM30\nO2\nG1 X1. F100.\nG90\nM99\n");
    let (seen, _) = shop(&main, Vec::new());
    assert_eq!(moves(&seen), "T(0,0,5) F(1,0,5) F(1,0,5)");
}

#[test]
fn packed_calls_and_files_beside_the_program_are_followed() {
    let main = format!("O1\n{START}M98 P20007\nM30\n");
    let (seen, traces) = shop(&main, vec![(7, "O7\nG91 G0 Y1.\nM98 P8\nM99\n"), (8, "G0 X1.\nG90\nM99\n")]);
    assert_eq!(moves(&seen), "T(0,0,5) T(0,1,5) T(1,1,5) T(1,2,5) T(2,2,5)");
    assert_eq!(traces[seen.moves[2].2 as usize].calls.len(), 2);
    assert!(seen.faults.is_empty(), "{:?}", seen.faults);
}

#[test]
fn a_local_call_runs_from_its_sequence_number() {
    let main = format!("O1\n{START}M97 P100\nM97 P100\nM30\nN100 G91 G0 X2.\nG90\nM99\n");
    let (seen, _) = shop(&main, Vec::new());
    assert_eq!(moves(&seen), "T(0,0,5) T(2,0,5) T(4,0,5)");
}

#[test]
fn a_missing_program_leaves_position_and_modes_in_doubt() {
    let main = format!("O1\n{START}M98 P4711\nG1 X1. F100.\nM30\n");
    let (seen, _) = shop(&main, Vec::new());
    assert!(seen.faults.iter().any(|(_, rule)| *rule == "subprogram-missing"), "{:?}", seen.faults);
    assert_eq!(seen.doubts, [false, true]);
}

#[test]
fn a_program_that_calls_itself_stops_and_is_reported_once() {
    let main = format!("O1\n{START}M98 P2\nG0 X9.\nM30\nO2\nG91 G0 X1.\nM98 P2\nG90\nM99\n");
    let (seen, _) = shop(&main, Vec::new());
    let recursive: Vec<_> = seen.faults.iter().filter(|(_, rule)| *rule == "subprogram-recursive").collect();
    assert_eq!(recursive.len(), 1, "{:?}", seen.faults);
    assert!(seen.moves.len() <= 4, "{:?}", seen.moves.len());
}

#[test]
fn calls_nested_too_deep_are_not_followed() {
    let chain: String = (1..40).map(|number| format!("O{number}\nG91 G0 X1.\nM98 P{}\nM99\n", number + 1)).collect();
    let (seen, _) = shop(&chain, Vec::new());
    assert!(seen.moves.len() < 20, "{}", seen.moves.len());
    assert!(seen.faults.iter().any(|(_, rule)| *rule == "not-followed"), "{:?}", seen.faults);
}

#[test]
fn a_macro_call_is_not_followed_and_leaves_doubt() {
    let main = format!("O1\n{START}G65 P9010 A1.\nG1 X1. F100.\nM30\nO9010\nG0 X5.\nM99\n");
    let (seen, _) = shop(&main, Vec::new());
    assert!(seen.faults.iter().any(|(_, rule)| *rule == "not-followed"), "{:?}", seen.faults);
    assert_eq!(seen.doubts, [false, true]);
}
