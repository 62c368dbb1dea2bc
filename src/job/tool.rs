//! Tools: every kind of the trade with its own geometry, material, wear and life.

use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres};
use schemars::JsonSchema;
use serde::Deserialize;

/// `[tool.N]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// Tool number.
    pub number: u32,
    /// Words for people, such as `carbide drill 12.0`.
    pub label: String,
    /// Kind and the geometry only that kind has.
    pub kind: ToolKind,
    /// Cutting diameter.
    pub diameter: Millimetres,
    /// Cutting edges (lips, flutes), effective; for a compression router those of one hand.
    pub edges: Option<u32>,
    /// Helix angle; 0 for straight flutes.
    pub helix: Option<Degrees>,
    /// Length with cutting flutes.
    pub flute_length: Option<Millimetres>,
    /// Length that stands out of the holder.
    pub stick_out: Option<Millimetres>,
    /// What the edge is made of.
    pub substrate: Option<Substrate>,
    /// Thickness of a coating; it adds to the edge radius.
    pub coating: Option<Micrometres>,
    /// Radius of the cutting edge, substrate and coating together as now worn.
    pub edge_radius: Option<Micrometres>,
    /// Thrust times this when worn; at least 1.
    pub wear_factor: Option<f64>,
    /// How much one tool may do.
    pub life: Vec<LifeLimit>,
    /// How that life falls with surface speed.
    pub life_law: Option<LifeLaw>,
    /// Done already before this program starts, in the unit of `life`.
    pub used: f64,
    /// Length-offset number that belongs to this tool; its own number when `None`.
    pub length_offset: Option<u32>,
    /// Radius-offset number that belongs to this tool; its own number when `None`.
    pub radius_offset: Option<u32>,
    /// Length to put in the offset table, if known.
    pub length: Option<Millimetres>,
    /// Holder above the stick-out, from the lowest part up.
    pub holder: Vec<HolderPart>,
    /// Most spindle speed.
    pub max_speed: Option<crate::units::RevPerMin>,
    /// Thrust law F = c f^m D^p with f in mm/rev, D in mm, F in N.
    pub thrust: Option<ThrustLaw>,
}

/// One part of a holder: a cylinder, or a cone when the diameters differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HolderPart {
    /// Length along the axis.
    pub length: Millimetres,
    /// Diameter at its lower end.
    pub lower: Millimetres,
    /// Diameter at its upper end.
    pub upper: Millimetres,
}

/// Life against surface speed: the stated life holds up to a speed, and falls by a power of it from there on.
#[derive(Clone, Debug, PartialEq)]
pub struct LifeLaw {
    /// Surface speed that the stated life holds at, m/min.
    pub at: MetresPerMin,
    /// Power of speed by which the life falls; with 2 a doubled speed leaves a quarter.
    pub exponent: f64,
    /// Highest surface speed the law was found on, m/min.
    pub up_to: MetresPerMin,
    /// Where it comes from.
    pub origin: String,
}

/// Thrust of a sharp tool against feed.
#[derive(Clone, Debug, PartialEq)]
pub struct ThrustLaw {
    /// Coefficient.
    pub c: f64,
    /// Exponent of feed.
    pub m: f64,
    /// Exponent of diameter.
    pub p: f64,
    /// Least and most feed the law was fitted on, mm/rev.
    pub valid: (f64, f64),
    /// Least and most diameter it was fitted on, mm, where that is said; the tool's own lies between.
    pub diameters: Option<(f64, f64)>,
    /// Where it comes from.
    pub origin: String,
}

/// One cone of a drill point: the diameter it ends at and its included angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cone {
    /// Diameter at the large end.
    pub to: Millimetres,
    /// Included angle.
    pub angle: Degrees,
}

/// How the tool meets the exit, for load shapes of the plate model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lip {
    /// Chisel edge in the centre.
    Chisel,
    /// Spurs or a rim at the periphery.
    Rim,
    /// No axial point at all.
    Flat,
}

