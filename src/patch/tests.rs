//! Whole patches on small programs: each remedy and each trap, read again by the state machine and the recogniser.

use super::{Checked, Inputs, Patch};
use crate::diagnostic::{Finding, Place, Remedy, Severity, Status};
use crate::job::Machine;
use crate::motion::{BlockRef, Dialect, MotionFault, Settings, Step, ToolTable, run};
use crate::operation::{Contact, Recogniser, Survey, ToolUse, Watcher};
use crate::program::ProgramGraph;
use crate::source::{Library, NoLibrary, Source, SourceId, Span};
use crate::units::{Millimetres, MmPerMin, UnitSystem};

/// Watches nothing.
struct Nobody;

impl Watcher for Nobody {
    fn step(&mut self, _step: &Step<'_>, _contact: Contact) {}
    fn hole(&mut self, _index: u32, _new: bool, _survey: &Survey) {}
    fn tool(&mut self, _used: &ToolUse, _survey: &Survey) {}
    fn fault(&mut self, fault: MotionFault) {
        assert!(fault.kind.undeclared().is_some(), "{:?}", fault.kind);
    }
    fn block(&mut self, _block: BlockRef, _understood: bool) {}
}

/// A program under test.
struct Bench {
    source: Source,
    machine: Machine,
    settings: Settings,
    survey: Survey,
    findings: Vec<Finding>,
    /// Findings after any patch.
    stays: Vec<Finding>,
    units: UnitSystem,
}

fn survey_of(source: Source, settings: &Settings, library: &dyn Library) -> Survey {
    let programs = ProgramGraph::read(source, library, &settings.lexis());
    let mut recogniser = Recogniser::new(None, Nobody);
    run(&programs, settings, &ToolTable::default(), &mut recogniser);
    recogniser.finish().0
}

impl Bench {
    fn new(text: &str) -> Self {
        Self::on(text, Machine::default())
    }

    fn on(text: &str, machine: Machine) -> Self {
        let source = Source::new("plate.nc", text.as_bytes());
        let settings = Settings::new(Dialect::named("shop").unwrap(), Some(&machine));
        let survey = survey_of(source.clone(), &settings, &NoLibrary);
        let units = if text.contains("G20") { UnitSystem::Inch } else { UnitSystem::Metric };
        Self { source, machine, settings, survey, findings: Vec::new(), stays: Vec::new(), units }
    }

    /// A finding on some holes.
    fn want(mut self, holes: &[u32], remedy: Remedy) -> Self {
        let place = |hole: &u32| {
            let at = self.survey.holes[*hole as usize].block;
            Place { source: SourceId(0), span: Span::new(at, at + 1), tool: None, hole: Some(*hole) }
        };
        let places = holes.iter().map(place).collect();
        self.findings.push(finding(places, remedy));
        self
    }

    fn propose(&self) -> Patch {
        let job = crate::job::Job { machine: self.machine.clone(), ..Default::default() };
        let inputs = Inputs {
            sources: std::slice::from_ref(&self.source),
            job: Some(&job),
            settings: &self.settings,
            tools: &ToolTable::default(),
            library: &NoLibrary,
            share_strokes: self.machine.subprogram.is_some(),
            units: self.units,
            survey: &self.survey,
            findings: &self.findings,
            not_checked: &[],
        };
        let recheck = |program: Source, library: &dyn Library| Checked {
            survey: survey_of(program, &self.settings, library),
            findings: self.stays.clone(),
            ..Checked::default()
        };
        Patch::propose(&inputs, &recheck)
    }

    /// The patched text; panics when a finding was left.
    #[track_caller]
    fn patched(&self) -> String {
        let patch = self.propose();
        assert!(patch.verdict().left.is_empty(), "{:?}", patch.verdict());
        let bytes = patch.patched().next().map(|(_, _, bytes)| bytes.to_vec()).unwrap_or_default();
        String::from_utf8(bytes).unwrap()
    }

