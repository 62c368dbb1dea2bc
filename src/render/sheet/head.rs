//! What the sheet is for: part, program, revision, hashes, and how the part is set.

use super::Scene;
use crate::check::Report;
use crate::job::{Job, Laminate, Support};
use crate::source::{Source, SourceId, sha256};
use crate::units::{Millimetres, UnitSystem};

/// Hexadecimal digits of a hash that people compare by eye.
const SHORT: usize = 12;

/// Letters that a third of the paper's width holds beside a name.
const LONG: usize = 30;

/// One line of a list of facts.
pub(super) struct Fact {
    pub name: &'static str,
    pub value: String,
}

impl Fact {
    /// Whether it needs more room than others.
    pub fn is_long(&self) -> bool {
        self.value.chars().count() > LONG
    }
}

/// A source with its SHA-256.
pub(super) struct Hash {
    pub name: String,
    pub short: String,
    pub whole: String,
}

pub(super) fn title(scene: &Scene<'_>) -> String {
    let head = scene.job.map(|job| &job.head);
    let part = head.map(|head| head.part.clone()).filter(|part| !part.is_empty());
    let operation = head.map(|head| head.operation.as_str()).filter(|operation| !operation.is_empty());
    let program = scene.book.name(SourceId(0));
    let part = part.unwrap_or_else(|| program.to_owned());
    operation.map_or(part.clone(), |operation| format!("{part}, operation {operation}"))
}

/// What stands at the foot of every printed page.
pub(super) fn footer(scene: &Scene<'_>) -> String {
    let hash = hashes(scene.book.report).into_iter().next().map(|hash| hash.short).unwrap_or_default();
    let revision = scene.job.map(|job| job.head.revision.as_str()).filter(|revision| !revision.is_empty());
    let revision = revision.map(|revision| format!(" rev {revision},")).unwrap_or_default();
    let program = scene.book.name(SourceId(0));
    format!("{program},{revision} {hash}, lastply {}, printed copy uncontrolled, page ", env!("CARGO_PKG_VERSION"))
}

pub(super) fn hashes(report: &Report) -> Vec<Hash> {
    let hash = |source: &Source| {
        let whole = sha256(&source.bytes);
        Hash { name: source.name.clone(), short: whole.chars().take(SHORT).collect(), whole }
    };
    report.sources.iter().map(hash).collect()
}

/// Who and what; facts that nobody gave say so.
pub(super) fn facts(scene: &Scene<'_>) -> Vec<Fact> {
    let Some(job) = scene.job else {
        return vec![Fact { name: "Job file", value: "none: nothing was judged by a laminate".to_owned() }];
    };
    let given = |value: &str| if value.is_empty() { "not given".to_owned() } else { value.to_owned() };
    let laminate = job.laminate.as_ref();
    let spec = laminate.map(|laminate| laminate.spec.as_str()).filter(|spec| !spec.is_empty());
    let spec = spec.map(|spec| format!(", {spec}")).unwrap_or_default();
    vec![
        Fact { name: "Program rev", value: given(&job.head.revision) },
        Fact { name: "Drawing", value: given(&job.head.drawing) },
        Fact { name: "Laminate", value: given(laminate.map_or("", |laminate| &laminate.name)) + &spec },
        Fact { name: "Machine", value: given(&job.machine.name) },
        Fact { name: "Job file", value: job.name.clone() },
        Fact {
            name: "Judged on",
            value: job.head.date.map_or_else(|| "no day given".to_owned(), |date| date.to_string()),
        },
    ]
}

/// How the part is set on the machine.
pub(super) fn setup(scene: &Scene<'_>) -> Vec<Fact> {
    let Some(job) = scene.job else { return Vec::new() };
    let units = scene.book.report.units;
    let given = |value: &str| if value.is_empty() { "not given".to_owned() } else { value.to_owned() };
    let z = |z| units.coordinate('Z', z);
    let mut facts = vec![
        Fact { name: "Work offset", value: given(job.head.work_offset.as_deref().unwrap_or_default()) },
        Fact { name: "Datum face", value: format!("{}, at {}", given(&job.head.entry_face), z(job.head.entry_z)) },
    ];
    if let Some(laminate) = &job.laminate {
        facts.push(Fact { name: "Thickness", value: thickness(laminate, job, units) });
        let metal = laminate.layers.last().is_some_and(|layer| layer.material.class.is_metal());
        let support = match laminate.support {
            Support::Backed => "backed",
            Support::Undeclared | Support::None if metal => "metal, not backed: no plies to push out",
            Support::Undeclared => "backing not declared: counts as unsupported",
            Support::None => "no backing: plies unsupported",
        };
        facts.push(Fact { name: "Exit face", value: support.to_owned() });
    }
    if let Some(table) = job.fixture.table_z {
        facts.push(Fact { name: "Table", value: z(table) });
    }
    for zone in &job.fixture.zones {
        let top = zone.z.1.map_or_else(|| "no top given".to_owned(), |top| format!("top {}", z(top)));
        let place = match zone.tolerance {
            Millimetres(0.0) => "no position tolerance given: 0 counted".to_owned(),
            tolerance => format!("placed to {}", units.length(tolerance)),
        };
        facts.push(Fact { name: zone.kind.word(), value: format!("{}, {top}, {place}", zone.id) });
    }
    if let Some(room) = scene.book.report.survey.travel.offset_range(&job.machine, units) {
        facts.push(Fact { name: "Offset may move", value: room });
    }
    facts
}

/// Thickness and range by the job file, and what was measured.
fn thickness(laminate: &Laminate, job: &Job, units: UnitSystem) -> String {
    let measured = job.measured.as_ref().filter(|measured| measured.has_thickness_of(&laminate.name));
    let filed = measured.and_then(|measured| measured.as_filed.laminate.as_ref()).unwrap_or(laminate);
    let (thin, thick) = filed.span_of(filed.layers.len());
    let [nominal, thin, thick, now] =
        [filed.thickness(), thin, thick, laminate.thickness()].map(|value| units.length(value));
    let measured = measured.map(|_| format!("; measured {now}")).unwrap_or_default();
    format!("{nominal}, {thin} to {thick}{measured}")
}
