//! Laminates and stacks: layers from entry to exit, and the limits their specification states.

use super::Limit;
use crate::units::{MetresPerMin, Micrometres, Millimetres, MmPerRev, MmPerTooth};
use schemars::JsonSchema;
use serde::Deserialize;

/// The material of a layer, as the job names it and as the rules sort it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Material {
    /// The shop's name, such as `carbon-fabric` or `7075`.
    pub name: String,
    /// What it counts as.
    pub class: MaterialClass,
}

/// What a layer counts as for the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MaterialClass {
    /// Carbon fibre, tape or fabric.
    Carbon,
    /// Glass fibre, tape or fabric.
    Glass,
    /// Aramid fibre, tape or fabric.
    Aramid,
    /// Foam core.
    Foam,
    /// Honeycomb core.
    Honeycomb,
    /// Aluminium.
    Aluminium,
    /// Titanium.
    Titanium,
    /// Steel.
    Steel,
    /// The user's own; rules that need a class are not checked on it.
    Other,
}

impl MaterialClass {
    /// Whether it is a fibre laminate, which delaminates at an unsupported exit.
    #[must_use]
    pub fn is_laminate(self) -> bool {
        matches!(self, Self::Carbon | Self::Glass | Self::Aramid)
    }

    /// Whether it is a metal, which makes chips and burrs.
    #[must_use]
    pub fn is_metal(self) -> bool {
        matches!(self, Self::Aluminium | Self::Titanium | Self::Steel)
    }

    /// Whether it is a core, which no fibre rule speaks of.
    #[must_use]
    pub fn is_core(self) -> bool {
        matches!(self, Self::Foam | Self::Honeycomb)
    }
}

/// One layer of a stack: plies of one material, or a metal sheet (one ply).
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Name in reports; the material's name unless the job gives one.
    pub name: String,
    /// Material.
    pub material: Material,
    /// Number of plies.
    pub plies: u32,
    /// Thickness of one ply.
    pub ply: Millimetres,
    /// Fibre angle, where the job gives it.
    pub angle: Option<f64>,
    /// Thickness tolerance of this layer; the laminate's when `None`.
    pub tolerance: Option<Tolerance>,
    /// Limits stated for this layer, laminate-wide ones already merged in.
    pub limits: LayerLimits,
}

impl Layer {
    /// Nominal thickness.
    #[must_use]
    pub fn thickness(&self) -> Millimetres {
        Millimetres(self.ply.0 * f64::from(self.plies))
    }

    /// Least and most surface speed for a tool: of the band for what its edge is made of, else of the one for any.
    #[must_use]
    pub fn speed_band(&self, tool: &super::Tool) -> Option<&Limit<(MetresPerMin, MetresPerMin)>> {
        let own = self.limits.speeds.iter().find(|band| band.tool.is_some() && band.tool == tool.substrate);
        own.or_else(|| self.limits.speeds.iter().find(|band| band.tool.is_none())).map(|band| &band.band)
    }
}

/// Limits of one layer; each `None` is a check that cannot be made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LayerLimits {
    /// Least feed for each edge.
    pub tooth_floor: Option<Limit<MmPerTooth>>,
    /// Least feed for each edge while slowed for the exit; `tooth_floor` when `None`.
    pub exit_tooth_floor: Option<Limit<MmPerTooth>>,
    /// Least feed for each turn.
    pub rev_floor: Option<Limit<MmPerRev>>,
    /// Most feed for each turn.
    pub rev_ceiling: Option<Limit<MmPerRev>>,
    /// Most feed for each edge.
    pub tooth_ceiling: Option<Limit<MmPerTooth>>,
    /// Surface-speed bands by tool material.
    pub speeds: Vec<SpeedBand>,
    /// What the layer's rule says of pecks.
    pub peck: Option<Limit<PeckRule>>,
    /// Data of the critical-thrust plate model.
    pub plate: Option<PlateData>,
}

/// Surface-speed band for one class of tool material.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeedBand {
    /// Tool material it holds for; `None` for any.
    pub tool: Option<super::ToolMaterialClass>,
    /// Least and most surface speed.
    pub band: Limit<(MetresPerMin, MetresPerMin)>,
}

/// What a layer's rule says of pecks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PeckRule {
    /// No pecks in this layer.
    Forbidden,
    /// Pecks required, none deeper than this, with full retract.
    FullRetract(Millimetres),
    /// Pecks required, none deeper than this, with a short back-off (chip break).
    ChipBreak(Millimetres),
    /// Pecks allowed, none deeper than this.
    AtMost(Millimetres),
}

