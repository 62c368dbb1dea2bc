//! Programs under the `shop` dialect, whose moves and faults are written as short words.

use super::{Dialect, FaultKind, MotionFault, Observer, Settings, SpindleSense, Step, StepKind, ToolTable, run};
use crate::job::{DwellUnit, FeedMemory, InverseTime, Machine, NumberInput};
use crate::program::ProgramGraph;
use crate::source::{NoLibrary, Source};
use crate::units::{Millimetres, trimmed};

/// What a program does, in short words.
#[derive(Default)]
pub(super) struct Words {
    moves: Vec<String>,
    feeds: Vec<Option<f64>>,
    pub faults: Vec<FaultKind>,
}

impl Observer for Words {
    fn step(&mut self, step: &Step<'_>) {
        let axes = [0, 1, 2].map(|axis| step.to.axis(axis).map_or("?".to_owned(), |value| trimmed(value, 4)));
        let letter = match step.kind {
            StepKind::Rapid => "T",
            StepKind::Line => "F",
            StepKind::ArcCw(_) => "cw",
            StepKind::ArcCcw(_) => "ccw",
            StepKind::Dwell(seconds) => {
                return self.moves.push(seconds.map_or("D?".to_owned(), |time| format!("D{}", trimmed(time, 4))));
            }
            StepKind::Stop(number) => return self.moves.push(format!("M{number}")),
            StepKind::ToolChange => return self.moves.push(format!("tool{}", step.state.tool.value)),
            StepKind::Spindle | StepKind::End => return,
        };
        self.moves.push(format!("{letter}({})", axes.join(",")));
        if step.kind != StepKind::Rapid {
            self.feeds.push(step.feed);
        }
    }

    fn fault(&mut self, fault: MotionFault) {
        self.faults.push(fault.kind);
    }
}

/// A machine that leaves no doubt how its words are read.
pub(super) fn declared() -> Machine {
    Machine {
        dwell_unit: Some(DwellUnit::Seconds),
        peck_clearance: Some(Millimetres(0.2)),
        peck_back_off: Some(Millimetres(0.2)),
        number_input: Some(NumberInput::Decimal),
        feed_memory: Some(FeedMemory::Shared),
        inverse_time: Some(InverseTime::PerMinute),
        ..Machine::default()
    }
}

fn run_on(machine: &Machine, text: &str) -> Words {
    run_with(&Settings::new(Dialect::shop(), Some(machine)), text)
}

pub(super) fn run_with(settings: &Settings, text: &str) -> Words {
    let graph = ProgramGraph::read(Source::new("case.nc", text), &NoLibrary, &settings.lexis());
    let mut words = Words::default();
    run(&graph, settings, &ToolTable::default(), &mut words);
    words
}

fn shop(text: &str) -> Words {
    run_on(&declared(), text)
}

#[track_caller]
fn clean(text: &str) -> String {
    let words = shop(text);
    assert_eq!(words.faults, [], "{text}");
    words.moves.join(" ")
}

#[test]
fn nothing_is_known_before_it_is_said() {
    assert_eq!(clean("G21 G90\nG0 X1 Y2\nZ5\nM30"), "T(1,2,?) T(1,2,5) M30");
    assert_eq!(clean("G21 G91\nG0 X1\nG90 X4\nG91 X1\nM30"), "T(?,?,?) T(4,?,?) T(5,?,?) M30");
}

#[test]
fn a_safety_line_is_no_conflict() {
    assert_eq!(clean("G0 G17 G21 G40 G49 G80 G90 G94 G98\nM30"), "M30");
    let words = shop("G0 G1 X1\nM30");
    assert_eq!(words.faults, [FaultKind::SameGroup("G0", "G1")]);
}

#[test]
fn a_series_returns_to_its_first_level() {
    let series = clean("G21 G90 G0 X0 Y0 Z10\nG98 G81 X1 Z-5 R2 F100\nG99 X2\nG98 X3\nG80\nM30");
    let holes = "T(0,0,10) T(1,0,10) T(1,0,2) F(1,0,-5) T(1,0,10) T(2,0,10) T(2,0,2) F(2,0,-5) T(2,0,2) \
                 T(3,0,2) F(3,0,-5) T(3,0,10) M30";
    assert_eq!(series, holes);
}

