//! What two revisions differ in, as plain data: lengths in mm, feeds in mm/min, whatever the program speaks.

use crate::diagnostic::{Quantity, Severity};
use crate::motion::Plane;
use crate::units::UnitSystem;
use serde::Serialize;

/// Features kept by name for one change; the rest are counted.
pub const MOST_FEATURES: usize = 1000;
/// Comments and blocks of the text kept for each list; the rest are counted.
pub const MOST_LINES: usize = 1000;

/// What a change concerns, gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ChangeClass {
    /// Spindle sense, coolant, dust extraction, offsets, stops, codes of the machine.
    Safety,
    /// Where and how deep, on which path, with which tool.
    Geometry,
    /// Speed, feed, pecks, dwells.
    Process,
    /// The order of making.
    Sequence,
    /// The text alone.
    Text,
}

impl ChangeClass {
    /// The word reports print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Safety => "safety",
            Self::Geometry => "geometry",
            Self::Process => "process",
            Self::Sequence => "sequence",
            Self::Text => "text",
        }
    }
}

/// What changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aspect {
    /// M0, M1, M2, M30 or M60.
    Stop,
    /// M6 without another tool.
    ToolChange,
    /// Words that only the machine gives a meaning, or that set an origin.
    Words,
    /// Which way the spindle turns.
    SpindleSense,
    /// M8.
    Flood,
    /// M7.
    Mist,
    /// Dust extraction.
    Extraction,
    /// G54 to G59.3.
    WorkOffset,
    /// H number.
    LengthOffset,
    /// G41, G42 and the D number.
    CutterCompensation,
    /// M48, M49.
    Overrides,
    /// A feature that was not there.
    Added,
    /// A feature that is no longer there.
    Removed,
    /// A feature at another place.
    Place,
    /// Another tool at the same place.
    Tool,
    /// The deepest point.
    Depth,
    /// Where the first feed stroke starts.
    Approach,
    /// Where the tool is left.
    Retract,
    /// The way itself.
    Path,
    /// The way from one feature to the next.
    Travel,
    /// Turns a minute.
    Speed,
    /// Whether S is a surface speed.
    SpeedMode,
    /// Whether F counts by minute or by turn.
    FeedMode,
    /// Feed throughout.
    Feed,
    /// Feed of the first stroke.
    EntryFeed,
    /// Feed of the last stroke.
    ExitFeed,
    /// Where the exit feed begins.
    ExitStart,
    /// Feeds by depth.
    Feeds,
    /// Number of pecks.
    Pecks,
    /// Deepest peck.
    PeckDepth,
    /// Time of standing still.
    Dwell,
    /// Exact stop or continuous path.
    PathMode,
    /// Place in the order of making.
    Order,
    /// Too much changed for numbers.
    Unmeasured,
}

impl Aspect {
    /// Its class and the words reports print.
    #[must_use]
    pub fn facts(self) -> (ChangeClass, &'static str) {
        use ChangeClass as C;
        match self {
            Self::Stop => (C::Safety, "stop"),
            Self::ToolChange => (C::Safety, "tool change"),
            Self::Words => (C::Safety, "words for the machine"),
            Self::SpindleSense => (C::Safety, "spindle"),
            Self::Flood => (C::Safety, "flood coolant"),
            Self::Mist => (C::Safety, "mist coolant"),
            Self::Extraction => (C::Safety, "dust extraction"),
            Self::WorkOffset => (C::Safety, "work offset"),
            Self::LengthOffset => (C::Safety, "length offset"),
            Self::CutterCompensation => (C::Safety, "cutter compensation"),
            Self::Overrides => (C::Safety, "overrides"),
            Self::Added => (C::Geometry, "added"),
            Self::Removed => (C::Geometry, "removed"),
            Self::Place => (C::Geometry, "moved"),
            Self::Tool => (C::Geometry, "tool"),
            Self::Depth => (C::Geometry, "depth"),
            Self::Approach => (C::Geometry, "feed starts at"),
            Self::Retract => (C::Geometry, "retract"),
            Self::Path => (C::Geometry, "path"),
            Self::Travel => (C::Geometry, "travel"),
            Self::Speed => (C::Process, "spindle speed"),
            Self::SpeedMode => (C::Process, "speed mode"),
            Self::FeedMode => (C::Process, "feed mode"),
            Self::Feed => (C::Process, "feed"),
            Self::EntryFeed => (C::Process, "entry feed"),
            Self::ExitFeed => (C::Process, "exit feed"),
            Self::ExitStart => (C::Process, "exit feed from"),
            Self::Feeds => (C::Process, "feeds"),
            Self::Pecks => (C::Process, "pecks"),
            Self::PeckDepth => (C::Process, "deepest peck"),
            Self::Dwell => (C::Process, "dwell"),
            Self::PathMode => (C::Process, "path control"),
            Self::Order => (C::Sequence, "order"),
            Self::Unmeasured => (C::Geometry, "made in another way"),
        }
    }

    /// Its class.
    #[must_use]
    pub fn class(self) -> ChangeClass {
        self.facts().0
    }

    /// The words reports print.
    #[must_use]
    pub fn words(self) -> &'static str {
        self.facts().1
    }
}

/// One side of a change.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Value {
    /// A number with its unit.
    Number(Quantity),
    /// A coordinate of an axis.
    At(char, f64),
    /// A point in the plane of these two axes, or the way to it.
    Point([char; 2], [f64; 2]),
    /// Words.
    Words(String),
    /// One after the other.
    Then(Vec<Value>),
}

impl Value {
    /// A point in a plane, or the way to it, mm.
    #[must_use]
    pub fn in_plane(plane: Plane, at: [f64; 2]) -> Self {
        let (first, second, _) = plane.axes();
        Self::Point([first, second].map(axis_letter), at)
    }