/// Elastic and fracture data of the plies under the tool (units N/mm2 and N/mm).
#[derive(Clone, Debug, PartialEq)]
pub struct PlateData {
    /// In-plane modulus of the isotropic stand-in plate, N/mm2.
    pub modulus: f64,
    /// Poisson ratio.
    pub poisson: f64,
    /// Mode I fracture energy, N/mm.
    pub fracture_energy: f64,
    /// Safety factor on thrust, at least 1.
    pub safety: f64,
    /// Largest delamination factor that is let pass, at least 1; without it every tool counts as a point load.
    pub delamination: Option<f64>,
    /// Where the data come from.
    pub origin: String,
}

/// Thickness tolerance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tolerance {
    /// Share of the thickness, 0.05 for 5 %.
    Share(f64),
    /// Millimetres either way.
    Absolute(Millimetres),
}

impl Tolerance {
    /// Millimetres either way on `thickness`.
    #[must_use]
    pub fn on(self, thickness: Millimetres) -> Millimetres {
        match self {
            Self::Share(share) => thickness * share,
            Self::Absolute(by) => by,
        }
    }
}

/// How far a zone at a face reaches into the laminate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Extent {
    /// So many plies of the layer at that face.
    Plies(u32),
    /// So far.
    Length(Millimetres),
}

/// A feed limit near the entry or the exit face.
#[derive(Clone, Debug, PartialEq)]
pub struct ExitZone {
    /// Most feed for each turn in the zone.
    pub feed: Limit<MmPerRev>,
    /// How far the zone reaches from the face.
    pub extent: Extent,
}

/// What stands under the exit face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Support {
    /// Nothing is declared: counts as unsupported, and reports say so.
    #[default]
    #[serde(skip)]
    Undeclared,
    /// Nothing.
    None,
    /// A backing pressed against the face.
    Backed,
}

/// What the laminate says of coolant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CoolantRule {
    /// Cut dry: coolant on is a finding.
    Dry,
    /// Mist or flood wanted while cutting.
    Wet,
    /// Dry in laminate, wet in metal.
    WetInMetal,
}

/// A named laminate or stack.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laminate {
    /// Name in the job file.
    pub name: String,
    /// Specification that states the limits.
    pub spec: String,
    /// Layers from entry to exit.
    pub layers: Vec<Layer>,
    /// Thickness tolerance of every layer without its own.
    pub tolerance: Option<Tolerance>,
    /// What stands under the exit face.
    pub support: Support,
    /// Feed limit at entry.
    pub entry: Option<ExitZone>,
    /// Feed limit at exit.
    pub exit: Option<ExitZone>,
    /// How far past full diameter a through hole must go.
    pub overtravel: Option<Limit<Millimetres>>,
    /// Least feed: slower overheats (see the manual's seconds-per-inch rule).
    pub slowest_feed: Option<Limit<crate::units::MmPerMin>>,
    /// Least chip thickness over edge radius under which no chip forms at all; dimensionless.
    pub no_chip_ratio: Option<Limit<f64>>,
    /// Coolant.
    pub coolant: Option<Limit<CoolantRule>>,
    /// Whether dust extraction must run before the first cut.
    pub extraction: Option<Limit<bool>>,
    /// Limits of trimming.
    pub trim: super::TrimLimits,
    /// Edge radius above which the tool counts as worn.
    pub worn_edge: Option<Limit<Micrometres>>,
}

impl Default for Layer {
    fn default() -> Self {
        Self {
            name: String::new(),
            material: Material { name: String::new(), class: MaterialClass::Other },
            plies: 1,
            ply: Millimetres(0.0),
            angle: None,
            tolerance: None,
            limits: LayerLimits::default(),
        }
    }
}

impl Laminate {
    /// Nominal total thickness.
    #[must_use]
    pub fn thickness(&self) -> Millimetres {
        Millimetres(self.layers.iter().map(|layer| layer.thickness().0).sum())
    }

    /// Tolerance of one layer, either way; zero when none is stated anywhere.
    #[must_use]
    pub fn tolerance_of(&self, layer: &Layer) -> Millimetres {
        layer.tolerance.or(self.tolerance).map_or(Millimetres(0.0), |tolerance| tolerance.on(layer.thickness()))
    }

    /// Thinnest and thickest the first `count` layers may come out.
    #[must_use]
    pub fn span_of(&self, count: usize) -> (Millimetres, Millimetres) {
        let (mut thin, mut thick) = (0.0, 0.0);
        for layer in self.layers.iter().take(count) {
            let by = self.tolerance_of(layer).0;
            thin += layer.thickness().0 - by;
            thick += layer.thickness().0 + by;
        }
        (Millimetres(thin), Millimetres(thick))
    }

    /// Whether the exit can push plies out: the last layer is a laminate and nothing backs it.
    #[must_use]
    pub fn exit_at_risk(&self) -> bool {
        self.layers.last().is_some_and(|layer| layer.material.class.is_laminate()) && self.support != Support::Backed
    }
}
