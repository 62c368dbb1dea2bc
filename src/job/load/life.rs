//! `life` of a tool: holes and metres, and how they fall with surface speed.

use super::amount::CutLength;
use super::at::At;
use super::reader::Reader;
use super::tool_table::{LifeLawTable, LifeTable};
use crate::job::{LifeLaw, LifeLimit};
use crate::units::MetresPerMin;

/// Exponents beyond these are slips of the pen: a life that speed does not touch needs no law. House values.
const EXPONENTS: (f64, f64) = (0.1, 20.0);

/// The limits of a raw table, and their law.
pub(super) fn of(raw: &LifeTable, reader: &mut Reader) -> (Vec<LifeLimit>, Option<LifeLaw>) {
    reader.within("life", |reader| {
        let holes = reader.count("holes", raw.holes.as_ref()).map(LifeLimit::Holes);
        let metres = reader.positive::<CutLength>("metres", &raw.metres).map(|cut| LifeLimit::Metres(cut.0));
        let limits: Vec<LifeLimit> = holes.into_iter().chain(metres).collect();
        let law = raw.law.as_ref().and_then(|raw| {
            if limits.is_empty() {
                let help = Some("give the `holes` or `metres` that it shortens".to_owned());
                reader.error(raw.span, format!("`{}` has no life to shorten", reader.key("law")), help);
            }
            reader.within("law", |reader| law(raw, reader))
        });
        (limits, law)
    })
}

fn law(At { value: raw, span }: &At<LifeLawTable>, reader: &mut Reader) -> Option<LifeLaw> {
    let given = [("at", raw.at.is_some()), ("exponent", raw.exponent.is_some()), ("up_to", raw.up_to.is_some())];
    for (name, _) in given.iter().filter(|(_, given)| !given) {
        let help = Some("a life law is `{ at = \"120 m/min\", exponent = 2.0, up_to = \"200 m/min\" }`".to_owned());
        reader.error(*span, format!("`{}` is missing", reader.key(name)), help);
    }
    let at = reader.positive::<MetresPerMin>("at", &raw.at);
    let up_to = reader.positive::<MetresPerMin>("up_to", &raw.up_to);
    let exponent = reader.number("exponent", raw.exponent.as_ref(), EXPONENTS.0, EXPONENTS.1);
    let (at, up_to, exponent) = (at?, up_to?, exponent?);
    if at >= up_to {
        reader.error(*span, format!("`{}` must run from a lower speed `at` to a higher `up_to`", reader.path()), None);
        return None;
    }
    Some(LifeLaw { at, exponent, up_to, origin: reader.origin_here(raw.source.as_deref().unwrap_or_default()) })
}
