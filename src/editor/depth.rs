//! How deep the tip stands in the layers, in words.

use crate::job::{Job, Laminate};
use crate::units::{Millimetres, UnitSystem};

/// Heights closer than this are the same, mm; rounding.
const HAIR: f64 = 1e-6;

/// A height of the tip against the faces of the nominal part, such as `1.2 mm below exit`; `None` without a laminate.
pub fn at_exit(z: f64, job: &Job, units: UnitSystem) -> Option<String> {
    let thickness = job.laminate.as_ref()?.thickness().0;
    let (below_entry, below_exit) = (job.head.entry_z.0 - z, job.head.entry_z.0 - thickness - z);
    let length = |value: f64| units.length(Millimetres(value));
    match below_exit {
        _ if below_entry <= HAIR => None,
        below if below > HAIR => Some(format!("{} below exit", length(below))),
        below if below < -HAIR => Some(format!("{} to exit", length(-below))),
        _ => Some("at exit".to_owned()),
    }
}

/// Layer, ply and plies left under a height of the tip.
pub fn in_layers(z: f64, job: &Job, units: UnitSystem) -> Option<String> {
    let laminate = job.laminate.as_ref()?;
    let depth = job.head.entry_z.0 - z;
    let length = |value: f64| units.length(Millimetres(value));
    if depth <= HAIR {
        return Some(format!("tip {} above the entry face of {}", length(-depth), laminate.name));
    }
    let exit = laminate.thickness().0;
    if depth >= exit - HAIR {
        return Some(format!(
            "tip {} deep, {} beyond the exit face; no plies left",
            length(depth),
            length(depth - exit)
        ));
    }
    ply(depth, laminate).map(|(name, ply, plies, left)| {
        format!("tip {} deep: {name}, ply {ply} of {plies}; {left} plies left to the exit face", length(depth))
    })
}

/// Layer, ply in it, plies of it and whole plies left below the tip to the exit face.
fn ply(depth: f64, laminate: &Laminate) -> Option<(&str, u32, u32, u32)> {
    let mut top = 0.0;
    let mut layers = laminate.layers.iter();
    while let Some(layer) = layers.next() {
        let below = top + layer.thickness().0;
        if depth < below - HAIR {
            // Plies are counted from the entry side; a tip on the face between two stands in the lower one.
            let inside = (1..=layer.plies).find(|ply| depth < top + layer.ply.0 * f64::from(*ply) - HAIR);
            let at = inside.unwrap_or(layer.plies);
            let left = layer.plies - at + layers.map(|under| under.plies).sum::<u32>();
            return Some((&layer.name, at, layer.plies, left));
        }
        top = below;
    }
    None
}
