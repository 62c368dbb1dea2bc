//! `[laminate.NAME]`: layers, limits and zones at the faces.

use super::amount::{Amount, FractureEnergy, Stress};
use super::at::At;
use super::error::did_you_mean;
use super::reader::{Given, Pair, Reader};
use crate::job::{
    CoolantRule, ExitZone, Extent, Laminate, Layer, LayerLimits, Limit, Material, MaterialClass, PeckRule, PlateData,
    SpeedBand, Substrate, Support, Tolerance,
};
use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres, MmPerRev};
use schemars::JsonSchema;
use serde::Deserialize;

/// Materials with a name of the trade, and what they count as.
const MATERIALS: [(&str, MaterialClass); 11] = [
    ("carbon-tape", MaterialClass::Carbon),
    ("carbon-fabric", MaterialClass::Carbon),
    ("glass-tape", MaterialClass::Glass),
    ("glass-fabric", MaterialClass::Glass),
    ("aramid-tape", MaterialClass::Aramid),
    ("aramid-fabric", MaterialClass::Aramid),
    ("foam", MaterialClass::Foam),
    ("honeycomb", MaterialClass::Honeycomb),
    ("aluminium", MaterialClass::Aluminium),
    ("titanium", MaterialClass::Titanium),
    ("steel", MaterialClass::Steel),
];

/// A raw table whose keys end in the limits that a laminate and each of its layers may state.
macro_rules! with_limits {
    ($(#[$outer:meta])* struct $name:ident { $($body:tt)* }) => {
        $(#[$outer])*
        #[derive(Debug, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub(super) struct $name {
            $($body)*
            /// Least feed for each edge; bare in mm/tooth or in/tooth.
            tooth_floor: Given,
            /// Least feed for each edge while slowed for the exit.
            exit_tooth_floor: Given,
            /// Most feed for each edge.
            tooth_ceiling: Given,
            /// Least feed for each turn; bare in mm/rev or in/rev.
            rev_floor: Given,
            /// Most feed for each turn.
            rev_ceiling: Given,
            /// Surface-speed bands by tool material; bare in m/min or ft/min.
            speeds: Option<SpeedsTable>,
            /// What is allowed of pecks.
            peck: Option<PeckChoice>,
            /// Data of the critical-thrust plate model.
            plate: Option<PlateTable>,
        }

        impl $name {
            /// The limits stated here.
            fn limits(&self, reader: &mut Reader, spec: &str) -> LayerLimits {
                let limits = LayerLimits {
                    tooth_floor: reader.limit("tooth_floor", &self.tooth_floor, spec),
                    exit_tooth_floor: reader.limit("exit_tooth_floor", &self.exit_tooth_floor, spec),
                    rev_floor: reader.limit("rev_floor", &self.rev_floor, spec),
                    rev_ceiling: reader.limit("rev_ceiling", &self.rev_ceiling, spec),
                    tooth_ceiling: reader.limit("tooth_ceiling", &self.tooth_ceiling, spec),
                    speeds: self.speeds.as_ref().map(|speeds| speeds.bands(reader, spec)).unwrap_or_default(),
                    peck: self.peck.as_ref().and_then(|peck| peck.rule(reader, spec)),
                    plate: self.plate.as_ref().and_then(|plate| plate.data(reader, spec)),
                };
                let above = |low: Option<f64>, high: Option<f64>| matches!((low, high), (Some(low), Some(high)) if low > high);
                let tooth = |limit: &Option<Limit<_>>| limit.as_ref().map(|limit: &Limit<crate::units::MmPerTooth>| limit.value.0);
                let rev = |limit: &Option<Limit<MmPerRev>>| limit.as_ref().map(|limit| limit.value.0);
                for (name, raw, crossed) in [
                    ("tooth", &self.tooth_floor, above(tooth(&limits.tooth_floor), tooth(&limits.tooth_ceiling))),
                    ("rev", &self.rev_floor, above(rev(&limits.rev_floor), rev(&limits.rev_ceiling))),
                ] {
                    if let (true, Some(raw)) = (crossed, raw) {
                        let (floor, ceiling) = (reader.key(&format!("{name}_floor")), reader.key(&format!("{name}_ceiling")));
                        reader.error(raw.span, format!("`{floor}` is above `{ceiling}`"), None);
                    }
                }
                limits
            }
        }
    };
}

with_limits! {
    /// A named laminate or stack.
    struct LaminateTable {
        /// Specification that states the limits; reports print it beside each.
        spec: Option<String>,
        /// Thickness tolerance either way: `"5 %"` or a length. Holds for every layer without its own.
        tolerance: Given,
        /// What stands under the exit face.
        support: Option<At<Support>>,
        /// Layers from entry to exit.
        #[schemars(required)]
        layers: Option<At<Vec<At<LayerTable>>>>,
        /// Feed limit near the entry face.
        entry: Option<At<FaceTable>>,
        /// Feed limit near the exit face.
        exit: Option<At<FaceTable>>,
        /// How far past full diameter a through hole must go.
        overtravel: Given,
        /// Least table feed; slower overheats.
        slowest_feed: Given,
        /// Least chip thickness over edge radius at which a chip still forms.
        no_chip_ratio: Option<At<f64>>,
        /// Coolant while cutting.
        coolant: Option<CoolantRule>,
        /// Whether dust extraction must run before the first cut.
        extraction: Option<bool>,
        /// Edge radius above which a tool counts as worn; bare in um.
        worn_edge: Given,
    }
}

with_limits! {
    /// One layer: plies of one material, or a sheet or core of one thickness.
    struct LayerTable {
        /// Name in reports; the material's when left out.
        name: Option<String>,
        /// `carbon-tape`, `glass-fabric`, `titanium`, ... or the shop's own name with `class`.
        #[schemars(required)]
        material: Option<At<String>>,
        /// What a material of the shop's own counts as.
        class: Option<At<MaterialClass>>,
        /// Number of plies, with `ply`.
        plies: Option<At<u32>>,
        /// Thickness of one ply.
        ply: Given,
        /// Thickness of the whole layer, instead of `plies` and `ply`.
        thickness: Given,
        /// Fibre angle in degrees.
        angle: Given,
        /// Thickness tolerance of this layer.
        tolerance: Given,
        /// Specification of this layer's limits; the laminate's when left out.
        spec: Option<String>,
    }
}

/// Feed limit near a face, with its extent in plies or as a length.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FaceTable {
    /// Most feed for each turn.
    #[schemars(required)]
    feed: Given,
    /// Extent in plies of the layer at that face.
    plies: Option<At<u32>>,
    /// Extent as a length.
    length: Given,
    /// Paragraph that states it.
    spec: Option<String>,
}

