//! The machine does not reach the commanded feed, and what it reaches lies below the chip-load floor.
//!
//! ## Why it matters
//! The program may ask for enough and the edge still rub: over a move of length L from stop to stop a machine with
//! acceleration a gets no further than sqrt(a L), 949 mm/min over 0.25 mm at 1 m/s2 (plain mechanics). Exact stops, sharp
//! corners, short segments, tight arcs and a control that reads too slowly or looks too few blocks ahead all cost feed.
//! The plan follows `[machine]`: acceleration, jerk, corner mode, look-ahead and block time. A higher F changes nothing
//! where the machine sets the limit, so none is proposed.
//!
//! ## Fires on
//! An exact stop left on over segments of 0.2 mm: 849 mm/min instead of 1000, and the edge needs 900 at this speed.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S15000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X50 F1000
//! G61.1
//! X50.2 (!)
//! X50.4
//! X50.6
//! X50.8
//! X51
//! X51.2
//! X51.4
//! X51.6
//! X51.8
//! X52
//! G64
//! X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The same segments without the exact stop, in one line, and a fast commanded feed in the air before:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S15000 M3 M7
//! G0 G43 H2 X-30 Y105 Z5
//! G0 Z-7
//! G61.1
//! G1 X-29.8 F1000
//! X-29.6
//! X-29.4
//! G64
//! X50
//! X50.2
//! X50.4
//! X50.6
//! X50.8
//! X51
//! X220
//! G0 Z5
//! M30
//! ```
//! Segments of 0.3 mm from stop to stop, which reach 1039 mm/min:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S15000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X50 F1200
//! G61.1
//! X50.3
//! X50.6
//! X50.9
//! X51.2
//! X51.5
//! X51.8
//! G64
//! X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Cancels the exact stop where that is the cause; else none, for the path must be posted with longer moves.

