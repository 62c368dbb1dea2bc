//! Which passage of one revision is which of the other: by what they do, by place, by their neighbours, by distance.

use super::near;
use super::passage::{Kind, Passage};

/// How the passages of two runs belong together.
#[derive(Debug, Default)]
pub(super) struct Pairing {
    /// Passages at the start that are the same in both.
    pub head: usize,
    /// Passages at the end that are the same in both.
    pub tail: usize,
    /// Pairs between those, in order of OLD.
    pub pairs: Vec<(u32, u32)>,
    /// Which of the pairs are made in another order.
    pub reordered: Vec<(u32, u32)>,
    /// Passages that only OLD has.
    pub old_only: Vec<u32>,
    /// Passages that only NEW has.
    pub new_only: Vec<u32>,
}

/// Pairs the passages of two runs.
pub(super) fn pair(old: &[Passage], new: &[Passage]) -> Pairing {
    let same = |(old, new): &(&Passage, &Passage)| old.is_like(new);
    let head = old.iter().zip(new).take_while(same).count();
    let rest = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(rest).take_while(same).count();
    let mut matcher = Matcher::new(old, new, head, tail);
    matcher.by_key(Passage::full_key);
    matcher.by_key(|passage| (passage.place_key(), passage.tool));
    matcher.by_key(|passage| (anywhere(passage), passage.tool));
    matcher.by_key(anywhere);
    matcher.by_neighbours();
    matcher.by_distance();
    matcher.links();
    matcher.finish(head, tail)
}

/// The place under any work offset.
fn anywhere(passage: &Passage) -> super::passage::PlaceKey {
    let (kind, _, attitude, x, y) = passage.place_key();
    (kind, 0, attitude, x, y)
}

/// No partner.
const FREE: u32 = u32::MAX;

struct Matcher<'a> {
    old: &'a [Passage],
    new: &'a [Passage],
    /// Index of the first passage that is looked at, in both.
    from: u32,
    /// One past the last in each.
    to: [u32; 2],
    /// Partner in NEW of each passage of OLD from `from` on.
    partner: Vec<u32>,
    /// Partner in OLD of each passage of NEW.
    back: Vec<u32>,
}

fn index(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(FREE)
}

impl<'a> Matcher<'a> {
    fn new(old: &'a [Passage], new: &'a [Passage], head: usize, tail: usize) -> Self {
        let to = [old.len() - tail, new.len() - tail];
        Self {
            old,
            new,
            from: index(head),
            to: to.map(index),
            partner: vec![FREE; to[0] - head],
            back: vec![FREE; to[1] - head],
        }
    }

    fn partner_of(&self, old: u32) -> Option<u32> {
        self.partner.get(old.checked_sub(self.from)? as usize).copied().filter(|new| *new != FREE)
    }

    fn back_of(&self, new: u32) -> Option<u32> {
        self.back.get(new.checked_sub(self.from)? as usize).copied().filter(|old| *old != FREE)
    }

    fn join(&mut self, old: u32, new: u32) {
        let at = |index: u32| index.saturating_sub(self.from) as usize;
        let (old_at, new_at) = (at(old), at(new));
        if let (Some(partner), Some(back)) = (self.partner.get_mut(old_at), self.back.get_mut(new_at)) {
            (*partner, *back) = (new, old);
        }
    }

