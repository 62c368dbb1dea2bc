//! A tool from its keys: the kind with its own geometry, the edge, wear and life.

use super::at::At;
use super::life;
use super::reader::{Given, Reader};
use super::thrust;
use super::tool_table::{HolderTable, Kind, ToolTable};
use crate::job::{Cone, HolderPart, Tool, ToolKind};
use crate::source::Span;
use crate::units::{Degrees, Micrometres, Millimetres};

/// The tool of a raw table; `None` when its kind or diameter cannot be told.
pub(super) fn tool(number: u32, raw: &At<ToolTable>, reader: &mut Reader) -> Option<Tool> {
    let At { value: raw, span } = raw;
    let diameter = reader.positive::<Millimetres>("diameter", &raw.diameter);
    let kind = raw.kind.and_then(|kind| {
        reject_foreign(kind, raw, reader);
        geometry(kind, raw, *span, diameter, reader)
    });
    let edges = reader.count("edges", raw.edges.as_ref());
    let thrust =
        raw.thrust.as_ref().and_then(|thrust| reader.within("thrust", |reader| thrust::law(thrust, diameter, reader)));
    let (life, life_law) = raw.life.as_ref().map(|life| life::of(life, reader)).unwrap_or_default();
    let tool = Tool {
        number,
        label: raw.label.clone().unwrap_or_default(),
        kind: ToolKind::BallMill,
        diameter: Millimetres(0.0),
        edges,
        helix: reader.any("helix", &raw.helix),
        flute_length: reader.positive("flute_length", &raw.flute_length),
        stick_out: reader.positive("stick_out", &raw.stick_out),
        substrate: raw.material,
        coating: reader.not_negative("coating", &raw.coating),
        edge_radius: reader.positive::<Micrometres>("edge_radius", &raw.edge_radius),
        wear_factor: reader.number("wear_factor", raw.wear_factor.as_ref(), 1.0, f64::INFINITY),
        life,
        life_law,
        used: reader.number("used", raw.used.as_ref(), 0.0, f64::INFINITY).unwrap_or(0.0),
        length_offset: raw.length_offset.as_ref().map(|offset| offset.value),
        radius_offset: raw.radius_offset.as_ref().map(|offset| offset.value),
        length: reader.positive("length", &raw.length),
        max_speed: reader.positive("max_speed", &raw.max_speed),
        holder: holder(raw, reader),
        thrust,
    };
    let (kind, diameter) = kind.zip(diameter)?;
    let label = if tool.label.is_empty() { format!("{} {diameter}", kind.name()) } else { tool.label };
    Some(Tool { kind, diameter, label, ..tool })
}

/// Geometry keys each kind has; the others are foreign to it.
fn own_keys(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::TwistDrill | Kind::StraightFluteDrill => &["point"],
        Kind::MultiAngleDrill | Kind::SpadeDrill => &["cones"],
        Kind::StepDrill => &["pilot", "point", "step", "step_angle"],
        Kind::DrillReamer => &["drill", "point", "lead"],
        Kind::Reamer => &["lead"],
        Kind::CoreDrill => &["wall"],
        Kind::BradPointDrill => &["tip"],
        Kind::Countersink => &["angle", "tip"],
        Kind::EndMill => &["end_cutting", "corner"],
        Kind::Router | Kind::SerratedRougher => &["end_cutting"],
        Kind::CompressionRouter => &["up_cut", "end_cutting"],
        Kind::BallMill => &[],
    }
}

