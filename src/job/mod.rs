//! What the program text cannot tell: the part, the laminate, the tools, the machine, the drawing. Loaded from TOML.

pub mod contour;
mod draft;
pub mod fit;
mod fixture;
mod holes;
mod laminate;
mod limit;
mod load;
mod machine;
mod measured;
mod needs;
mod schema;
mod tool;
mod trials;
mod tuning;
mod waiver;
mod workpiece;

pub use draft::{DraftFacts, DraftHoles, DraftTool, draft};
pub use fixture::{Fixture, Zone, ZoneKind, ZoneShape};
pub use holes::{HoleGroup, HolePosition};
pub use laminate::{
    CoolantRule, ExitZone, Extent, Laminate, Layer, LayerLimits, Material, MaterialClass, PeckRule, PlateData,
    SpeedBand, Support, Tolerance,
};
pub use limit::Limit;
pub use load::{JobError, JobFiles, NoFiles};
pub use machine::{
    CornerMode, DwellUnit, FeedMemory, FeedingMethod, InverseTime, Machine, NumberInput, PowerUp, RapidStyle,
    RepeatWord, SubprogramStyle,
};
pub use measured::{Measured, MeasuredOf, MeasuredValue, ToolAmount};
pub use schema::schema;
pub use tool::{Cone, HolderPart, LifeLaw, LifeLimit, Lip, Substrate, ThrustLaw, Tool, ToolKind, ToolMaterialClass};
pub use trials::{Trial, Trials};
pub use tuning::{Pinned, Tuning};
pub use waiver::{Date, Waiver};
pub use workpiece::{CutDirection, EdgeGroup, ThicknessZone, TrimLimits, Vertex, Workpiece};

use crate::diagnostic::Severity;
use crate::source::Span;
use crate::units::{Millimetres, UnitSystem};
use std::collections::BTreeMap;

/// One job: everything a run knows besides the program text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Job {
    /// File name of the job file, as the user gave it.
    pub name: String,
    /// `[job]`.
    pub head: Head,
    /// `[machine]`.
    pub machine: Machine,
    /// The laminate that `[job] laminate` names, with layers from entry to exit.
    pub laminate: Option<Laminate>,
    /// `[tool.N]`, by tool number.
    pub tools: BTreeMap<u32, Tool>,
    /// `[fixture]`.
    pub fixture: Fixture,
    /// `[workpiece]`.
    pub workpiece: Option<Workpiece>,
    /// `[[edges]]`.
    pub edges: Vec<EdgeGroup>,
    /// `[[holes]]`.
    pub holes: Vec<HoleGroup>,
    /// `[tune]`.
    pub tuning: Tuning,
    /// `[[waiver]]`.
    pub waivers: Vec<Waiver>,
    /// `[rules]`, by name of the rule.
    pub rulings: BTreeMap<String, Ruling>,
    /// What was measured and lies over the rest, if anything.
    pub measured: Option<Measured>,
}

/// One line of `[rules]`: a rule's severity changed or the rule allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ruling {
    /// What it says.
    pub policy: Policy,
    /// Where the rule's name stands in the job file.
    pub at: Span,
}

/// What the job file says of one rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Policy {
    /// The rule does not report.
    Allow,
    /// The rule reports with this severity.
    Report(Severity),
}

/// `[job]`: which part and which operation.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// Part number or name.
    pub part: String,
    /// Operation.
    pub operation: String,
    /// Revision of the program.
    pub revision: String,
    /// Drawing and its revision.
    pub drawing: String,
    /// Units the program is posted in; `None` when the job file does not say.
    pub units: Option<UnitSystem>,
    /// Height of the entry face in program coordinates.
    pub entry_z: Millimetres,
    /// Which face the tool enters, in the shop's words.
    pub entry_face: String,
    /// Work offset the part is set in, such as `G54`.
    pub work_offset: Option<String>,
    /// The day the job is judged on, for waiver expiry; the core has no clock.
    pub date: Option<Date>,
}

impl Default for Head {
    fn default() -> Self {
        Self {
            part: String::new(),
            operation: String::new(),
            revision: String::new(),
            drawing: String::new(),
            units: None,
            entry_z: Millimetres(0.0),
            entry_face: String::new(),
            work_offset: None,
            date: None,
        }
    }
}

impl Job {
    /// The tool of that number, if the job lists it.
    #[must_use]
    pub fn tool(&self, number: u32) -> Option<&Tool> {
        self.tools.get(&number)
    }

    /// What the job says of the rule of that name, if anything.
    #[must_use]
    pub fn policy(&self, rule: &str) -> Option<Policy> {
        self.rulings.get(rule).map(|ruling| ruling.policy)
    }
}
