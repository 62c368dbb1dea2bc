//! `thrust` of a tool: a law of thrust against feed, through two measured points or as fitted.

use super::amount::Amount;
use super::at::At;
use super::reader::{Given, Reader};
use crate::job::ThrustLaw;
use crate::units::{Millimetres, MmPerRev, Newtons};
use schemars::JsonSchema;
use serde::Deserialize;

/// Thrust law F = c f^m D^p, f in mm/rev, D in mm, F in N.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ThrustTable {
    /// Two measured pairs of feed for each turn and thrust.
    points: Option<At<[[At<Amount>; 2]; 2]>>,
    /// Coefficient.
    c: Option<At<f64>>,
    /// Exponent of feed.
    m: Option<At<f64>>,
    /// Exponent of diameter.
    p: Option<At<f64>>,
    /// Least feed it was fitted on.
    from: Given,
    /// Most feed it was fitted on.
    to: Given,
    /// Least and most diameter it was fitted on; this tool's must lie between.
    diameters: Option<At<[At<Amount>; 2]>>,
    /// Where it comes from.
    source: Option<String>,
}

/// No measured thrust grows with a higher power of feed or diameter; house value.
const STEEPEST: f64 = 10.0;

/// Thrust that rises with a lower power of feed tells nothing of feed; house value.
const FLATTEST: f64 = 0.01;

/// The law through two points, m = ln(F2/F1) / ln(f2/f1) and c = F1 / f1^m, held valid from 0.8 of the least
/// feed to 1.2 of the most (a power law through two points; the margins are a house value); or the law as given.
pub(super) fn law(raw: &At<ThrustTable>, diameter: Option<Millimetres>, reader: &mut Reader) -> Option<ThrustLaw> {
    let At { value: raw, span } = raw;
    let origin = reader.origin_here(raw.source.as_deref().unwrap_or_default());
    let diameters = raw.diameters.as_ref().and_then(|raw| diameters(raw, diameter, reader));
    match (&raw.points, &raw.c, &raw.m) {
        (Some(points), None, None) => {
            let [[f1, t1], [f2, t2]] = &points.value;
            let (f1, f2) = (reader.one::<MmPerRev>("points", f1), reader.one::<MmPerRev>("points", f2));
            let (t1, t2) = (reader.one::<Newtons>("points", t1), reader.one::<Newtons>("points", t2));
            let (f1, f2, t1, t2) = (f1?.0, f2?.0, t1?.0, t2?.0);
            if f1 == f2 {
                reader.error(points.span, "two thrust points at one feed give no law", None);
                return None;
            }
            let m = libm::log(t2 / t1) / libm::log(f2 / f1);
            let c = t1 / libm::pow(f1, m);
            if !(FLATTEST..=STEEPEST).contains(&m) || !c.is_normal() {
                reader.error(
                    points.span,
                    "the two thrust points give no law: thrust must rise with feed, by a power of at most 10",
                    None,
                );
                return None;
            }
            Some(ThrustLaw { c, m, p: 0.0, valid: (0.8 * f1.min(f2), 1.2 * f1.max(f2)), diameters, origin })
        }
        (None, Some(c), Some(m)) => {
            let c = reader.number("c", Some(c), 1e-6, f64::INFINITY);
            let from = reader.positive::<MmPerRev>("from", &raw.from);
            let to = reader.positive::<MmPerRev>("to", &raw.to);
            if raw.from.is_none() || raw.to.is_none() {
                let help = "say which feeds it was fitted on with `from` and `to`".to_owned();
                reader.error(*span, format!("the range of `{}` is missing", reader.path()), Some(help));
            }
            let (from, to) = (from?, to?);
            if from >= to {
                reader.error(*span, format!("`{}` must run from less to more", reader.path()), None);
                return None;
            }
            let m = reader.number("m", Some(m), FLATTEST, STEEPEST);
            let p = reader.number("p", raw.p.as_ref(), -STEEPEST, STEEPEST);
            Some(ThrustLaw { c: c?, m: m?, p: p.unwrap_or(0.0), valid: (from.0, to.0), diameters, origin })
        }
        _ => {
            let help = "give `points`, or `c` and `m` with `from` and `to`".to_owned();
            reader.error(*span, format!("`{}` is not clear", reader.path()), Some(help));
            None
        }
    }
}

/// Least and most diameter of a law, which may be one. A tool outside them has no law.
fn diameters(raw: &At<[At<Amount>; 2]>, diameter: Option<Millimetres>, reader: &mut Reader) -> Option<(f64, f64)> {
    let At { value: [least, most], span } = raw;
    let (least, most) = (reader.one::<Millimetres>("diameters", least)?, reader.one::<Millimetres>("diameters", most)?);
    if least > most {
        reader.error(*span, format!("`{}` must run from less to more", reader.key("diameters")), None);
        return None;
    }
    if let Some(own) = diameter.filter(|own| *own < least || *own > most) {
        let (own, least, most) = (reader.length(own.0), reader.length(least.0), reader.length(most.0));
        let help = Some("fit a law to trials with this diameter".to_owned());
        reader.error(*span, format!("the law holds from {least} to {most}, this tool has {own}"), help);
    }
    Some((least.0, most.0))
}