fn reject_foreign(kind: Kind, raw: &ToolTable, reader: &mut Reader) {
    let span = |given: &Given| given.as_ref().map(|given| given.span);
    let given = [
        ("point", span(&raw.point)),
        ("cones", raw.cones.as_ref().map(|cones| cones.span)),
        ("pilot", span(&raw.pilot)),
        ("step", span(&raw.step)),
        ("step_angle", span(&raw.step_angle)),
        ("drill", span(&raw.drill)),
        ("lead", span(&raw.lead)),
        ("wall", span(&raw.wall)),
        ("tip", span(&raw.tip)),
        ("angle", span(&raw.angle)),
        ("corner", span(&raw.corner)),
        ("up_cut", span(&raw.up_cut)),
        ("end_cutting", raw.end_cutting.as_ref().map(|flag| flag.span)),
    ];
    let own = own_keys(kind);
    for (name, span) in given {
        if let (Some(span), false) = (span, own.contains(&name)) {
            let help = match own {
                [] => "this kind has no geometry beyond its diameter".to_owned(),
                _ => format!("geometry of this kind: {}", own.join(", ")),
            };
            reader.error(span, format!("`{}` does not belong to this kind of tool", reader.key(name)), Some(help));
        }
    }
}

fn geometry(
    kind: Kind,
    raw: &ToolTable,
    span: Span,
    diameter: Option<Millimetres>,
    reader: &mut Reader,
) -> Option<ToolKind> {
    let mut length = |name: &str, given: &Given| {
        if given.is_none() {
            reader.error(
                span,
                format!("`{}` is missing", reader.key(name)),
                Some("this kind of tool needs it".to_owned()),
            );
        }
        reader.positive::<Millimetres>(name, given)
    };
    let end_cutting = raw.end_cutting.as_ref().is_some_and(|flag| flag.value);
    Some(match kind {
        Kind::TwistDrill => ToolKind::TwistDrill { point: angle("point", &raw.point, reader) },
        Kind::StraightFluteDrill => ToolKind::StraightFluteDrill { point: angle("point", &raw.point, reader) },
        Kind::MultiAngleDrill => ToolKind::MultiAngleDrill { cones: cones(raw, span, diameter, reader)? },
        Kind::SpadeDrill => ToolKind::SpadeDrill { cones: cones(raw, span, diameter, reader)? },
        Kind::StepDrill => {
            let (pilot, step) = (length("pilot", &raw.pilot), length("step", &raw.step));
            let step_angle = needed_angle("step_angle", &raw.step_angle, span, reader);
            let point = angle("point", &raw.point, reader);
            let pilot = smaller("pilot", &raw.pilot, pilot, diameter, reader);
            ToolKind::StepDrill { pilot: pilot?, point, step: step?, step_angle: step_angle? }
        }
        Kind::DrillReamer => {
            let (drill, lead) = (length("drill", &raw.drill), length("lead", &raw.lead));
            let point = angle("point", &raw.point, reader);
            let drill = smaller("drill", &raw.drill, drill, diameter, reader);
            ToolKind::DrillReamer { drill: drill?, point, lead: lead? }
        }
        Kind::Reamer => ToolKind::Reamer { lead: reader.not_negative("lead", &raw.lead) },
        Kind::CoreDrill => {
            let wall = length("wall", &raw.wall);
            let half = diameter.map(|diameter| diameter * 0.5);
            ToolKind::CoreDrill { wall: smaller("wall", &raw.wall, wall, half, reader)? }
        }
        Kind::BradPointDrill => ToolKind::BradPointDrill { tip: length("tip", &raw.tip)? },
        Kind::Countersink => {
            let angle = needed_angle("angle", &raw.angle, span, reader);
            let tip = reader.not_negative("tip", &raw.tip).unwrap_or_default();
            ToolKind::Countersink { angle: angle?, tip: smaller("tip", &raw.tip, Some(tip), diameter, reader)? }
        }
        Kind::EndMill => {
            let corner = reader.not_negative("corner", &raw.corner).unwrap_or_default();
            ToolKind::EndMill { end_cutting, corner }
        }
        Kind::Router => ToolKind::Router { end_cutting },
        Kind::CompressionRouter => ToolKind::CompressionRouter { up_cut: length("up_cut", &raw.up_cut)?, end_cutting },
        Kind::SerratedRougher => ToolKind::SerratedRougher { end_cutting },
        Kind::BallMill => ToolKind::BallMill,
    })
}

