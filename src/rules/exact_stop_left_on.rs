//! An exact stop is still in force over a run of short moves.
//!
//! ## Why it matters
//! With G61 or G61.1 the machine stops at every block end. Meant for one corner or one hole and left on, it makes the
//! tool stand and rub hundreds of times along a trimmed edge, and costs time. Where the feed that is reached falls below
//! the chip-load floor, `reached-feed-below-floor` reports it with this cause; here it is a warning where feed is lost, and
//! a note where the moves are long enough to reach it.
//!
//! ## Fires on
//! Segments of 1 mm reach 1897 mm/min instead of 2400: above the floor, but the tool stops every millimetre.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S15000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X50 F2400
//! G61.1
//! X51 (!)
//! X52
//! X53
//! X54
//! X55
//! X56
//! X57
//! X58
//! X59
//! X60
//! G64
//! X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! An exact stop for one corner, and one cancelled before the moves:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S15000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G61.1
//! G1 X205 F2400
//! Y-20
//! G64
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Cancels the exact stop before the moves.

use super::reached_feed_below_floor::rubs;
use super::trim::{exact_word, fed_if, trims};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::Stretch;
use crate::units::{Millimetres, MmPerMin, UnitSystem};
use std::collections::BTreeMap;

/// The rule.
pub static RULE: Rule = Rule {
    name: "exact-stop-left-on",
    severity: Severity::Warning,
    summary: "an exact stop in force over many short moves",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// A run of fewer moves counts as meant. House value.
const FEW: u32 = 8;
/// Moves longer than this are no short ones, mm. House value.
const SHORT: f64 = 5.0;

/// The stretches under one exact stop.
struct Run<'v> {
    /// The first with several moves, or the first.
    first: &'v Stretch,
    moves: u32,
    length: f64,
    /// Slowest feed reached where it is less than commanded, with the commanded one.
    slowest: Option<(f64, f64)>,
    rubs: bool,
}

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !view.tool.is_some_and(|tool| trims(&tool.kind)) {
        return;
    }
    let mut runs: BTreeMap<(u16, u32), Run<'_>> = BTreeMap::new();
    for (stretch, reading) in
        fed_if(view, |stretch, _| stretch.exact.is_some()).filter(|(stretch, _)| is_short(stretch))
    {
        let Some(word) = stretch.exact else { continue };
        let run = runs.entry(word).or_insert(Run { first: stretch, moves: 0, length: 0.0, slowest: None, rubs: false });
        // One move alone may be a piece of a long one, where the tool comes into the panel.
        if run.first.moves == 1 && stretch.moves > 1 {
            run.first = stretch;
        }
        run.moves = run.moves.saturating_add(stretch.moves);
        run.length += stretch.length;
        run.rubs |= rubs(reading);
        let lost = stretch.reached.zip(stretch.feed).map(|((least, ..), feed)| (least, feed));
        let lost = lost.filter(|(least, feed)| *least < feed * 0.995);
        run.slowest = [run.slowest, lost].into_iter().flatten().reduce(|a, b| if b.0 < a.0 { b } else { a });
    }
    for (word, run) in runs.into_iter().filter(|(_, run)| run.moves >= FEW && !run.rubs) {
        let aim = Aim::Block(run.first.first);
        let cause = (view.cut.tool, u64::from(word.0), u64::from(word.1));
        cx.report_worst(cause, f64::from(run.moves), aim, |units| report(&run, aim, units));
    }
}

fn is_short(stretch: &Stretch) -> bool {
    stretch.length / f64::from(stretch.moves.max(1)) <= SHORT
}

fn report(run: &Run<'_>, aim: Aim, units: UnitSystem) -> Report {
    let each = units.length(Millimetres(run.length / f64::from(run.moves.max(1))));
    let message = format!("exact stop in force over {} moves of {each} on average", run.moves);
    let report = Report::new(aim, message)
        .related(exact_word(run.first), "exact stop in force since here")
        .advice("cancel it with G64 before these moves")
        .remedy(Remedy::LineBefore("G64".to_owned()));
    match run.slowest {
        Some((reached, feed)) => {
            let (reached, feed) = (units.feed(MmPerMin(reached)), units.feed(MmPerMin(feed)));
            report.why(format!("the tool stops at every block end and reaches {reached} of {feed}"))
        }
        None => report.severity(Severity::Note).why("the tool stops at every block end"),
    }
}
