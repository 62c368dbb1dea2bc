//! What all findings together want of one hole.

use crate::diagnostic::Remedy;

/// Changes wanted on one hole, in program mm and mm/min. Default wants nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wish {
    /// Feed of the whole stroke.
    pub feed: Option<f64>,
    /// Slow feed from the retract plane down to a height.
    pub slow_entry: Option<SlowEntry>,
    /// Slow feed from a height down to the bottom.
    pub slow_exit: Option<SlowExit>,
    /// The whole stroke in stages, instead of slow entry and exit.
    pub stairs: Option<Stairs>,
    /// Height at which feeding begins, lower than now.
    pub approach: Option<f64>,
    /// Depth.
    pub depth: Option<f64>,
    /// No pecks.
    pub one_stroke: bool,
    /// Peck increment with full retract.
    pub peck: Option<f64>,
    /// No dwell.
    pub no_dwell: bool,
    /// Out of the hole at feed.
    pub feed_out: bool,
    /// Height the hole is approached to and left at.
    pub retract_to: Option<f64>,
    /// Height to rise to before the tool moves over the hole.
    pub rise_before: Option<f64>,
}

/// Slow feed at the entry face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlowEntry {
    /// Feed.
    pub feed: f64,
    /// Where it ends.
    pub to: f64,
}

/// Slow feed at the exit face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlowExit {
    /// Where it begins.
    pub from: f64,
    /// Feed.
    pub feed: f64,
    /// Where the stroke must end at least.
    pub to: f64,
}

/// A stroke in stages, from the top down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stairs {
    /// Heights the stages end at and their feeds.
    steps: [(f64, f64); MOST_STAGES],
    count: usize,
}

/// Most stages of one stroke.
const MOST_STAGES: usize = 8;

impl Stairs {
    fn new(stages: &[(f64, f64)]) -> Result<Self, String> {
        let mut steps = [(0.0, 0.0); MOST_STAGES];
        let slots = steps.get_mut(..stages.len()).ok_or("it has too many stages to be written out")?;
        slots.copy_from_slice(stages);
        Ok(Self { steps, count: stages.len() })
    }

    fn steps(&self) -> &[(f64, f64)] {
        self.steps.get(..self.count).unwrap_or_default()
    }

    /// The part of the stages between two heights, the last one down to the lower of them.
    fn between(&self, from: f64, to: f64) -> Vec<(f64, f64)> {
        let mut stages = Vec::new();
        let mut at = from;
        for (index, (end, feed)) in self.steps().iter().enumerate() {
            let end = if index + 1 == self.count { to } else { end.max(to) };
            if end < at - 1e-6 {
                stages.push((end, *feed));
                at = end;
            }
        }
        stages
    }
}

impl Wish {
    /// Adds what a remedy wants; `hop` says that it points at the move to the hole. Of two slow exits the longer and slower counts, of two depths the deeper.
    ///
    /// # Errors
    /// With the reason, when two remedies want opposite things.
    pub fn add(&mut self, remedy: &Remedy, hop: bool) -> Result<(), String> {
        match *remedy {
            Remedy::Feed(feed) => set(&mut self.feed, feed.0, "feeds")?,
            Remedy::SlowExit { from, feed, to } => {
                let wanted = SlowExit { from: from.0, feed: feed.0, to: to.0 };
                self.slow_exit = Some(self.slow_exit.map_or(wanted, |old| SlowExit {
                    from: old.from.max(wanted.from),
                    feed: old.feed.min(wanted.feed),
                    to: old.to.min(wanted.to),
                }));
            }
            Remedy::SlowEntry { feed, to } => {
                let wanted = SlowEntry { feed: feed.0, to: to.0 };
                self.slow_entry =
                    Some(self.slow_entry.map_or(wanted, |old| SlowEntry {
                        feed: old.feed.min(wanted.feed),
                        to: old.to.min(wanted.to),
                    }));
            }
            Remedy::Stages(ref stages) => {
                let stages: Vec<(f64, f64)> = stages.iter().map(|(to, feed)| (to.0, feed.0)).collect();
                self.stairs = Some(Stairs::new(&stages)?);
            }
            Remedy::Approach(height) => set(&mut self.approach, height.0, "heights to begin at")?,
            Remedy::Depth(depth) => self.depth = Some(self.depth.map_or(depth.0, |old| old.min(depth.0))),
            Remedy::OneStroke => self.one_stroke = true,
            Remedy::Peck(peck) => set(&mut self.peck, peck.0, "pecks")?,
            Remedy::NoDwell => self.no_dwell = true,
            Remedy::FeedOut => self.feed_out = true,
            Remedy::RetractTo(height) => {
                let slot = if hop { &mut self.rise_before } else { &mut self.retract_to };
                *slot = Some(slot.map_or(height.0, |old| old.max(height.0)));
            }
            Remedy::RampIn { .. } => return Err("a hole has no move behind its plunge".to_owned()),
            Remedy::OtherSide | Remedy::CompensateSooner => {}
            Remedy::Turn { .. } | Remedy::Replace(_) | Remedy::LineBefore(_) => {}
        }
        if self.one_stroke && self.peck.is_some() {
            return Err("one finding wants pecks, another wants none".to_owned());
        }
        Ok(())
    }

