//! The report for machines: a JSON document with its own schema, every number with its unit.

use super::CAUTION;
use super::answers::{MeasuredOut, measured};
use super::book::Book;
use super::measures::{ClearanceOut, TimesOut, clearances_out, times_out};
use super::remedy_json::{RemedyOut, remedy};
use super::verdict::{Tally, Verdict};
use crate::check::Report;
use crate::diagnostic::{Bound, Finding, NotChecked, Place, Quantity, Related, Severity, Status};
use crate::source::{SourceId, Span};
use crate::units::UnitSystem;
use schemars::{JsonSchema, Schema, schema_for};
use serde::Serialize;

/// Counts up when a field changes its meaning or goes away.
pub(super) const SCHEMA_VERSION: u32 = 1;

/// One run over one or more programs.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Document {
    /// Version of this layout.
    pub schema_version: u32,
    /// Version of lastply.
    pub version: &'static str,
    /// What the answers are good for.
    pub caution: &'static str,
    /// One entry a program, in the order they were given.
    pub programs: Vec<ProgramReport>,
    /// The verdict on all of them.
    pub exit: Exit,
}

/// One program.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ProgramReport {
    /// File name as given.
    pub program: String,
    /// Job file it was judged by.
    pub job: Option<String>,
    /// Units the program speaks, `mm` or `in`.
    pub units: &'static str,
    /// Rules the report was narrowed to; all of them when empty.
    pub only: Vec<&'static str>,
    /// Rules that the job file switches off.
    pub switched_off: Vec<&'static str>,
    /// What was measured at the machine and laid over the job, and what that answers.
    pub measured: Option<MeasuredOut>,
    /// Findings, gravest first.
    pub findings: Vec<FindingOut>,
    /// Checks that had no data.
    pub not_checked: Vec<NotCheckedOut>,
    /// What the answers rest on.
    pub coverage: CoverageOut,
    /// Where the time goes.
    pub times: TimesOut,
    /// How near each tool comes to clamps, posts and keep-outs, where they are given.
    pub clearances: Vec<ClearanceOut>,
    /// How many findings of each severity.
    pub counts: Tally,
    /// The verdict on this program.
    pub exit: Exit,
}

/// Both answers, and the exit code they come to.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Exit {
    /// 0 clean, 1 failed, 3 not concluded.
    pub code: u8,
    /// The answers behind it.
    #[serde(flatten)]
    pub verdict: Verdict,
    /// Findings of this severity or above make a program fail.
    pub fail_on: &'static str,
}

/// One cause with its places.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FindingOut {
    /// Name of the rule.
    pub rule: &'static str,
    /// `error`, `warning` or `note`.
    pub severity: &'static str,
    /// `open`, `waived`, or `known` where the baseline has it.
    pub status: &'static str,
    /// Id of the waiver.
    pub waiver: Option<String>,
    /// What is wrong.
    pub message: String,
    /// The arithmetic, a sentence a line.
    pub why: Vec<String>,
    /// What to do.
    pub advice: Option<String>,
    /// The entry of the job file it is about, for a finding without places.
    pub job_entry: Option<String>,
    /// Where, first place first.
    pub places: Vec<PlaceOut>,
    /// Places beyond those listed.
    pub more_places: u64,
    /// Second places that explain.
    pub related: Vec<RelatedOut>,
    /// What was measured.
    pub measured: Option<QuantityOut>,
    /// The limit it broke.
    pub limit: Option<LimitOut>,
    /// How the text could be cured.
    pub remedy: Option<RemedyOut>,
}

/// One place in the text.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct PlaceOut {
    /// File name as given.
    pub file: String,
    /// Line, from 1.
    pub line: u32,
    /// Column in bytes, from 1.
    pub column: u32,
    /// N word of the block.
    pub n: Option<String>,
    /// Bytes of the word or block.
    pub span: SpanOut,
    /// Tool in the spindle.
    pub tool: Option<u32>,
    /// Name of the hole in the drawing, else `#` and its number in order of making.
    pub hole: Option<String>,
}

/// A second place.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct RelatedOut {
    /// What it has to do with the finding.
    pub message: String,
    /// Where.
    #[serde(flatten)]
    pub place: PlaceOut,
}

/// Byte offsets, end exclusive.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SpanOut {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

/// A number with its unit: inches, in/min, in/rev and ft/min for a program in inches.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct QuantityOut {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
}

/// A limit with its source.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct LimitOut {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Job-file key, specification, published source or `house value`.
    pub source: String,
}

/// A check that had no data.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct NotCheckedOut {
    /// Name of the rule.
    pub rule: String,
    /// What is missing.
    pub why: String,
    /// Job-file key that would supply it.
    pub key: Option<String>,
    /// Whether the run is incomplete without it; a limit that a specification need not state is not.
    pub needed: bool,
}

/// How much was understood.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct CoverageOut {
    /// Blocks run; those of a subprogram count at every call.
    pub blocks: u64,
    /// Those with every word understood.
    pub understood: u64,
    /// Holes rebuilt.
    pub holes: u64,
    /// Holes judged.
    pub judged: u64,
}

/// The document of a run.
pub(super) fn document(programs: Vec<ProgramReport>, verdict: Verdict, fail_on: Severity) -> Document {
    Document {
        schema_version: SCHEMA_VERSION,
        version: env!("CARGO_PKG_VERSION"),
        caution: CAUTION,
        programs,
        exit: exit(verdict, fail_on),
    }
}

/// The JSON Schema of a document.
#[must_use]
pub fn schema() -> Schema {
    schema_for!(Document)
}

