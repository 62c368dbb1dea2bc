//! Line charts that read without colour: lines differ by weight and dashes, never by tone alone.

use crate::units::trimmed;
use plotters::element::DashedPathElement;
use plotters::prelude::{
    BLACK, ChartBuilder, Color, IntoDrawingArea, IntoFont, LineSeries, SVGBackend, ShapeStyle, WHITE,
};
use std::error::Error;

/// Size in pixels: a quarter of the paper's width with letters that can be read.
const SIZE: (u32, u32) = (240, 150);
/// Values beyond this are no reading of the trade and cannot be drawn.
const MOST: f64 = 1e7;
/// Room above the highest line.
const HEAD_ROOM: f64 = 1.15;

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pen {
    /// Heavy: what the program does.
    Heavy,
    /// Thin: the least.
    Thin,
    /// Dashed: the most.
    Dashed,
    /// Dotted: a curve of a model, or what the machine reaches.
    Dotted,
}

/// One curve as level pieces: from, to, and the value between.
#[derive(Clone, Debug)]
pub(super) struct Curve {
    pub pen: Pen,
    pub pieces: Vec<(f64, f64, f64)>,
}

impl Curve {
    /// A curve; `None` when nothing of it can be drawn.
    pub fn of(pen: Pen, pieces: impl Iterator<Item = (f64, f64, Option<f64>)>) -> Option<Self> {
        let sound = |value: f64| value.is_finite() && value.abs() < MOST;
        let known = pieces.filter_map(|(from, to, value)| Some((from, to, value?)));
        let pieces: Vec<_> = known.filter(|(from, to, value)| sound(*from) && sound(*to) && sound(*value)).collect();
        (!pieces.is_empty()).then_some(Self { pen, pieces })
    }

    /// Runs of pieces that touch, as points of a stair.
    fn stairs(&self) -> Vec<Vec<(f64, f64)>> {
        let mut runs: Vec<Vec<(f64, f64)>> = Vec::new();
        let mut end = f64::NAN;
        for (from, to, value) in &self.pieces {
            let points = [(*from, *value), (*to, *value)];
            match runs.last_mut().filter(|_| (end - from).abs() < 1e-6) {
                Some(run) => run.extend(points),
                None => runs.push(points.to_vec()),
            }
            end = *to;
        }
        runs
    }
}

/// Draws curves over an axis; `None` when there is nothing to draw.
pub(super) fn chart(curves: &[Curve], across: &str, up: &str) -> Option<String> {
    let pieces = || curves.iter().flat_map(|curve| &curve.pieces);
    let least = pieces().map(|(from, ..)| *from).fold(f64::INFINITY, f64::min);
    let most = pieces().map(|(_, to, _)| *to).fold(f64::NEG_INFINITY, f64::max);
    let high = pieces().map(|(.., value)| *value).fold(0.0, f64::max) * HEAD_ROOM;
    if !(most - least > 1e-6 && high > 1e-9) {
        return None;
    }
    let mut text = String::new();
    draw(&mut text, curves, (least, most), high, (across, up)).ok()?;
    Some(text)
}

fn draw(
    text: &mut String,
    curves: &[Curve],
    (least, most): (f64, f64),
    high: f64,
    (across, up): (&str, &str),
) -> Result<(), Box<dyn Error>> {
    let root = SVGBackend::with_string(text, SIZE).into_drawing_area();
    root.fill(&WHITE).map_err(|error| error.to_string())?;
    let mut chart = ChartBuilder::on(&root)
        .margin(4)
        .x_label_area_size(30)
        .y_label_area_size(48)
        .build_cartesian_2d(least..most, 0.0..high)
        .map_err(|error| error.to_string())?;
    let font = ("sans-serif", 12).into_font();
    chart
        .configure_mesh()
        .bold_line_style(BLACK.mix(0.18))
        .light_line_style(WHITE)
        .x_labels(7)
        .y_labels(5)
        .x_desc(across)
        .y_desc(up)
        .label_style(font.clone())
        .axis_desc_style(font)
        .x_label_formatter(&|value| trimmed(*value, 1))
        .y_label_formatter(&|value| {
            trimmed(
                *value,
                if high < 0.02 {
                    4
                } else if high < 1.0 {
                    3
                } else {
                    0
                },
            )
        })
        .draw()
        .map_err(|error| error.to_string())?;
    for curve in curves {
        for run in curve.stairs() {
            let weight = if curve.pen == Pen::Heavy { 3 } else { 1 };
            let style: ShapeStyle = BLACK.stroke_width(weight);
            let done = match curve.pen {
                Pen::Heavy | Pen::Thin => chart.draw_series(LineSeries::new(run, style)).map(|_| ()),
                Pen::Dashed => chart.draw_series([DashedPathElement::new(run, 7, 4, style)]).map(|_| ()),
                Pen::Dotted => {
                    chart.draw_series([DashedPathElement::new(run, 2, 4, BLACK.stroke_width(2))]).map(|_| ())
                }
            };
            done.map_err(|error| error.to_string())?;
        }
    }
    root.present().map_err(|error| error.to_string())?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_are_told_apart_without_colour() {
        let curve = |pen, value| Curve::of(pen, [(0.0, 5.0, Some(value)), (5.0, 9.0, Some(value / 2.0))].into_iter());
        let curves: Vec<Curve> =
            [curve(Pen::Heavy, 0.06), curve(Pen::Thin, 0.02), curve(Pen::Dashed, 0.08)].into_iter().flatten().collect();
        let svg = chart(&curves, "depth mm", "mm/rev").unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("depth mm") && svg.contains("stroke-width=\"3\""), "{svg}");
        let colours = svg.split("#").skip(1).map(|rest| rest.get(..6).unwrap_or_default());
        assert!(colours.clone().all(|hex| ["000000", "FFFFFF"].contains(&hex)), "{svg}");
    }

    #[test]
    fn what_cannot_be_drawn_is_no_picture() {
        assert!(chart(&[], "a", "b").is_none());
        assert!(Curve::of(Pen::Thin, [(0.0, f64::NAN, Some(1.0)), (0.0, 1.0, None)].into_iter()).is_none());
        let flat = Curve::of(Pen::Thin, [(1.0, 1.0, Some(1.0))].into_iter()).unwrap();
        assert!(chart(&[flat], "a", "b").is_none());
        let zero = Curve::of(Pen::Thin, [(0.0, 1.0, Some(0.0))].into_iter()).unwrap();
        assert!(chart(&[zero], "a", "b").is_none());
    }
}
