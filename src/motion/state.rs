//! Modal state: one field a modal group, each with the word that set it.

use super::{Axes, CycleCode, Settings};
use crate::units::UnitSystem;

/// Byte offset of a modal value that no word set: power-up or dialect default.
pub const UNSTATED: u32 = u32::MAX;

/// A modal value with the word that set it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Set<T> {
    /// The value.
    pub value: T,
    /// Byte offset of the word that set it, in source `source`; `UNSTATED` for a default.
    pub at: u32,
    /// Which source `at` counts in.
    pub source: u16,
    /// Tool in the spindle when it was set.
    pub tool: u32,
}

impl<T> Set<T> {
    /// A default that no word stated.
    #[must_use]
    pub fn unstated(value: T) -> Self {
        Self { value, at: UNSTATED, source: 0, tool: 0 }
    }

    /// Whether a word of the program set it.
    #[must_use]
    pub fn is_stated(&self) -> bool {
        self.at != UNSTATED
    }
}

/// Group 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MotionMode {
    /// G80, or nothing yet.
    None,
    /// G0.
    Rapid,
    /// G1.
    Line,
    /// G2.
    ArcCw,
    /// G3.
    ArcCcw,
    /// G38.2.
    Probe,
    /// G73, G74, G76, G81 to G89.
    Cycle(CycleCode),
}

/// Group 2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Plane {
    /// G17: arcs in XY, cycles along Z.
    Xy,
    /// G18: arcs in ZX, cycles along Y.
    Zx,
    /// G19: arcs in YZ, cycles along X.
    Yz,
}

impl Plane {
    /// Indices of the first and second in-plane axis and of the normal axis, in the order arcs count them.
    #[must_use]
    pub fn axes(self) -> (usize, usize, usize) {
        match self {
            Self::Xy => (0, 1, 2),
            Self::Zx => (2, 0, 1),
            Self::Yz => (1, 2, 0),
        }
    }
}

/// Group 3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Distance {
    /// G90.
    Absolute,
    /// G91.
    Incremental,
}

/// Group 5.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeedMode {
    /// G93.
    InverseTime,
    /// G94.
    PerMinute,
    /// G95.
    PerRev,
}

/// Group 7.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutterSide {
    /// G40.
    Off,
    /// G41.
    Left,
    /// G42.
    Right,
}

/// Group 8.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LengthOffset {
    /// G49, or never set.
    Off,
    /// G43 with its H number; `length` in mm where the tool table knows it.
    On {
        /// H number.
        h: u32,
        /// Length taken into account, mm; `None` when unknown, and then Z is taken as the tip's.
        length: Option<f64>,
    },
}

/// Group 10.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ReturnLevel {
    /// G98: back to the initial level.
    Initial,
    /// G99: back to R.
    RPlane,
}

/// Group 13.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathMode {
    /// G61.
    ExactPath,
    /// G61.1.
    ExactStop,
    /// G64.
    Continuous,
}

/// Group M7.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpindleSense {
    /// M5.
    Stopped,
    /// M3.
    Clockwise,
    /// M4.
    Counterclockwise,
}

