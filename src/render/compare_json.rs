//! Two revisions held against each other, for machines: a JSON document with its own schema, every number with its unit.

use super::CAUTION;
use super::compare::{CompareVerdict, Comparison, affected_names, headline, sentence};
use crate::check::Report;
use crate::compare::{Affected, Change, FeatureCount, LineChange, Spot, Value};
use crate::diagnostic::Quantity;
use crate::units::UnitSystem;
use schemars::{JsonSchema, Schema, schema_for};
use serde::Serialize;
use serde_json::Value as Json;

/// Counts up when a field changes its meaning or goes away.
const SCHEMA_VERSION: u32 = 1;

/// One comparison.
#[derive(Debug, Serialize, JsonSchema)]
struct Document {
    /// Version of this layout.
    schema_version: u32,
    /// Version of lastply.
    version: &'static str,
    /// What the answers are good for.
    caution: &'static str,
    /// The revision compared with.
    old: SideOut,
    /// The revision compared.
    new: SideOut,
    /// What changed in the machining, in one line.
    headline: String,
    /// Whether the tool does the same in both.
    identical_in_motion: bool,
    /// Moves that are the same in both.
    same_moves: u64,
    /// Changes of the machining, gravest class first.
    changes: Vec<ChangeOut>,
    /// Features that some change concerns; the shop decides which are inspected anew.
    affected: AffectedOut,
    /// Changes of the text alone.
    text: TextOut,
    /// What became of the findings.
    findings: Vec<FindingOut>,
    /// Why the comparison could not conclude.
    not_concluded: Vec<String>,
    /// The verdict.
    exit: ExitOut,
}

/// One revision.
#[derive(Debug, Serialize, JsonSchema)]
struct SideOut {
    /// File name as given.
    program: String,
    /// Job file it was read and judged by.
    job: Option<String>,
    /// Units the program speaks, `mm` or `in`.
    units: &'static str,
    /// Moves rebuilt.
    moves: u64,
    /// Holes, each operation at a place by itself.
    holes: u64,
    /// Cuts.
    cuts: u64,
    /// Blocks run.
    blocks: u64,
    /// Blocks with every word understood.
    understood: u64,
    /// Names of the checks that had no data.
    not_checked: Vec<String>,
}

/// The same change at one or more features.
#[derive(Debug, Serialize, JsonSchema)]
struct ChangeOut {
    /// `safety`, `geometry`, `process` or `sequence`.
    class: &'static str,
    /// What changed, such as `exit-feed`.
    aspect: Json,
    /// The change in words.
    message: String,
    /// What it was; null for what was not there.
    old: Option<ValueOut>,
    /// What it is.
    new: Option<ValueOut>,
    /// Words that explain.
    note: Option<String>,
    /// The block to look at in OLD: of the first feature where it concerns several.
    old_block: Option<BlockOut>,
    /// The same in NEW.
    new_block: Option<BlockOut>,
    /// How many features it concerns.
    count: u64,
    /// The first of them, in order of making.
    features: Vec<FeatureOut>,
}

