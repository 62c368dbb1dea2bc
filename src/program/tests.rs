//! Programs found, calls resolved, rings and strays named.

use super::{CallKind, ProgramGraph, ProgramId};
use crate::source::{Library, NoLibrary, Source, SourceId};
use crate::syntax::Lexis;

/// Files beside the main one, by program number.
struct Beside(Vec<(u32, &'static str)>);

impl Library for Beside {
    fn find(&self, number: u32) -> Option<Source> {
        let (_, text) = self.0.iter().find(|(known, _)| *known == number)?;
        Some(Source::new(format!("O{number}.nc"), *text))
    }
}

fn read(main: &str, beside: Vec<(u32, &'static str)>) -> ProgramGraph {
    ProgramGraph::read(Source::new("main.nc", main), &Beside(beside), &Lexis::default())
}

fn numbers(graph: &ProgramGraph, ids: &[ProgramId]) -> Vec<Option<u32>> {
    ids.iter().map(|id| graph.program(*id).unwrap().number).collect()
}

#[test]
fn a_plain_file_is_one_program() {
    for text in ["%\nO1000 (PLATE)\nG0 X1\nM30\n%\n", "G0 X1\nM30\n", ""] {
        let graph = read(text, Vec::new());
        assert_eq!(graph.programs().len(), 1, "{text:?}");
        assert_eq!(graph.programs()[0].start, 0);
        assert_eq!(graph.programs()[0].end as usize, text.len());
        assert!(graph.calls().is_empty());
        assert!(graph.never_called().is_empty());
    }
}

#[test]
fn a_subprogram_in_the_same_file_wins_over_one_beside_it() {
    let main = "O1\nM98 P2\nM30\nO2\nG1 X1\nM99\n";
    let graph = read(main, vec![(2, "O2\nG1 X9\nM99\n")]);
    assert_eq!(graph.target(SourceId(0), 2), Some((SourceId(0), main.find("O2").unwrap() as u32)));
    assert_eq!(graph.sources().len(), 1);
    assert_eq!(graph.calls()[0].target, Some(ProgramId(1)));
}

#[test]
fn programs_beside_the_main_one_are_read_with_those_they_call() {
    let graph = read("O1\nM98 P7 L3\nM30\n", vec![(7, "G1 X9\nM98 P8\nM99\n"), (8, "(SLOW)\nO8\nM99\n")]);
    let names: Vec<&str> = graph.sources().iter().map(|source| source.name.as_str()).collect();
    assert_eq!(names, ["main.nc", "O7.nc", "O8.nc"]);
    assert_eq!(graph.target(SourceId(0), 7), Some((SourceId(1), 0)));
    assert_eq!(graph.target(SourceId(1), 8), Some((SourceId(2), 0)));
    assert_eq!(graph.calls()[0].times, 3);
    assert!(graph.never_called().is_empty());
}

#[test]
fn a_call_without_target_is_named_with_its_word() {
    let main = "O1\nN20 M98 P4711\nM30\n";
    let graph = read(main, Vec::new());
    let call = &graph.calls()[0];
    assert_eq!((call.number, call.target), (Some(4711), None));
    assert_eq!(call.word.of(main.as_bytes()), b"P4711");
    assert_eq!(call.block.of(main.as_bytes()), b"N20 M98 P4711");
    assert_eq!(graph.target(SourceId(0), 4711), None);
}

#[test]
fn a_call_in_a_comment_is_no_call() {
    let graph = read("O1\n(M98 P2)\nM30\n", Vec::new());
    assert!(graph.calls().is_empty());
}

#[test]
fn a_packed_number_holds_its_repeats() {
    let main = "O1\nM98 P30002\nM98 P12345\nM30\nO2\nM99\nO12345\nM99\n";
    let graph = read(main, Vec::new());
    let called: Vec<_> = graph.calls().iter().map(|call| (call.number, call.times)).collect();
    assert_eq!(called, [(Some(2), 3), (Some(12345), 1)]);
    assert_eq!(graph.unpack(SourceId(0), 30_002, None), (2, 3));
    assert_eq!(graph.unpack(SourceId(0), 12_345, None), (12_345, 1));
    assert_eq!(graph.unpack(SourceId(0), 2, Some(5)), (2, 5));
    assert!(graph.calls().iter().all(|call| call.target.is_some()));
}

#[test]
fn a_ring_of_calls_is_reported_once_as_its_path() {
    let main = "O1\nM98 P2\nM30\nO2\nM98 P3\nM99\nO3\nM98 P4\nM98 P2\nM99\nO4\nM99\nO5\nM98 P5\nM99\n";
    let graph = read(main, Vec::new());
    let rings: Vec<Vec<_>> =
        graph.recursions().iter().map(|ring| ring.iter().map(|call| call.number).collect()).collect();
    assert_eq!(rings, [vec![Some(3), Some(2)], vec![Some(5)]]);
}

#[test]
fn a_program_nobody_reaches_is_named() {
    let main = "O1\nM98 P2\nM30\nO2\nM99\nO3\nM98 P4\nM99\nO4\nM99\n";
    let graph = read(main, Vec::new());
    assert_eq!(numbers(&graph, &graph.never_called()), [Some(3), Some(4)]);
    let computed = main.replace("P2", "P#100");
    assert!(read(&computed, Vec::new()).never_called().is_empty(), "a computed number may reach any of them");
}

#[test]
fn blocks_before_the_first_heading_are_the_main_program() {
    let graph = read("G0 X1\nM98 P2\nM30\nO2\nM99\n", Vec::new());
    assert_eq!(graph.programs()[0].number, None);
    assert_eq!(graph.calls()[0].caller, ProgramId(0));
    assert_eq!(graph.calls()[0].target, Some(ProgramId(1)));
}

#[test]
fn sequence_numbers_are_looked_for_in_the_callers_program_first() {
    let main = "O1\nM97 P100\nM97 P7\nM30\nN100 G1 X1\nM99\nO2\nM98 Q100\nN100 G1 X2\nM99\n";
    let graph = read(main, Vec::new());
    let own = main.find("N100").unwrap() as u32;
    let other = main.rfind("N100").unwrap() as u32;
    assert_eq!(graph.sequence(SourceId(0), 4, 100), Some(own));
    assert_eq!(graph.sequence(SourceId(0), other, 100), Some(other));
    assert_eq!(graph.sequence(SourceId(0), 4, 7), None);
    assert_eq!(graph.calls()[0].kind, CallKind::Sequence);
}

#[test]
fn a_macro_call_counts_as_a_call() {
    let graph = read("O1\nG65 P9010 A1.\nM30\nO9010\nM99\n", Vec::new());
    assert_eq!(graph.calls()[0].kind, CallKind::Macro);
    assert!(graph.never_called().is_empty());
}

#[test]
fn a_long_chain_of_programs_is_no_trouble() {
    let chain: String = (1..20_000).map(|number| format!("O{number}\nM98 P{}\nM99\n", number + 1)).collect();
    let graph = ProgramGraph::read(Source::new("main.nc", chain), &NoLibrary, &Lexis::default());
    assert_eq!(graph.recursions().len(), 0);
    assert_eq!(graph.calls().iter().filter(|call| call.target.is_none()).count(), 1);
}
