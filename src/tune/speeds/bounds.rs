//! How fast each tool may turn: bands of the layers it cuts, machine, tool and life.

use super::words::Turn;
use crate::job::{Job, Laminate, LifeLimit, Tool, ToolKind};
use crate::process::life::{Spent, share_at, speed_for};
use crate::process::speed::{spindle_speed, surface_speed};
use crate::process::{CutReadings, HoleReading, laminate_of};
use crate::tune::{Run, counted};
use crate::units::{MmPerMin, RevPerMin, UnitSystem, trimmed};
use std::collections::BTreeMap;
use std::ops::Range;

/// The most a tool may turn, and what says so.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bound {
    /// Spindle speed at the limit itself.
    pub most: RevPerMin,
    /// The limit in words.
    pub limit: String,
    /// Where it comes from.
    pub origin: String,
    /// Whether the job's margin keeps away from it: from limits of the process, not from those of the machine.
    pub margin: bool,
}

impl Bound {
    /// The fastest turn that keeps away from the limit by `margin`, a share.
    pub fn target(&self, margin: f64) -> f64 {
        if self.margin { self.most.0 * (1.0 - margin) } else { self.most.0 }
    }
}

/// Every speed a tool cuts at, with all that bounds it but life.
pub(super) fn of(run: &Run, job: &Job) -> BTreeMap<Turn, Vec<Bound>> {
    let mut turns = BTreeMap::new();
    if let Some(laminate) = &job.laminate {
        for recipe in &run.survey.recipes {
            let Some(tool) = job.tool(recipe.tool) else { continue };
            for pass in HoleReading::of(recipe, job).passes {
                let speed = recipe.strokes.get(pass.stroke).and_then(|stroke| stroke.speed);
                note(&mut turns, (speed, tool), (laminate, pass.layer..pass.layer + 1), job, run.units);
            }
        }
    }
    for cut in &run.survey.cuts {
        let Some(tool) = job.tool(cut.tool) else { continue };
        for kind in CutReadings::of(cut, job).kinds {
            let Some(first) = cut.stretches.get(kind.range.start) else { continue };
            let Some(laminate) = laminate_of(first.zone, job) else { continue };
            note(&mut turns, (first.speed, tool), (laminate, kind.reading.layers), job, run.units);
        }
    }
    turns
}

/// Notes what layers, tool and machine allow a tool at a speed. A layer without a band allows no more than now.
fn note(
    turns: &mut BTreeMap<Turn, Vec<Bound>>,
    (speed, tool): (Option<f64>, &Tool),
    (laminate, layers): (&Laminate, Range<usize>),
    job: &Job,
    units: UnitSystem,
) {
    // By trade reamers and countersinks turn slower than the band.
    let slow = matches!(tool.kind, ToolKind::Reamer { .. } | ToolKind::Countersink { .. });
    let Some(speed) = speed.filter(|speed| *speed > 0.0 && !slow) else { return };
    let layers = laminate.layers.get(layers).unwrap_or_default();
    let bands =
        layers.iter().filter(|layer| !layer.material.class.is_core()).map(|layer| match layer.speed_band(tool) {
            Some(band) => Bound {
                most: spindle_speed(tool.diameter, band.value.1),
                limit: format!("speed band to {}", units.surface_speed(band.value.1)),
                origin: band.origin.clone(),
                margin: true,
            },
            None => Bound {
                most: RevPerMin(speed),
                limit: format!("no speed band for `{}`", layer.name),
                origin: format!("job file: laminate.{}.speeds", laminate.name),
                margin: false,
            },
        });
    let Some(band) = bands.min_by(|a, b| a.most.0.total_cmp(&b.most.0)) else { return };
    let machine = job.machine.max_speed.as_ref().map(|limit| Bound {
        most: limit.value,
        limit: format!("machine's {}", limit.value),
        origin: limit.origin.clone(),
        margin: false,
    });
    let own = tool.max_speed.map(|most| Bound {
        most,
        limit: format!("tool's {most}"),
        origin: format!("job file: tool.{}.max_speed", tool.number),
        margin: false,
    });
    let known = turns.entry((tool.number, speed.to_bits())).or_default();
    for bound in [Some(band), machine, own].into_iter().flatten().filter(|bound| bound.most.0 > 0.0) {
        if !known.contains(&bound) {
            known.push(bound);
        }
    }
}

