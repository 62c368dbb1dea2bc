//! The surface speed lies outside the band of a layer for the tool's material.
//!
//! ## Why it matters
//! Too fast heats the matrix, or burns the edge in a metal; too slow rubs and wears the edge for nothing. Each layer has
//! its own band, so a stack is judged layer by layer. While the tip is in the next layer the corners still cut the last:
//! where the bands of the two do not meet, the lower one rules, and the layer above is not called too slow for the
//! length of the point. Reamers and countersinks run slower than drills and are only judged against the upper end.
//!
//! ## Fires on
//! 9000 rev/min on 6 mm is 169.6 m/min; the plate allows carbide 60 to 150.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S9000 M3 M7 (!)
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S2000 M3 M7 (!)
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F100
//! G80
//! M30
//! ```
//! A router at 2000 rev/min along an edge: 62.8 m/min, where the panel asks for 200 or more.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S2000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F200 (!)
//! G0 Z5
//! M30
//! ```
//! Titanium at the speed of carbon; the carbon above it is content.
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80
//! T21 M6
//! S3600 M3 M7 (!)
//! G0 G43 H21 X0 Y0 Z5
//! G1 Z-12.9 F180
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//! Carbon at its own speed, then titanium at its own, while the corners of the point still cut the last of the carbon:
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80
//! T21 M6
//! S3600 M3 M7
//! G0 G43 H21 X0 Y0 Z5
//! G1 Z-5.5 F180
//! G0 Z5
//! S700 M8
//! G4 P3
//! G0 Z-5.3
//! G1 Z-12.9 F42
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a new speed changes the feed for each turn with it.