    /// Whether the hole must be written out stroke by stroke, because no cycle can do it.
    #[must_use]
    pub fn needs_long_hand(&self) -> bool {
        self.slow_entry.is_some() || self.slow_exit.is_some() || self.stairs.is_some()
    }

    /// The R plane wanted for a hole that now has `r`.
    #[must_use]
    pub fn plane(&self, r: f64) -> f64 {
        let r = self.approach.map_or(r, |height| height.min(r));
        self.retract_to.map_or(r, |height| height.max(r))
    }

    /// The bottom wanted for a hole that now ends at `bottom`. A slow exit never makes a hole shallower.
    #[must_use]
    pub fn bottom(&self, bottom: f64) -> f64 {
        let wanted = self.depth.unwrap_or(bottom);
        self.slow_exit.map_or(wanted, |exit| wanted.min(exit.to))
    }

    /// A downward stroke from `from` to `to` at `feed`, cut where the feed must change: ends and feeds in order.
    #[must_use]
    pub fn stages(&self, from: f64, to: f64, feed: f64) -> Vec<(f64, f64)> {
        if let Some(stairs) = &self.stairs {
            return stairs.between(from, to);
        }
        let feed = self.feed.unwrap_or(feed);
        let entry = self.slow_entry.filter(|entry| entry.to < from);
        let exit = self.slow_exit.filter(|exit| exit.from > to);
        let body_end = exit.map_or(to, |exit| exit.from.min(from));
        let entry_end = entry.map_or(from, |entry| entry.to.max(body_end));
        let wanted = [
            (entry_end, entry.map_or(feed, |entry| entry.feed.min(feed))),
            (body_end, feed),
            (to, exit.map_or(feed, |exit| exit.feed.min(feed))),
        ];
        let mut stages: Vec<(f64, f64)> = Vec::new();
        let mut at = from;
        for (end, feed) in wanted {
            let worth_it = at - end > SHORTEST_STAGE || end <= to;
            match stages.last_mut() {
                _ if end >= at || !worth_it => continue,
                Some(last) if last.1 == feed => last.0 = end,
                _ => stages.push((end, feed)),
            }
            at = end;
        }
        stages
    }
}

/// A stage shorter than this is left to the slower one behind it, mm: a house value.
const SHORTEST_STAGE: f64 = 0.1;

fn set(slot: &mut Option<f64>, value: f64, what: &str) -> Result<(), String> {
    match *slot {
        Some(old) if (old - value).abs() > 1e-6 => {
            Err(format!("two findings want different {what}: {old} and {value}"))
        }
        _ => {
            *slot = Some(value);
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Millimetres, MmPerMin};

    #[test]
    fn a_stroke_is_cut_where_its_feed_changes() {
        let mut wish = Wish::default();
        wish.add(&Remedy::SlowExit { from: Millimetres(-5.5), feed: MmPerMin(159.0), to: Millimetres(-8.3) }, false)
            .unwrap();
        assert_eq!(wish.bottom(-7.5), -8.3);
        assert_eq!(wish.stages(2.0, -8.3, 318.0), [(-5.5, 318.0), (-8.3, 159.0)]);
        assert_eq!(wish.stages(-6.0, -8.3, 318.0), [(-8.3, 159.0)]);
        assert_eq!(wish.stages(-5.48, -8.3, 318.0), [(-8.3, 159.0)]);
        assert_eq!(wish.stages(2.0, -8.3, 150.0), [(-8.3, 150.0)]);
        wish.add(&Remedy::SlowEntry { feed: MmPerMin(200.0), to: Millimetres(-0.5) }, false).unwrap();
        assert_eq!(wish.stages(2.0, -8.3, 318.0), [(-0.5, 200.0), (-5.5, 318.0), (-8.3, 159.0)]);
        assert_eq!(wish.stages(2.0, 0.0, 318.0), [(0.0, 200.0)]);
    }

    #[test]
    fn opposite_wishes_are_refused() {
        let mut wish = Wish::default();
        wish.add(&Remedy::Feed(MmPerMin(100.0)), false).unwrap();
        assert!(wish.add(&Remedy::Feed(MmPerMin(200.0)), false).is_err());
        wish.add(&Remedy::OneStroke, false).unwrap();
        assert!(wish.add(&Remedy::Peck(Millimetres(1.0)), false).is_err());
    }
}
