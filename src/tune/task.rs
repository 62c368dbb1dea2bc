//! What tuning starts from, and a program as it was read and judged.

use crate::diagnostic::{Finding, NotChecked, Place, Remedy, Severity, Status};
use crate::job::Job;
use crate::motion::{Observer, Settings, ToolTable, run as run_program};
use crate::operation::Survey;
use crate::patch::{Checked, Inputs, WISH};
use crate::program::ProgramGraph;
use crate::source::{Library, Source, SourceId, Span};
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// What tuning starts from besides the program.
pub struct Task<'a> {
    /// The job: without it there is no window.
    pub job: &'a Job,
    /// Dialect and declared facts.
    pub settings: &'a Settings,
    /// Tool offsets.
    pub tools: &'a ToolTable,
    /// Where subprograms beside the main program are found.
    pub library: &'a dyn Library,
    /// Reads and judges a main program.
    pub replay: &'a dyn Fn(Source) -> Run,
    /// Told what is being worked on.
    pub progress: &'a dyn Fn(&str),
}

/// A program as it was read and judged.
#[derive(Clone, Debug)]
pub struct Run {
    /// Sources read, the main program first.
    pub sources: Vec<Source>,
    /// Units the program speaks.
    pub units: UnitSystem,
    /// Holes, recipes, cuts and times.
    pub survey: Survey,
    /// Findings.
    pub findings: Vec<Finding>,
    /// Checks without data.
    pub not_checked: Vec<NotChecked>,
}

impl Run {
    /// Bytes of the main program.
    #[must_use]
    pub fn main(&self) -> &[u8] {
        self.sources.first().map_or(&[], |source| source.bytes.as_slice())
    }

    /// Seconds the whole program takes, as far as they are known.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        let times = &self.survey.times;
        times.cutting + times.rapid + times.dwell + times.tool_change + times.spin_up
    }

    /// The holes of each recipe, in order of making.
    pub(super) fn holes_of(&self) -> Vec<Vec<u32>> {
        let mut holes_of: Vec<Vec<u32>> = vec![Vec::new(); self.survey.recipes.len()];
        for (index, hole) in (0..).zip(&self.survey.holes) {
            holes_of.get_mut(hole.recipe as usize).into_iter().for_each(|holes| holes.push(index));
        }
        holes_of
    }

    /// Whether a hole is made by a block of the main program.
    pub(super) fn in_main(&self, hole: u32) -> bool {
        self.survey.holes.get(hole as usize).is_some_and(|hole| hole.source == SourceId::default())
    }

    /// Waivers that speak of a place of the main program where no hole is named, by its first byte.
    pub(super) fn waived_places(&self) -> BTreeMap<u32, &str> {
        let waived = self.findings.iter().filter_map(|finding| match &finding.status {
            Status::Waived(id) => Some((finding, id.as_str())),
            _ => None,
        });
        let places = waived.flat_map(|(finding, id)| finding.places.iter().map(move |place| (place, id)));
        let here = places.filter(|(place, _)| place.source == SourceId::default() && place.hole.is_none());
        here.map(|(place, id)| (place.span.start, id)).collect()
    }

    /// The waiver that speaks of one of these holes, if there is one: what it accepts is not tuning's to change.
    pub(super) fn waived(&self, holes: &[u32]) -> Option<&str> {
        let mut findings = self.findings.iter();
        findings.find_map(|finding| match &finding.status {
            Status::Waived(id)
                if finding.places.iter().any(|place| holes.iter().any(|hole| place.hole == Some(*hole))) =>
            {
                Some(id.as_str())
            }
            _ => None,
        })
    }

    /// The waiver that speaks of what a tool does where no hole is named.
    pub(super) fn waived_tool(&self, tool: u32) -> Option<&str> {
        let mut findings = self.findings.iter();
        findings.find_map(|finding| match &finding.status {
            Status::Waived(id) if finding.places.iter().any(|place| place.tool == Some(tool)) => Some(id.as_str()),
            _ => None,
        })
    }

    /// Runs the program past an observer.
    pub(super) fn watch(&self, task: &Task<'_>, observer: &mut impl Observer) {
        let Some(main) = self.sources.first() else { return };
        let programs = ProgramGraph::read(main.clone(), task.library, &task.settings.lexis());
        run_program(&programs, task.settings, task.tools, observer);
    }

    /// A word of the main program that is its letter and a plain number, by its first byte.
    pub(super) fn number_at(&self, at: u32, letter: u8) -> Option<Span> {
        let rest = self.main().get(at as usize..)?;
        let (_, number) = rest.split_first().filter(|(first, _)| first.eq_ignore_ascii_case(&letter))?;
        let digits = number.iter().take_while(|byte| byte.is_ascii_digit() || **byte == b'.').count();
        let length = u32::try_from(1 + digits).ok()?;
        (digits > 0).then(|| Span::new(at, at + length))
    }

    /// What a patch of this program with these findings starts from.
    pub(super) fn inputs<'a>(&'a self, task: &'a Task<'_>, findings: &'a [Finding]) -> Inputs<'a> {
        Inputs {
            sources: &self.sources,
            job: Some(task.job),
            settings: task.settings,
            tools: task.tools,
            library: task.library,
            share_strokes: false,
            units: self.units,
            survey: &self.survey,
            findings,
            not_checked: &self.not_checked,
        }
    }
}

impl From<Run> for Checked {
    fn from(run: Run) -> Self {
        Self { findings: run.findings, not_checked: run.not_checked, survey: run.survey }
    }
}

/// A wish for holes, in the form a patch starts from.
pub(super) fn wish(run: &Run, holes: &[u32], remedy: Remedy) -> Finding {
    let place = |index: &u32| {
        let hole = run.survey.holes.get(*index as usize)?;
        let span = Span::new(hole.block, hole.block);
        Some(Place { source: hole.source, span, tool: None, hole: Some(*index) })
    };
    Finding {
        rule: WISH,
        severity: Severity::Note,
        status: Status::Open,
        message: String::new(),
        why: Vec::new(),
        advice: None,
        measured: None,
        limit: None,
        job_entry: None,
        places: holes.iter().filter_map(place).collect(),
        more_places: 0,
        related: Vec::new(),
        remedy: Some(remedy),
    }
}