/// Least and most surface speed for each tool material.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct SpeedsTable {
    /// For any tool material not named.
    any: Pair,
    /// For high-speed steel.
    hss: Pair,
    /// For uncoated carbide.
    carbide: Pair,
    /// For carbide with CVD diamond.
    diamond_coated: Pair,
    /// For brazed polycrystalline diamond.
    brazed_pcd: Pair,
    /// For veined polycrystalline diamond.
    veined_pcd: Pair,
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
    modulus: Given,
    /// Poisson ratio.
    #[schemars(required)]
    poisson: Option<At<f64>>,
    /// Mode I fracture energy; bare in N/mm.
    #[schemars(required)]
    fracture_energy: Given,
    /// Safety factor on thrust, at least 1.
    #[schemars(required)]
    safety: Option<At<f64>>,
    /// Where the data come from.
    #[schemars(required)]
    source: Option<String>,
}

/// The laminate of a raw table; `None` when its layers cannot be told.
pub(super) fn laminate(name: &str, raw: &LaminateTable, reader: &mut Reader) -> Option<Laminate> {
    let spec = raw.spec.clone().unwrap_or_default();
    let shared = raw.limits(reader, &spec);
    let layers = reader.within("layers", |reader| layers(raw, &shared, &spec, reader));
    let sourced = |reader: &Reader, key: &str| reader.origin(key, &spec);
    Some(Laminate {
        name: name.to_owned(),
        layers: layers?,
        tolerance: tolerance(&raw.tolerance, reader),
        support: raw.support.as_ref().map_or(Support::Undeclared, |support| support.value),
        entry: zone("entry", raw.entry.as_ref(), &spec, reader),
        exit: zone("exit", raw.exit.as_ref(), &spec, reader),
        overtravel: reader
            .not_negative("overtravel", &raw.overtravel)
            .map(|value| Limit::new(value, sourced(reader, "overtravel"))),
        slowest_feed: reader.limit("slowest_feed", &raw.slowest_feed, &spec),
        no_chip_ratio: reader
            .number("no_chip_ratio", raw.no_chip_ratio.as_ref(), 0.0, f64::INFINITY)
            .map(|value| Limit::new(value, sourced(reader, "no_chip_ratio"))),
        coolant: raw.coolant.map(|value| Limit::new(value, sourced(reader, "coolant"))),
        extraction: raw.extraction.map(|value| Limit::new(value, sourced(reader, "extraction"))),
        worn_edge: reader.limit::<Micrometres>("worn_edge", &raw.worn_edge, &spec),
        spec,
    })
}

