//! A laminate from its keys: layers, limits and zones at the faces.

use super::amount::{FractureEnergy, Stress};
use super::at::At;
use super::error::did_you_mean;
use super::laminate_table::{
    FaceTable, LaminateTable, LayerTable, LimitKeys, PeckChoice, PlateTable, SpeedsTable, TrimTable,
};
use super::reader::{Given, Pair, Reader};
use crate::job::{
    ExitZone, Extent, Laminate, Layer, LayerLimits, Limit, Material, MaterialClass, PeckRule, PlateData, SpeedBand,
    Substrate, Support, Tolerance, TrimLimits,
};
use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres};

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

/// The laminate of a raw table; `None` when its layers cannot be told.
pub(super) fn laminate(name: &str, raw: &LaminateTable, reader: &mut Reader) -> Option<Laminate> {
    let spec = raw.spec.clone().unwrap_or_default();
    let shared = raw.limits().read(reader, &spec);
    let layers = reader.within("layers", |reader| layers(raw, &shared, &spec, reader));
    let sourced = |reader: &Reader, key: &str| reader.origin(key, &spec);
    let laminate = Laminate {
        name: name.to_owned(),
        layers: Vec::new(),
        tolerance: tolerance(&raw.tolerance, reader),
        support: raw.support.as_ref().map_or(Support::Undeclared, |support| support.value),
        entry: zone("entry", raw.entry.as_ref(), &spec, reader),
        exit: zone("exit", raw.exit.as_ref(), &spec, reader),
        overtravel: reader.limit_from_zero("overtravel", &raw.overtravel, &spec),
        slowest_feed: reader.limit("slowest_feed", &raw.slowest_feed, &spec),
        no_chip_ratio: reader
            .number("no_chip_ratio", raw.no_chip_ratio.as_ref(), 0.0, f64::INFINITY)
            .map(|value| Limit::new(value, sourced(reader, "no_chip_ratio"))),
        coolant: raw.coolant.map(|value| Limit::new(value, sourced(reader, "coolant"))),
        extraction: raw.extraction.map(|value| Limit::new(value, sourced(reader, "extraction"))),
        trim: raw.trim.as_ref().map(|trim| trim.limits(&spec, reader)).unwrap_or_default(),
        worn_edge: reader.limit::<Micrometres>("worn_edge", &raw.worn_edge, &spec),
        spec,
    };
    let laminate = Laminate { layers: layers?, ..laminate };
    faces_in_order(&laminate, raw, reader);
    Some(laminate)
}

/// Tells a feed allowed at a face that the layer there forbids.
fn faces_in_order(laminate: &Laminate, raw: &LaminateTable, reader: &mut Reader) {
    let (first, last) = (laminate.layers.first(), laminate.layers.last());
    for (name, raw, zone, layer) in
        [("entry", &raw.entry, &laminate.entry, first), ("exit", &raw.exit, &laminate.exit, last)]
    {
        let ceiling = layer.and_then(|layer| layer.limits.rev_ceiling.as_ref());
        let (Some(raw), Some(zone), Some(ceiling)) = (raw, zone, ceiling) else { continue };
        if zone.feed.value > ceiling.value {
            let key = reader.key(&format!("{name}.feed"));
            let (feed, most) = (zone.feed.value.0, ceiling.value.0);
            let help =
                format!("{feed} mm/rev is allowed at that face, and the layer there takes {most} mm/rev at most");
            reader.error(raw.span, format!("`{key}` is above the layer's `rev_ceiling`"), Some(help));
        }
    }
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
    let own = raw.limits().read(reader, raw.spec.as_deref().unwrap_or(spec));
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

impl LimitKeys<'_> {
    fn read(&self, reader: &mut Reader, spec: &str) -> LayerLimits {
        let limits = LayerLimits {
            tooth_floor: reader.limit("tooth_floor", self.tooth_floor, spec),
            exit_tooth_floor: reader.limit("exit_tooth_floor", self.exit_tooth_floor, spec),
            rev_floor: reader.limit("rev_floor", self.rev_floor, spec),
            rev_ceiling: reader.limit("rev_ceiling", self.rev_ceiling, spec),
            tooth_ceiling: reader.limit("tooth_ceiling", self.tooth_ceiling, spec),
            speeds: self.speeds.map(|speeds| speeds.bands(reader, spec)).unwrap_or_default(),
            peck: self.peck.and_then(|peck| peck.rule(reader, spec)),
            plate: self.plate.and_then(|plate| plate.data(reader, spec)),
        };
        in_order("tooth", self.tooth_floor, &limits.tooth_floor, &limits.tooth_ceiling, reader);
        in_order("rev", self.rev_floor, &limits.rev_floor, &limits.rev_ceiling, reader);
        if let (Some(raw), Some(floor), Some(ceiling)) = (self.tooth_floor, &limits.tooth_floor, &limits.rev_ceiling)
            && floor.value.0 > ceiling.value.0
        {
            let (floor, ceiling) = (reader.key("tooth_floor"), reader.key("rev_ceiling"));
            let help = "a tool of one edge would have to keep both; look whether one is in another unit".to_owned();
            reader.error(raw.span, format!("`{floor}` for each edge is above `{ceiling}` for each turn"), Some(help));
        }
        limits
    }
}

/// Tells a floor that lies above its ceiling.
fn in_order<T: PartialOrd>(
    name: &str,
    raw: &Given,
    floor: &Option<Limit<T>>,
    ceiling: &Option<Limit<T>>,
    reader: &mut Reader,
) {
    if let (Some(raw), Some(floor), Some(ceiling)) = (raw, floor, ceiling)
        && floor.value > ceiling.value
    {
        let (floor, ceiling) = (reader.key(&format!("{name}_floor")), reader.key(&format!("{name}_ceiling")));
        reader.error(raw.span, format!("`{floor}` is above `{ceiling}`"), None);
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
    let given = raw.as_ref()?;
    if given.value.symbol() == "%" {
        return reader.share("tolerance", given).map(Tolerance::Share);
    }
    reader.not_negative("tolerance", raw).map(Tolerance::Absolute)
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

impl TrimTable {
    fn limits(&self, spec: &str, reader: &mut Reader) -> TrimLimits {
        let spec = self.spec.as_deref().unwrap_or(spec);
        reader.within("trim", |reader| {
            let limits = TrimLimits {
                tooth_floor: reader.limit("tooth_floor", &self.tooth_floor, spec),
                tooth_ceiling: reader.limit("tooth_ceiling", &self.tooth_ceiling, spec),
                ramp: reader.limit("ramp", &self.ramp, spec),
                crossing_margin: reader.limit_from_zero("crossing_margin", &self.crossing_margin, spec),
                overhang: reader.limit_from_zero("overhang", &self.overhang, spec),
            };
            in_order("tooth", &self.tooth_floor, &limits.tooth_floor, &limits.tooth_ceiling, reader);
            if let (Some(raw), Some(ramp)) = (&self.ramp, &limits.ramp)
                && ramp.value.0 > 90.0
            {
                let message = format!("`{}` must be at most 90 deg, not {}", reader.key("ramp"), ramp.value);
                reader.error(raw.span, message, None);
            }
            limits
        })
    }
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
            let delamination = reader.number("delamination", self.delamination.as_ref(), 1.0, f64::INFINITY);
            let origin = reader.origin_here(self.source.as_deref().unwrap_or(spec));
            Some(PlateData {
                modulus: modulus?.0,
                poisson: poisson?,
                fracture_energy: energy?.0,
                safety: safety?,
                delamination,
                origin,
            })
        })
    }
}
