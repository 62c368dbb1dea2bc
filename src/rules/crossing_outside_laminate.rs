//! The crossing of a compression router lies outside the laminate, or too near one of its faces.
//!
//! ## Why it matters
//! A compression router is up-cut from its tip to the crossing and down-cut above it, so that both faces are pressed
//! inwards. With the crossing below the bottom face the whole edge is down-cut and pushes the last ply out; above the top
//! face it is up-cut and lifts the first. The crossing must lie between them for the thinnest part as well, by the
//! laminate's own margin (`trim.crossing_margin`) where it states one (plain geometry of a tool on its axis).
//!
//! ## Fires on
//! Up-cut 4.5 mm, tip at -11: the crossing lies at -6.5, below the 6 mm panel.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T1 M6
//! S10000 M3 M7
//! G0 G43 H1 X-20 Y105 Z5
//! G0 Z-11
//! G1 X220 F1000 (!)
//! G0 Z5
//! M30
//! ```
//! Up-cut 9 mm, tip at -7: the crossing stands 2 mm above the panel.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S10000 M3 M7
//! G0 G43 H6 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T1 M6
//! S10000 M3 M7
//! G0 G43 H1 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//! A plain router at any depth, and a compression router on its way down a ramp:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T1 M6
//! S10000 M3 M7
//! G0 G43 H1 X100 Y105 Z0.5
//! G1 X0 Z-7 F1000
//! X220
//! G0 Z5
//! T2 M6
//! S10000 M3
//! G0 G43 H2 X-20 Y-5 Z5
//! G0 Z-11
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Puts the pass to a depth whose crossing suits, where the overhang and the flutes allow one.

use super::trim::{LEVEL, Piece, laminate, level, stated};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{Laminate, Tool, ToolKind};
use crate::process::compression::{exit_faces, tip_range, up_cut_range};
use crate::units::{Millimetres, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "crossing-outside-laminate",
    severity: Severity::Warning,
    summary: "a compression router crosses outside the laminate",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool else { return };
    let ToolKind::CompressionRouter { up_cut, .. } = tool.kind else { return };
    for piece @ (stretch, _) in level(view) {
        let Some(laminate) = laminate(view, stretch) else { continue };
        let margin = stated(laminate.trim.crossing_margin.as_ref(), cx, laminate, "crossing_margin");
        let stance =
            Stance::of(view, stretch.z.0, laminate, tool, up_cut, margin.map_or(Millimetres(0.0), |limit| limit.value));
        let Some(excess) = stance.excess() else { continue };
        let aim = Aim::Block(stretch.first);
        let cause =
            (tool.number, stance.tip.0.to_bits(), u64::try_from(stretch.zone.map_or(0, |zone| zone + 1)).unwrap_or(0));
        let origin = margin.map_or("plain geometry".to_owned(), |limit| limit.origin.clone());
        cx.report_worst(cause, excess, aim, |units| stance.report(piece, aim, origin, units));
    }
}

/// Tip, crossing and faces of a level stretch that goes through.
struct Stance<'v> {
    tool: &'v Tool,
    laminate: &'v Laminate,
    tip: Millimetres,
    up_cut: Millimetres,
    top: Millimetres,
    /// Exit face of the thinnest, nominal and thickest part.
    exit: [Millimetres; 3],
    margin: Millimetres,
}

impl<'v> Stance<'v> {
    fn of(
        view: &CutView<'_>,
        tip: f64,
        laminate: &'v Laminate,
        tool: &'v Tool,
        up_cut: Millimetres,
        margin: Millimetres,
    ) -> Self {
        let top = view.job.head.entry_z;
        Self { tool, laminate, tip: Millimetres(tip), up_cut, top, exit: exit_faces(laminate, top), margin }
    }

    fn crossing(&self) -> Millimetres {
        self.tip + self.up_cut
    }

    /// How far the crossing lies outside where it may; `None` inside, or where the tip stays in the material.
    fn excess(&self) -> Option<f64> {
        let [thin, nominal, _] = self.exit;
        if self.tip.0 > nominal.0 + LEVEL {
            return None;
        }
        let (over, under) = (self.crossing() - (self.top - self.margin), thin + self.margin - self.crossing());
        Some(over.0.max(under.0)).filter(|excess| *excess > LEVEL)
    }

    fn report(&self, (stretch, _): Piece<'_>, aim: Aim, origin: String, units: UnitSystem) -> Report {
        let [thin, nominal, _] = self.exit;
        let crossing = self.crossing();
        let low = crossing.0 < (thin + self.margin).0;
        let (face, side) = if low { (thin, "bottom face of the thinnest part") } else { (self.top, "top face") };
        let inside = if low { crossing - face } else { face - crossing };
        let z = |height| units.coordinate('Z', height);
        let message = if inside.0 < 0.0 {
            format!("crossing at {} lies {} outside the {side}", z(crossing), units.length(-inside))
        } else {
            let (is, least) = (units.length(inside), units.length(self.margin));
            format!("crossing at {} lies {is} inside the {side}, least {least}", z(crossing))
        };
        let effect = if low { "the last plies are pushed out" } else { "the first plies are lifted" };
        let report = Report::new(aim, message)
            .why(format!(
                "tip {} and an up-cut of {} give a crossing at {}",
                z(self.tip),
                units.length(self.up_cut),
                z(crossing)
            ))
            .why(format!(
                "laminate from {} to {} ({} in the thinnest part): {effect}",
                z(self.top),
                z(nominal),
                z(thin)
            ))
            .measured(inside.0, "mm")
            .limit(self.margin.0, "mm", origin);
        match self.better_tip() {
            Some(tip) if stretch.z.0 != tip.0 => {
                report.advice(format!("cut with the tip at {}", z(tip))).remedy(Remedy::Depth(tip))
            }
            _ => report.advice(self.better_tool(units)),
        }
    }

    /// The up-cut that would suit, with the tip out of the thickest part by the laminate's overhang.
    fn better_tool(&self, units: UnitSystem) -> String {
        let [thin, _, thick] = self.exit;
        let (least, most) = up_cut_range(self.top - thin, thin - thick + self.overhang(), self.margin);
        if least > most {
            return "no depth and no up-cut suit this laminate: take a router of one hand".to_owned();
        }
        let (least, most) = (units.length(least), units.length(most));
        format!("no depth suits this router: take one with an up-cut of {least} to {most}")
    }

    fn overhang(&self) -> Millimetres {
        self.laminate.trim.overhang.as_ref().map_or(Millimetres(0.0), |limit| limit.value)
    }

    /// The tip nearest to the present one that keeps crossing, overhang and flutes; `None` where there is none.
    fn better_tip(&self) -> Option<Millimetres> {
        let [thin, _, thick] = self.exit;
        let (low, high) = tip_range(thin, self.top, self.up_cut, self.margin);
        let high = high.0.min((thick - self.overhang()).0);
        let low = self.tool.flute_length.map_or(low.0, |flutes| low.0.max((self.top - flutes).0));
        // To 0.01 mm inwards, as a program would post it.
        let (low, high) = (libm::ceil(low * 100.0 - 1e-6) / 100.0, libm::floor(high * 100.0 + 1e-6) / 100.0);
        (low <= high).then(|| Millimetres(self.tip.0.clamp(low, high)))
    }
}
