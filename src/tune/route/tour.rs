//! A closed tour as an array, with the place of each stop in it.

/// The tour. Reversing the longer side of a cut instead of the shorter gives the same closed tour run the other way round;
/// `backwards` remembers that, so that `next` keeps its meaning.
pub(super) struct Tour {
    order: Vec<u32>,
    position: Vec<u32>,
    backwards: bool,
}

/// A reversal that was made, so that it can be taken back: a position and a count of stops on from it around the end.
#[derive(Clone, Copy)]
pub(super) struct Flip {
    from: usize,
    count: usize,
    turns_round: bool,
}

impl Tour {
    pub fn new(order: Vec<u32>) -> Self {
        let mut position = vec![0; order.len()];
        for (at, stop) in order.iter().enumerate() {
            if let Some(slot) = position.get_mut(*stop as usize) {
                *slot = u32::try_from(at).unwrap_or(0);
            }
        }
        Self { order, position, backwards: false }
    }

    pub fn into_order(mut self) -> Vec<u32> {
        let first = self.at(0);
        self.order.rotate_left(first);
        self.order
    }

    pub fn len(&self) -> usize {
        self.order.len()
    }

    fn at(&self, stop: u32) -> usize {
        self.position.get(stop as usize).map_or(0, |at| *at as usize)
    }

    fn stop(&self, at: usize) -> u32 {
        self.order.get(at).copied().unwrap_or(0)
    }

    /// The stop at a position counted around the end.
    pub fn stop_around(&self, at: usize) -> u32 {
        self.stop(at % self.len())
    }

    pub fn next(&self, stop: u32) -> u32 {
        if self.backwards { self.left_of(stop) } else { self.right_of(stop) }
    }

    pub fn previous(&self, stop: u32) -> u32 {
        if self.backwards { self.right_of(stop) } else { self.left_of(stop) }
    }

    fn right_of(&self, stop: u32) -> u32 {
        let at = self.at(stop) + 1;
        self.stop(if at == self.len() { 0 } else { at })
    }

    fn left_of(&self, stop: u32) -> u32 {
        let at = self.at(stop);
        self.stop(if at == 0 { self.len() - 1 } else { at - 1 })
    }

    /// Number of stops in the array from `a` on to `b`, both counted.
    fn span(&self, a: u32, b: u32) -> usize {
        let (a, b) = (self.at(a), self.at(b));
        if b >= a { b - a + 1 } else { b + self.len() - a + 1 }
    }

    /// Number of stops that a reversal of the way from `a` on to `b`, or from `b` on to `a`, moves.
    pub fn turned(&self, a: u32, b: u32, against: bool) -> usize {
        let count = if self.backwards == against { self.span(a, b) } else { self.span(b, a) };
        count.min(self.len() - count)
    }

    /// Whether `b` comes on the way from `a` on to `c`.
    pub fn between(&self, a: u32, b: u32, c: u32) -> bool {
        let (a, c) = if self.backwards { (c, a) } else { (a, c) };
        self.span(a, b) <= self.span(a, c)
    }

    /// Reverses the way from `a` on to `b`, by way of the rest of the tour where that is shorter.
    pub fn flip(&mut self, a: u32, b: u32) -> Flip {
        let (a, b) = if self.backwards { (b, a) } else { (a, b) };
        let count = self.span(a, b);
        let flip = if 2 * count <= self.len() {
            Flip { from: self.at(a), count, turns_round: false }
        } else {
            Flip { from: (self.at(b) + 1) % self.len(), count: self.len() - count, turns_round: true }
        };
        self.reverse(flip);
        flip
    }

    /// Takes a reversal back: it is its own opposite.
    pub fn reverse(&mut self, flip: Flip) {
        self.backwards ^= flip.turns_round;
        let length = self.len();
        let (mut low, mut high) = (flip.from, (flip.from + flip.count + length - 1) % length);
        for _ in 0..flip.count / 2 {
            self.order.swap(low, high);
            self.note(low);
            self.note(high);
            low = if low + 1 == length { 0 } else { low + 1 };
            high = if high == 0 { length - 1 } else { high - 1 };
        }
    }

    fn note(&mut self, at: usize) {
        let stop = self.stop(at);
        if let Some(slot) = self.position.get_mut(stop as usize) {
            *slot = u32::try_from(at).unwrap_or(0);
        }
    }
}