/// One side of a change.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase")]
enum ValueOut {
    /// A number; a count has the unit `1`.
    Number {
        /// The number.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// A coordinate.
    Coordinate {
        /// Its axis.
        axis: char,
        /// The number.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// A point or a way in a plane.
    Point {
        /// Its coordinates.
        coordinates: Vec<ValueOut>,
    },
    /// Words.
    Words {
        /// The words.
        text: String,
    },
    /// One after the other.
    Then {
        /// What.
        values: Vec<ValueOut>,
    },
}

/// One feature.
#[derive(Debug, Serialize, JsonSchema)]
struct FeatureOut {
    /// Name in the drawing, else a number in order of making, else its block.
    name: String,
    /// `hole`, `cut` or `travel`.
    kind: Json,
    /// Tool in the spindle.
    tool: Option<u32>,
    /// Where it begins in OLD.
    old_place: Option<ValueOut>,
    /// Where it begins in NEW.
    new_place: Option<ValueOut>,
    /// Its block in OLD.
    old: Option<SpotOut>,
    /// Its block in NEW.
    new: Option<SpotOut>,
}

/// A block.
#[derive(Debug, Serialize, JsonSchema)]
struct SpotOut {
    /// File name as given.
    file: String,
    /// Line, from 1.
    line: u32,
    /// N word as written.
    n: Option<String>,
}

/// A block with its text.
#[derive(Debug, Serialize, JsonSchema)]
struct BlockOut {
    /// Where it stands.
    #[serde(flatten)]
    at: SpotOut,
    /// Its text; bytes that are not UTF-8 are replaced.
    text: String,
}

/// Features that some change concerns.
#[derive(Debug, Serialize, JsonSchema)]
struct AffectedOut {
    /// How many holes.
    holes: u64,
    /// How many cuts.
    cuts: u64,
    /// Their names.
    names: Vec<String>,
}

/// Changes of the text alone.
#[derive(Debug, Serialize, JsonSchema)]
struct TextOut {
    /// Blocks with another N word.
    renumbered: u64,
    /// Blocks with the same words in another form.
    reformatted: u64,
    /// Line ends before and after, where they differ.
    line_ends: Option<[&'static str; 2]>,
    /// Comments added, removed or changed.
    comments: Vec<LineOut>,
    /// Comments beyond those listed.
    more_comments: u64,
    /// Blocks with other words.
    blocks: Vec<LineOut>,
    /// Blocks beyond those listed.
    more_blocks: u64,
}

/// One line that is not in both.
#[derive(Debug, Serialize, JsonSchema)]
struct LineOut {
    /// Where it was.
    old: Option<SpotOut>,
    /// What it was.
    old_text: Option<String>,
    /// Where it is.
    new: Option<SpotOut>,
    /// What it is.
    new_text: Option<String>,
}

/// One finding of either.
#[derive(Debug, Serialize, JsonSchema)]
struct FindingOut {
    /// `new`, `changed`, `resolved` or `unchanged`.
    fate: Json,
    /// Name of the rule.
    rule: &'static str,
    /// `error`, `warning` or `note`.
    severity: &'static str,
    /// Message in OLD.
    old: Option<String>,
    /// Places in OLD.
    old_places: u64,
    /// Message in NEW.
    new: Option<String>,
    /// Places in NEW.
    new_places: u64,
}

/// Both answers, and the exit code they come to.
#[derive(Debug, Serialize, JsonSchema)]
struct ExitOut {
    /// 0 identical in motion, 1 changed, 3 not concluded.
    code: u8,
    /// The answers behind it.
    #[serde(flatten)]
    verdict: CompareVerdict,
}

/// The JSON Schema of a comparison.
#[must_use]
pub fn comparison_schema() -> Schema {
    schema_for!(Document)
}

/// A comparison as one JSON document.
#[must_use]
pub fn comparison_json(compared: &Comparison<'_>) -> String {
    let changes = compared.changes;
    let verdict = CompareVerdict::of(changes);
    let (same, units) = (&changes.same, changes.units);
    let document = Document {
        schema_version: SCHEMA_VERSION,
        version: env!("CARGO_PKG_VERSION"),
        caution: CAUTION,
        old: side(compared.old, same.old_moves, same.old),
        new: side(compared.new, same.new_moves, same.new),
        headline: headline(changes),
        identical_in_motion: changes.is_identical_in_motion(),
        same_moves: same.same_moves,
        changes: changes.machining.iter().map(|one| change(one, units)).collect(),
        affected: AffectedOut { holes: same.affected.holes, cuts: same.affected.cuts, names: affected_names(changes) },
        text: text(&changes.text),
        findings: compared.findings.iter().map(finding).collect(),
        not_concluded: changes.open.clone(),
        exit: ExitOut { code: verdict.exit(), verdict },
    };
    // Strings, integers and floats in structs and lists cannot fail to serialise; JSON writes a non-finite float as null.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

fn side(report: &Report, moves: u64, FeatureCount { holes, cuts }: FeatureCount) -> SideOut {
    let mut not_checked: Vec<String> = report.not_checked.iter().map(|missing| missing.rule.clone()).collect();
    not_checked.sort();
    not_checked.dedup();
    SideOut {
        program: report.sources.first().map(|source| source.name.clone()).unwrap_or_default(),
        job: report.job_name.clone(),
        units: match report.units {
            UnitSystem::Metric => "mm",
            UnitSystem::Inch => "in",
        },
        moves,
        holes,
        cuts,
        blocks: report.coverage.blocks,
        understood: report.coverage.understood,
        not_checked,
    }
}

/// A plain enum by its serialised name.
fn name(value: impl Serialize) -> Json {
    serde_json::to_value(value).unwrap_or_default()
}

fn change(change: &Change, units: UnitSystem) -> ChangeOut {
    ChangeOut {
        class: change.aspect.class().word(),
        aspect: name(change.aspect),
        message: sentence(change, units),
        old: change.old.as_ref().map(|one| value(one, units)),
        new: change.new.as_ref().map(|one| value(one, units)),
        note: change.note.clone(),
        old_block: change.old_block.as_ref().map(block),
        new_block: change.new_block.as_ref().map(block),
        count: change.count,
        features: change.features.iter().map(|one| feature(one, units)).collect(),
    }
}

fn value(one: &Value, units: UnitSystem) -> ValueOut {
    let read = |value: f64, unit: &'static str| Quantity { value, unit }.read_in(units);
    let coordinate = |axis: char, at: f64| {
        let Quantity { value, unit } = read(at, "mm");
        ValueOut::Coordinate { axis, value, unit }
    };
    match one {
        Value::Number(quantity) if quantity.unit.is_empty() => ValueOut::Number { value: quantity.value, unit: "1" },
        Value::Number(quantity) => {
            let Quantity { value, unit } = quantity.read_in(units);
            ValueOut::Number { value, unit }
        }
        Value::At(axis, at) => coordinate(*axis, *at),
        Value::Point([first, second], [x, y]) => {
            ValueOut::Point { coordinates: vec![coordinate(*first, *x), coordinate(*second, *y)] }
        }
        Value::Words(words) => ValueOut::Words { text: words.clone() },
        Value::Then(values) => ValueOut::Then { values: values.iter().map(|one| value(one, units)).collect() },
    }
}

fn feature(one: &Affected, units: UnitSystem) -> FeatureOut {
    let place = |place: &Option<Value>| place.as_ref().map(|place| value(place, units));
    FeatureOut {
        name: one.name.clone(),
        kind: name(one.kind),
        tool: Some(one.tool).filter(|tool| *tool != 0),
        old_place: place(&one.old_place),
        new_place: place(&one.new_place),
        old: one.old.as_ref().map(spot),
        new: one.new.as_ref().map(spot),
    }
}

fn block((at, text): &(Spot, String)) -> BlockOut {
    BlockOut { at: spot(at), text: text.clone() }
}

fn spot(spot: &Spot) -> SpotOut {
    SpotOut { file: spot.file.clone(), line: spot.line, n: spot.n.clone() }
}

fn text(found: &crate::compare::TextChanges) -> TextOut {
    let line = |one: &LineChange| LineOut {
        old: one.old.as_ref().map(|(at, _)| spot(at)),
        old_text: one.old.as_ref().map(|(_, text)| text.clone()),
        new: one.new.as_ref().map(|(at, _)| spot(at)),
        new_text: one.new.as_ref().map(|(_, text)| text.clone()),
    };
    TextOut {
        renumbered: found.renumbered,
        reformatted: found.reformatted,
        line_ends: found.line_ends.map(|(old, new)| [old, new]),
        comments: found.comments.iter().map(line).collect(),
        more_comments: found.more_comments,
        blocks: found.blocks.iter().map(line).collect(),
        more_blocks: found.more_blocks,
    }
}

fn finding(one: &crate::compare::FindingChange) -> FindingOut {
    let message = |side: &Option<(String, u64)>| side.as_ref().map(|(message, _)| message.clone());
    let places = |side: &Option<(String, u64)>| side.as_ref().map_or(0, |(_, places)| *places);
    FindingOut {
        fate: name(one.fate),
        rule: one.rule,
        severity: one.severity.word(),
        old: message(&one.old),
        old_places: places(&one.old),
        new: message(&one.new),
        new_places: places(&one.new),
    }
}