    fn old_at(&self, index: u32) -> Option<&'a Passage> {
        self.old.get(index as usize)
    }

    fn new_at(&self, index: u32) -> Option<&'a Passage> {
        self.new.get(index as usize)
    }

    /// Features without a partner, in order.
    fn free(&self) -> [Vec<u32>; 2] {
        let [old_end, new_end] = self.to;
        let is_feature = |passage: Option<&Passage>| passage.is_some_and(|passage| passage.kind != Kind::Link);
        let old = (self.from..old_end).filter(|at| self.partner_of(*at).is_none() && is_feature(self.old_at(*at)));
        let new = (self.from..new_end).filter(|at| self.back_of(*at).is_none() && is_feature(self.new_at(*at)));
        [old.collect(), new.collect()]
    }

    /// Joins features whose keys agree, in order of making.
    fn by_key<K: Ord>(&mut self, key: impl Fn(&Passage) -> K) {
        let [old, new] = self.free();
        let keyed = |list: Vec<u32>, passages: &[Passage]| {
            let key = |at: u32| passages.get(at as usize).map(&key);
            let mut keyed: Vec<(K, u32)> = list.into_iter().filter_map(|at| Some((key(at)?, at))).collect();
            keyed.sort_unstable();
            keyed
        };
        let (old, new) = (keyed(old, self.old), keyed(new, self.new));
        let (mut left, mut right) = (old.iter().peekable(), new.iter().peekable());
        while let (Some((old_key, old)), Some((new_key, new))) = (left.peek(), right.peek()) {
            let (old, new) = (*old, *new);
            match old_key.cmp(new_key) {
                std::cmp::Ordering::Less => {
                    left.next();
                }
                std::cmp::Ordering::Greater => {
                    right.next();
                }
                std::cmp::Ordering::Equal => {
                    self.join(old, new);
                    left.next();
                    right.next();
                }
            }
        }
    }

    /// Joins features that stand behind the same partner, when both revisions have as many there, made with the same
    /// tools: a hole whose position was typed anew is still the hole between its neighbours.
    fn by_neighbours(&mut self) {
        let [old, new] = self.free();
        let behind = |list: Vec<u32>, before: &dyn Fn(u32) -> Option<u32>| {
            let (mut anchor, mut last, mut groups) = (None, self.from, Vec::<(Option<u32>, Vec<u32>)>::new());
            for at in list {
                anchor = (last..at).rev().find_map(before).or(anchor);
                last = at;
                match groups.last_mut().filter(|(known, _)| *known == anchor) {
                    Some((_, members)) => members.push(at),
                    None => groups.push((anchor, vec![at])),
                }
            }
            groups
        };
        let old_groups = behind(old, &|at| self.partner_of(at));
        let mut new_groups = behind(new, &|at| self.back_of(at).map(|_| at));
        new_groups.sort_by_key(|(anchor, _)| *anchor);
        let mut joins = Vec::new();
        for (anchor, members) in old_groups {
            let found = new_groups.binary_search_by_key(&anchor, |(anchor, _)| *anchor);
            let Some((_, others)) = found.ok().and_then(|at| new_groups.get(at)) else { continue };
            let alike = |(old, new): (&u32, &u32)| {
                let sort = |passage: Option<&Passage>| passage.map(|passage| (passage.kind, passage.tool));
                sort(self.old_at(*old)) == sort(self.new_at(*new))
            };
            if members.len() == others.len() && members.iter().zip(others).all(alike) {
                joins.extend(members.iter().copied().zip(others.iter().copied()));
            }
        }
        for (old, new) in joins {
            self.join(old, new);
        }
    }

    /// Joins what lies near each other, so that all ways together are shortest.
    fn by_distance(&mut self) {
        let [old, new] = self.free();
        for (old, new) in near::assign(&old, &new, self.old, self.new) {
            self.join(old, new);
        }
    }

    /// Joins the links before features that belong together, else behind them, else those alike.
    fn links(&mut self) {
        let [old_end, new_end] = self.to;
        let is_link = |passage: Option<&Passage>| passage.is_some_and(|passage| passage.kind == Kind::Link);
        for old in self.from..old_end {
            if !is_link(self.old_at(old)) {
                continue;
            }
            let before = if old + 1 == old_end { Some(new_end) } else { self.partner_of(old + 1) };
            let behind = if old == self.from { self.from.checked_sub(1) } else { self.partner_of(old - 1) };
            let candidates = [before.and_then(|next| next.checked_sub(1)), behind.map(|last| last + 1)];
            let free = |new: &u32| {
                (self.from..new_end).contains(new) && is_link(self.new_at(*new)) && self.back_of(*new).is_none()
            };
            if let Some(new) = candidates.into_iter().flatten().find(free) {
                self.join(old, new);
            }
        }
    }

    fn finish(self, head: usize, tail: usize) -> Pairing {
        let [old_end, new_end] = self.to;
        let pairs: Vec<(u32, u32)> =
            (self.from..old_end).filter_map(|old| Some((old, self.partner_of(old)?))).collect();
        let is_feature = |(old, _): &&(u32, u32)| self.old_at(*old).is_some_and(|passage| passage.kind != Kind::Link);
        Pairing {
            head,
            tail,
            reordered: out_of_order(&pairs.iter().filter(is_feature).copied().collect::<Vec<_>>()),
            old_only: (self.from..old_end).filter(|old| self.partner_of(*old).is_none()).collect(),
            new_only: (self.from..new_end).filter(|new| self.back_of(*new).is_none()).collect(),
            pairs,
        }
    }
}

/// The fewest pairs without which the others stand in the same order: all but a longest rising run of partners, found
/// by patience sorting (C. Schensted, Longest increasing and decreasing subsequences, 1961).
fn out_of_order(pairs: &[(u32, u32)]) -> Vec<(u32, u32)> {
    let mut tops: Vec<usize> = Vec::new();
    let mut below: Vec<Option<usize>> = Vec::with_capacity(pairs.len());
    let partner = |at: usize| pairs.get(at).map_or(0, |(_, new)| *new);
    for (at, (_, new)) in pairs.iter().enumerate() {
        let pile = tops.partition_point(|top| partner(*top) < *new);
        below.push(pile.checked_sub(1).and_then(|pile| tops.get(pile)).copied());
        match tops.get_mut(pile) {
            Some(top) => *top = at,
            None => tops.push(at),
        }
    }
    let mut stays = vec![false; pairs.len()];
    let mut at = tops.last().copied();
    while let Some(here) = at {
        if let Some(stay) = stays.get_mut(here) {
            *stay = true;
        }
        at = below.get(here).copied().flatten();
    }
    pairs.iter().zip(stays).filter(|(_, stays)| !stays).map(|(pair, _)| *pair).collect()
}

#[cfg(test)]
mod tests {
    use super::out_of_order;

    #[test]
    fn the_fewest_are_out_of_order() {
        assert_eq!(out_of_order(&[(0, 0), (1, 1), (2, 2)]), []);
        assert_eq!(out_of_order(&[(0, 3), (1, 0), (2, 1), (3, 2)]), [(0, 3)]);
        assert_eq!(out_of_order(&[(0, 0), (1, 3), (2, 2), (3, 1), (4, 4)]).len(), 2);
    }
}
