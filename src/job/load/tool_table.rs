//! The keys of `[tool.N]`.

use super::at::At;
use super::reader::Given;
use super::thrust::ThrustTable;
use crate::job::Substrate;
use schemars::JsonSchema;
use serde::Deserialize;

/// Tool kinds as job files write them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Kind {
    /// Helical drill with one cone.
    TwistDrill,
    /// Drill with straight flutes.
    StraightFluteDrill,
    /// Drill with several cones; needs `cones`.
    MultiAngleDrill,
    /// Drill with a pilot step; needs `pilot`, `step` and `step_angle`.
    StepDrill,
    /// Spade or dagger drill; needs `cones`.
    SpadeDrill,
    /// Drill and reamer in one; needs `drill` and `lead`.
    DrillReamer,
    /// Reamer.
    Reamer,
    /// Hollow drill; needs `wall`.
    CoreDrill,
    /// Drill with spurs at the rim; needs `tip`.
    BradPointDrill,
    /// Countersink; needs `angle`.
    Countersink,
    /// End mill.
    EndMill,
    /// Plain router.
    Router,
    /// Router with opposed helices; needs `up_cut`.
    CompressionRouter,
    /// Rougher with nicked edges.
    SerratedRougher,
    /// Ball mill.
    BallMill,
}

/// One tool.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ToolTable {
    /// Kind of tool.
    #[schemars(required)]
    pub kind: Option<Kind>,
    /// Words for people.
    pub label: Option<String>,
    /// Cutting diameter.
    #[schemars(required)]
    pub diameter: Given,
    /// Cutting edges; for a compression router those of one hand.
    pub edges: Option<At<u32>>,
    /// Included point angle in degrees, for drills.
    pub point: Given,
    /// Cones of a multi-angle or spade drill, tip first.
    pub cones: Option<At<Vec<At<ConeTable>>>>,
    /// Pilot diameter of a step drill.
    pub pilot: Given,
    /// Length of a step drill's pilot cylinder.
    pub step: Given,
    /// Included angle of a step drill's step.
    pub step_angle: Given,
    /// Diameter of the drilling part of a drill-reamer.
    pub drill: Given,
    /// Length of a reamer's lead, or from the drill corner to full diameter of a drill-reamer.
    pub lead: Given,
    /// Wall thickness of a core drill.
    pub wall: Given,
    /// Height of a brad point beyond the rim, or diameter at a countersink's tip.
    pub tip: Given,
    /// Included angle of a countersink.
    pub angle: Given,
    /// Corner radius of an end mill.
    pub corner: Given,
    /// Up-cut length of a compression router.
    pub up_cut: Given,
    /// Whether end teeth cut to the centre.
    pub end_cutting: Option<At<bool>>,
    /// Helix angle in degrees; 0 for straight flutes.
    pub helix: Given,
    /// Length with cutting flutes.
    pub flute_length: Given,
    /// Length that stands out of the holder.
    pub stick_out: Given,
    /// Parts of the holder above the stick-out, from the lowest up.
    pub holder: Option<Vec<At<HolderTable>>>,
    /// What the edge is made of.
    pub material: Option<Substrate>,
    /// Coating thickness; bare in um. It adds to the edge radius.
    pub coating: Given,
    /// Radius of the cutting edge as now worn; bare in um.
    pub edge_radius: Given,
    /// Thrust times this when worn, at least 1.
    pub wear_factor: Option<At<f64>>,
    /// How much one tool may do.
    pub life: Option<LifeTable>,
    /// Done already, in the unit of `life`.
    pub used: Option<At<f64>>,
    /// Number of its length offset, if not its own.
    pub length_offset: Option<At<u32>>,
    /// Number of its radius offset, if not its own.
    pub radius_offset: Option<At<u32>>,
    /// Length to put in the offset table.
    pub length: Given,
    /// Most spindle speed, rev/min.
    pub max_speed: Given,
    /// Thrust against feed: two or more measured points, or the coefficients of a fit.
    pub thrust: Option<At<ThrustTable>>,
}

/// One cone of a point.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ConeTable {
    /// Diameter at the large end.
    #[schemars(required)]
    pub to: Given,
    /// Included angle in degrees.
    #[schemars(required)]
    pub angle: Given,
}

/// One part of a holder: a cylinder of one diameter, or a cone from `lower` to `upper`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct HolderTable {
    /// Length along the axis.
    #[schemars(required)]
    pub length: Given,
    /// Diameter of a cylinder.
    pub diameter: Given,
    /// Diameter of a cone at its lower end.
    pub lower: Given,
    /// Diameter of a cone at its upper end.
    pub upper: Given,
}

/// Life of one tool.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LifeTable {
    /// Holes.
    pub holes: Option<At<u32>>,
    /// Length of material cut; bare in metres.
    pub metres: Given,
    /// How the life falls with surface speed.
    pub law: Option<At<LifeLawTable>>,
}

/// Life against surface speed: as stated up to `at`, from there on less by (at / speed)^exponent.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LifeLawTable {
    /// Surface speed that the stated life holds at.
    #[schemars(required)]
    pub at: Given,
    /// Power of speed by which the holes or metres of one tool fall: 2 leaves a quarter of them at twice the speed.
    #[schemars(required)]
    pub exponent: Option<At<f64>>,
    /// Highest surface speed that was tried.
    #[schemars(required)]
    pub up_to: Given,
    /// Where it comes from, such as the shop's own wear trials.
    pub source: Option<String>,
}