#[test]
fn incremental_holes_count_from_the_initial_level() {
    let row = clean("G21 G90 G0 X0 Y0 Z10\nG91 G99 G81 X5 Y0 Z-7 R-8 K2 F100\nG80\nM30");
    assert_eq!(row, "T(0,0,10) T(5,0,10) T(5,0,2) F(5,0,-5) T(5,0,2) T(10,0,2) F(10,0,-5) T(10,0,2) M30");
}

#[test]
fn pecks_back_off_by_the_declared_amounts() {
    let start = "G21 G90 G0 X0 Y0 Z10\n";
    let peck = clean(&format!("{start}G98 G83 X1 Z-4 R2 Q3 F100\nG80\nM30"));
    assert_eq!(peck, "T(0,0,10) T(1,0,10) T(1,0,2) F(1,0,-1) T(1,0,2) T(1,0,-0.8) F(1,0,-4) T(1,0,10) M30");
    let chip = clean(&format!("{start}G98 G73 X1 Z-4 R2 Q3 F100\nG80\nM30"));
    assert_eq!(chip, "T(0,0,10) T(1,0,10) T(1,0,2) F(1,0,-1) T(1,0,-0.8) F(1,0,-4) T(1,0,10) M30");
    let start = "G21 G90 G0 X0 Y0 Z10.\n";
    let words = run_on(&Machine::default(), &format!("{start}G98 G83 X1. Z-4. R2. Q3. F100\nG80\nM30"));
    assert_eq!(words.faults, [FaultKind::Undeclared("machine.peck_clearance")]);
    let words = run_on(&Machine::default(), &format!("{start}G98 G83 X1. Z-4. R2. Q9. F100\nG80\nM30"));
    assert_eq!(words.faults, []);
}

#[test]
fn cycle_values_may_be_stored_without_a_hole() {
    let stored = clean("G21 G90 G0 X0 Y0 Z10\nG99 G81 X9 Y9 Z-5 R2 F100 L0\nX1\nG82 X2 P0.5\nG80\nM30");
    assert_eq!(stored, "T(0,0,10) T(1,0,10) T(1,0,2) F(1,0,-5) T(1,0,2) T(2,0,2) F(2,0,-5) D0.5 T(2,0,2) M30");
    assert_eq!(clean("G21 G90 G0 X0 Y0 Z10\nG99 G81 Z-5 R2 F100\nG80\nM30").matches('F').count(), 1);
    assert_eq!(clean("G21 G90 G0 X0 Y0 Z10\nG99 G81 Z-5 R2 F100\nG98\nM8\nG80\nM30").matches('F').count(), 1);
}

#[test]
fn behind_a_cancelled_cycle_axis_words_move_as_before_it() {
    let words = shop("G21 G90 G0 X0 Y0 Z10\nG99 G81 X1 Z-5 R2 F100\nG80\nX4\nM30");
    assert_eq!(words.faults, [FaultKind::AxisWithoutMotion]);
    assert_eq!(words.moves.last().unwrap(), "M30");
    assert_eq!(words.moves[words.moves.len() - 2], "T(4,0,2)");
}

#[test]
fn a_dwell_needs_its_unit() {
    assert_eq!(clean("G4 P1.5\nG4 X2.\nG4 P0\nM30"), "D1.5 D2 D0 M30");
    let milliseconds = Machine { dwell_unit: Some(DwellUnit::Milliseconds), ..declared() };
    assert_eq!(run_on(&milliseconds, "G4 P500\nM30").moves.join(" "), "D0.5 M30");
    let by_point = Machine { dwell_unit: Some(DwellUnit::MillisecondsWithoutPoint), ..declared() };
    assert_eq!(run_on(&by_point, "G4 P500\nG4 P.5\nM30").moves.join(" "), "D0.5 D0.5 M30");
    let words = run_on(&Machine::default(), "G4 P500\nG4 P300\nM30");
    assert_eq!(words.moves.join(" "), "D? D? M30");
    assert_eq!(words.faults, [FaultKind::Undeclared("machine.dwell_unit")]);
}