    /// A number in a unit.
    #[must_use]
    pub fn number(value: f64, unit: &'static str) -> Self {
        Self::Number(Quantity { value, unit })
    }

    /// As a program of these units would say it.
    #[must_use]
    pub fn text(&self, units: UnitSystem) -> String {
        let at = |letter: char, value: f64| units.coordinate(letter, crate::units::Millimetres(value));
        match self {
            Self::Number(quantity) if quantity.unit.is_empty() => crate::units::trimmed(quantity.value, 3),
            Self::Number(quantity) => units.worded(quantity.value, quantity.unit),
            Self::At(letter, value) => at(*letter, *value),
            Self::Point([first, second], [x, y]) => format!("{} {}", at(*first, *x), at(*second, *y)),
            Self::Words(words) => words.clone(),
            Self::Then(values) => values.iter().map(|value| value.text(units)).collect::<Vec<_>>().join(", then "),
        }
    }
}

/// A block as a person finds it.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Spot {
    /// File it stands in.
    pub file: String,
    /// Line, from 1.
    pub line: u32,
    /// N word as written.
    pub n: Option<String>,
}

/// The letter of a linear axis.
pub(super) fn axis_letter(axis: usize) -> char {
    ['X', 'Y', 'Z'].get(axis).copied().unwrap_or('Z')
}

/// One feature that a change concerns.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Affected {
    /// The drawing's name of a hole or edge, else a number in order of making, else its block.
    pub name: String,
    /// Whether it is a hole, a cut, or travel between them.
    pub kind: FeatureKind,
    /// Tool in the spindle; 0 when unknown.
    pub tool: u32,
    /// Where it begins in OLD, a point in its plane.
    pub old_place: Option<Value>,
    /// Where it begins in NEW.
    pub new_place: Option<Value>,
    /// Its block in OLD.
    pub old: Option<Spot>,
    /// Its block in NEW.
    pub new: Option<Spot>,
}

/// What a feature is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FeatureKind {
    /// A hole.
    Hole,
    /// A cut.
    Cut,
    /// Travel, stops and tool changes between features.
    Travel,
}

/// The same change at one or more features.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// What.
    pub aspect: Aspect,
    /// What it was; `None` for what was not there.
    pub old: Option<Value>,
    /// What it is.
    pub new: Option<Value>,
    /// Words that explain, such as how many moves it concerns.
    pub note: Option<String>,
    /// The block to look at in OLD, with its text: of the first feature where it concerns several.
    pub old_block: Option<(Spot, String)>,
    /// The same in NEW.
    pub new_block: Option<(Spot, String)>,
    /// How many features.
    pub count: u64,
    /// The first of them, in order of making.
    pub features: Vec<Affected>,
}

/// Features of each kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct FeatureCount {
    /// Holes, each operation at a place counted by itself.
    pub holes: u64,
    /// Cuts.
    pub cuts: u64,
}

impl FeatureCount {
    /// Counts one more.
    pub(super) fn add(&mut self, kind: FeatureKind) {
        match kind {
            FeatureKind::Hole => self.holes += 1,
            FeatureKind::Cut => self.cuts += 1,
            FeatureKind::Travel => {}
        }
    }
}

/// How much is the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sameness {
    /// Moves of OLD.
    pub old_moves: u64,
    /// Moves of NEW.
    pub new_moves: u64,
    /// Moves that are the same in both.
    pub same_moves: u64,
    /// Features of OLD.
    pub old: FeatureCount,
    /// Features of NEW.
    pub new: FeatureCount,
    /// Features of either that a change concerns; a pair counts once.
    pub affected: FeatureCount,
}

/// A comment that is not in both.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LineChange {
    /// As it was.
    pub old: Option<(Spot, String)>,
    /// As it is.
    pub new: Option<(Spot, String)>,
}

/// What the text differs in besides what the machining shows.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct TextChanges {
    /// Blocks with another N word, or with none.
    pub renumbered: u64,
    /// Blocks with the same words written in another way.
    pub reformatted: u64,
    /// Line ends before and after, where they differ.
    pub line_ends: Option<(&'static str, &'static str)>,
    /// Comments added, removed or changed.
    pub comments: Vec<LineChange>,
    /// Comments beyond those kept.
    pub more_comments: u64,
    /// Blocks with other words.
    pub blocks: Vec<LineChange>,
    /// Blocks beyond those kept.
    pub more_blocks: u64,
}

/// What became of a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Fate {
    /// Only NEW has it.
    New,
    /// Both have it, at other places or in other words.
    Changed,
    /// Only OLD had it.
    Resolved,
    /// It stood open in OLD, and a waiver covers it in NEW.
    Waived,
    /// Both have it alike.
    Unchanged,
}

/// One finding of either revision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingChange {
    /// What became of it.
    pub fate: Fate,
    /// Name of the rule.
    pub rule: &'static str,
    /// How grave it is, or was.
    pub severity: Severity,
    /// Its message and number of places in OLD.
    pub old: Option<(String, u64)>,
    /// The same in NEW.
    pub new: Option<(String, u64)>,
}

/// Everything a comparison found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Changes {
    /// Units NEW speaks.
    pub units: UnitSystem,
    /// Changes of the machining, gravest class first.
    pub machining: Vec<Change>,
    /// Changes of the text.
    pub text: TextChanges,
    /// How much is the same.
    pub same: Sameness,
    /// Why the comparison could not conclude, in words.
    pub open: Vec<String>,
}

impl Changes {
    /// Whether the tool does the same in both.
    #[must_use]
    pub fn is_identical_in_motion(&self) -> bool {
        self.machining.is_empty()
    }
}
