//! What was measured at the machine, and yes or no to whether it still goes.

use super::book::Book;
use super::clearance::{mostly, told};
use super::counted;
use super::json::{QuantityOut, quantity};
use super::look::Look;
use crate::check::{Answer, ClearAnswer, HolesAnswer, Overlay, TOLD, rounded_down};
use crate::diagnostic::Quantity;
use crate::units::{MM_PER_INCH, Millimetres, UnitSystem};
use schemars::JsonSchema;
use serde::Serialize;

/// One answer in words.
pub(super) struct Answered {
    /// `yes`, `no` or `?`.
    pub word: &'static str,
    /// Of what, and why.
    pub text: String,
    /// How much is to spare, mm; below zero how much is lacking.
    pub margin: Option<Quantity>,
}

/// Measurements of one day.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct MeasuredOut {
    /// The day, YYYY-MM-DD.
    pub date: Option<String>,
    /// Each measurement beside what the job file says.
    pub values: Vec<String>,
    /// One answer for each hole group and tool, and for each tool measured.
    pub answers: Vec<AnswerOut>,
}

/// The answer to one question.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct AnswerOut {
    /// `yes`, `no`, or `?` where it cannot be told.
    pub answer: &'static str,
    /// Of what, and why.
    pub text: String,
    /// How much is to spare; below zero how much is lacking.
    pub margin: Option<QuantityOut>,
}

/// When it was measured and over which job; `None` without measurements.
#[must_use]
pub fn heading(overlay: &Overlay) -> String {
    let day = overlay.measured.date.map_or_else(|| "on a day not known".to_owned(), |date| date.to_string());
    format!("measured {day}, laid over {}, which stays as it is", overlay.measured.as_filed.name)
}

/// Every answer of a report, in order.
pub(super) fn answered(book: &Book<'_>, overlay: &Overlay) -> Vec<Answered> {
    overlay.answers.iter().map(|answer| one(book, answer)).collect()
}

/// The section of a report for people; empty without measurements.
pub(super) fn section(book: &Book<'_>, look: &Look) -> String {
    let Some(overlay) = &book.report.overlay else { return String::new() };
    let mut text = look.wrapped("", "  ", &heading(overlay));
    for value in &overlay.measured.values {
        text.push_str(&look.wrapped("  ", "    ", &value.text(book.report.units)));
    }
    for Answered { word, text: why, .. } in answered(book, overlay) {
        text.push_str(&look.led(word, &why));
    }
    text + "\n"
}

fn one(book: &Book<'_>, answer: &Answer) -> Answered {
    let word = match answer.is_yes() {
        Some(true) => "yes",
        Some(false) => "no",
        None => "?",
    };
    let (text, margin) = match answer {
        Answer::Holes(holes) => (holes_words(book, holes), Some(holes.margin().0)),
        Answer::Clear(clear) => (clear_words(book, clear), clear.now.map(|now| now.gap)),
        Answer::NotChecked { about, why, key } => {
            let key = key.as_ref().map(|key| format!("; give `{key}` in the job file")).unwrap_or_default();
            (format!("{about}: not checked: {why}{key}"), None)
        }
    };
    Answered { word, text, margin: margin.map(|value| Quantity { value, unit: Millimetres::SYMBOL }) }
}

fn holes_words(book: &Book<'_>, answer: &HolesAnswer) -> String {
    let units = book.report.units;
    let group = answer.group.as_deref().unwrap_or("holes not in the drawing");
    let z = units.coordinate('Z', answer.bottom);
    let full = fine(answer.full_up_to, units);
    let over = match answer.overtravel {
        Millimetres(over) if over > 0.0 => format!(", overtravel {} included", fine(Millimetres(over), units)),
        _ => String::new(),
    };
    let holes = counted(answer.holes, "hole");
    let head = format!("{group}, {}", book.tool(answer.tool));
    if answer.short == 0 {
        let spare = fine(answer.margin(), units);
        return format!("{head}: {holes} complete: {z} gives full diameter to {full}; {spare} to spare{over}");
    }
    let short = fine(-answer.margin(), units);
    let ask = units.coordinate('Z', rounded_down(answer.ask, units));
    format!(
        "{head}: {} of {holes} not complete: {z} gives full diameter only to {full}; short by {short}{over}; ask the \
         programmer for {ask} or deeper",
        answer.short
    )
}

fn clear_words(book: &Book<'_>, answer: &ClearAnswer) -> String {
    let units = book.report.units;
    let tool = book.tool(answer.tool);
    let Some(now) = &answer.now else {
        return format!("{tool}: nothing within {} of tool and holder", units.length(TOLD));
    };
    let filed = answer.filed.map(|gap| format!("; {} by the job file", told(gap, units))).unwrap_or_default();
    let line = book.position(now.block.source, now.block.span.start).line;
    let n = book.n_word(now.block.source, now.block.span.start).map(|n| format!(" {n}")).unwrap_or_default();
    let place = format!(
        "{} {} from {}{}, line {line}{n}{filed}",
        now.part.word(),
        told(Millimetres(now.gap), units),
        book.obstacle(now.obstacle),
        mostly(now),
    );
    format!("{tool}: {place}{}", if now.gap < 0.0 { ": stop" } else { "" })
}

/// A length to 0.01 mm or 0.001 in.
fn fine(value: Millimetres, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{:.2} mm", value.0 + 0.0),
        UnitSystem::Inch => format!("{:.3} in", value.0 / MM_PER_INCH + 0.0),
    }
}

/// The same for machines.
pub(super) fn measured(book: &Book<'_>, overlay: &Overlay) -> MeasuredOut {
    let units = book.report.units;
    let answer = |one: Answered| AnswerOut {
        answer: one.word,
        text: one.text,
        margin: one.margin.map(|margin| quantity(&margin, units)),
    };
    MeasuredOut {
        date: overlay.measured.date.map(|date| date.to_string()),
        values: overlay.measured.values.iter().map(|value| value.text(units)).collect(),
        answers: answered(book, overlay).into_iter().map(answer).collect(),
    }
}