/// Everything modal while one block runs.
#[derive(Clone, Debug, PartialEq)]
pub struct ModalState {
    /// Counts up whenever anything here changes but the feed word's own repetition and G0 to G3, which every step tells
    /// itself; two equal counts mean equal state otherwise.
    pub generation: u32,
    /// Group 1.
    pub motion: Set<MotionMode>,
    /// Group 2.
    pub plane: Set<Plane>,
    /// Group 3.
    pub distance: Set<Distance>,
    /// Group 5.
    pub feed_mode: Set<FeedMode>,
    /// Group 6.
    pub units: Set<UnitSystem>,
    /// Group 7 with its D number.
    pub cutter: Set<(CutterSide, Option<u32>)>,
    /// Group 8.
    pub length: Set<LengthOffset>,
    /// Group 10.
    pub return_level: Set<ReturnLevel>,
    /// Group 12: 1 for G54 to 9 for G59.3.
    pub work_offset: Set<u8>,
    /// Group 13.
    pub path: Set<PathMode>,
    /// G97 speed in rev/min; `None` before the first S or when it cannot be told.
    pub speed: Set<Option<f64>>,
    /// G96 in force: speed is a surface speed, m/min.
    pub constant_surface: Set<bool>,
    /// Spindle sense.
    pub spindle: Set<SpindleSense>,
    /// F as programmed, in the program's unit of the mode that was active when it was given.
    pub feed_word: Set<Option<f64>>,
    /// Feed mode that was active when F was last given.
    pub feed_word_mode: FeedMode,
    /// Feed of the tool centre in mm/min for G94 and G95 moves; `None` when F or S is missing or unknown.
    pub feed: Option<f64>,
    /// Tool in the spindle; 0 when none or unknown.
    pub tool: Set<u32>,
    /// Tool selected by T and not yet changed in.
    pub selected: Set<Option<u32>>,
    /// M7 mist.
    pub mist: Set<bool>,
    /// M8 flood.
    pub flood: Set<bool>,
    /// M48/M49: whether overrides are allowed.
    pub overrides: Set<bool>,
    /// Dust extraction, by the machine's declared codes; `None` when no code is declared.
    pub extraction: Set<Option<bool>>,
    /// Values that an unresolved call, macro or control statement may have changed since they were last stated.
    pub doubtful: Doubt,
    /// Axes whose position is in doubt for the same reason.
    pub lost: Axes,
}

/// Which modal values an unresolved statement may have changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Doubt {
    /// Feed.
    pub feed: bool,
    /// Speed or sense.
    pub spindle: bool,
    /// Anything else modal.
    pub modes: bool,
}

impl<T: PartialEq> Set<T> {
    /// Takes a newly stated value; true when more than the place of the word changed.
    pub(super) fn take(&mut self, new: Self) -> bool {
        let same = self.value == new.value && self.tool == new.tool && self.is_stated();
        *self = new;
        !same
    }
}

impl ModalState {
    /// The state a program starts in: nothing stated, power-up values from `settings`.
    pub(super) fn at_start(settings: &Settings) -> Self {
        Self {
            generation: 0,
            motion: Set::unstated(MotionMode::None),
            plane: Set::unstated(Plane::Xy),
            distance: Set::unstated(Distance::Absolute),
            feed_mode: Set::unstated(FeedMode::PerMinute),
            units: Set::unstated(settings.power_up_units),
            cutter: Set::unstated((CutterSide::Off, None)),
            length: Set::unstated(LengthOffset::Off),
            return_level: Set::unstated(settings.power_up_level),
            work_offset: Set::unstated(1),
            path: Set::unstated(PathMode::Continuous),
            speed: Set::unstated(None),
            constant_surface: Set::unstated(false),
            spindle: Set::unstated(SpindleSense::Stopped),
            feed_word: Set::unstated(None),
            feed_word_mode: FeedMode::PerMinute,
            feed: None,
            tool: Set::unstated(0),
            selected: Set::unstated(None),
            mist: Set::unstated(false),
            flood: Set::unstated(false),
            overrides: Set::unstated(true),
            extraction: Set::unstated(None),
            doubtful: Doubt::default(),
            lost: Axes::default(),
        }
    }

    /// Feed of a move that goes along X, Y or Z, mm/min, under G94 and G95 (NISTIR 6556, section 2.1.2.5; G95: feed a
    /// turn times turns a minute).
    pub(super) fn refresh_feed(&mut self) {
        let millimetres = self.feed_word.value.map(|feed| feed * self.units.value.mm());
        self.feed = match self.feed_mode.value {
            FeedMode::PerMinute => millimetres,
            FeedMode::PerRev => millimetres.zip(self.speed.value).map(|(feed, speed)| feed * speed),
            FeedMode::InverseTime => None,
        };
    }
}

/// The code of a work offset by its number in group 12: 1 is G54, 7 is G59.1, 10 is G54.1 P1.
#[must_use]
pub fn work_offset_code(number: u8) -> String {
    match number {
        0..=6 => format!("G{}", 53 + u32::from(number)),
        7..=9 => format!("G59.{}", number - 6),
        _ => format!("G54.1 P{}", number - 9),
    }
}
