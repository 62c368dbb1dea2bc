//! A fitted thrust law as a piece of job file: the law as keys, what it is worth as comments above them.

use super::counted;
use crate::job::Trials;
use crate::source::sha256;
use crate::tune::fit::{FactorFit, Fit, FittedTrial, LawFit, Term, Unfit};
use crate::units::trimmed;
use std::fmt::Write;

/// Trials whose residuals are all listed; of more, those furthest off.
const LISTED: usize = 40;

/// Digits of the hash that reports repeat; the whole hash stands above the law.
const HASH_DIGITS: usize = 12;

/// The law of `trials` for a tool, all of it valid TOML. Without a number `N` stands in its place.
#[must_use]
pub fn fit(fit: &Fit, trials: &Trials, tool: Option<u32>) -> String {
    let file = trials.file.name.rsplit('/').next().unwrap_or_default();
    let hash = sha256(&trials.file.bytes);
    let tool = tool.map_or_else(|| "N".to_owned(), |number| number.to_string());
    let mut lines = vec![format!("Thrust law of {file}"), format!("sha256 {hash}"), String::new()];
    law(fit, &mut lines);
    covered(fit, trials, &mut lines);
    residuals(&fit.law, &mut lines);
    wear(fit, &tool, &mut lines);
    match &fit.delamination {
        Some(Ok(line)) => delamination(line, fit.confidence, &mut lines),
        Some(Err(why)) => lines.extend([String::new(), format!("Delamination factor: no line; {}", short(why))]),
        None => {}
    }
    let mut text: String = lines.iter().map(|line| format!("# {line}").trim_end().to_owned() + "\n").collect();
    if tool == "N" {
        text.push_str("#\n# Put the number of the tool for N.\n");
    }
    text + &table(fit, file, hash.get(..HASH_DIGITS).unwrap_or(&hash), &tool)
}

fn short(why: &Unfit) -> String {
    why.to_string()
}

/// The keys of `[tool.N.thrust]`.
fn table(fit: &Fit, file: &str, hash: &str, tool: &str) -> String {
    let law = fit.law.law(&fit.covered, "");
    let trials = counted(fit.covered.trials as u64, "trial");
    let [from, to] = [law.valid.0, law.valid.1].map(|feed| trimmed(feed, 6));
    let [thin, thick] = [fit.covered.diameter.0, fit.covered.diameter.1].map(|diameter| trimmed(diameter, 4));
    let mut text = format!("[tool.{tool}.thrust]\nc = {}\nm = {}\n", float(law.c), float(law.m));
    if law.p != 0.0 {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "p = {}", float(law.p));
    }
    let r_squared = trimmed(fit.law.r_squared, 4);
    let name = file.replace(['"', '\\'], "'");
    text + &format!(
        "from = \"{from} mm/rev\"\nto = \"{to} mm/rev\"\ndiameters = [\"{thin} mm\", \"{thick} mm\"]\n\
         source = \"{name}, {trials}, R2 {r_squared}, sha256 {hash}\"\n"
    )
}

fn law(fit: &Fit, lines: &mut Vec<String>) {
    let (mut formula, mut meaning) = ("F = c f^m".to_owned(), "F in N, f in mm/rev".to_owned());
    for term in &fit.law.terms {
        match term.symbol {
            'p' => (formula.push_str(" D^p"), meaning.push_str(", D in mm")),
            'k' => (formula.push_str(" e^(k N)"), meaning.push_str(", N holes drilled before")),
            _ => ((), ()),
        };
    }
    lines.push(format!("{formula}: {meaning}"));
    lines.push(String::new());
    terms(&fit.law.terms, fit.confidence, lines);
    lines.push(String::new());
    lines.push(format!(
        "{}, {} of freedom, R2 {}, spread {} %",
        counted(fit.covered.trials as u64, "trial"),
        counted(fit.law.freedom as u64, "degree"),
        trimmed(fit.law.r_squared, 4),
        trimmed(fit.law.spread * 100.0, 1),
    ));
}

fn terms(terms: &[Term], confidence: f64, lines: &mut Vec<String>) {
    lines.push(format!("   {:>12}    {} % interval", "value", trimmed(confidence * 100.0, 0)));
    for term in terms {
        let (low, high) = (significant(term.interval.0), significant(term.interval.1));
        lines.push(format!("{}  {:>12}    {low} to {high}", term.symbol, significant(term.value)));
    }
}