    /// Why the first finding was left.
    #[track_caller]
    fn refused(&self) -> String {
        let patch = self.propose();
        assert!(patch.is_empty(), "{}", String::from_utf8_lossy(&patch.diff()));
        patch.verdict().left[0].1.clone()
    }
}

fn finding(places: Vec<Place>, remedy: Remedy) -> Finding {
    Finding {
        rule: "exit-feed-high",
        severity: Severity::Error,
        status: Status::Open,
        message: "test".to_owned(),
        why: Vec::new(),
        advice: None,
        measured: None,
        limit: None,
        job_entry: None,
        places,
        more_places: 0,
        related: Vec::new(),
        remedy: Some(remedy),
    }
}

fn slow_exit(from: f64, feed: f64, to: f64) -> Remedy {
    Remedy::SlowExit { from: Millimetres(from), feed: MmPerMin(feed), to: Millimetres(to) }
}

/// Three holes under G99 from one statement, numbered, spaced, decimal points typed.
const SERIES: &str = "\
N10 G21 G90 G94 G17 G40 G49 G80
N20 T11 M6
N30 S2650 M3
N40 G0 G43 H11 X0. Y0. Z50.
N50 G99 G81 X10. Y0. Z-42.8 R3. F159.
N60 X20.
N70 X30. M8
N80 G80
N90 G0 Z50.
N100 M30
";

#[test]
fn trap_a_the_tool_leaves_the_hole_before_it_moves_sideways() {
    let out = Bench::new(SERIES).want(&[0, 1, 2], slow_exit(-33.7, 79.5, -43.8)).patched();
    let hole = "N50 G0 X10. Y0.\nN51 G0 Z3.\nN52 G1 Z-33.7 F159.\nN53 G1 Z-43.8 F79.5\nN54 G0 Z3.\n";
    assert!(out.contains(hole), "{out}");
    assert!(out.contains("N60 G0 X20.\nN61 G1 Z-33.7 F159.\nN62 G1 Z-43.8 F79.5\nN63 G0 Z3.\n"), "{out}");
    assert!(out.contains("N70 G0 X30. M8\n"), "{out}");
}

#[test]
fn trap_b_blocks_behind_a_written_out_hole_state_their_cycle_again() {
    let out = Bench::new(SERIES).want(&[1], slow_exit(-33.7, 79.5, -43.8)).patched();
    let expected = "N50 G99 G81 X10. Y0. Z-42.8 R3. F159.\nN60 G0 X20.\nN61 G1 Z-33.7 F159.\nN62 G1 Z-43.8 F79.5\n\
                    N63 G0 Z3.\nN70 G99 G81 X30. M8 Z-42.8 R3. F159.\nN80 G80\n";
    assert!(out.contains(expected), "{out}");
}

#[test]
fn trap_c_increments_stay_increments() {
    let program =
        "G21 G90 G94 G17\nS2650 M3\nG0 X0. Y0. Z10.\nG91 G99 G81 X10. Y0. Z-9. R-8. F159. L2\nG90 G80\nG0 Z50.\nM30\n";
    let out = Bench::new(program).want(&[0, 1], slow_exit(-5.5, 79.5, -8.)).patched();
    let hole = "G1 Z-7.5 F159.\nG1 Z-2.5 F79.5\nG0 Z10.\n";
    assert!(out.contains(&format!("G0 G91 X10. Y0.\nG0 Z-8.\n{hole}G0 X10. Y0.\n{hole}")), "{out}");
}

#[test]
fn trap_d_feeds_for_each_turn_stay_so() {
    let program = "G20 G90 G95 G17\nS4000 M3\nG0 X0 Y0 Z1.\nG99 G81 X1. Y0. Z-.47 R.1 F.0016\nX2.\nG80\nM30\n";
    let remedy = Remedy::SlowExit { from: Millimetres(-7.62), feed: MmPerMin(101.6), to: Millimetres(-11.938) };
    let out = Bench::new(program).want(&[0, 1], remedy).patched();
    assert!(out.contains("G0 X1. Y0.\nG0 Z.1\nG1 Z-.3 F.0016\nG1 Z-.47 F.001\nG0 Z.1\n"), "{out}");
}

#[test]
fn trap_e_new_numbers_never_collide_with_targets() {
    let program = SERIES.replace("N100 M30", "N52 M30");
    let out = Bench::new(&program).want(&[0], slow_exit(-33.7, 79.5, -43.8)).patched();
    assert!(out.contains("N50 G0 X10. Y0.\nG0 Z3.\nG1 Z-33.7 F159.\n"), "{out}");
    assert_eq!(out.matches("N52").count(), 1);
}

#[test]
fn trap_f_no_point_changes_a_number() {
    let machine = Machine { number_input: Some(crate::job::NumberInput::Increment(0.001)), ..Machine::default() };
    let program = "G21 G90 G94 G17\nS2650 M3\nG0 X0 Y0 Z50000\nG99 G81 X10000 Y0 Z-42800 R3000 F159\nG80\nM30\n";
    let out = Bench::on(program, machine).want(&[0], slow_exit(-33.7, 79.0, -43.8)).patched();
    assert!(out.contains("G0 X10000 Y0\nG0 Z3000\nG1 Z-33700 F159\nG1 Z-43800 F79\nG0 Z3000\n"), "{out}");
}

/// The series with one hole's block put another way.
fn series(blocks: &str) -> String {
    let start = SERIES.find("N50").unwrap();
    format!("{}{blocks}N80 G80\nN90 G0 Z50.\nN100 M30\n", &SERIES[..start])
}

#[track_caller]
fn becomes(before: &str, holes: &[u32], remedies: &[Remedy], after: &str) {
    let bench = remedies.iter().fold(Bench::new(&series(before)), |bench, remedy| bench.want(holes, remedy.clone()));
    assert_eq!(bench.patched(), series(after));
}

#[test]
fn a_depth_is_changed_where_it_is_said() {
    let before = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20.\nN70 X30.\n";
    let depth = || Remedy::Depth(Millimetres(-43.8));
    becomes(before, &[0, 1, 2], &[depth()], &before.replace("-42.8", "-43.8"));
    let one = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20. Z-43.8\nN70 X30. Z-42.8\n";
    becomes(before, &[1], &[depth()], one);
    let first = "N50 G99 G81 X10. Z-43.8 R3. F159.\nN60 X20. Z-42.8\nN70 X30.\n";
    becomes(before, &[0], &[depth()], first);
}

#[test]
fn a_feed_is_changed_for_its_holes_alone() {
    let before = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20.\nN70 X30.\n";
    let feed = || Remedy::Feed(MmPerMin(120.0));
    becomes(before, &[0, 1, 2], &[feed()], &before.replace("F159.", "F120."));
    let last = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20.\nN70 X30. F120.\n";
    becomes(before, &[2], &[feed()], last);
    let middle = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20. F120.\nN70 X30. F159.\n";
    becomes(before, &[1], &[feed()], middle);
}

#[test]
fn a_feed_that_later_blocks_take_over_is_said_again() {
    let program = SERIES.replace("N90 G0 Z50.\n", "N90 G0 Z50.\nN92 G0 X100. Y100.\nN94 G1 Z40.\nN96 G1 X120.\n");
    let out = Bench::new(&program).want(&[2], Remedy::Feed(MmPerMin(120.0))).patched();
    assert!(out.contains("N70 X30. M8 F120.\nN71 F159.\nN80 G80\n"), "{out}");
    let out = Bench::new(&program).want(&[2], slow_exit(-33.7, 79.5, -43.8)).patched();
    assert!(out.contains("N73 G0 Z3. F159.\nN80 G80\n"), "{out}");
}

#[test]
fn cycles_become_each_other() {
    let pecking = "N50 G99 G83 X10. Z-42.8 R3. Q2. F159.\nN60 X20.\n";
    let plain = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20.\n";
    becomes(pecking, &[0, 1], &[Remedy::OneStroke], plain);
    becomes(plain, &[0, 1], &[Remedy::FeedOut], &plain.replace("G81", "G85"));
    let pecks = "N50 G99 G83 X10. Z-42.8 R3. F159. Q10.\nN60 X20.\n";
    becomes(plain, &[0, 1], &[Remedy::Peck(Millimetres(10.0))], pecks);
    let one = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 G99 G83 X20. Z-42.8 R3. Q2. F159.\n";
    becomes(pecking, &[0], &[Remedy::OneStroke], &one.replace(" F159.\n", "\n").replacen("R3.\n", "R3. F159.\n", 1));
}

#[test]
fn wishes_of_several_findings_are_one_change() {
    let before = "N50 G99 G83 X10. Z-42.8 R3. Q2. F159.\n";
    let after = "N50 G0 X10.\nN51 G0 Z3.\nN52 G1 Z0.5 F100.\nN53 G1 Z-33.7 F159.\nN54 G1 Z-44. F79.5\nN55 G0 Z3.\n";
    let entry = Remedy::SlowEntry { feed: MmPerMin(100.0), to: Millimetres(0.5) };
    let remedies = [Remedy::OneStroke, slow_exit(-33.7, 79.5, -43.8), Remedy::Depth(Millimetres(-44.0)), entry];
    becomes(before, &[0], &remedies, after);
}

#[test]
fn pecks_that_must_stay_are_written_out_with_the_slow_exit() {
    let machine = Machine { peck_clearance: Some(Millimetres(0.5)), ..Machine::default() };
    let program = series("N50 G99 G83 X10. Z-8.5 R2. Q6. F159.\n");
    let out = Bench::on(&program, machine).want(&[0], slow_exit(-5.5, 79.5, -8.5)).patched();
    let strokes = "N50 G0 X10.\nN51 G0 Z2.\nN52 G1 Z-4. F159.\nN53 G0 Z2.\nN54 G0 Z-3.5\nN55 G1 Z-5.5\nN56 G1 Z-8.5 F79.5\nN57 G0 Z2.\n";
    assert!(out.contains(strokes), "{out}");
}

#[test]
fn the_initial_level_is_gone_back_to() {
    let before = "N50 G98 G81 X10. Z-42.8 R3. F159.\nN60 X20.\n";
    let after = "N50 G0 X10.\nN51 G0 Z3.\nN52 G1 Z-33.7 F159.\nN53 G1 Z-43.8 F79.5\nN54 G0 Z50.\n\
                 N60 G98 G81 X20. Z-42.8 R3. F159.\n";
    becomes(before, &[0], &[slow_exit(-33.7, 79.5, -43.8)], after);
}

#[test]
fn holes_alike_may_share_their_strokes() {
    let machine = Machine { subprogram: Some(crate::job::SubprogramStyle::M98), ..Machine::default() };
    let text = format!("%\nO12\n{SERIES}%\n");
    let out = Bench::on(&text, machine).want(&[0, 1, 2], slow_exit(-33.7, 79.5, -43.8)).patched();
    let main =
        "N50 G0 X10. Y0.\nN51 G0 Z3.\nN52 M98 P1001\nN60 G0 X20.\nN61 M98 P1001\nN70 G0 X30. M8\nN71 M98 P1001\n";
    assert!(out.contains(main), "{out}");
    assert!(out.ends_with("N100 M30\nO1001\nG1 Z-33.7 F159.\nG1 Z-43.8 F79.5\nG0 Z3.\nM99\n%\n"), "{out}");
}

#[test]
fn a_retract_plane_is_raised() {
    let before = "N50 G99 G81 X10. Z-42.8 R-3. F159.\nN60 X20.\n";
    becomes(before, &[0, 1], &[Remedy::RetractTo(Millimetres(2.0))], &before.replace("R-3.", "R2."));
    becomes(before, &[1], &[Remedy::RetractTo(Millimetres(2.0))], &before.replace("X20.", "X20. R2."));
}

#[test]
fn a_hop_over_a_clamp_rises_before_it() {
    let before = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN60 X20.\nN70 X30.\n";
    let after = "N50 G99 G81 X10. Z-42.8 R3. F159.\nN51 G0 Z25.\nN60 G99 G81 X20. Z-42.8 R3.\nN70 X30.\n";
    let hop = |program: &str, at: &str| {
        let start = u32::try_from(program.find(at).unwrap()).unwrap();
        let place = Place { source: SourceId(0), span: Span::new(start, start + 3), tool: None, hole: None };
        let mut bench = Bench::new(program);
        bench.findings.push(finding(vec![place], Remedy::RetractTo(Millimetres(25.0))));
        bench.patched()
    };
    assert_eq!(hop(&series(before), "N60"), series(after));
    let positioning = before.replace("N60 X20.", "N60 G0 X20.").replace("N70 X30.", "N70 G99 G81 X30. Z-8. R3.");
    let raised = positioning.replace("N60", "N51 G0 Z25.\nN60");
    assert_eq!(hop(&series(&positioning), "N60"), series(&raised));
}

#[test]
fn moves_written_one_by_one_are_changed_one_by_one() {
    let before =
        "N50 G0 X10. Z3.\nN55 G1 Z-42.8 F159.\nN57 G4 P1.\nN60 G0 Z3.\nN70 G0 X20.\nN75 G1 Z-42.8\nN78 G0 Z3.\n";
    let slow = "N50 G0 X10. Z3.\nN55 G1 Z-33.7 F159.\nN56 G1 Z-43.8 F79.5\nN57 G4 P1.\nN60 G0 Z3.\nN61 F159.\nN70 G0 X20.\n\
                N75 G1 Z-42.8\nN78 G0 Z3.\n";
    becomes(before, &[0], &[slow_exit(-33.7, 79.5, -43.8)], slow);
    becomes(before, &[0], &[Remedy::NoDwell], &before.replace("N57 G4 P1.", "N57"));
    becomes(before, &[1], &[Remedy::Depth(Millimetres(-44.0))], &before.replace("N75 G1 Z-42.8", "N75 G1 Z-44."));
    becomes(before, &[0], &[Remedy::FeedOut], &before.replace("N60 G0", "N58 G1 Z3.\nN60 G0"));
    let faster = before.replace("F159.", "F200.").replace("N60 G0 Z3.\n", "N60 G0 Z3.\nN61 F159.\n");
    becomes(before, &[0], &[Remedy::Feed(MmPerMin(200.0))], &faster);
}

#[test]
fn what_cannot_be_proved_is_left_with_its_reason() {
    let tapping = Bench::new(&series("N50 G99 G84 X10. Z-8. R3. F159.\n")).want(&[0], Remedy::OneStroke);
    assert_eq!(tapping.refused(), "G84 is not a drilling cycle");
    let limit = Machine { line_limit: Some(35), ..Machine::default() };
    let long = Bench::on(SERIES, limit).want(&[1], slow_exit(-33.7, 79.5, -43.8));
    assert_eq!(long.refused(), "the line would be 36 characters long, the control takes 35");
    let opposite = Bench::new(SERIES).want(&[0], Remedy::OneStroke).want(&[0], Remedy::Peck(Millimetres(2.0)));
    // The one that is left is of another rule and still found afterwards.
    let mut opposite = opposite;
    opposite.findings[1].rule = "peck-missing";
    opposite.stays = vec![opposite.findings[1].clone()];
    let verdict = opposite.propose().verdict().clone();
    assert_eq!(verdict.left, [(1, "one finding wants pecks, another wants none".to_owned())]);
}

#[test]
fn a_trimming_feed_is_changed_at_its_word() {
    let program = "G21 G90 G95 G17\nS6000 M3\nG0 X0. Y0. Z-5.\nG1 X100. F.2\nY100.\nG0 Z50.\nM30\n";
    let start = u32::try_from(program.find("F.2").unwrap()).unwrap();
    let place = Place { source: SourceId(0), span: Span::new(start, start + 3), tool: None, hole: None };
    let mut bench = Bench::new(program);
    bench.findings.push(finding(vec![place], Remedy::Feed(MmPerMin(600.0))));
    assert_eq!(bench.patched(), program.replace("F.2", "F.1"));
}

/// A program of one trimming pass, changed by a text remedy at a word; the reason when it is refused.
fn worded(remedy: Remedy, at: &str) -> Result<String, String> {
    let program = "G21 G90 G94 G17\nS6000 M3\nG0 X0. Y0. Z-5.\nG1 X100. F200.\nY100.\nX0.\nG0 Z50.\nM30\n";
    let start = u32::try_from(program.find(at).unwrap()).unwrap();
    let span = Span::new(start, start + u32::try_from(at.len()).unwrap());
    let mut bench = Bench::new(program);
    bench.findings.push(finding(vec![Place { source: SourceId(0), span, tool: None, hole: None }], remedy));
    let patch = bench.propose();
    let text = patch.patched().next().map(|(_, _, bytes)| String::from_utf8(bytes.to_vec()).unwrap());
    text.ok_or_else(|| patch.verdict().left[0].1.clone())
}

#[test]
fn text_that_would_take_the_tool_another_way_is_refused() {
    let before = |words: &str, at: &str| worded(Remedy::LineBefore(words.to_owned()), at).unwrap_err();
    assert_eq!(before("G91", "Y100."), "in line 6, the tool would go another way");
    assert_eq!(before("G2", "Y100."), "the edit in line 5 would take the tool another way");
    assert_eq!(before("G0 Z5.", "Y100."), "the edit in line 5 would take the tool another way");
    assert_eq!(before("G1 Z-5. G4 P1.", "Y100."), "the edit in line 5 would take the tool another way");
    assert_eq!(before("G52 X1.", "Y100."), "the edit in line 5 would take the tool another way");
    let replaced = worded(Remedy::Replace("X90.".to_owned()), "X100.").unwrap_err();
    assert_eq!(replaced, "the edit in line 4 would take the tool another way");
    let gone = worded(Remedy::Replace("M5".to_owned()), "Y100.").unwrap_err();
    assert_eq!(gone, "the edit in line 5 would take the tool another way");
}

#[test]
fn a_new_modal_value_may_reach_the_lines_behind_it() {
    for words in ["G64", "M4", "F300", "S5000", "M8"] {
        let text = worded(Remedy::LineBefore(words.to_owned()), "Y100.");
        assert!(text.as_ref().is_ok_and(|text| text.contains(&format!("\n{words}\nY100.\nX0."))), "{text:?}");
    }
}

#[test]
fn no_number_is_written_while_units_are_in_doubt() {
    let mut bench = Bench::new(SERIES).want(&[0], Remedy::Depth(Millimetres(-43.8)));
    let doubt = Finding { rule: "units-doubtful", remedy: None, ..bench.findings[0].clone() };
    bench.findings.push(doubt);
    assert_eq!(bench.refused(), "the program's units are in doubt; settle `units-doubtful` first");
    bench.findings[1].remedy = Some(Remedy::LineBefore("G21".to_owned()));
    let settled = bench.patched();
    assert!(settled.contains("Z-43.8") && settled.contains("\nN41 G21\nN50"), "{settled}");
}

#[test]
fn a_block_that_other_calls_run_too_is_not_changed_for_one() {
    let program = "G21 G90 G94 G17\nS2650 M3\nG0 X0. Y0. Z50.\nM98 P7\nG0 X100.\nM98 P7\nM30\nO7\n\
                   G91\nG99 G81 X10. Z-9. R-47. F159.\nG80\nG90 G0 Z50.\nM99\n";
    let bench = Bench::new(program);
    assert_eq!(bench.survey.holes.len(), 2);
    let bench = bench.want(&[0], slow_exit(-1.0, 79.5, -6.0));
    assert_eq!(bench.refused(), "a repeat or another call of its block makes further holes, which would change too");
}

#[test]
fn style_is_kept_and_every_other_byte_too() {
    let program = "%\r\nO12 (PLÄTE)\r\nn1g21g90g94g17\r\nn2s2650m3\r\nn3g0x0y0z50\r\n/n5g99g81x10z-8.5r3f159(HOLE 1)\r\nn10g80\r\nn11m30";
    let bytes: Vec<u8> = program.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let machine = Machine { number_input: Some(crate::job::NumberInput::Decimal), ..Machine::default() };
    let mut bench = Bench::on(program, machine);
    bench.source.bytes.clone_from(&bytes);
    bench.survey = survey_of(bench.source.clone(), &bench.settings, &NoLibrary);
    let bench = bench.want(&[0], slow_exit(-5.5, 79.5, -8.5));
    let patch = bench.propose();
    let (_, _, patched) = patch.patched().next().unwrap();
    let text: String = patched.iter().map(|byte| char::from(*byte)).collect();
    let hole = "/n5g0x10(HOLE 1)\r\n/n6g0z3\r\n/n7g1z-5.5f159\r\n/n8g1z-8.5f79.5\r\n/n9g0z3\r\nn10g80\r\n";
    assert!(text.contains(hole), "{text}");
    assert!(text.contains("PLÄTE") && text.ends_with("n11m30"), "{text}");
}
