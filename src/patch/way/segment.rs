//! The steps of edited lines, compared by what the edits of each line may do.

use super::liberty::{Liberty, Ramp};
use super::trod::{Act, At, Trod};
use super::{Grants, SAME, place_is_same, values_granted};

/// Most that a new height may be off from the one meant, mm: the finest step an inch program writes.
const CUT: f64 = 0.003;

/// A new step with its line and what its words may change.
type New = (At, Trod, Grants);

/// Whether the old and the new steps of a stretch of edited lines agree, line by line where they keep the same order.
///
/// # Errors
/// With what differs without leave.
pub fn agree(
    old: &[(At, Trod)],
    new: &[New],
    [mut old_from, mut new_from]: [Option<Trod>; 2],
    leave: &dyn Fn(At) -> Liberty,
) -> Result<(), String> {
    let old_lines: Vec<&[(At, Trod)]> = old.chunk_by(|a, b| a.0 == b.0).collect();
    let new_lines: Vec<&[New]> = new.chunk_by(|a, b| a.0 == b.0).collect();
    let line_of = |old: &&[(At, Trod)]| old.first().map(|(line, _)| *line);
    let in_order = old_lines.iter().map(line_of).eq(new_lines.iter().map(|new| new.first().map(|(line, ..)| *line)));
    if !in_order {
        let mut all = Liberty::default();
        let lines = old.iter().map(|(line, _)| *line).chain(new.iter().map(|(line, ..)| *line));
        lines.for_each(|line| all.join(&leave(line)));
        return compare(old, new, [old_from, new_from], &all);
    }
    for (old, new) in old_lines.into_iter().zip(new_lines) {
        let Some((line, _)) = old.first() else { continue };
        compare(old, new, [old_from, new_from], &leave(*line))?;
        old_from = old.last().map(|(_, step)| *step);
        new_from = new.last().map(|(_, step, _)| *step);
    }
    Ok(())
}

fn compare(
    old: &[(At, Trod)],
    new: &[New],
    [old_from, new_from]: [Option<Trod>; 2],
    leave: &Liberty,
) -> Result<(), String> {
    if leave.frame {
        return Ok(());
    }
    if let Some(ramp) = &leave.ramp {
        return down_the_ramp(old, new, ramp);
    }
    let old_way = sideways(old.iter().map(|(_, step)| step), old_from);
    let new_way = sideways(new.iter().map(|(_, step, _)| step), new_from);
    if !same_points(&old_way, &new_way) {
        return Err("would take the tool another way".to_owned());
    }
    if leave.holes {
        return Ok(());
    }
    let mut at = new_from;
    let mut rest = old.iter().map(|(_, step)| step).filter(|step| !(leave.no_dwell && step.act == Act::Dwell));
    for (_, step, grants) in new.iter().filter(|(_, step, _)| !(leave.no_dwell && step.act == Act::Dwell)) {
        let before = at.replace(*step);
        if leave.rise.is_some_and(|height| rises(step, before, height)) {
            continue;
        }
        let Some(was) = rest.next() else { return Err("would make a move more".to_owned()) };
        if !place_is_same(&at_height(was, step, leave, *grants), step) {
            return Err("would take the tool another way".to_owned());
        }
        values_granted(was, step, *grants)?;
    }
    match rest.next() {
        Some(_) => Err("would make a move less".to_owned()),
        None => Ok(()),
    }
}

/// The old step at the height of the new one, where an edit may have put it there.
fn at_height(old: &Trod, new: &Trod, leave: &Liberty, grants: Grants) -> Trod {
    let ([x, y, z], [.., now]) = (old.to, new.to);
    let near = |a: f64, b: f64| (a - b).abs() <= CUT;
    let meant = leave.height.is_some_and(|(from, to)| near(z, from) && near(now, to));
    let risen = leave.rise.is_some_and(|height| old.act == Act::Rapid && now > z && now <= height + CUT);
    let may = meant || risen || leave.length && grants.length;
    Trod { to: [x, y, if may { now } else { z }], ..*old }
}

/// Whether a step is a rapid straight up, no higher than `height`.
fn rises(step: &Trod, before: Option<Trod>, height: f64) -> bool {
    let [.., z] = step.to;
    let up = before.is_none_or(|before| z > before.to[2] - SAME);
    step.act == Act::Rapid && step.still.has(0) && step.still.has(1) && up && z <= height + CUT
}

/// Places the tool comes to, seen from above, each once.
fn sideways<'t>(steps: impl Iterator<Item = &'t Trod>, from: Option<Trod>) -> Vec<[f64; 2]> {
    let mut way: Vec<[f64; 2]> = from.map(|step| [step.to[0], step.to[1]]).into_iter().collect();
    for [x, y, _] in steps.map(|step| step.to) {
        if way.last().is_none_or(|last| !near(*last, [x, y])) {
            way.push([x, y]);
        }
    }
    way
}

fn same_points(old: &[[f64; 2]], new: &[[f64; 2]]) -> bool {
    old.len() == new.len() && old.iter().zip(new).all(|(a, b)| near(*a, *b))
}

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() <= SAME && (a[1] - b[1]).abs() <= SAME
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

/// A ramp goes to and fro between its two points, never up, and ends where the plunge did.
fn down_the_ramp(old: &[(At, Trod)], new: &[New], ramp: &Ramp) -> Result<(), String> {
    let wrong = || Err("would not lead down the ramp that is meant".to_owned());
    let ends = old.last().zip(new.last());
    if ends.is_none_or(|((_, was), (_, is, _))| (0..3).any(|axis| (was.to[axis] - is.to[axis]).abs() > SAME)) {
        return wrong();
    }
    let mut height = ramp.top + CUT;
    for (_, step, _) in new {
        let [x, y, z] = step.to;
        let there = match step.act {
            Act::Line => [ramp.at, ramp.far].iter().any(|point| apart(*point, [x, y]) <= CUT),
            Act::Arc(_) => apart(ramp.at, [x, y]) <= CUT && apart(ramp.far, step.centre) <= CUT,
            _ => false,
        };
        if !there || z > height + SAME {
            return wrong();
        }
        height = z;
    }
    Ok(())
}