fn layers(raw: &LaminateTable, shared: &LayerLimits, spec: &str, reader: &mut Reader) -> Option<Vec<Layer>> {
    let list = raw.layers.as_ref()?;
    if list.value.is_empty() {
        reader.error(list.span, format!("`{}` is empty", reader.path()), Some("give at least one layer".to_owned()));
        return None;
    }
    let read = |(index, layer): (usize, &At<LayerTable>)| {
        let number = (index + 1).to_string();
        reader.within(&number, |reader| layer_of(layer, shared, spec, reader))
    };
    // Every layer is read before the first bad one ends the laminate, so that each fault is told.
    let layers: Vec<Option<Layer>> = list.value.iter().enumerate().map(read).collect();
    layers.into_iter().collect()
}

fn layer_of(raw: &At<LayerTable>, shared: &LayerLimits, spec: &str, reader: &mut Reader) -> Option<Layer> {
    let At { value: raw, span } = raw;
    let material = material(raw, reader);
    let plies = reader.count("plies", raw.plies.as_ref());
    let ply = reader.positive::<Millimetres>("ply", &raw.ply);
    let thickness = reader.positive::<Millimetres>("thickness", &raw.thickness);
    let told = match (&raw.thickness, &raw.plies, &raw.ply) {
        (Some(_), None, None) => thickness.map(|thickness| (1, thickness)),
        (None, Some(_), Some(_)) => plies.zip(ply),
        (None, None, Some(_)) => ply.map(|ply| (1, ply)),
        _ => {
            let help = "give `plies` and `ply`, or `thickness` alone".to_owned();
            reader.error(*span, format!("thickness of `{}` is not clear", reader.path()), Some(help));
            None
        }
    };
    let own = raw.limits(reader, raw.spec.as_deref().unwrap_or(spec));
    let angle = reader.any::<Degrees>("angle", &raw.angle).map(|angle| angle.0);
    let tolerance = tolerance(&raw.tolerance, reader);
    let ((plies, ply), material) = told.zip(material)?;
    let name = raw.name.clone().unwrap_or_else(|| material.name.clone());
    Some(Layer { name, material, plies, ply, angle, tolerance, limits: merged(own, shared) })
}

/// A layer's own limits, and the laminate's where it has none.
fn merged(own: LayerLimits, shared: &LayerLimits) -> LayerLimits {
    LayerLimits {
        tooth_floor: own.tooth_floor.or_else(|| shared.tooth_floor.clone()),
        exit_tooth_floor: own.exit_tooth_floor.or_else(|| shared.exit_tooth_floor.clone()),
        rev_floor: own.rev_floor.or_else(|| shared.rev_floor.clone()),
        rev_ceiling: own.rev_ceiling.or_else(|| shared.rev_ceiling.clone()),
        tooth_ceiling: own.tooth_ceiling.or_else(|| shared.tooth_ceiling.clone()),
        speeds: if own.speeds.is_empty() { shared.speeds.clone() } else { own.speeds },
        peck: own.peck.or_else(|| shared.peck.clone()),
        plate: own.plate.or_else(|| shared.plate.clone()),
    }
}

fn material(raw: &LayerTable, reader: &mut Reader) -> Option<Material> {
    let At { value: name, span } = raw.material.as_ref()?;
    let known = MATERIALS.iter().find(|(known, _)| known == name).map(|(_, class)| *class);
    let given = raw.class.as_ref();
    match (known, given) {
        (Some(known), Some(given)) if known != given.value => {
            reader.error(given.span, format!("`{name}` cannot count as another class of material"), None);
            None
        }
        (Some(class), _) => Some(Material { name: name.clone(), class }),
        (None, Some(given)) => Some(Material { name: name.clone(), class: given.value }),
        (None, None) => {
            let known = MATERIALS.map(|(known, _)| known);
            let help = did_you_mean(name, &known).unwrap_or_default();
            let own = "a material of your own needs a class, such as `class = \"carbon\"`";
            reader.error(*span, format!("unknown material `{name}`"), Some(format!("{help} ({own})")));
            None
        }
    }
}