use super::feed::{layer, speed};
use super::trim::{cause_by_remedy, fed_if, laminate, trims};
use super::{Aim, Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{Laminate, Layer, Limit, Tool, ToolKind};
use crate::operation::{HoleWord, Stretch};
use crate::process::speed::spindle_speed;
use crate::process::{CutReading, POST_ROUNDING, Reading};
use crate::units::{MetresPerMin, RevPerMin, UnitSystem, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "surface-speed-outside-band",
    severity: Severity::Warning,
    summary: "turns the tool slower or faster than the layer's band",
    checks: &[Check::Hole(check), Check::Cut(cut), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

type Band = Limit<(MetresPerMin, MetresPerMin)>;
/// What a surface speed is, and the end of its band that it broke.
type Speeds = (MetresPerMin, MetresPerMin);

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    let Some((laminate, tool)) = view.laminate.zip(view.tool) else { return };
    for pass in passes {
        let Some(layer) = laminate.layers.get(pass.layer) else { continue };
        let Some(band) = band_or_note(tool, laminate, layer, cx) else { continue };
        let Some(surface) = pass.surface_speed else { continue };
        let (least, most) = band.value;
        if surface > most * (1.0 + POST_ROUNDING) {
            report(view, cx, pass, band, (surface, most));
        } else if surface < least * (1.0 - POST_ROUNDING) && !may_be_slow(view, passes, pass, least) {
            report(view, cx, pass, band, (surface, least));
        }
    }
}

/// Cuts are judged in every layer they touch.
fn cut(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|tool| trims(&tool.kind)) else { return };
    let doubtful = |stretch: &Stretch, reading: &CutReading| {
        let Some((laminate, surface)) = laminate(view, stretch).zip(reading.surface_speed) else { return false };
        let layers = laminate.layers.get(reading.layers.clone()).unwrap_or_default().iter();
        let mut hard = layers.filter(|layer| !layer.material.class.is_core());
        hard.any(|layer| layer.speed_band(tool).is_none_or(|band| !keeps(surface, band)))
    };
    for (stretch, reading) in fed_if(view, doubtful) {
        let Some((laminate, surface)) = laminate(view, stretch).zip(reading.surface_speed) else { continue };
        for layer in laminate.layers.get(reading.layers.clone()).unwrap_or_default() {
            let Some(band) = band_or_note(tool, laminate, layer, cx) else { continue };
            if keeps(surface, band) {
                continue;
            }
            let (least, most) = band.value;
            let bound = if surface > most * (1.0 + POST_ROUNDING) { most } else { least };
            let turning = RevPerMin(stretch.speed.unwrap_or_default());
            let excess = libm::fabs(libm::log(surface / bound));
            let aim = Aim::Word(stretch.first, b'S');
            let should = spindle_speed(tool.diameter, bound).0;
            cx.report_worst(cause_by_remedy(view, turning.0, Some(should)), excess, aim, |units| {
                worded((aim, &layer.name), tool, turning, band, (surface, bound), units)
            });
        }
    }
}

/// Whether a surface speed lies in its band but for what posts round.
fn keeps(surface: MetresPerMin, band: &Band) -> bool {
    let (least, most) = band.value;
    surface <= most * (1.0 + POST_ROUNDING) && surface >= least * (1.0 - POST_ROUNDING)
}

fn report(view: &HoleView<'_>, cx: &mut Context<'_>, pass: &Reading, band: &Band, (is, bound): Speeds) {
    let (Some(tool), Some(turning)) = (view.tool, speed(view, pass)) else { return };
    let aim = Aim::Hole { word: HoleWord::Speed, stroke: pass.stroke };
    cx.report_once(worded((aim, layer(view, pass)), tool, turning, band, (is, bound), cx.units));
}

fn worded(
    (aim, layer): (Aim, &str),
    tool: &Tool,
    turning: RevPerMin,
    band: &Band,
    (is, bound): Speeds,
    units: UnitSystem,
) -> Report {
    let (least, most) = (units.surface_speed(band.value.0), units.surface_speed(band.value.1));
    let should = spindle_speed(tool.diameter, bound);
    let (word, rounded) = match is < bound {
        true => ("more", libm::ceil(should.0)),
        false => ("less", libm::floor(should.0)),
    };
    let is_text = units.surface_speed(is);
    Report::new(aim, format!("surface speed {is_text} in `{layer}`, band {least} to {most}"))
        .why(format!("pi x {} x {turning} = {is_text}", units.length(tool.diameter)))
        .measured(is.0, "m/min")
        .limit(bound.0, "m/min", band.origin.clone())
        .advice(format!("turn at {} rev/min or {word}, and feed to suit", trimmed(rounded, 0)))
}

/// The band of a layer for the tool, or a note of what is missing. Cores have none.
fn band_or_note<'v>(tool: &Tool, laminate: &'v Laminate, layer: &'v Layer, cx: &mut Context<'_>) -> Option<&'v Band> {
    if layer.material.class.is_core() {
        return None;
    }
    let band = layer.speed_band(tool);
    if band.is_none() {
        let key = match tool.substrate {
            None if !layer.limits.speeds.is_empty() => format!("tool.{}.material", tool.number),
            _ => format!("laminate.{}.speeds", laminate.name),
        };
        cx.not_checked(format!("no speed band holds for tool {} in `{}`", tool.number, layer.name), key);
    }
    band
}

/// Whether a pass may be slower than its band: a tool that runs slow by trade, or corners still in the layer while the
/// stroke goes on into one that must be cut slower.
fn may_be_slow(view: &HoleView<'_>, passes: &[Reading], pass: &Reading, least: MetresPerMin) -> bool {
    let Some((laminate, tool)) = view.laminate.zip(view.tool) else { return true };
    if matches!(tool.kind, ToolKind::Reamer { .. } | ToolKind::Countersink { .. }) {
        return true;
    }
    let point = view.reading.breakthrough.map_or(0.0, |through| through.point.0);
    let below = pass.layer + 1;
    let slower =
        laminate.layers.get(below).and_then(|layer| layer.speed_band(tool)).is_some_and(|band| band.value.1 < least);
    // Over a pilot hole the tip is in the next layer before an edge is: the interface counts, not the first cut.
    let (interface, _) = laminate.span_of(below);
    let first_cut = passes.iter().filter(|other| other.stroke == pass.stroke && other.layer == below);
    let reached = first_cut.map(|other| other.depth.0.0).fold(interface.0, f64::min);
    slower && reached - pass.depth.0.0 < point
}