/// Tool kinds of the trade. `point` angles are included angles; `None` where the job leaves them out.
#[derive(Clone, Debug, PartialEq)]
pub enum ToolKind {
    /// Helical drill with one cone.
    TwistDrill {
        /// Point angle.
        point: Option<Degrees>,
    },
    /// Drill with straight flutes.
    StraightFluteDrill {
        /// Point angle.
        point: Option<Degrees>,
    },
    /// Drill with several cones, tip first.
    MultiAngleDrill {
        /// Cones from the tip out.
        cones: Vec<Cone>,
    },
    /// Drill with a pilot step.
    StepDrill {
        /// Pilot diameter.
        pilot: Millimetres,
        /// Pilot point angle.
        point: Option<Degrees>,
        /// Length of the pilot cylinder.
        step: Millimetres,
        /// Included angle of the step.
        step_angle: Degrees,
    },
    /// Spade or dagger drill: a short cone and a long taper.
    SpadeDrill {
        /// Cones from the tip out.
        cones: Vec<Cone>,
    },
    /// Drill and reamer in one.
    DrillReamer {
        /// Diameter of the drilling part.
        drill: Millimetres,
        /// Point angle.
        point: Option<Degrees>,
        /// Length from the drill corner to full reamed diameter.
        lead: Millimetres,
    },
    /// Reamer.
    Reamer {
        /// Length of the lead, tip to full diameter.
        lead: Option<Millimetres>,
    },
    /// Hollow drill.
    CoreDrill {
        /// Wall thickness.
        wall: Millimetres,
    },
    /// Brad point: spurs at the rim cut before the centre.
    BradPointDrill {
        /// Height of the centre point beyond the rim.
        tip: Millimetres,
    },
    /// Countersink.
    Countersink {
        /// Included angle.
        angle: Degrees,
        /// Diameter of the pilot or flat at the tip.
        tip: Millimetres,
    },
    /// End mill.
    EndMill {
        /// Whether end teeth cut to the centre.
        end_cutting: bool,
        /// Corner radius.
        corner: Millimetres,
    },
    /// Plain router for edges.
    Router {
        /// Whether end teeth cut to the centre.
        end_cutting: bool,
    },
    /// Router with opposed helices.
    CompressionRouter {
        /// Up-cut length from the tip to the crossing.
        up_cut: Millimetres,
        /// Whether end teeth cut to the centre.
        end_cutting: bool,
    },
    /// Rougher with nicked edges.
    SerratedRougher {
        /// Whether end teeth cut to the centre.
        end_cutting: bool,
    },
    /// Ball mill.
    BallMill,
}

impl ToolKind {
    /// The kind's name in job files and reports.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::TwistDrill { .. } => "twist-drill",
            Self::StraightFluteDrill { .. } => "straight-flute-drill",
            Self::MultiAngleDrill { .. } => "multi-angle-drill",
            Self::StepDrill { .. } => "step-drill",
            Self::SpadeDrill { .. } => "spade-drill",
            Self::DrillReamer { .. } => "drill-reamer",
            Self::Reamer { .. } => "reamer",
            Self::CoreDrill { .. } => "core-drill",
            Self::BradPointDrill { .. } => "brad-point-drill",
            Self::Countersink { .. } => "countersink",
            Self::EndMill { .. } => "end-mill",
            Self::Router { .. } => "router",
            Self::CompressionRouter { .. } => "compression-router",
            Self::SerratedRougher { .. } => "serrated-rougher",
            Self::BallMill => "ball-mill",
        }
    }

    /// Whether it makes holes by plunging along its axis.
    #[must_use]
    pub fn makes_holes(&self) -> bool {
        match self {
            Self::TwistDrill { .. }
            | Self::StraightFluteDrill { .. }
            | Self::MultiAngleDrill { .. }
            | Self::StepDrill { .. }
            | Self::SpadeDrill { .. }
            | Self::DrillReamer { .. }
            | Self::Reamer { .. }
            | Self::CoreDrill { .. }
            | Self::BradPointDrill { .. }
            | Self::Countersink { .. } => true,
            Self::EndMill { .. }
            | Self::Router { .. }
            | Self::CompressionRouter { .. }
            | Self::SerratedRougher { .. }
            | Self::BallMill => false,
        }
    }

    /// Whether it opens whole plies along its axis; reamers and countersinks only widen what is open.
    #[must_use]
    pub fn drills(&self) -> bool {
        self.makes_holes() && !matches!(self, Self::Reamer { .. } | Self::Countersink { .. })
    }
}

/// What the cutting edge is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Substrate {
    /// High-speed steel.
    Hss,
    /// Uncoated carbide.
    Carbide,
    /// Carbide with CVD diamond.
    DiamondCoated,
    /// Brazed polycrystalline diamond.
    BrazedPcd,
    /// Veined polycrystalline diamond.
    VeinedPcd,
}

/// Tool materials as speed bands sort them.
pub type ToolMaterialClass = Substrate;

/// How much one tool may do before it is changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LifeLimit {
    /// Holes.
    Holes(u32),
    /// Metres of material cut.
    Metres(f64),
}
