//! A circling cutter leaves a pin standing in the middle of its hole.
//!
//! ## Why it matters
//! A cutter narrower than the circle of its centre never reaches the middle: the pin stands until it breaks off, jams beside
//! the cutter and tears the wall. The pin is hole - 2 tools wide (plain geometry). A pilot hole as wide as the pin has
//! taken it away before.
//!
//! ## Fires on
//! A 20 mm hole with an 8 mm cutter: a pin of 4 mm.
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T8 M6
//! S8000 M3 M7
//! G0 G43 H8 X50 Y50 Z1
//! G1 X56 F300
//! G3 X56 I-6 Z-1 (!)
//! G3 X56 I-6 Z-3
//! G3 X56 I-6 Z-5
//! G3 X56 I-6 Z-7
//! G3 X56 I-6
//! G1 X50
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! A 14 mm hole with the same cutter:
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T8 M6
//! S8000 M3 M7
//! G0 G43 H8 X50 Y50 Z1
//! G1 X53 F300
//! G3 X53 I-3 Z-1
//! G3 X53 I-3 Z-3
//! G3 X53 I-3 Z-5
//! G3 X53 I-3 Z-7
//! G3 X53 I-3
//! G1 X50
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a wider cutter, or a pilot hole.

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::HoleWord;
use crate::process::wall::Helix;

/// The rule.
pub static RULE: Rule = Rule {
    name: "orbit-leaves-core",
    severity: Severity::Error,
    summary: "a circling cutter leaves a pin in the middle",
    checks: &[Check::Hole(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Thinner pins are rounding, mm; house value.
const HAIR: f64 = 0.02;

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(orbit), Some(tool)) = (view.recipe.orbit, view.tool) else { return };
    let helix = Helix::from(orbit);
    let Some(core) = helix.core(tool.diameter).filter(|core| core.0 > view.recipe.pilot + HAIR) else { return };
    let units = cx.units;
    let aim = Aim::Hole { word: HoleWord::Block, stroke: 0 };
    cx.report(
        Report::new(aim, format!("leaves a pin of {} in the middle", units.length(core)))
            .why(format!(
                "circle of the centre {}, tool {}: the pin is their difference",
                units.length(helix.diameter),
                units.length(tool.diameter)
            ))
            .measured(core.0, "mm")
            .limit(0.0, "mm", "plain geometry")
            .advice("take a wider cutter, clear the middle first, or drill a pilot hole as wide as the pin"),
    );
}
