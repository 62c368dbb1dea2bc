//! Programs of words drawn at random: no dialect may panic, hang, or show a place that is no number.

use super::{
    BlockRef, CycleCall, Dialect, Expand, ModalState, MotionFault, Observer, Settings, Step, ToolOffset, ToolTable, run,
};
use crate::program::ProgramGraph;
use crate::source::{NoLibrary, Source};
use proptest::prelude::*;

#[derive(Default, PartialEq, Debug)]
struct Trail {
    steps: Vec<String>,
    faults: Vec<MotionFault>,
    generation: u32,
    whole_cycles: bool,
}

impl Observer for Trail {
    fn step(&mut self, step: &Step<'_>) {
        let finite = |axis| step.to.axis(axis).is_none_or(f64::is_finite);
        assert!((0..6).all(finite), "{step:?}");
        assert!(step.state.generation >= self.generation);
        self.generation = step.state.generation;
        self.steps.push(format!("{:?} {:?}", step.kind, step.to));
    }

    fn cycle(&mut self, call: &CycleCall, _: BlockRef, _: &ModalState) -> Expand {
        assert!(call.r >= call.bottom && call.clear >= call.r);
        if self.whole_cycles { Expand::Done } else { Expand::Steps }
    }

    fn fault(&mut self, fault: MotionFault) {
        assert!(!fault.kind.message().is_empty() && !fault.kind.rule().is_empty());
        self.faults.push(fault);
    }
}

fn word() -> impl Strategy<Value = String> {
    let code = prop::sample::select(super::Code::all()).prop_map(|code| code.name.to_owned());
    let letter = prop::sample::select(b"ABCDFHIJKLPQRSTXYZ".to_vec());
    let value = prop_oneof![
        4 => (-20..40_i32).prop_map(|value| value.to_string()),
        2 => (-20.0..40.0_f64).prop_map(|value| format!("{value:.3}")),
        1 => Just("#1".to_owned()),
        1 => Just("99999999999999".to_owned()),
    ];
    let valued = (letter, value).prop_map(|(letter, value)| format!("{}{value}", char::from(letter)));
    prop_oneof![2 => code, 3 => valued]
}

fn program() -> impl Strategy<Value = String> {
    let block = prop::collection::vec(word(), 0..7).prop_map(|words| words.join(" "));
    prop::collection::vec(block, 1..25).prop_map(|blocks| format!("O1\n#1=3\n{}\nO2\nX1\nM99\n", blocks.join("\n")))
}

fn trail(text: &str, dialect: &str, whole_cycles: bool) -> Trail {
    let mut settings = Settings::new(Dialect::named(dialect).unwrap(), None);
    settings.most_calls = 50;
    let mut tools = ToolTable::default();
    tools.entries.insert(1, ToolOffset { length: Some(100.0), diameter: Some(6.0) });
    let graph = ProgramGraph::read(Source::new("case.nc", text), &NoLibrary, &settings.lexis());
    let mut trail = Trail { whole_cycles, ..Trail::default() };
    run(&graph, &settings, &tools, &mut trail);
    trail
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn random_words_run_to_the_end_in_every_dialect(text in program()) {
        for dialect in Dialect::names() {
            let steps = trail(&text, dialect, false);
            // As text, for a fault about a number that is not one never equals itself.
            let debug = |trail: &Trail| format!("{trail:?}");
            prop_assert_eq!(debug(&steps), debug(&trail(&text, dialect, false)));
            // Taken whole or step by step, a cycle leaves the tool in the same place.
            let whole = trail(&text, dialect, true);
            prop_assert_eq!(steps.steps.last(), whole.steps.last());
            prop_assert_eq!(format!("{:?}", steps.faults), format!("{:?}", whole.faults));
        }
    }
}
