//! The pipeline: program text and job in, report out.

mod answers;

pub use answers::{Answer, ClearAnswer, HolesAnswer, Overlay, TOLD, rounded_down};

use crate::diagnostic::{Coverage, Finding, NotChecked, Severity, Status};
use crate::job::{Date, Job, Policy, Waiver};
use crate::motion::{Dialect, Settings, ToolTable, run};
use crate::operation::{Drawing, Recogniser, Survey};
use crate::patch::{Checked, Inputs};
use crate::process::HoleReading;
use crate::program::ProgramGraph;
use crate::rules::{ALL, Ground, Inspector, WaiverUse, apply_waivers, findings, waiver_verdicts};
use crate::source::{Library, Source};
use crate::tune::Run;
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// The rule that finds calls of programs that are not there.
const MISSING_CALL: &str = "subprogram-missing";

/// Everything a run found; the only input of every output format.
#[derive(Debug)]
pub struct Report {
    /// Sources read: the main program first, then subprogram files.
    pub sources: Vec<Source>,
    /// Name of the job file, if there was one.
    pub job_name: Option<String>,
    /// Units the program speaks.
    pub units: UnitSystem,
    /// Holes, recipes and tool sections.
    pub survey: Survey,
    /// Readings, one for each recipe of the survey.
    pub readings: Vec<HoleReading>,
    /// Findings, gravest first, then by place.
    pub findings: Vec<Finding>,
    /// Checks without data.
    pub not_checked: Vec<NotChecked>,
    /// How much was understood.
    pub coverage: Coverage,
    /// Names of the drawing's holes by index into the survey's holes; empty strings where none matched.
    pub hole_names: Vec<String>,
    /// What the job calls each tool, such as `carbide drill 12.0`, by tool number.
    pub tool_labels: BTreeMap<u32, String>,
    /// Ids of the fixture's zones, in the job's order.
    pub zone_names: Vec<String>,
    /// Waivers of the job, used or not, with what became of them.
    pub waivers: Vec<(Waiver, WaiverUse)>,
    /// Rules the report was narrowed to; all of them when empty.
    pub only: Vec<&'static str>,
    /// What the job file says of rules it does not leave as they are.
    pub rulings: Vec<(&'static str, Policy)>,
    /// What was measured and what that answers, where measurements lie over the job.
    pub overlay: Option<Overlay>,
}

impl Report {
    /// Whether some finding that stands is at least this grave.
    #[must_use]
    pub fn fails_at(&self, severity: Severity) -> bool {
        self.findings.iter().any(|finding| finding.status == Status::Open && finding.severity >= severity)
    }

    /// Whether something needed could not be concluded.
    #[must_use]
    pub fn incomplete(&self) -> bool {
        self.not_checked.iter().any(|missing| missing.needed) || self.coverage.understood < self.coverage.blocks
    }

    /// Rules that the job file switches off.
    #[must_use]
    pub fn switched_off(&self) -> Vec<&'static str> {
        self.rulings.iter().filter(|(_, policy)| *policy == Policy::Allow).map(|(rule, _)| *rule).collect()
    }

    /// Leaves the findings of these rules alone, and what those could not conclude. A subprogram that is not there keeps
    /// every rule from concluding.
    pub fn narrow(&mut self, rules: &[&'static str]) {
        if rules.is_empty() {
            return;
        }
        self.findings.retain(|finding| rules.contains(&finding.rule));
        self.not_checked.retain(|missing| missing.rule == MISSING_CALL || rules.contains(&missing.rule.as_str()));
        self.only = rules.to_vec();
        let off = rules.iter().filter(|rule| self.rulings.contains(&(**rule, Policy::Allow)));
        self.not_checked.extend(off.map(|rule| NotChecked {
            rule: (*rule).to_owned(),
            why: format!("`rules.{rule}` of the job file switches it off"),
            key: None,
            needed: true,
        }));
    }

    /// What a patch starts from: this report, and what it was made with.
    #[must_use]
    pub fn patch_inputs<'a>(
        &'a self,
        job: Option<&'a Job>,
        library: &'a dyn Library,
        options: &'a Options,
    ) -> Inputs<'a> {
        Inputs {
            sources: &self.sources,
            job,
            settings: &options.settings,
            tools: &options.tools,
            library,
            share_strokes: false,
            units: self.units,
            survey: &self.survey,
            findings: &self.findings,
            not_checked: &self.not_checked,
        }
    }
}

/// A program as the proof of a patch takes it.
impl From<Report> for Checked {
    fn from(report: Report) -> Self {
        Self { findings: report.findings, not_checked: report.not_checked, survey: report.survey }
    }
}

/// A program as tuning takes it.
impl From<Report> for Run {
    fn from(report: Report) -> Self {
        let Report { sources, units, survey, findings, not_checked, .. } = report;
        Self { sources, units, survey, findings, not_checked }
    }
}

