//! A cut through one hole: layers, the tool at its deepest, tip-out and full diameter out.

use crate::job::{Job, MaterialClass, Support};
use crate::operation::{Recipe, point_length};
use crate::process::HoleReading;
use crate::units::{Millimetres, UnitSystem, trimmed};
use askama::Template;

/// Pixels of the drawing.
const HEIGHT: f64 = 140.0;
/// Where the block of material begins and ends, and where the labels stand, pixels.
const BLOCK: (f64, f64) = (58.0, 136.0);
/// Room above the entry face, pixels.
const HEAD: f64 = 20.0;
/// Labels nearer than this would run into each other, pixels.
const APART: f64 = 11.0;

/// The drawing.
#[derive(Template)]
#[template(path = "section.svg", config = "src/render/sheet/askama.toml", escape = "html")]
pub(super) struct Section {
    height: f64,
    layers: Vec<Band>,
    tool: String,
    levels: Vec<Level>,
    slow: Option<(f64, f64)>,
    backing: Option<f64>,
    left: f64,
    right: f64,
    middle: f64,
    alt: String,
}

struct Band {
    y: f64,
    height: f64,
    fill: &'static str,
    name: String,
}

/// A height with its label.
struct Level {
    y: f64,
    label_y: f64,
    label: String,
}

/// The drawing of a hole; `None` without a laminate or for a hole that is not straight down.
pub(super) fn section(job: &Job, recipe: &Recipe, reading: &HoleReading, units: UnitSystem) -> Option<Section> {
    let laminate = job.laminate.as_ref()?;
    let tool = job.tool(recipe.tool)?;
    let entry = job.head.entry_z.0;
    let (bottom, thickness) = (entry - recipe.bottom, laminate.thickness().0);
    let deepest = bottom.max(thickness).max(reading.breakthrough.map_or(0.0, |out| out.full_out[2].0));
    let drawable = recipe.heights_known && deepest > 0.0 && deepest.is_finite();
    if !drawable {
        return None;
    }
    let scale = (HEIGHT - HEAD - 16.0) / deepest;
    let y = |depth: f64| rounded(HEAD + depth * scale);
    let mut top = 0.0;
    let mut layers = Vec::new();
    for layer in &laminate.layers {
        let thick = layer.thickness().0;
        let fill = hatch(layer.material.class);
        let name = if thick * scale >= APART { layer.name.clone() } else { String::new() };
        layers.push(Band { y: y(top), height: rounded((thick * scale).max(0.5)), fill, name });
        top += thick;
    }
    let width = tool.diameter.0 + recipe.orbit.map_or(0.0, |orbit| orbit.diameter);
    let half = (width / 2.0 * scale).min((BLOCK.1 - BLOCK.0) / 2.0 - 8.0);
    let point = point_length(tool).unwrap_or_default().0;
    let z = |depth: f64| units.coordinate('Z', Millimetres(entry - depth));
    let mut levels = vec![(0.0, format!("entry {}", z(0.0))), (bottom, format!("tip {}", z(bottom)))];
    if let Some(out) = &reading.breakthrough {
        let [thin, _, thick] = out.tip_out;
        levels.push((thin.0, format!("tip out {}", z(thin.0))));
        levels.push((thick.0, format!("exit, thickest {}", z(thick.0))));
        levels.push((out.full_out[2].0, format!("full dia out {}", z(out.full_out[2].0))));
    }
    let levels = spread(levels, y);
    let alt = format!(
        "Section: {} layers, tip at {}, {}",
        laminate.layers.len(),
        z(bottom),
        levels.iter().map(|level| level.label.clone()).collect::<Vec<_>>().join(", ")
    );
    let middle = f64::midpoint(BLOCK.0, BLOCK.1);
    Some(Section {
        height: HEIGHT,
        layers,
        tool: outline(middle, half, y(bottom), rounded((point * scale).min(y(bottom)))),
        levels,
        slow: reading
            .exit
            .as_ref()
            .filter(|_| recipe.orbit.is_none())
            .map(|zone| (y(zone.from.0), y(zone.to.0.min(deepest)))),
        backing: (laminate.support == Support::Backed).then(|| y(thickness)),
        left: BLOCK.0,
        right: BLOCK.1,
        middle,
        alt,
    })
}

/// Labels in order of height, pushed apart where they would run into each other.
fn spread(mut levels: Vec<(f64, String)>, y: impl Fn(f64) -> f64) -> Vec<Level> {
    levels.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut last = f64::NEG_INFINITY;
    let mut spread: Vec<Level> = Vec::with_capacity(levels.len());
    for (depth, label) in levels {
        let at = y(depth);
        last = (last + APART).max(at + 3.0);
        spread.push(Level { y: at, label_y: rounded(last), label });
    }
    // What was pushed below the picture is pushed back up.
    let mut below = HEIGHT - 2.0 + APART;
    for level in spread.iter_mut().rev() {
        level.label_y = level.label_y.min(below - APART);
        below = level.label_y;
    }
    spread
}

/// The tool as a closed line: shank, corners, tip.
fn outline(middle: f64, half: f64, tip: f64, point: f64) -> String {
    let (left, right, corner) = (middle - half, middle + half, tip - point);
    let point = |x: f64, y: f64| format!("{},{}", trimmed(x, 1), trimmed(y, 1));
    [point(left, 4.0), point(left, corner), point(middle, tip), point(right, corner), point(right, 4.0)].join(" ")
}

fn hatch(class: MaterialClass) -> &'static str {
    match class {
        MaterialClass::Carbon => "url(#carbon)",
        MaterialClass::Glass => "url(#glass)",
        MaterialClass::Aramid => "url(#aramid)",
        MaterialClass::Foam | MaterialClass::Honeycomb => "url(#core)",
        MaterialClass::Aluminium | MaterialClass::Titanium | MaterialClass::Steel => "url(#metal)",
        MaterialClass::Other => "url(#other)",
    }
}

/// A tenth of a pixel is finer than any screen.
fn rounded(value: f64) -> f64 {
    libm::round(value * 10.0) / 10.0
}
