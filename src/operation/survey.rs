//! What a run leaves behind: small records of holes, recipes and tool stretches, never every move.

use super::{Cut, Hole, Path, Recipe};
use crate::job::Job;
use crate::motion::{BlockRef, Trace};

/// One stretch of a tool in the spindle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToolUse {
    /// Tool number; 0 when none or unknown.
    pub tool: u32,
    /// Block of the tool change; the first block for a tool already in the spindle.
    pub block: BlockRef,
    /// Holes made, as a range of indices into the survey's holes.
    pub holes: std::ops::Range<u32>,
    /// Cuts made, as a range of indices into the survey's cuts.
    pub cuts: std::ops::Range<usize>,
    /// Path fed through material by other than hole making, mm; engaged length only, where the workpiece is known.
    pub cut_length: f64,
    /// The same layer by layer.
    pub layers: Vec<LayerLength>,
    /// Depth drilled in material, summed over its holes, mm.
    pub drilled_length: f64,
    /// Lowest Z reached, program mm, if any Z was known.
    pub lowest: Option<f64>,
    /// Fastest turn of the spindle in its cuts, rev/min.
    pub fastest: Option<f64>,
    /// Whether some cut runs at a speed that is not known.
    pub speed_unknown: bool,
    /// Time at feed, s, as commanded.
    pub feed_time: f64,
    /// Time feeding, s, by the speed plan where the machine's accelerations are known, else as commanded.
    pub cutting: f64,
    /// Time of rapids, s, likewise; only of those whose rates are known.
    pub rapid: f64,
}

/// How far a tool has cut in one layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LayerLength {
    /// Thickness zone; `None` for the job's own laminate.
    pub zone: Option<usize>,
    /// Index of the layer.
    pub layer: usize,
    /// Engaged length, mm.
    pub length: f64,
}

impl ToolUse {
    /// Adds a finished cut.
    pub(super) fn cut(&mut self, cut: &Cut, job: Option<&Job>) {
        self.cuts.end += 1;
        self.cut_length += cut.length;
        for speed in cut.stretches.iter().map(|stretch| stretch.speed) {
            self.fastest = self.fastest.into_iter().chain(speed).reduce(f64::max);
            self.speed_unknown |= speed.is_none();
        }
        let Some(job) = job else { return };
        let zones = job.workpiece.as_ref().map(|workpiece| workpiece.zones.as_slice()).unwrap_or_default();
        for stretch in cut.stretches.iter().filter(|stretch| stretch.path != Path::Plunge) {
            let laminate = match stretch.zone {
                Some(zone) => zones.get(zone).map(|zone| &zone.laminate),
                None => job.laminate.as_ref(),
            };
            let (mut face, tip) = (job.head.entry_z.0, stretch.z.0.min(stretch.z.1));
            for (index, layer) in laminate.into_iter().flat_map(|laminate| laminate.layers.iter().enumerate()) {
                let below = face - layer.thickness().0;
                if tip < face && stretch.top > below {
                    self.add_in_layer(stretch.zone, index, stretch.length);
                }
                face = below;
            }
        }
    }

    fn add_in_layer(&mut self, zone: Option<usize>, layer: usize, length: f64) {
        match self.layers.iter_mut().find(|known| (known.zone, known.layer) == (zone, layer)) {
            Some(known) => known.length += length,
            None => self.layers.push(LayerLength { zone, layer, length }),
        }
    }

    /// Takes note of a height reached.
    pub(super) fn reach(&mut self, z: f64) {
        self.lowest = Some(self.lowest.map_or(z, |lowest| lowest.min(z)));
    }
}

/// What a run leaves behind: small records, never every move.
#[derive(Clone, Debug, Default)]
pub struct Survey {
    /// Holes in order of making.
    pub holes: Vec<Hole>,
    /// Recipes the holes share.
    pub recipes: Vec<Recipe>,
    /// Tool stretches in order.
    pub tools: Vec<ToolUse>,
    /// Call traces that `TraceId` names.
    pub traces: Vec<Trace>,
    /// Cuts in order of making; their stretches are dropped once they have been judged, unless a command wants them.
    pub cuts: Vec<Cut>,
    /// How near tools and holders come to what stands around the part.
    pub clearances: super::Clearances,
    /// How far the run reaches along each axis.
    pub travel: super::Travel,
    /// How far each of the job's edges has been cut, in their order.
    pub edges: Vec<super::EdgeCover>,
    /// Where the time goes.
    pub times: crate::motion::Times,
    /// For each hole the previous hole at the same place, as index + 1; 0 for none.
    pub earlier: Vec<u32>,
    /// Holes matched with the drawing's; filled when the run has ended.
    pub drawing: super::Drawing,
}

impl Survey {
    /// The recipe of a hole.
    #[must_use]
    pub fn recipe_of(&self, hole: &Hole) -> Option<&Recipe> {
        self.recipes.get(hole.recipe as usize)
    }

    /// The hole made just before hole `index` at the same place, with its own index.
    #[must_use]
    pub fn earlier_than(&self, index: u32) -> Option<(u32, &Hole)> {
        let earlier = self.earlier.get(index as usize)?.checked_sub(1)?;
        self.holes.get(earlier as usize).map(|hole| (earlier, hole))
    }

    /// Whether hole `index` is a place where the same tool has been just before, such as a second pass deeper.
    #[must_use]
    pub fn returns_to(&self, index: u32) -> bool {
        let tool = |hole: &Hole| self.recipe_of(hole).map(|recipe| recipe.tool);
        let now = self.holes.get(index as usize).and_then(tool);
        now.is_some() && self.earlier_than(index).and_then(|(_, hole)| tool(hole)) == now
    }
}