/// A document as text.
pub(super) fn text(document: &Document) -> String {
    // Strings, integers and floats in structs and lists cannot fail to serialise; JSON writes a non-finite float as null.
    let mut text = serde_json::to_string_pretty(document).unwrap_or_default();
    text.push('\n');
    text
}

pub(super) fn exit(verdict: Verdict, fail_on: Severity) -> Exit {
    Exit { code: verdict.exit(), verdict, fail_on: fail_on.word() }
}

/// One program of it.
pub(super) fn program(report: &Report, fail_on: Severity) -> ProgramReport {
    let book = Book::new(report);
    let coverage = &report.coverage;
    let missing = report.not_checked.iter().cloned();
    ProgramReport {
        program: book.name(SourceId(0)).to_owned(),
        job: report.job_name.clone(),
        units: match report.units {
            UnitSystem::Metric => "mm",
            UnitSystem::Inch => "in",
        },
        only: report.only.clone(),
        switched_off: report.switched_off(),
        measured: report.overlay.as_ref().map(|overlay| measured(&book, overlay)),
        findings: report.findings.iter().map(|one| finding(&book, one)).collect(),
        not_checked: missing.map(not_checked).collect(),
        coverage: CoverageOut {
            blocks: coverage.blocks,
            understood: coverage.understood,
            holes: coverage.holes,
            judged: coverage.judged,
        },
        times: times_out(report),
        clearances: clearances_out(&book),
        counts: Tally::of(report),
        exit: exit(Verdict::of(report, fail_on), fail_on),
    }
}

fn not_checked(missing: NotChecked) -> NotCheckedOut {
    NotCheckedOut { rule: missing.rule, why: missing.why, key: missing.key, needed: missing.needed }
}

pub(super) fn finding(book: &Book<'_>, finding: &Finding) -> FindingOut {
    let units = book.report.units;
    let (status, waiver) = match &finding.status {
        Status::Open => ("open", None),
        Status::Known => ("known", None),
        Status::Waived(id) => ("waived", Some(id.clone())),
    };
    FindingOut {
        rule: finding.rule,
        severity: finding.severity.word(),
        status,
        waiver,
        message: finding.message.clone(),
        why: finding.why.clone(),
        advice: finding.advice.clone(),
        job_entry: finding.job_entry.clone(),
        places: finding.places.iter().map(|one| place(book, one)).collect(),
        more_places: finding.more_places,
        related: finding.related.iter().map(|one| related(book, one)).collect(),
        measured: finding.measured.as_ref().map(|measured| quantity(measured, units)),
        limit: finding.limit.as_ref().map(|bound| limit(bound, units)),
        remedy: finding.remedy.as_ref().map(|cure| remedy(cure, units)),
    }
}

fn place(book: &Book<'_>, place: &Place) -> PlaceOut {
    PlaceOut {
        tool: place.tool.filter(|tool| *tool != 0),
        hole: place.hole.map(|hole| book.hole(hole)),
        ..spot(book, place.source, place.span)
    }
}

fn related(book: &Book<'_>, related: &Related) -> RelatedOut {
    RelatedOut { message: related.message.clone(), place: spot(book, related.source, related.span) }
}

pub(super) fn spot(book: &Book<'_>, source: SourceId, span: Span) -> PlaceOut {
    let position = book.position(source, span.start);
    PlaceOut {
        file: book.name(source).to_owned(),
        line: position.line,
        column: position.column,
        n: book.n_word(source, span.start).map(str::to_owned),
        span: SpanOut { start: span.start, end: span.end },
        tool: None,
        hole: None,
    }
}

pub(super) fn quantity(quantity: &Quantity, units: UnitSystem) -> QuantityOut {
    let Quantity { value, unit } = quantity.read_in(units);
    QuantityOut { value, unit }
}

pub(super) fn limit(bound: &Bound, units: UnitSystem) -> LimitOut {
    let Quantity { value, unit } = bound.quantity.read_in(units);
    LimitOut { value, unit, source: bound.origin.clone() }
}

#[cfg(test)]
mod tests {
    use super::super::{Format, Look, Round, bind, page, sample};
    use super::*;
    use crate::motion::{BlockRef, Times};
    use crate::operation::{BodyPart, Clearance, Obstacle, ToolUse};

    fn whole(fail_on: Severity) -> String {
        let mut report = sample::report();
        report.survey.times =
            Times { cutting: 95.0, rapid: 30.5, dwell: 0.0, tool_change: 16.0, spin_up: 2.5, planned: true };
        report.survey.tools = vec![ToolUse { tool: 11, cutting: 95.0, rapid: 30.5, ..ToolUse::default() }];
        report.survey.clearances.least = vec![Clearance {
            tool: 11,
            gap: 4.2,
            axis: 2,
            part: BodyPart::Holder,
            obstacle: Obstacle::Zone(0),
            block: BlockRef { span: report.findings[0].places[0].span, ..BlockRef::default() },
            from: [0.0; 3],
            at: [0.0; 3],
        }];
        bind(
            vec![page(&report, &[], Format::Json, fail_on, &Look::default())],
            Format::Json,
            fail_on,
            &Round::default(),
            &Look::default(),
        )
    }

    #[test]
    fn a_whole_document() {
        insta::assert_snapshot!(whole(Severity::Error));
    }

    #[test]
    fn the_document_keeps_its_own_schema() {
        let schema = schema().to_value();
        let document: serde_json::Value = serde_json::from_str(&whole(Severity::Note)).unwrap();
        assert!(jsonschema::is_valid(&schema, &document));
        let mut broken = document;
        broken["programs"][0]["findings"][0]["places"][0]["line"] = "five".into();
        assert!(!jsonschema::is_valid(&schema, &broken));
    }
}