/// An included angle: over 0, at most 180 degrees.
fn angle(name: &str, raw: &Given, reader: &mut Reader) -> Option<Degrees> {
    let angle = reader.positive::<Degrees>(name, raw)?;
    if angle.0 > 180.0 {
        let span = raw.as_ref().map(|raw| raw.span).unwrap_or_default();
        let help = Some("it is the included angle, from lip to lip".to_owned());
        reader.error(span, format!("`{}` must be at most 180 deg, not {angle}", reader.key(name)), help);
        return None;
    }
    Some(angle)
}

fn needed_angle(name: &str, raw: &Given, span: Span, reader: &mut Reader) -> Option<Degrees> {
    if raw.is_none() {
        reader.error(span, format!("`{}` is missing", reader.key(name)), Some("this kind of tool needs it".to_owned()));
    }
    angle(name, raw, reader)
}

/// `value`, if it is smaller than `whole`.
fn smaller(
    name: &str,
    raw: &Given,
    value: Option<Millimetres>,
    whole: Option<Millimetres>,
    reader: &mut Reader,
) -> Option<Millimetres> {
    let (value, whole) = (value?, whole?);
    if value >= whole {
        let span = raw.as_ref().map(|raw| raw.span).unwrap_or_default();
        reader.error(span, format!("`{}` is {value}, which must be under {whole}", reader.key(name)), None);
        return None;
    }
    Some(value)
}

fn cones(raw: &ToolTable, span: Span, diameter: Option<Millimetres>, reader: &mut Reader) -> Option<Vec<Cone>> {
    let list = raw.cones.as_ref().filter(|list| !list.value.is_empty());
    let Some(list) = list else {
        let help = "give each cone as `{ to = 4.0, angle = 118 }`, tip first".to_owned();
        reader.error(span, format!("`{}` is missing", reader.key("cones")), Some(help));
        return None;
    };
    let mut read = Vec::with_capacity(list.value.len());
    let mut last = Millimetres(0.0);
    for cone in &list.value {
        let to = reader.positive::<Millimetres>("cones.to", &cone.value.to);
        let angle = angle("cones.angle", &cone.value.angle, reader);
        let (to, angle) = (to?, angle?);
        if to <= last {
            reader.error(cone.span, format!("cones must grow from the tip out, and {to} does not exceed {last}"), None);
            return None;
        }
        last = to;
        read.push(Cone { to, angle });
    }
    let diameter = diameter?;
    if (last - diameter).0.abs() > 1e-6 {
        let message = format!("the last cone ends at {last}, not at the tool's diameter of {diameter}");
        reader.error(list.span, message, None);
        return None;
    }
    Some(read)
}

fn holder(raw: &ToolTable, reader: &mut Reader) -> Vec<HolderPart> {
    let parts = raw.holder.iter().flatten().enumerate();
    let read = parts.map(|(index, raw)| reader.within(&format!("holder.{}", index + 1), |reader| part(raw, reader)));
    read.collect::<Vec<_>>().into_iter().flatten().collect()
}

fn part(At { value: raw, span }: &At<HolderTable>, reader: &mut Reader) -> Option<HolderPart> {
    let length = reader.positive("length", &raw.length);
    let (lower, upper) = match (&raw.diameter, &raw.lower, &raw.upper) {
        (Some(_), None, None) => {
            let diameter = reader.positive("diameter", &raw.diameter);
            (diameter, diameter)
        }
        (None, Some(_), Some(_)) => (reader.positive("lower", &raw.lower), reader.positive("upper", &raw.upper)),
        _ => {
            let help = "give `diameter` for a cylinder, or `lower` and `upper` for a cone".to_owned();
            reader.error(*span, format!("the shape of `{}` is not clear", reader.path()), Some(help));
            return None;
        }
    };
    Some(HolderPart { length: length?, lower: lower?, upper: upper? })
}
