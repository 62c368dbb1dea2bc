//! The keys of `[laminate.NAME]`.

use super::amount::Amount;
use super::at::At;
use super::reader::{Given, Pair};
use crate::job::{CoolantRule, MaterialClass, Support};
use schemars::JsonSchema;
use serde::Deserialize;

/// A table whose keys end in the limits that a laminate and each of its layers may state. Written as a macro because
/// serde loses the places of values in a flattened struct.
macro_rules! with_limits {
    ($(#[$outer:meta])* struct $name:ident { $($body:tt)* }) => {
        $(#[$outer])*
        #[derive(Debug, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub(super) struct $name {
            $($body)*
            /// Least feed for each edge; bare in mm/tooth or in/tooth.
            pub tooth_floor: Given,
            /// Least feed for each edge while slowed for the exit.
            pub exit_tooth_floor: Given,
            /// Most feed for each edge.
            pub tooth_ceiling: Given,
            /// Least feed for each turn; bare in mm/rev or in/rev.
            pub rev_floor: Given,
            /// Most feed for each turn.
            pub rev_ceiling: Given,
            /// Surface-speed bands by tool material; bare in m/min or ft/min.
            pub speeds: Option<SpeedsTable>,
            /// What is allowed of pecks.
            pub peck: Option<PeckChoice>,
            /// Data of the critical-thrust plate model.
            pub plate: Option<PlateTable>,
        }

        impl $name {
            /// The limits stated here.
            pub fn limits(&self) -> LimitKeys<'_> {
                LimitKeys {
                    tooth_floor: &self.tooth_floor,
                    exit_tooth_floor: &self.exit_tooth_floor,
                    tooth_ceiling: &self.tooth_ceiling,
                    rev_floor: &self.rev_floor,
                    rev_ceiling: &self.rev_ceiling,
                    speeds: self.speeds.as_ref(),
                    peck: self.peck.as_ref(),
                    plate: self.plate.as_ref(),
                }
            }
        }
    };
}

with_limits! {
    /// A named laminate or stack.
    struct LaminateTable {
        /// Specification that states the limits; reports print it beside each.
        pub spec: Option<String>,
        /// Thickness tolerance either way: `"5 %"` or a length. Holds for every layer without its own.
        pub tolerance: Given,
        /// What stands under the exit face.
        pub support: Option<At<Support>>,
        /// Layers from entry to exit.
        #[schemars(required)]
        pub layers: Option<At<Vec<At<LayerTable>>>>,
        /// Feed limit near the entry face.
        pub entry: Option<At<FaceTable>>,
        /// Feed limit near the exit face.
        pub exit: Option<At<FaceTable>>,
        /// How far past full diameter a through hole must go.
        pub overtravel: Given,
        /// Least table feed; slower overheats.
        pub slowest_feed: Given,
        /// Least chip thickness over edge radius at which a chip still forms.
        pub no_chip_ratio: Option<At<f64>>,
        /// Coolant while cutting.
        pub coolant: Option<CoolantRule>,
        /// Whether dust extraction must run before the first cut.
        pub extraction: Option<bool>,
        /// Edge radius above which a tool counts as worn; bare in um.
        pub worn_edge: Given,
        /// Limits of trimming.
        pub trim: Option<TrimTable>,
    }
}

with_limits! {
    /// One layer: plies of one material, or a sheet or core of one thickness.
    struct LayerTable {
        /// Name in reports; the material's when left out.
        pub name: Option<String>,
        /// `carbon-tape`, `glass-fabric`, `titanium`, ... or the shop's own name with `class`.
        #[schemars(required)]
        pub material: Option<At<String>>,
        /// What a material of the shop's own counts as.
        pub class: Option<At<MaterialClass>>,
        /// Number of plies, with `ply`.
        pub plies: Option<At<u32>>,
        /// Thickness of one ply.
        pub ply: Given,
        /// Thickness of the whole layer, instead of `plies` and `ply`.
        pub thickness: Given,
        /// Fibre angle in degrees.
        pub angle: Given,
        /// Thickness tolerance of this layer.
        pub tolerance: Given,
        /// Specification of this layer's limits; the laminate's when left out.
        pub spec: Option<String>,
    }
}

/// The limits of a laminate or a layer as the file states them.
pub(super) struct LimitKeys<'t> {
    pub tooth_floor: &'t Given,
    pub exit_tooth_floor: &'t Given,
    pub tooth_ceiling: &'t Given,
    pub rev_floor: &'t Given,
    pub rev_ceiling: &'t Given,
    pub speeds: Option<&'t SpeedsTable>,
    pub peck: Option<&'t PeckChoice>,
    pub plate: Option<&'t PlateTable>,
}

/// Limits of trimming.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TrimTable {
    /// Least chip, as feed for each edge after radial thinning.
    pub tooth_floor: Given,
    /// Most feed for each edge at the wall.
    pub tooth_ceiling: Given,
    /// Steepest ramp into material, in degrees.
    pub ramp: Given,
    /// How far inside the laminate the crossing of a compression router must lie, from either face.
    pub crossing_margin: Given,
    /// How far a cutter must stand out below the bottom face.
    pub overhang: Given,
    /// Paragraph that states them; the laminate's specification when left out.
    pub spec: Option<String>,
}

/// Feed limit near a face, with its extent in plies or as a length.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FaceTable {
    /// Most feed for each turn.
    #[schemars(required)]
    pub feed: Given,
    /// Extent in plies of the layer at that face.
    pub plies: Option<At<u32>>,
    /// Extent as a length.
    pub length: Given,
    /// Paragraph that states it.
    pub spec: Option<String>,
}

/// Least and most surface speed for each tool material.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct SpeedsTable {
    /// For any tool material not named.
    pub any: Pair,
    /// For high-speed steel.
    pub hss: Pair,
    /// For uncoated carbide.
    pub carbide: Pair,
    /// For carbide with CVD diamond.
    pub diamond_coated: Pair,
    /// For brazed polycrystalline diamond.
    pub brazed_pcd: Pair,
    /// For veined polycrystalline diamond.
    pub veined_pcd: Pair,
}

/// What a layer allows of pecks.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum PeckChoice {
    /// No pecks.
    Forbidden,
    /// Pecks required with full retract, none deeper than this.
    FullRetract(At<Amount>),
    /// Pecks required with a short back-off, none deeper than this.
    ChipBreak(At<Amount>),
    /// Pecks allowed, none deeper than this.
    AtMost(At<Amount>),
}

/// Data of the critical-thrust plate model.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PlateTable {
    /// Modulus of the isotropic stand-in plate; bare in N/mm2.
    #[schemars(required)]
    pub modulus: Given,
    /// Poisson ratio.
    #[schemars(required)]
    pub poisson: Option<At<f64>>,
    /// Mode I fracture energy; bare in N/mm.
    #[schemars(required)]
    pub fracture_energy: Given,
    /// Safety factor on thrust, at least 1.
    #[schemars(required)]
    pub safety: Option<At<f64>>,
    /// Largest delamination factor that is let pass, at least 1: tools that cut at the rim first are then not taken for
    /// a point load.
    pub delamination: Option<At<f64>>,
    /// Where the data come from.
    #[schemars(required)]
    pub source: Option<String>,
}
