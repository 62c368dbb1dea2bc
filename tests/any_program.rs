//! What must hold when any text is run: it ends, and known places are numbers.

use lastply::check::{Options, check};
use lastply::diagnostic::Severity;
use lastply::job::{Job, NoFiles};
use lastply::motion::{Dialect, MotionFault, Observer, Settings, Step, StepKind, ToolTable, run};
use lastply::operation::CourseWatch;
use lastply::program::ProgramGraph;
use lastply::render::{Paper, SheetSource, sheet};
use lastply::source::{NoLibrary, Source};
use proptest::prelude::*;

/// Words that meet each other badly.
#[rustfmt::skip]
const WORDS: [&str; 72] = [
    "G0", "G1", "G2", "G3", "G4", "G10", "G17", "G18", "G19", "G20", "G21", "G28", "G30", "G40", "G41", "G42", "G43",
    "G49", "G52", "G53", "G54", "G55", "G73", "G74", "G76", "G80", "G81", "G82", "G83", "G84", "G85", "G86", "G87",
    "G88", "G89", "G90", "G91", "G92", "G93", "G94", "G95", "G96", "G98", "G99", "M3", "M5", "M6", "M98", "M97", "M99",
    "M30", "O1", "O2", "N10", "T1", "H1", "D1", "P1", "P2", "P10", "L2", "K3", "L0", "Q.5", "Q0", "S1000", "F100",
    "%", "/", "#1=2", "X#1", "(NOTE)",
];

struct Watch {
    steps: u32,
    ended: u32,
    bad: Option<String>,
}

impl Observer for Watch {
    fn step(&mut self, step: &Step<'_>) {
        self.steps += 1;
        self.ended += u32::from(step.kind == StepKind::End);
        let places = [step.from, step.to].into_iter().filter_map(|pose| pose.point()).flatten();
        if places.into_iter().chain(step.feed).any(|value| value.is_nan()) {
            self.bad = Some(format!("{step:?}"));
        }
    }

    fn fault(&mut self, fault: MotionFault) {
        if fault.kind.message().is_empty() {
            self.bad = Some(format!("{fault:?} has no text"));
        }
    }
}

fn watch(text: &str, settings: &Settings) -> Watch {
    let graph = ProgramGraph::read(Source::new("any.nc", text), &NoLibrary, &settings.lexis());
    let mut watch = Watch { steps: 0, ended: 0, bad: None };
    run(&graph, settings, &ToolTable::default(), &mut watch);
    watch
}

/// Any text of words in lines.
pub fn text() -> impl Strategy<Value = String> {
    let coordinate = ("[XYZIJKRABC]", -9.0..9.0_f64).prop_map(|(letter, value)| format!("{letter}{value:.2}"));
    let word = prop_oneof![3 => prop::sample::select(&WORDS[..]).prop_map(str::to_owned), 2 => coordinate];
    let line = prop::collection::vec(word, 1..6).prop_map(|words| words.join(" "));
    prop::collection::vec(line, 1..20).prop_map(|lines| lines.join("\n"))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn any_program_ends_at_known_places_that_are_numbers(text in text(), strict: bool) {
        let dialect = Dialect::named(if strict { "rs274-ngc" } else { "shop" }).unwrap();
        let settings = Settings::new(dialect, None);
        let watch = watch(&text, &settings);
        prop_assert_eq!(watch.bad, None);
        prop_assert_eq!(watch.ended, 1);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn any_program_has_a_sheet(text in text(), judged: bool) {
        let source = Source::new("any.nc", format!("G21 G90 G94 G17\nT6 M6\nG43 H6 Z50.\n{text}"));
        let job = Source::new("plate.toml", include_str!("jobs/plate.toml"));
        let job = Some(Job::load(&job, &NoFiles).unwrap()).filter(|_| judged);
        let options = Options { keep_stretches: true, ..Options::of_job(job.as_ref()).unwrap() };
        let report = check(source.clone(), job.as_ref(), &NoLibrary, &options);
        let programs = ProgramGraph::read(source, &NoLibrary, &options.settings.lexis());
        let mut watch = CourseWatch::new(&report.survey, Some(0.0));
        run(&programs, &options.settings, &options.tools, &mut watch);
        let course = watch.finish();
        prop_assert_eq!(course.reached_by.len(), report.survey.holes.len());
        let from = SheetSource {
            report: &report,
            job: job.as_ref(),
            course: &course,
            fail_on: Severity::Error,
            paper: Paper::A4,
        };
        let page = sheet(&from).unwrap();
        prop_assert!(page.ends_with("</html>\n") && !page.contains("NaN"), "{}", page);
    }
}

/// Programs that would run for ever, or nearly so.
#[test]
fn endless_programs_end() {
    let programs = [
        "O1\nN10 G0 X1.\nM98 P2\nM30\nO2\nM99 P10\n",
        "O1\nM98 P2 L99999999\nM30\nO2\nM99\n",
        "O1\nM98 P2 L9999\nM30\nO2\nM98 P3 L9999\nM99\nO3\nM98 P4 L9999\nM99\nO4\nG91 G0 X1.\nM99\n",
        "G21 G90 G0 X0 Y0 Z5.\nG81 X1. Z-1. R1. F100. L4000000000\nX2. L9000\nX3. L9000\nM30\n",
        "G21 G90 G0 X0 Y0 Z5.\nG83 X1. Z-900. R1. Q.0000001 F100.\nM30\n",
        "O1\nG0 X1.\nM99\n",
    ];
    for text in programs {
        let plain = Settings::new(Dialect::named("shop").unwrap(), None);
        let settings = Settings { most_calls: 10_000, most_called_blocks: 10_000, ..plain };
        let watch = watch(text, &settings);
        assert_eq!(watch.ended, 1, "{text}");
        assert!(watch.steps < 40_000, "{} steps of {text}", watch.steps);
    }
}