fn covered(fit: &Fit, trials: &Trials, lines: &mut Vec<String>) {
    let covered = &fit.covered;
    lines.push(format!("feed {} mm/rev", span(covered.feed, 4)));
    lines.push(format!("diameter {} mm", span(covered.diameter, 3)));
    match covered.holes {
        Some(holes) => lines.push(format!("holes drilled before {}", span(holes, 0))),
        None => lines.push("holes drilled before: not given for every trial, so wear is not told".to_owned()),
    }
    if let Some(speed) = covered.speed {
        lines.push(format!("speed {} rev/min, which is no part of the law", span(speed, 0)));
    }
    if fit.law.terms.iter().any(|term| term.symbol == 'p' && term.interval.1 < 0.0) {
        lines.push("thrust falls with diameter in these trials: see that tools and rows are not mixed up".to_owned());
    }
    lines.push("The law says nothing outside these feeds and diameters.".to_owned());
    if !trials.unread.is_empty() {
        lines.push(format!("columns not read: {}", trials.unread.join(", ")));
    }
}

/// A share in per cent to one decimal; adding zero takes the sign from a minus zero.
fn percent(share: f64) -> f64 {
    (share * 1000.0).round() / 10.0 + 0.0
}

fn residuals(law: &LawFit, lines: &mut Vec<String>) {
    let mut shown: Vec<&FittedTrial> = law.trials.iter().collect();
    if shown.len() > LISTED {
        shown.sort_by(|a, b| b.residual().abs().total_cmp(&a.residual().abs()));
        shown.truncate(LISTED);
        lines.extend([String::new(), format!("The {LISTED} trials furthest from the law:")]);
    }
    lines.push(String::new());
    lines.push(format!(
        "{:>5}  {:>8}  {:>7}  {:>6}  {:>8}  {:>8}  {:>8}",
        "row", "mm/rev", "mm", "holes", "N", "law N", "off"
    ));
    for trial in shown {
        let row = trial.trial;
        lines.push(format!(
            "{:>5}  {:>8}  {:>7}  {:>6}  {:>8}  {:>8}  {:>+6.1} %{}",
            row.line,
            trimmed(row.feed.0, 4),
            trimmed(row.diameter.0, 3),
            row.holes.map_or_else(|| "-".to_owned(), |holes| trimmed(holes, 0)),
            format!("{:.1}", row.thrust.0),
            format!("{:.1}", trial.law.0),
            percent(trial.residual()),
            if trial.outlier { "  outlier" } else { "" },
        ));
    }
    let outliers: Vec<String> =
        law.trials.iter().filter(|trial| trial.outlier).map(|trial| format!("row {}", trial.trial.line)).collect();
    lines.push(match outliers.as_slice() {
        [] => "outliers: none".to_owned(),
        rows => format!("outliers: {}; look at these holes, the law counts them in", rows.join(", ")),
    });
}

fn wear(fit: &Fit, tool: &str, lines: &mut Vec<String>) {
    let Some(term) = fit.law.terms.iter().find(|term| term.symbol == 'k') else { return };
    let most = fit.covered.holes.map_or(0.0, |(_, most)| most);
    let (half, factor) = (fit.law.wear_factor(most / 2.0), fit.law.wear_factor(most));
    let share = trimmed((libm::exp(term.value) - 1.0) * 100.0, 3);
    lines.push(String::new());
    lines.push(format!("wear: thrust changes by {share} % with each hole"));
    lines.push(format!(
        "thrust is {} times that of a new edge after {} holes, {} times after {}",
        trimmed(half, 2),
        trimmed(most / 2.0, 0),
        trimmed(factor, 2),
        trimmed(most, 0)
    ));
    if term.interval.0 <= 0.0 {
        lines.push("the interval of k holds 0: these trials do not prove wear".to_owned());
    }
    lines.push(format!(
        "wear_factor = {} in [tool.{tool}] covers an edge of {} holes",
        trimmed(factor, 3),
        trimmed(most, 0)
    ));
}

fn delamination(line: &FactorFit, confidence: f64, lines: &mut Vec<String>) {
    lines.push(String::new());
    lines.push(format!(
        "Delamination factor Fd = a + b f{}: f in mm/rev",
        if line.shows_wear() { " + g N" } else { "" }
    ));
    lines.push(String::new());
    terms(&line.terms, confidence, lines);
    lines.push(String::new());
    lines.push(format!(
        "{} from {} mm/rev, R2 {}, spread {}",
        counted(line.points.len() as u64, "trial"),
        span(line.feed, 4),
        trimmed(line.r_squared, 4),
        trimmed(line.spread, 3),
    ));
}

/// Least and most, or the one value both are.
fn span((least, most): (f64, f64), decimals: usize) -> String {
    let (least, most) = (trimmed(least, decimals), trimmed(most, decimals));
    if least == most { least } else { format!("{least} to {most}") }
}

/// Six significant digits.
fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { "without bound".to_owned() };
    }
    let order = libm::floor(libm::log10(value.abs()));
    if (-5.0..7.0).contains(&order) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 10")]
        let decimals = (5.0 - order).max(0.0) as usize;
        return trimmed(value, decimals);
    }
    format!("{value:.5e}")
}

/// The same as a TOML float, which has a point or an exponent.
fn float(value: f64) -> String {
    let text = significant(value);
    if text.contains(['.', 'e']) { text } else { text + ".0" }
}