use super::trim::{Group, below, can_judge_feed, exact_word, fed_if, first_fed, groups, tooth_line};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::Cause;
use crate::process::CutReading;
use crate::units::{Millimetres, MmPerMin, MmPerTooth, RevPerMin, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "reached-feed-below-floor",
    severity: Severity::Warning,
    summary: "the machine reaches less feed than the chip-load floor",
    checks: &[Check::Cut(check), Check::Program(missing::trimming)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !can_judge_feed(view, cx) {
        return;
    }
    if first_fed(view, |stretch, _| stretch.reached.is_none()).is_some() {
        let axes = ["x", "y", "z"].into_iter().zip(view.job.machine.acceleration);
        let missing = axes.filter(|(_, acceleration)| acceleration.is_none()).map(|(axis, _)| axis).next();
        if let Some(axis) = missing {
            let why = "the feed really reached is not known without the machine's acceleration";
            cx.not_checked(why, format!("machine.acceleration.{axis}"));
        }
    }
    let broken = fed_if(view, |_, reading| falls_short(reading)).filter_map(|piece @ (stretch, reading)| {
        let (.., cause) = stretch.reached?;
        let reached = chip(reading, reading.reached_per_tooth?);
        let key = (
            view.cut.tool,
            cause as u64,
            stretch.exact.map_or(u64::MAX, |(source, at)| u64::from(source) << 32 | u64::from(at)),
        );
        Some((key, -reached.0, piece))
    });
    for group in groups(broken) {
        let aim = Aim::Block(group.first.first);
        cx.report_worst(group.cause, group.excess, aim, |units| report(view, &group, units));
    }
}

/// Whether the feed reached lies under the floor though the commanded one does not.
fn falls_short(reading: &CutReading) -> bool {
    let fed = reading.reached_per_tooth.zip(reading.per_tooth).zip(reading.floor.as_ref());
    fed.is_some_and(|((reached, commanded), floor)| {
        below(chip(reading, reached), floor.value) && !below(chip(reading, commanded), floor.value)
    })
}

/// A feed for each edge as its chip after thinning.
pub(super) fn chip(reading: &CutReading, feed: MmPerTooth) -> MmPerTooth {
    MmPerTooth(feed.0 * reading.thinning.unwrap_or(1.0))
}

/// Whether the exact stop of a stretch is reported here rather than by `exact-stop-left-on`.
pub(super) fn rubs(reading: &CutReading) -> bool {
    let reached = reading.reached_per_tooth.map(|feed| chip(reading, feed));
    reached.zip(reading.floor.as_ref()).is_some_and(|(chip, floor)| below(chip, floor.value))
}

fn report(view: &CutView<'_>, group: &Group<'_>, units: UnitSystem) -> Report {
    let (stretch, reading) = group.worst;
    let (reached, _, cause) = stretch.reached.unwrap_or((0.0, 0.0, Cause::Commanded));
    let tooth = chip(reading, reading.reached_per_tooth.unwrap_or_default());
    let floor = reading.floor.as_ref().map_or(MmPerTooth(0.0), |floor| floor.value);
    let origin = reading.floor.as_ref().map_or_else(String::new, |floor| floor.origin.clone());
    let message = format!(
        "reaches {} only, {}; least {}",
        units.feed(MmPerMin(reached)),
        units.per_tooth(tooth),
        units.per_tooth(floor)
    );
    let mut report = Report::new(Aim::Block(group.first.first), message)
        .why(format!("commanded: {}", tooth_line(view, group.worst, units)))
        .why(share_line(group, units))
        .why(spread_line(group, units))
        .why(format!("cause: {}", words(cause)))
        .measured(tooth.0, "mm/tooth")
        .limit(floor.0, "mm/tooth", origin)
        .advice(advice(cause));
    if let Some(needed) = needed_length(view, stretch.speed, floor, reading, cause) {
        report = report.why(format!(
            "from stop to stop at {} m/s2 the floor needs moves of {} or longer",
            view.job.machine.acceleration.into_iter().flatten().fold(f64::INFINITY, f64::min),
            units.length(needed)
        ));
    }
    if cause == Cause::ExactStop {
        report = report
            .related(exact_word(stretch), "exact stop in force since here")
            .remedy(Remedy::LineBefore("G64".to_owned()));
    }
    report
}

fn share_line(group: &Group<'_>, units: UnitSystem) -> String {
    let total = units.length(Millimetres(group.length));
    match group.moves {
        0 | 1 => format!("one move, {total}"),
        moves => {
            let each = units.length(Millimetres(group.length / f64::from(moves)));
            format!("{moves} moves of {each} on average, {total} in all")
        }
    }
}

/// The slowest and the fastest of the moves.
fn spread_line(group: &Group<'_>, units: UnitSystem) -> String {
    let (least, most, _) = group.worst.0.reached.unwrap_or((0.0, 0.0, Cause::Commanded));
    let (least, most) = (units.feed(MmPerMin(least)), units.feed(MmPerMin(most)));
    if least == most {
        format!("each reaches {least}")
    } else {
        format!("the slowest reaches {least}, the fastest {most}")
    }
}

/// Length from stop to stop at which the floor is reached, L = v^2 / a; for exact stops only.
fn needed_length(
    view: &CutView<'_>,
    speed: Option<f64>,
    floor: MmPerTooth,
    reading: &CutReading,
    cause: Cause,
) -> Option<Millimetres> {
    if cause != Cause::ExactStop {
        return None;
    }
    let share = reading.wall_factor * reading.thinning.unwrap_or(1.0);
    let feed = floor.per_rev(view.tool?.edges?) * RevPerMin(speed?);
    let metres_per_second = feed.0 / share / 60_000.0;
    let acceleration = view.job.machine.acceleration.into_iter().flatten().fold(f64::INFINITY, f64::min);
    let length = 1000.0 * metres_per_second * metres_per_second / acceleration;
    length.is_finite().then_some(Millimetres(length)).filter(|length| length.0 > 0.0)
}

/// What held the feed back.
pub(super) fn words(cause: Cause) -> &'static str {
    match cause {
        Cause::Commanded => "the commanded feed itself",
        Cause::Length => "the moves are too short to speed up and slow down in",
        Cause::Corner => "corners between the moves",
        Cause::ExactStop => "an exact stop at every block end",
        Cause::Arc => "acceleration of an axis on the arc",
        Cause::AxisRate => "greatest rate of an axis",
        Cause::BlockTime => "the control's time for one block",
        Cause::LookAhead => "the control looks too few blocks ahead",
    }
}

fn advice(cause: Cause) -> &'static str {
    match cause {
        Cause::ExactStop => "cancel the exact stop (G64) before these moves, or post them as longer moves or arcs",
        Cause::Corner => "round the corner, or allow a wider blend; a higher F changes nothing",
        Cause::Arc | Cause::AxisRate => "lower the spindle speed for these moves; a higher F changes nothing",
        Cause::Commanded | Cause::Length | Cause::BlockTime | Cause::LookAhead => {
            "post these moves as longer moves or arcs; a higher F changes nothing"
        }
    }
}