/// A share such as `5 %`, or a length either way.
fn tolerance(raw: &Given, reader: &mut Reader) -> Option<Tolerance> {
    let At { value, span } = raw.as_ref()?;
    if value.symbol() != "%" {
        return reader.not_negative("tolerance", raw).map(Tolerance::Absolute);
    }
    let share = value.number() / 100.0;
    if !(0.0..1.0).contains(&share) {
        reader.error(*span, format!("`{}` must be from 0 to under 100 %", reader.key("tolerance")), None);
        return None;
    }
    Some(Tolerance::Share(share))
}

fn zone(name: &str, raw: Option<&At<FaceTable>>, spec: &str, reader: &mut Reader) -> Option<ExitZone> {
    let At { value: raw, span } = raw?;
    reader.within(name, |reader| {
        let feed = reader.limit("feed", &raw.feed, raw.spec.as_deref().unwrap_or(spec));
        let extent = match (&raw.plies, &raw.length) {
            (Some(plies), None) => reader.count("plies", Some(plies)).map(Extent::Plies),
            (None, length @ Some(_)) => reader.positive("length", length).map(Extent::Length),
            _ => {
                let help = "give either `plies` or `length`".to_owned();
                reader.error(*span, format!("how far `{}` reaches is not clear", reader.path()), Some(help));
                None
            }
        };
        Some(ExitZone { feed: feed?, extent: extent? })
    })
}

impl SpeedsTable {
    fn bands(&self, reader: &mut Reader, spec: &str) -> Vec<SpeedBand> {
        let by_material = [
            ("hss", &self.hss, Some(Substrate::Hss)),
            ("carbide", &self.carbide, Some(Substrate::Carbide)),
            ("diamond-coated", &self.diamond_coated, Some(Substrate::DiamondCoated)),
            ("brazed-pcd", &self.brazed_pcd, Some(Substrate::BrazedPcd)),
            ("veined-pcd", &self.veined_pcd, Some(Substrate::VeinedPcd)),
            ("any", &self.any, None),
        ];
        reader.within("speeds", |reader| {
            let band = |(name, raw, tool): (&str, &Pair, Option<Substrate>)| {
                let band = reader.pair::<MetresPerMin>(name, raw)?;
                Some(SpeedBand { tool, band: Limit::new(band, reader.origin(name, spec)) })
            };
            by_material.into_iter().filter_map(band).collect()
        })
    }
}

impl PeckChoice {
    fn rule(&self, reader: &mut Reader, spec: &str) -> Option<Limit<PeckRule>> {
        let rule = match self {
            Self::Forbidden => Some(PeckRule::Forbidden),
            Self::FullRetract(depth) => reader.one("peck.full_retract", depth).map(PeckRule::FullRetract),
            Self::ChipBreak(depth) => reader.one("peck.chip_break", depth).map(PeckRule::ChipBreak),
            Self::AtMost(depth) => reader.one("peck.at_most", depth).map(PeckRule::AtMost),
        };
        Some(Limit::new(rule?, reader.origin("peck", spec)))
    }
}

impl PlateTable {
    fn data(&self, reader: &mut Reader, spec: &str) -> Option<PlateData> {
        reader.within("plate", |reader| {
            let modulus = reader.positive::<Stress>("modulus", &self.modulus);
            let poisson = reader.number("poisson", self.poisson.as_ref(), 0.0, 0.5);
            let energy = reader.positive::<FractureEnergy>("fracture_energy", &self.fracture_energy);
            let safety = reader.number("safety", self.safety.as_ref(), 1.0, f64::INFINITY);
            let origin = reader.origin_here(self.source.as_deref().unwrap_or(spec));
            Some(PlateData {
                modulus: modulus?.0,
                poisson: poisson?,
                fracture_energy: energy?.0,
                safety: safety?,
                origin,
            })
        })
    }
}