#[test]
fn numbers_without_a_point_may_be_increments() {
    let increments = Machine { number_input: Some(NumberInput::Increment(0.001)), ..declared() };
    assert_eq!(run_on(&increments, "G21 G90\nG0 X1500 Y2. Z0\nM30").moves.join(" "), "T(1.5,2,0) M30");
    let words = run_on(&Machine::default(), "G21 G90\nG0 X1500 Y2.\nX3\nM30");
    assert_eq!(words.faults, [FaultKind::Undeclared("machine.number_input")]);
    assert_eq!(words.moves.join(" "), "T(1500,2,?) T(3,2,?) M30");
}

#[test]
fn feeds_follow_their_mode_and_unit() {
    let start = "G21 G90 S1000 M3\nG0 X0 Y0 Z0\n";
    let feeds = |machine: &Machine, blocks: &str| run_on(machine, &format!("{start}{blocks}\nM30")).feeds;
    assert_eq!(feeds(&declared(), "G94 G1 X1 F100\nG95 X2 F0.1\nS500 X3"), [Some(100.0), Some(100.0), Some(50.0)]);
    assert_eq!(feeds(&declared(), "G93 G1 X10 F2\nA90 F2"), [Some(20.0), None]);
    assert_eq!(feeds(&declared(), "G20 G1 X1 F10"), [Some(254.0)]);
    assert_eq!(feeds(&declared(), "G1 F100 X1\nG95 X2"), [Some(100.0), Some(100_000.0)]);
    let per_mode = Machine { feed_memory: Some(FeedMemory::PerMode), ..declared() };
    let back = "G94 G1 X1 F1000\nG95 X2 F1.5\nG94 X50";
    assert_eq!(feeds(&per_mode, back), [Some(1000.0), Some(1500.0), Some(1000.0)]);
    let cleared = Machine { feed_memory: Some(FeedMemory::Cleared), ..declared() };
    assert_eq!(feeds(&cleared, back), [Some(1000.0), Some(1500.0), None]);
    let undeclared = Machine { feed_memory: None, ..declared() };
    let words = run_on(&undeclared, &format!("{start}{back}\nM30"));
    assert_eq!(words.feeds, [Some(1000.0), Some(1500.0), None]);
    assert_eq!(words.faults, [FaultKind::Undeclared("machine.feed_memory")]);
    let seconds = Machine { inverse_time: Some(InverseTime::Seconds), ..declared() };
    assert_eq!(feeds(&seconds, "G93 G1 X10 F20"), [Some(30.0)]);
}

#[test]
fn a_home_sends_only_the_named_axes() {
    let start = "G21 G90\nG0 X5 Y6 Z7\n";
    assert_eq!(clean(&format!("{start}G91 G28 Z0\nG90\nM30")), "T(5,6,7) T(5,6,?) M30");
    let home = Machine { home: [None, None, Some(Millimetres(300.0))], ..declared() };
    let words = run_on(&home, &format!("{start}G28 Z50\nG0 G53 Z0\nM30"));
    assert_eq!(words.moves.join(" "), "T(5,6,7) T(5,6,50) T(5,6,300) T(5,6,?) M30");
}

#[test]
fn work_offsets_are_the_operators() {
    let start = "G21 G90 G54\nG0 X5 Y6 Z7\n";
    assert_eq!(clean(&format!("{start}G55\nX1\nM30")), "T(5,6,7) T(1,?,?) M30");
    assert_eq!(clean(&format!("{start}G54\nX1\nM30")), "T(5,6,7) T(1,6,7) M30");
    assert_eq!(clean(&format!("{start}G52 X10\nY1\nM30")), "T(5,6,7) T(-5,1,7) M30");
    assert_eq!(clean(&format!("{start}G92 X0 Y0\nX1\nM30")), "T(5,6,7) T(1,0,7) M30");
}