/// The turn at which the machine's greatest feed is reached, for feeds rise with the turn.
pub(super) fn by_feed(speed: f64, fastest_feed: f64, job: &Job, units: UnitSystem) -> Option<Bound> {
    let most = job.machine.max_feed.as_ref().filter(|_| fastest_feed > 0.0)?;
    Some(Bound {
        most: RevPerMin(speed * most.value.0 / fastest_feed),
        limit: format!("machine's feed of {}, now {}", units.feed(most.value), units.feed(MmPerMin(fastest_feed))),
        origin: most.origin.clone(),
        margin: false,
    })
}

/// How far a tool's life lets it turn.
pub(super) struct Life {
    /// Bounds of life and of the law itself.
    pub bounds: Vec<Bound>,
    /// What each limit needs of the stated life, with its unit: needed and stated.
    needs: Vec<(f64, f64, &'static str)>,
}

/// What a tool's life allows: so much of it must be left as the parts need that one tool has to last.
///
/// # Errors
/// Why that cannot be told, or that nothing is left to spend.
pub(super) fn by_life(tool: &Tool, run: &Run, job: &Job, units: UnitSystem) -> Result<Life, String> {
    let number = tool.number;
    let law = tool.life_law.as_ref().ok_or_else(|| {
        format!("what that does to its life is not known: give `tool.{number}.life.law` in the job file")
    })?;
    let parts = &job.tuning.parts;
    let spent = Spent::of(number, &run.survey);
    let mut life = Life { bounds: Vec::new(), needs: Vec::new() };
    for limit in &tool.life {
        let (stated, unit) = match *limit {
            LifeLimit::Holes(most) => (f64::from(most), "holes"),
            LifeLimit::Metres(most) => (most, "m"),
        };
        let needed = tool.used + f64::from(parts.value) * spent.by(*limit);
        let said = format!("{} of {} {unit}", trimmed(needed, 2), trimmed(stated, 2));
        if needed >= stated {
            return Err(format!("its life leaves nothing to spend: it needs {said} (`tool.{number}.life`)"));
        }
        life.bounds.push(Bound {
            most: spindle_speed(tool.diameter, speed_for(law, needed / stated)),
            limit: format!("life that still makes {said}"),
            origin: law.origin.clone(),
            margin: true,
        });
        life.needs.push((needed, stated, unit));
    }
    life.bounds.push(Bound {
        most: spindle_speed(tool.diameter, law.up_to),
        limit: format!("life law tried to {}", units.surface_speed(law.up_to)),
        origin: law.origin.clone(),
        margin: false,
    });
    Ok(life)
}

impl Life {
    /// What is left of each life at another turn, in words.
    pub fn told(&self, tool: &Tool, job: &Job, to: f64, units: UnitSystem) -> Vec<String> {
        let Some(law) = &tool.life_law else { return Vec::new() };
        let surface = surface_speed(tool.diameter, RevPerMin(to));
        let share = share_at(law, surface);
        let parts = &job.tuning.parts;
        let told = self.needs.iter().map(|(needed, stated, unit)| {
            format!(
                "life {} {unit} x ({} / {})^{} = {} {unit}, law: {}; needed {}: {} used before, then {} ({})",
                trimmed(*stated, 2),
                units.surface_speed(law.at),
                units.surface_speed(surface),
                trimmed(law.exponent, 3),
                trimmed(stated * share, 1),
                law.origin,
                trimmed(*needed, 2),
                trimmed(tool.used, 2),
                counted(parts.value as usize, "part"),
                parts.origin
            )
        });
        told.collect()
    }
}
