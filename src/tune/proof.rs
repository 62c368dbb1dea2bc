//! What every change of text is held to: nothing new found, nothing slower; and the steps of the tool, to hold some to.

use super::{Run, Task};
use crate::diagnostic::{Finding, Status};
use crate::motion::{
    BlockRef, CycleCall, Expand, LengthOffset, ModalState, MotionFault, Observer, Pose, Step, StepKind,
};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::mem::discriminant;

/// Share by which a number may differ and still be the same.
const ROUNDING: f64 = 1e-6;

/// No rule finds more than it did, no check is lost, and the program takes no longer.
///
/// # Errors
/// With what does not hold.
pub(super) fn nothing_worse(before: &Run, after: &Run) -> Result<(), String> {
    findings(&before.findings, &after.findings)?;
    let new = after.not_checked.iter().find(|new| !before.not_checked.contains(new));
    if let Some(new) = new {
        return Err(format!("{} could no longer be concluded: {}", new.rule, new.why));
    }
    if after.seconds() > before.seconds() + 1e-6 {
        let (was, is) = (before.seconds(), after.seconds());
        return Err(format!("the program would take {is:.1} s instead of {was:.1} s"));
    }
    Ok(())
}

/// What a rule finds, waived or not: at how many places, and how far the worst is from its limit.
#[derive(Default)]
struct Found {
    places: u64,
    beyond: f64,
}

/// No rule finds more than it did, nor anything farther from its limit; a waiver of one place pays for no other.
fn findings(before: &[Finding], after: &[Finding]) -> Result<(), String> {
    let (known, now) = (found(before), found(after));
    let worse = now.iter().find(|(key, now)| {
        known.get(*key).is_none_or(|known| now.places > known.places || now.beyond > known.beyond * (1.0 + ROUNDING))
    });
    let Some(((rule, waived), _)) = worse else { return Ok(()) };
    let new = after.iter().rfind(|finding| (finding.rule, is_waived(finding)) == (*rule, *waived));
    Err(format!("it would bring a new finding: {rule}: {}", new.map_or("", |new| new.message.as_str())))
}

fn found(findings: &[Finding]) -> BTreeMap<(&'static str, bool), Found> {
    let mut all: BTreeMap<(&'static str, bool), Found> = BTreeMap::new();
    for finding in findings {
        let found = all.entry((finding.rule, is_waived(finding))).or_default();
        found.places += (finding.places.len() as u64).max(1) + finding.more_places;
        if let (Some(measured), Some(limit)) = (&finding.measured, &finding.limit) {
            found.beyond = found.beyond.max((measured.value - limit.quantity.value).abs());
        }
    }
    all
}

fn is_waived(finding: &Finding) -> bool {
    matches!(finding.status, Status::Waived(_))
}

/// Every step of a program, as prints of where it goes and of how.
#[derive(Default)]
pub(super) struct Trail {
    steps: Vec<(u64, u64)>,
}

impl Trail {
    /// The trail of a program.
    pub fn of(run: &Run, task: &Task<'_>) -> Self {
        let mut trail = Self::default();
        run.watch(task, &mut trail);
        trail
    }

    /// Whether both programs take the same steps to the same places, and in the same way but for the steps, by number,
    /// that `freed` names.
    pub fn is_same(&self, other: &Self, freed: &dyn Fn(usize) -> bool) -> bool {
        let mut pairs = self.steps.iter().zip(&other.steps).enumerate();
        self.steps.len() == other.steps.len()
            && pairs.all(|(number, (old, new))| old.0 == new.0 && (old.1 == new.1 || freed(number)))
    }

    fn push(&mut self, place: impl Hash, way: impl Hash) {
        // Fixed keys: the same steps give the same prints in every run.
        let print = |what: &dyn Fn(&mut DefaultHasher)| {
            let mut hasher = DefaultHasher::new();
            what(&mut hasher);
            hasher.finish()
        };
        self.steps.push((print(&|hasher| place.hash(hasher)), print(&|hasher| way.hash(hasher))));
    }
}

fn place_of(pose: &Pose) -> ([u64; 3], [bool; 3]) {
    (pose.xyz.map(f64::to_bits), [0, 1, 2].map(|axis| pose.known.has(axis)))
}

/// What the machine is set to during a step, as far as it changes what the step does.
pub(super) fn modal(state: &ModalState) -> impl Hash {
    let senses = (discriminant(&state.spindle.value), discriminant(&state.path.value));
    let air = (state.mist.value, state.flood.value, state.extraction.value);
    let length = match state.length.value {
        LengthOffset::Off => None,
        LengthOffset::On { h, length } => Some((h, length.map(f64::to_bits))),
    };
    (state.tool.value, state.speed.value.map(f64::to_bits), senses, air, (state.work_offset.value, length))
}

impl Observer for Trail {
    fn step(&mut self, step: &Step<'_>) {
        let arc = match step.kind {
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => Some((arc.centre.map(f64::to_bits), arc.sweep.to_bits())),
            _ => None,
        };
        let seconds = match step.kind {
            StepKind::Dwell(seconds) => seconds.map(f64::to_bits),
            _ => None,
        };
        let kind = (discriminant(&step.kind), seconds);
        self.push((place_of(&step.to), arc), (kind, step.feed.map(f64::to_bits), modal(step.state)));
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, state: &ModalState) -> Expand {
        let heights = [call.r, call.bottom, call.clear, call.q.unwrap_or(f64::NAN)].map(f64::to_bits);
        let over = (call.over.map(f64::to_bits), heights, discriminant(&call.code));
        self.push(over, (call.feed.map(f64::to_bits), modal(state)));
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Bound, Quantity, Severity};

    /// A clamp passed at a height, over 22 mm.
    fn hop(z: f64, status: Status) -> Finding {
        let quantity = |value: f64| Quantity { value, unit: "mm" };
        Finding {
            rule: "hop-over-clamp",
            severity: Severity::Error,
            status,
            measured: Some(quantity(z)),
            limit: Some(Bound { quantity: quantity(22.0), origin: "job file".to_owned() }),
            message: String::new(),
            why: Vec::new(),
            advice: None,
            job_entry: None,
            places: Vec::new(),
            more_places: 0,
            related: Vec::new(),
            remedy: None,
        }
    }

    #[test]
    fn a_finding_pays_for_no_graver_one_and_a_waiver_for_no_open_one() {
        let waived = || Status::Waived("WV-1".to_owned());
        assert!(findings(&[hop(20.0, Status::Open)], &[hop(20.0, Status::Open)]).is_ok());
        assert!(findings(&[hop(12.0, Status::Open)], &[hop(20.0, Status::Open)]).is_ok());
        assert!(findings(&[hop(20.0, Status::Open)], &[hop(12.0, Status::Open)]).is_err());
        assert!(findings(&[hop(20.0, waived())], &[hop(20.0, Status::Open)]).is_err());
        assert!(findings(&[hop(20.0, waived())], &[]).is_ok());
    }
}