#[test]
fn length_offsets_need_the_table() {
    let start = "G21 G90\nG0 X5 Y6 Z7\n";
    assert_eq!(clean(&format!("{start}G43 H2\nX1\nG43 Z5 H2\nM30")), "T(5,6,7) T(1,6,?) T(1,6,5) M30");
    let words = shop(&format!("{start}G43 Z5\nM30"));
    assert_eq!(words.faults, [FaultKind::LengthWithoutH]);
}

#[test]
fn full_circles_need_no_end() {
    assert_eq!(clean("G21 G90 G0 X5 Y0 Z0\nG2 I-5 F100\nG3 X0 Y5 R5\nM30"), "T(5,0,0) cw(5,0,0) ccw(0,5,0) M30");
    let uneven = shop("G21 G90 G0 X0 Y0 Z0\nG2 X10.015 Y0 I5 F100\nM30");
    assert!(matches!(uneven.faults[..], [FaultKind::ArcUneven(..)]));
    assert_eq!(uneven.moves.len(), 3);
    let apart = shop("G21 G90 G0 X0 Y0 Z0\nG2 X11 Y0 I5 F100\nM30");
    assert!(matches!(apart.faults[..], [FaultKind::ArcRadii(..)]));
}

#[test]
fn calls_repeat_nest_and_return() {
    let text = "%\nO1\nG21 G90 G0 X0 Y0 Z0\nM98 P20 L2\nX9\nM30\nO20\nG91 X1\nM98 P30\nG90\nM99\nO30\nY1\nM99\n%\n";
    assert_eq!(clean(text), "T(0,0,0) T(1,0,0) T(1,1,0) T(2,1,0) T(2,2,0) T(9,2,0) M30");
    let packed = "O1\nG21 G90 G0 X0 Y0 Z0\nG91\nM98 P30020\nM30\nO20\nX1\nM99\n";
    assert_eq!(clean(packed), "T(0,0,0) T(1,0,0) T(2,0,0) T(3,0,0) M30");
    let by_line = "O1\nG21 G90 G0 X0 Y0 Z0\nM97 P100 L2\nM30\nN100 G91 X1\nG90\nM99\n";
    assert_eq!(clean(by_line), "T(0,0,0) T(1,0,0) T(2,0,0) M30");
}

#[test]
fn a_missing_program_leaves_everything_in_doubt() {
    let words = shop("G21 G90 G0 X0 Y0 Z0\nM98 P77\nX1\nG91 Y1\nM30");
    assert_eq!(words.faults, [FaultKind::CallMissing(77)]);
    assert_eq!(words.moves.join(" "), "T(0,0,0) T(1,?,?) T(1,?,?) M30");
    let ring = shop("O1\nG21\nM98 P2\nM30\nO2\nM98 P2\nM99\n");
    assert_eq!(ring.faults, [FaultKind::CallRecursive(2)]);
    let deep: String = (2..20).map(|number| format!("O{number}\nM98 P{}\nM99\n", number + 1)).collect();
    let deep = shop(&format!("O1\nM98 P2\nM30\n{deep}O20\nM99\n"));
    assert_eq!(deep.faults, [FaultKind::CallTooDeep(10)]);
}

#[test]
fn endless_repetition_comes_to_an_end() {
    let bomb = "O1\nM98 P2 L9999999\nM30\nO2\nM98 P3 L9999999\nM99\nO3\nM99\n";
    let plain = Settings::new(Dialect::shop(), Some(&declared()));
    let few_calls = Settings { most_calls: 1000, ..plain.clone() };
    assert_eq!(run_with(&few_calls, bomb).faults, [FaultKind::CallTooLong]);
    let few_blocks = Settings { most_called_blocks: 1000, ..plain };
    assert_eq!(run_with(&few_blocks, bomb).faults, [FaultKind::CallTooLong]);
}

