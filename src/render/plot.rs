//! Trials, law and band as a picture: thrust against feed, and the delamination factor below it where it was measured.

use crate::job::Trials;
use crate::tune::fit::{FactorFit, Fit};
use crate::units::{Millimetres, MmPerRev, trimmed};
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;

const WIDTH: u32 = 800;
const THRUST_HEIGHT: u32 = 480;
const FACTOR_HEIGHT: u32 = 320;

/// Colours that people with any colour vision tell apart (Okabe and Ito, Color Universal Design, 2008). Signs differ too.
const COLOURS: [RGBColor; 4] =
    [RGBColor(0, 114, 178), RGBColor(213, 94, 0), RGBColor(0, 158, 115), RGBColor(204, 121, 167)];

/// Steps a curve is drawn in: more would show the whole pixels that they are rounded to.
const STEPS: u32 = 16;

/// The picture as SVG.
///
/// # Errors
/// What the drawing library could not do, in words.
pub fn plot(fit: &Fit, trials: &Trials) -> Result<String, String> {
    let line = fit.delamination.as_ref().and_then(|line| line.as_ref().ok());
    let height = THRUST_HEIGHT + line.map_or(0, |_| FACTOR_HEIGHT);
    let mut text = String::new();
    let drawn = {
        let area = SVGBackend::with_string(&mut text, (WIDTH, height)).into_drawing_area();
        draw(&area, fit, trials, line)
    };
    drawn.map_err(|fault| format!("the picture cannot be drawn: {fault}"))?;
    Ok(text)
}

fn draw(area: &Area<'_>, fit: &Fit, trials: &Trials, line: Option<&FactorFit>) -> Drawn {
    area.fill(&WHITE)?;
    let (upper, lower) = area.split_vertically(THRUST_HEIGHT);
    thrust(&upper, fit, trials)?;
    if let Some(line) = line {
        factor(&lower, fit, line)?;
    }
    area.present()
}

/// Diameters of the trials, each once, thinnest first.
fn diameters(fit: &Fit) -> Vec<f64> {
    let mut diameters: Vec<f64> = fit.law.trials.iter().map(|trial| trial.trial.diameter.0).collect();
    diameters.sort_by(f64::total_cmp);
    diameters.dedup();
    diameters
}

fn thrust(area: &Area<'_>, fit: &Fit, trials: &Trials) -> Drawn {
    let diameters = diameters(fit);
    let worn = fit.covered.shows_wear();
    let sharp = |trial: &crate::job::Trial| trial.thrust.0 / fit.law.wear_factor(trial.holes.unwrap_or(0.0));
    let band_top = |diameter: f64| fit.law.predict(MmPerRev(fit.covered.feed.1), Millimetres(diameter), 0.0).1.1.0;
    let highest = fit.law.trials.iter().map(|trial| sharp(&trial.trial));
    let top = highest.chain(diameters.iter().map(|diameter| band_top(*diameter))).fold(0.0, f64::max);
    let name = trials.file.name.rsplit('/').next().unwrap_or_default();
    let mut chart = ChartBuilder::on(area)
        .caption(format!("Thrust law of {name}"), ("sans-serif", 20))
        .margin(16)
        .x_label_area_size(48)
        .y_label_area_size(64)
        .build_cartesian_2d(0.0..fit.covered.feed.1 * 1.1, 0.0..top * 1.08)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc("feed, mm/rev")
        .y_desc(if worn { "thrust over the wear factor, N" } else { "thrust, N" })
        .x_label_formatter(&|feed| trimmed(*feed, 4))
        .y_label_formatter(&|thrust| trimmed(*thrust, 0))
        .label_style(("sans-serif", 14))
        .axis_desc_style(("sans-serif", 16))
        .draw()?;
    for (index, diameter) in diameters.iter().enumerate() {
        let colour = COLOURS.get(index % COLOURS.len()).copied().unwrap_or(BLACK);
        let curve: Vec<(f64, [f64; 3])> = feeds(fit.covered.feed)
            .map(|feed| {
                let (law, (low, high)) = fit.law.predict(MmPerRev(feed), Millimetres(*diameter), 0.0);
                (feed, [low.0, law.0, high.0])
            })
            .collect();
        let lower = curve.iter().map(|(feed, [low, ..])| (*feed, *low));
        let upper = curve.iter().rev().map(|(feed, [.., high])| (*feed, *high));
        let outline: Vec<(f64, f64)> = lower.chain(upper).collect();
        chart.draw_series(std::iter::once(Polygon::new(outline, colour.mix(0.15).filled())))?;
        let label = format!("{} mm", trimmed(*diameter, 3));
        chart
            .draw_series(LineSeries::new(
                curve.iter().map(|(feed, [_, law, _])| (*feed, *law)),
                colour.stroke_width(2),
            ))?
            .label(label)
            .legend(move |(x, y)| PathElement::new([(x, y), (x + 20, y)], colour.stroke_width(2)));
        let own = fit.law.trials.iter().filter(|trial| trial.trial.diameter.0 == *diameter);
        let points: Vec<((f64, f64), bool)> =
            own.map(|trial| ((trial.trial.feed.0, sharp(&trial.trial)), trial.outlier)).collect();
        signs(&mut chart, index, colour, &points)?;
    }
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperLeft)
        .background_style(WHITE.mix(0.8))
        .border_style(BLACK.mix(0.3))
        .label_font(("sans-serif", 14))
        .draw()?;
    let confidence = trimmed(fit.confidence * 100.0, 0);
    let ring = if fit.law.trials.iter().any(|trial| trial.outlier) { "ring: outlier; " } else { "" };
    let r_squared = trimmed(fit.law.r_squared, 4);
    corner_note(area, &format!("band: holds {confidence} % of single holes; {ring}R2 {r_squared}"))
}

