//! Spindle speeds below the top of their band: a faster turn shortens the edge's life, and nothing says by how much.

use super::{Left, Run, Task};
use crate::job::{Job, Laminate, Tool, ToolKind};
use crate::process::speed::spindle_speed;
use crate::process::{CutReadings, HoleReading, laminate_of};
use crate::units::{RevPerMin, trimmed};
use std::collections::BTreeMap;

/// Room below the top of a band that is not spoken of, as a share: a house value.
const WORTH: f64 = 0.05;

/// A tool turning at a speed, and the least that anything allows it.
type Turns = BTreeMap<(u32, u64), (RevPerMin, String)>;

/// Tools that could turn faster by their bands and the machine, each left as it is and why.
pub(super) fn left(run: &Run, task: &Task<'_>) -> Vec<Left> {
    let mut turns = Turns::new();
    holes(run, task.job, &mut turns);
    cuts(run, task.job, &mut turns);
    let room = turns.into_iter().filter_map(|((number, speed), (most, origin))| {
        let speed = f64::from_bits(speed);
        let why = format!(
            "its bands and the machine allow {} ({origin}), but what that does to the edge is not known (life: no law \
             stated)",
            said(most.0)
        );
        let what = format!("speed of T{number} at {}", said(speed));
        (most.0 > speed * (1.0 + WORTH)).then_some(Left { what, why })
    });
    room.collect()
}

fn said(speed: f64) -> String {
    format!("{} rev/min", trimmed(libm::floor(speed), 0))
}

fn holes(run: &Run, job: &Job, turns: &mut Turns) {
    let Some(laminate) = &job.laminate else { return };
    for recipe in &run.survey.recipes {
        let Some(tool) = job.tool(recipe.tool) else { continue };
        for pass in HoleReading::of(recipe, job).passes {
            let speed = recipe.strokes.get(pass.stroke).and_then(|stroke| stroke.speed);
            note(turns, speed, tool, laminate, pass.layer..pass.layer + 1, job);
        }
    }
}

fn cuts(run: &Run, job: &Job, turns: &mut Turns) {
    for cut in &run.survey.cuts {
        let Some(tool) = job.tool(cut.tool) else { continue };
        for kind in CutReadings::of(cut, job).kinds {
            let Some(first) = cut.stretches.get(kind.range.start) else { continue };
            let Some(laminate) = laminate_of(first.zone, job) else { continue };
            note(turns, first.speed, tool, laminate, kind.reading.layers, job);
        }
    }
}

/// Notes what layers, tool and machine allow a tool at a speed. A layer without a band allows no more than now.
fn note(
    turns: &mut Turns,
    speed: Option<f64>,
    tool: &Tool,
    laminate: &Laminate,
    layers: std::ops::Range<usize>,
    job: &Job,
) {
    // By trade reamers and countersinks turn slower than the band.
    let slow = matches!(tool.kind, ToolKind::Reamer { .. } | ToolKind::Countersink { .. });
    let Some(speed) = speed.filter(|speed| *speed > 0.0 && !slow) else { return };
    let layers = laminate.layers.get(layers).unwrap_or_default();
    let bands = layers.iter().filter(|layer| !layer.material.class.is_core()).map(|layer| {
        layer.speed_band(tool).map_or((RevPerMin(speed), String::new()), |band| {
            (spindle_speed(tool.diameter, band.value.1), band.origin.clone())
        })
    });
    let machine = job.machine.max_speed.as_ref().map(|limit| (limit.value, limit.origin.clone()));
    let own = tool.max_speed.map(|most| (most, format!("tool.{}.max_speed", tool.number)));
    let lowest = bands.min_by(|a, b| a.0.0.total_cmp(&b.0.0));
    let Some(lowest) = lowest else { return };
    let bounds = [Some(lowest), machine, own].into_iter().flatten();
    let Some(new) = bounds.min_by(|a, b| a.0.0.total_cmp(&b.0.0)) else { return };
    let known = turns.entry((tool.number, speed.to_bits())).or_insert_with(|| new.clone());
    if new.0.0 < known.0.0 {
        *known = new;
    }
}