/// What a run starts from besides program and job.
#[derive(Clone, Debug)]
pub struct Options {
    /// Dialect and declared facts.
    pub settings: Settings,
    /// Tool offsets.
    pub tools: ToolTable,
    /// The day waivers are judged on; the job's own date comes first.
    pub today: Option<Date>,
    /// Whether cuts in the survey keep their stretches.
    pub keep_stretches: bool,
}

impl Options {
    /// The options a job asks for; `None` when it names a dialect nobody knows.
    #[must_use]
    pub fn of_job(job: Option<&Job>) -> Option<Self> {
        Self::in_dialect(job, None)
    }

    /// The options a job asks for, in a dialect over its own; `None` when nobody knows the dialect.
    #[must_use]
    pub fn in_dialect(job: Option<&Job>, name: Option<&str>) -> Option<Self> {
        let tools = job.map(ToolTable::of_job).unwrap_or_default();
        let settings = match name {
            Some(name) => Settings::of(Dialect::named(name)?, job),
            None => Settings::of_job(job)?,
        };
        Some(Self { settings, tools, today: None, keep_stretches: false })
    }
}

/// Reads, rebuilds and judges one program. `library` supplies subprograms that stand beside it.
#[must_use]
pub fn check(program: Source, job: Option<&Job>, library: &dyn Library, options: &Options) -> Report {
    let report = run_once(program, job, library, options);
    let Some((job, measured)) = job.and_then(|job| Some((job, job.measured.as_ref()?))) else { return report };
    let answers = answers::answers(&report.survey, job);
    Report { overlay: Some(Overlay { measured: measured.clone(), answers }), ..report }
}

fn run_once(program: Source, job: Option<&Job>, library: &dyn Library, options: &Options) -> Report {
    let programs = ProgramGraph::read(program, library, &options.settings.lexis());
    let inspector = Inspector::new(job, options.settings.dialect.strict);
    let mut recogniser = Recogniser::new(job, inspector);
    recogniser.keep_stretches = options.keep_stretches;
    let traces = run(&programs, &options.settings, &options.tools, &mut recogniser);
    let (mut survey, mut inspector) = recogniser.finish();
    survey.traces = traces;
    survey.drawing = job.map(|job| Drawing::of(&survey, job)).unwrap_or_default();
    inspector.finish(&survey, &programs);
    let sources = programs.into_sources();
    let Conclusion { findings, waivers, not_checked } = conclude(&inspector, &sources, &survey, job, options);
    Report {
        job_name: job.map(|job| job.name.clone()),
        units: inspector.units,
        hole_names: job.map(|job| survey.drawing.names(job)).unwrap_or_default(),
        tool_labels: job.map(labels).unwrap_or_default(),
        waivers,
        zone_names: job.iter().flat_map(|job| &job.fixture.zones).map(|zone| zone.id.clone()).collect(),
        coverage: inspector.coverage,
        readings: inspector.readings,
        sources,
        survey,
        findings,
        not_checked,
        only: Vec::new(),
        rulings: job.map(rulings).unwrap_or_default(),
        overlay: None,
    }
}

/// Findings with places, waivers applied, and what could not be checked.
struct Conclusion {
    findings: Vec<Finding>,
    waivers: Vec<(Waiver, WaiverUse)>,
    not_checked: Vec<NotChecked>,
}

fn conclude(
    inspector: &Inspector<'_>,
    sources: &[Source],
    survey: &Survey,
    job: Option<&Job>,
    options: &Options,
) -> Conclusion {
    let ground = Ground { sources, survey, job };
    let mut found = findings(&inspector.ledger, ground);
    let mut waivers = Vec::new();
    if let Some(job) = job.filter(|job| !job.waivers.is_empty()) {
        let (split, uses) = apply_waivers(found, job, &survey.drawing, job.head.date.or(options.today));
        found = split;
        found.extend(findings(&waiver_verdicts(&uses, job, inspector.units), ground));
        waivers = job.waivers.iter().cloned().zip(uses).collect();
    }
    let mut not_checked: Vec<NotChecked> = inspector.ledger.not_checked.iter().cloned().collect();
    not_checked.extend(calls_into_nothing(&found));
    Conclusion { findings: found, waivers, not_checked }
}

/// What a program does that is not there has not been checked by any rule.
fn calls_into_nothing(found: &[Finding]) -> impl Iterator<Item = NotChecked> {
    let missing = found.iter().filter(|finding| finding.rule == MISSING_CALL);
    missing.map(|finding| NotChecked {
        rule: finding.rule.to_owned(),
        why: finding.message.clone(),
        key: None,
        needed: true,
    })
}

/// What the job file says of each rule it names, in the order of rules.
fn rulings(job: &Job) -> Vec<(&'static str, Policy)> {
    ALL.iter().filter_map(|entry| Some((entry.rule.name, job.policy(entry.rule.name)?))).collect()
}

fn labels(job: &Job) -> BTreeMap<u32, String> {
    job.tools.values().map(|tool| (tool.number, tool.label.clone())).collect()
}
