//! What differs between controls: one constant a file of `grammar/dialects`, built in at compile time.

use super::ReturnLevel;
use crate::job::{DwellUnit, FeedMemory, InverseTime, NumberInput, RepeatWord};
use crate::units::UnitSystem;

/// One dialect; lengths in mm unless their name says inch.
#[derive(Clone, Debug, PartialEq)]
pub struct Dialect {
    /// File name without its ending.
    pub name: &'static str,
    /// The dialect's bit in the code table.
    pub bit: u8,
    /// What the report does not define is a fault and stops its block.
    pub strict: bool,
    /// Units at the start.
    pub start_unit: StartUnit,
    /// G98 or G99 at the start.
    pub start_level: StartLevel,
    /// Whether the tool is known to stand at zero, with all offsets zero, at the start.
    pub start_known: bool,
    /// Which height G98 returns to.
    pub initial_level: InitialLevel,
    /// What R counts from under G91.
    pub incremental_r: IncrementalR,
    /// Where full-retract pecks go.
    pub peck_retract: PeckRetract,
    /// Whether cycle values survive another cycle code.
    pub sticky_values: StickyValues,
    /// What zero repeats mean.
    pub zero_repeat: ZeroRepeat,
    /// How G85 and G89 leave the hole.
    pub bore_exit: BoreExit,
    /// What a cycle block without position does.
    pub bare_block: BareBlock,
    /// What an axis word after G80 does.
    pub after_cancel: AfterCancel,
    /// Which axes G28 and G30 send home.
    pub home_moves: HomeMoves,
    /// When M5 and M9 act.
    pub stop_codes: StopCodes,
    /// Whether a full circle may leave out its end point.
    pub bare_circle: bool,
    /// Difference of an arc's two radii that is reported, mm program.
    pub arc_warn_mm: f64,
    /// The same for an inch program, inch.
    pub arc_warn_inch: f64,
    /// Difference of an arc's two radii that no arc is made of, mm program.
    pub arc_limit_mm: f64,
    /// The same for an inch program, inch.
    pub arc_limit_inch: f64,
    /// Largest tool and offset number.
    pub largest_tool: u32,
    /// Facts a job file may declare or change.
    pub declared: Declared,
}

/// Facts on which controls differ; `None` is undeclared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Declared {
    /// Unit of P in G4 and cycles.
    pub dwell_unit: Option<DwellUnit>,
    /// How far a full-retract peck stops short of the last depth, mm.
    pub peck_clearance: Option<f64>,
    /// How far a chip-break peck backs off, mm.
    pub peck_back_off: Option<f64>,
    /// What a length without a decimal point means.
    pub number_input: Option<NumberInput>,
    /// What happens to F when the feed mode changes.
    pub feed_memory: Option<FeedMemory>,
    /// What F means under G93.
    pub inverse_time: Option<InverseTime>,
    /// Word that repeats a cycle.
    pub repeat_word: Option<RepeatWord>,
}

impl Declared {
    /// Nothing declared.
    pub const NOTHING: Self = Self {
        dwell_unit: None,
        peck_clearance: None,
        peck_back_off: None,
        number_input: None,
        feed_memory: None,
        inverse_time: None,
        repeat_word: None,
    };
}

/// Units at the start, as the dialect files name them.
type StartUnit = UnitSystem;
/// Return level at the start, as the dialect files name it.
type StartLevel = ReturnLevel;

/// Which height G98 returns to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InitialLevel {
    /// The height before the first hole of a series.
    PerSeries,
    /// The height before each block.
    PerBlock,
}

/// What R counts from under G91.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IncrementalR {
    /// The initial level of the series.
    FromInitial,
    /// The height before the block.
    FromPresent,
}

/// Where full-retract pecks go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PeckRetract {
    /// Always to R.
    RPlane,
    /// To the level G98 or G99 names.
    ClearLevel,
}

/// Whether cycle values survive another cycle code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StickyValues {
    /// Until the cycle is cancelled.
    AcrossCodes,
    /// While the same code stays active.
    SameCode,
}

/// What zero repeats mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZeroRepeat {
    /// The values are stored, nothing is drilled.
    StoreOnly,
    /// A fault.
    Refused,
}

/// How G85 and G89 leave the hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoreExit {
    /// At feed to R, then by rapid.
    FeedToR,
    /// At feed all the way.
    FeedToClear,
}

/// What a cycle block without position does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BareBlock {
    /// Drills where the tool stands.
    DrillHere,
    /// Stores the values.
    StoreOnly,
}

/// What an axis word after G80 does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AfterCancel {
    /// Moves as before the cycle.
    EarlierMotion,
    /// Nothing: a fault.
    None,
}

/// Which axes G28 and G30 send home.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HomeMoves {
    /// Those named in the block.
    NamedAxes,
    /// All.
    AllAxes,
}

/// When M5 and M9 act.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopCodes {
    /// Before the motion of their block.
    BeforeMotion,
    /// After it.
    AfterMotion,
}

impl Dialect {
    /// The dialect of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        DIALECTS.iter().find(|dialect| dialect.name == name)
    }

    /// Names of all dialects.
    pub fn names() -> impl Iterator<Item = &'static str> {
        DIALECTS.iter().map(|dialect| dialect.name)
    }

    /// Common industrial practice: the dialect of a program nobody has said anything about.
    #[must_use]
    pub fn shop() -> &'static Self {
        &SHOP
    }
}

include!(concat!(env!("OUT_DIR"), "/dialects.rs"));