#[test]
fn what_is_not_followed_is_said() {
    for (block, lost) in [("IF [#1 GT 2] GOTO 20", true), ("G65 P9810 Z1.", true), ("G68 X0 Y0 R45.", true)] {
        let words = shop(&format!("G21 G90 G0 X0 Y0 Z0\n{block}\nG91 X1\nM30"));
        assert_eq!(words.faults.len(), 1, "{block}: {:?}", words.faults);
        assert_eq!(words.faults[0].rule(), "not-followed", "{block}");
        assert_eq!(words.moves.join(" ").contains('?'), lost, "{block}");
    }
    let words = shop("G21 G90 G0 X0 Y0 Z0\nX#500\nY1\nM30");
    assert_eq!(words.faults, [FaultKind::UnknownValue('X')]);
    assert_eq!(words.moves.join(" "), "T(0,0,0) T(?,0,0) T(?,1,0) M30");
    let words = shop("G21 G90 G0 X0 Y0 Z0\n#1=4\n#2=[#1*2]\nX#2 (read)\nM30");
    assert_eq!((words.moves.join(" "), words.faults), ("T(0,0,0) T(8,0,0) M30".to_owned(), vec![]));
}

#[test]
fn unknown_codes_are_reported_and_never_skipped() {
    let words = shop("G21 G90 G0 X0 Y0 Z0\nM133 X1\nG222 X2\nG91 X1\nM30");
    assert_eq!(words.faults, [FaultKind::UnknownCode('M', 133.0), FaultKind::UnknownCode('G', 222.0)]);
    assert_eq!(words.moves.join(" "), "T(0,0,0) T(1,0,0) T(2,?,?) T(3,?,?) M30");
    let known = Machine { known_codes: vec![(133, "open the door".to_owned())], ..declared() };
    assert_eq!(run_on(&known, "M133\nM30").faults, []);
}

#[test]
fn stops_come_after_the_motion_of_their_block() {
    struct Sense(Vec<(SpindleSense, Option<bool>)>);
    impl Observer for Sense {
        fn step(&mut self, step: &Step<'_>) {
            self.0.push((step.state.spindle.value, step.state.extraction.value));
        }
        fn fault(&mut self, fault: MotionFault) {
            panic!("{fault:?}");
        }
    }
    let machine = Machine { extraction_on: vec![51], extraction_off: vec![59], ..declared() };
    let settings = Settings::new(Dialect::shop(), Some(&machine));
    let text = "G21 G90 S100\nM3 M51 G0 X1\nM5 M59 X2\nX3\nM30";
    let graph = ProgramGraph::read(Source::new("case.nc", text), &NoLibrary, &settings.lexis());
    let mut sense = Sense(Vec::new());
    run(&graph, &settings, &ToolTable::default(), &mut sense);
    let on = (SpindleSense::Clockwise, Some(true));
    assert_eq!(sense.0[..3], [on, on, (SpindleSense::Stopped, Some(false))]);
}

#[test]
fn a_program_ends_by_its_end_code() {
    assert_eq!(shop("G0 X1\n").faults, [FaultKind::NoEnd]);
    assert_eq!(clean("%\nO5\nG0 X1\nM30\n%\nG0 X2\n"), "T(1,?,?) M30");
    assert_eq!(shop("%\nG0 X1\n%\nG0 X2\n").moves.join(" "), "T(1,?,?)");
    assert_eq!(shop("O1\nG0 X1\nO2\nX2\nM30\n").faults, [FaultKind::NoEnd]);
}

#[test]
fn an_unknown_tool_radius_leaves_the_programmed_path() {
    let words = shop("G21 G90 G0 X0 Y0 Z0\nG41 D5 G1 X5 F100\nY5\nG40 X0\nM30");
    assert_eq!(words.faults, [FaultKind::CompensationUnknown(5)]);
    assert_eq!(words.moves.join(" "), "T(0,0,0) F(5,0,0) F(5,5,0) F(0,5,0) M30");
}

#[test]
fn a_rotary_word_turns_the_part_before_the_hole() {
    let row = clean("G21 G90 G0 X0 Y0 Z10 A0\nG98 G81 X1 Z-5 R2 F100\nA90\nG80\nM30");
    assert_eq!(
        row,
        "T(0,0,10) T(1,0,10) T(1,0,2) F(1,0,-5) T(1,0,10) T(1,0,10) T(1,0,10) T(1,0,2) F(1,0,-5) T(1,0,10) M30"
    );
}
