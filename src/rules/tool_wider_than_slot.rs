//! A cutter does not fit into the opening it is meant to cut.
//!
//! ## Why it matters
//! A cutter wider than a slot, or with a radius larger than that of an inside corner, cannot leave the drawn edge: it cuts
//! too much or too little. Judged are the tools an edge names (`tools`) and those that cut inside its contour. Sharp inside
//! corners are not judged, for no turning cutter makes them.
//!
//! ## Fires on
//! A 16 mm router in the 14 mm slot:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T5 M6
//! S10000 M3 M7
//! G0 G43 H5 X80 Y50 Z0.5
//! G1 X120 Z-3 F1000 (!)
//! X80 Z-7
//! X120
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X80 Y50 Z0.5
//! G1 X120 Z-3 F1000
//! X80 Z-7
//! X120
//! G0 Z5
//! M30
//! ```
//! The same wide router along the outline:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T5 M6
//! S10000 M3 M7
//! G0 G43 H5 X-20 Y108 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: another tool.

use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{EdgeGroup, contour};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "tool-wider-than-slot",
    severity: Severity::Error,
    summary: "a cutter that does not fit into its opening",
    checks: &[Check::Cut(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

/// How far a chord may stray from its arc, mm.
const CHORD: f64 = 0.05;
/// A cutter as wide as its slot fits, to this, mm; house value.
const FIT: f64 = 0.01;
/// Places along each side of the grid on which an opening's width is sought.
const GRID: usize = 12;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool else { return };
    let radius = tool.diameter.0 / 2.0;
    for (index, edge) in view.job.edges.iter().enumerate().filter(|(_, edge)| edge.opening) {
        if fits(edge, radius) {
            continue;
        }
        let polygon = contour::points(&edge.contour, CHORD);
        let own = view.cut.edge == Some(index);
        let Some(stretch) = view.cut.stretches.iter().find(|stretch| own || contour::inside(stretch.at, &polygon))
        else {
            continue;
        };
        let cause = (tool.number, u64::try_from(index).unwrap_or(u64::MAX), 0);
        // The width takes long to find, so that the same tool in the same opening is judged once in a row.
        let pair = cause.1 << 32 | u64::from(tool.number);
        if cx.swap(pair) == Some(pair) {
            continue;
        }
        let narrow = tightest(edge).min(deepest(&polygon));
        if !(narrow > 0.0 && narrow < radius - FIT) {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst(cause, radius, aim, |units| {
            let (is, most) = (units.length(tool.diameter), units.length(Millimetres(2.0 * narrow)));
            Report::new(aim, format!("tool {} of {is} does not fit into {}: {most} at most", tool.number, edge.id))
                .measured(tool.diameter.0, "mm")
                .limit(2.0 * narrow, "mm", format!("job file: edges {}", edge.id))
                .advice("take a smaller cutter, or check the edge and the tool in the job file")
        });
    }
}

/// Radius of the tightest inside corner of an opening; without end when it has none.
fn tightest(edge: &EdgeGroup) -> f64 {
    let arcs = contour::edges(&edge.contour).filter_map(|(from, to, bulge)| contour::EdgeArc::of(from, to, bulge));
    arcs.filter(|arc| arc.sweep > 0.0).map(|arc| arc.radius).fold(f64::INFINITY, f64::min)
}

/// Whether a cutter surely fits: no tighter corner, and area over perimeter, which no inscribed circle falls short of.
fn fits(edge: &EdgeGroup, radius: f64) -> bool {
    let perimeter: f64 = contour::edges(&edge.contour)
        .map(|(from, to, bulge)| {
            let chord = libm::hypot(to[0] - from[0], to[1] - from[1]);
            contour::EdgeArc::of(from, to, bulge).map_or(chord, |arc| arc.radius * arc.sweep.abs())
        })
        .sum();
    tightest(edge) >= radius - FIT && contour::area(&edge.contour) >= perimeter * radius
}

/// Greatest distance from the edges inside a polygon, sought on a grid and refined about its best place.
pub(super) fn deepest(polygon: &[[f64; 2]]) -> f64 {
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, start| {
        polygon.iter().filter_map(|at| at.get(axis)).copied().fold(start, pick)
    };
    let mut from = [bound(0, f64::min, f64::INFINITY), bound(1, f64::min, f64::INFINITY)];
    let mut to = [bound(0, f64::max, f64::NEG_INFINITY), bound(1, f64::max, f64::NEG_INFINITY)];
    let mut best = (0.0, from);
    // Each round looks at a third of the sides before; eight rounds reach a few thousandths of a per cent of them.
    for _ in 0..8 {
        for step in 0..GRID * GRID {
            let share = |count: usize| (count as f64 + 0.5) / GRID as f64;
            let (column, row) = (share(step % GRID), share(step / GRID));
            let at = [from[0] + (to[0] - from[0]) * column, from[1] + (to[1] - from[1]) * row];
            let away = contour::distance(at, polygon);
            if away > best.0 && contour::inside(at, polygon) {
                best = (away, at);
            }
        }
        let half = [(to[0] - from[0]) / 6.0, (to[1] - from[1]) / 6.0];
        (from, to) = ([best.1[0] - half[0], best.1[1] - half[1]], [best.1[0] + half[0], best.1[1] + half[1]]);
    }
    best.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_deepest_place_of_a_rectangle_and_a_triangle() {
        let close = |value: f64, exact: f64| assert!((value - exact).abs() < 1e-3, "{value} is not {exact}");
        close(deepest(&[[0.0, 0.0], [60.0, 0.0], [60.0, 14.0], [0.0, 14.0]]), 7.0);
        // 3-4-5: inscribed circle of radius 1.
        close(deepest(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]), 1.0);
        assert_eq!(deepest(&[]), 0.0);
    }
}