type Chart<'a, 'b> = ChartContext<
    'a,
    SVGBackend<'b>,
    Cartesian2d<plotters::coord::types::RangedCoordf64, plotters::coord::types::RangedCoordf64>,
>;

/// Trials of one diameter by its own sign; outliers have a ring round it.
fn signs(chart: &mut Chart<'_, '_>, index: usize, colour: RGBColor, points: &[((f64, f64), bool)]) -> Drawn {
    let places = points.iter().map(|(place, _)| *place);
    match index % 3 {
        0 => chart.draw_series(places.map(|place| Circle::new(place, 4, colour.filled())))?,
        1 => chart.draw_series(places.map(|place| TriangleMarker::new(place, 6, colour.filled())))?,
        _ => chart.draw_series(places.map(|place| Cross::new(place, 4, colour.stroke_width(2))))?,
    };
    let outliers = points.iter().filter(|(_, outlier)| *outlier);
    chart.draw_series(outliers.map(|(place, _)| Circle::new(*place, 9, BLACK.stroke_width(2))))?;
    Ok(())
}

fn factor(area: &Area<'_>, fit: &Fit, line: &FactorFit) -> Drawn {
    let top = line.points.iter().map(|(_, factor)| *factor).fold(1.0, f64::max);
    let mut chart = ChartBuilder::on(area)
        .margin(16)
        .x_label_area_size(48)
        .y_label_area_size(64)
        .build_cartesian_2d(0.0..fit.covered.feed.1 * 1.1, 1.0..1.0 + (top - 1.0).max(0.1) * 1.15)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc("feed, mm/rev")
        .y_desc(if line.shows_wear() { "delamination, as of a new edge" } else { "delamination factor" })
        .x_label_formatter(&|feed| trimmed(*feed, 4))
        .y_label_formatter(&|factor| trimmed(*factor, 2))
        .label_style(("sans-serif", 14))
        .axis_desc_style(("sans-serif", 16))
        .draw()?;
    let colour = COLOURS[0];
    let at = |feed: f64| line.term('a') + line.term('b') * feed;
    chart.draw_series(LineSeries::new(
        [line.feed.0, line.feed.1].map(|feed| (feed, at(feed))),
        colour.stroke_width(2),
    ))?;
    chart.draw_series(line.points.iter().map(|point| Circle::new(*point, 4, colour.filled())))?;
    corner_note(area, &format!("R2 {}", trimmed(line.r_squared, 4)))
}

/// Feeds from the least to the most, close enough for a smooth curve.
fn feeds((least, most): (f64, f64)) -> impl Iterator<Item = f64> {
    (0..=STEPS).map(move |step| least + (most - least) * f64::from(step) / f64::from(STEPS))
}

/// Words at the lower right of a chart, above its axis.
fn corner_note(area: &Area<'_>, words: &str) -> Drawn {
    let (width, height) = area.dim_in_pixel();
    let style = ("sans-serif", 14).into_font().color(&BLACK.mix(0.7)).pos(Pos::new(HPos::Right, VPos::Bottom));
    let place = (i32::try_from(width).unwrap_or(0) - 28, i32::try_from(height).unwrap_or(0) - 76);
    area.draw(&Text::new(words.to_owned(), place, style))
}
