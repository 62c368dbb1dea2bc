//! What stands beside words while one types: feed for each turn beside F, depth against the exit face beside Z.

use super::depth;
use super::desk::Desk;
use super::study::{Judged, Study};
use super::text::Text;
use super::watch::Watch;
use crate::source::{SourceId, Span};
use crate::syntax::{Block, Blocks};
use crate::units::{MmPerRev, UnitSystem};
use lsp_types::{InlayHint, InlayHintLabel, InlayHintTooltip};

/// Rounding of feeds, mm/rev; as fine as feeds are read.
const FINE: f64 = 5e-5;

/// Hints for the words that begin in `within`.
pub fn of_range(study: &Study, id: SourceId, within: Span, desk: &Desk<'_>) -> Vec<InlayHint> {
    let Some((judged, text)) = study.judged().and_then(|judged| Some((judged, judged.texts.get(usize::from(id.0))?)))
    else {
        return Vec::new();
    };
    let start = text.line_at(within.start).start;
    let within = Span::new(start, text.line_at(within.end).end.saturating_add(1));
    let mut watch = Watch::new(id, within);
    judged.run(&desk.library(&study.path), &mut watch);
    let mut hints = Vec::new();
    let lexis = judged.options.settings.lexis();
    let shown = text.bytes.get(..(within.end as usize).min(text.bytes.len())).unwrap_or_default();
    let mut blocks = Blocks::new(shown, start as usize, lexis);
    let mut block = Block::default();
    while blocks.next(&mut block) {
        hints.extend(of_block(judged, &watch, &block).into_iter().map(|said| said.hint(text, desk)));
    }
    hints
}

/// One hint before it has a place on the screen.
struct Said {
    behind: u32,
    label: String,
    tooltip: &'static str,
}

impl Said {
    fn hint(self, text: &Text, desk: &Desk<'_>) -> InlayHint {
        InlayHint {
            position: text.position(self.behind, desk.columns),
            label: InlayHintLabel::String(self.label),
            kind: None,
            text_edits: None,
            tooltip: Some(InlayHintTooltip::String(self.tooltip.to_owned())),
            padding_left: Some(true),
            padding_right: None,
            data: None,
        }
    }
}

fn of_block(judged: &Judged, watch: &Watch, block: &Block) -> Vec<Said> {
    let units = judged.report.units;
    let mut said = Vec::new();
    for word in &block.words {
        let label = match word.letter {
            b'F' => watch.feeds.get(&word.span.start).map(|spread| turn(*spread, units)),
            b'Z' => lowest(watch, block).and_then(|z| depth::at_exit(z, judged.job.as_ref()?, units)),
            _ => None,
        };
        let tooltip = match word.letter {
            b'F' => "feed for each turn of the spindle, over all moves this word drives",
            _ => "tip of the tool against the exit face of the nominal part",
        };
        said.extend(label.map(|label| Said { behind: word.span.end, label, tooltip }));
    }
    said
}

fn lowest(watch: &Watch, block: &Block) -> Option<f64> {
    watch.moments.get(&block.span.start)?.lowest
}

fn turn((least, most): (f64, f64), units: UnitSystem) -> String {
    let most_worded = units.per_rev(MmPerRev(most));
    if most - least < FINE { most_worded } else { format!("{} to {most_worded}", units.per_rev(MmPerRev(least))) }
}
