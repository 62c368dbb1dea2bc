//! A run cut into passages: what makes one hole or one cut, and what lies between two of them.

use super::act::{Act, At, ConditionBook, Event, What, position};
use super::change::Value;
use crate::motion::Plane;
use std::hash::{DefaultHasher, Hasher};

/// A little less than half a turn, so that rounded ends do not matter.
const HALF_TURN: f64 = 0.999 * std::f64::consts::PI;

/// What a passage makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Fed straight along one axis at one place.
    Hole,
    /// Fed sideways too.
    Cut,
    /// Nothing: travel, stops, tool changes on the way to the next.
    Link,
}

/// One passage, kept for every hole of a run, so it stays small.
#[derive(Clone, Copy, Debug)]
pub(super) struct Passage {
    pub kind: Kind,
    pub tool: u32,
    pub work_offset: u8,
    /// The plane its place is in.
    pub plane: Plane,
    /// In-plane coordinates of the first feed move's start, mm; zero for a link.
    pub place: [f64; 2],
    /// Middle of the space its feed moves take up in the plane, mm.
    pub middle: [f64; 2],
    /// Digest of the drilling direction: plane and rotary axes.
    pub attitude: u64,
    /// Digest of the path, counted from `place`.
    pub path: u64,
    /// Digest of feeds, conditions and events.
    pub manner: u64,
    /// Block of the first act, or of the first feed move.
    pub first: At,
    /// Block of the last.
    pub last: At,
    /// Moves and events.
    pub acts: u32,
    /// Moves.
    pub moves: u32,
}

impl Passage {
    /// Its place with the letters of its axes.
    pub fn point(&self) -> Value {
        Value::in_plane(self.plane, self.place)
    }

    /// Whether another does the same at the same place.
    pub fn is_like(&self, other: &Self) -> bool {
        self.full_key() == other.full_key()
    }

    /// Everything that has to agree for two passages to be one and the same.
    pub fn full_key(&self) -> (PlaceKey, u64, u64, u32) {
        (self.place_key(), self.path, self.manner, self.tool)
    }

    /// Where it is and what it makes there.
    pub fn place_key(&self) -> PlaceKey {
        let [x, y] = self.place;
        (self.kind, self.work_offset, self.attitude, position(x), position(y))
    }
}

/// See [`Passage::place_key`].
pub(super) type PlaceKey = (Kind, u8, u64, i64, i64);

/// Acts of one passage, without those its place implies.
pub(super) struct Piece<'a> {
    pub kind: Kind,
    /// Positioning and approach that `place` does not imply.
    pub lead: Vec<&'a Act>,
    /// Moves that it implies.
    pub implied: u32,
    pub body: &'a [Act],
}

impl<'a> Piece<'a> {
    /// All its acts in order.
    pub fn acts(&self) -> impl Iterator<Item = &'a Act> {
        self.lead.iter().copied().chain(self.body)
    }

    /// Its record.
    pub fn passage(&self, book: &ConditionBook) -> Option<Passage> {
        let feeding = || self.acts().filter(|act| act.feeds());
        let first = feeding().next().or_else(|| self.acts().next())?;
        let last = feeding().last().or_else(|| self.acts().last())?;
        let place = if self.kind == Kind::Link { [0.0; 2] } else { first.origin() };
        let (mut path, mut manner) = (DefaultHasher::new(), DefaultHasher::new());
        let (mut acts, mut moves) = (0, self.implied);
        if self.kind != Kind::Link {
            let (_, _, normal) = first.axes();
            path.write_i64(position(first.start(normal)));
        }
        for act in self.acts() {
            act.hash_path(place, &mut path);
            act.hash_manner(book, &mut manner);
            acts += 1;
            moves += u32::from(act.moves());
        }
        let conditions = book.get(first.conditions)?;
        Some(Passage {
            kind: self.kind,
            tool: conditions.tool,
            work_offset: conditions.work_offset,
            plane: first.plane,
            place,
            middle: middle(feeding()),
            attitude: attitude(first),
            path: path.finish(),
            manner: manner.finish(),
            first: first.at,
            last: last.at,
            acts,
            moves,
        })
    }
}

/// Middle of the box around feed moves; an arc of half a turn or more counts as its circle, so that an orbit's middle is
/// its hole's.
fn middle<'a>(acts: impl Iterator<Item = &'a Act>) -> [f64; 2] {
    let mut reach = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    let mut take = |point: [f64; 2]| {
        for ([low, high], at) in reach.iter_mut().zip(point) {
            (*low, *high) = (low.min(at), high.max(at));
        }
    };
    for act in acts {
        take(act.origin());
        take(act.target());
        if let What::Arc([i, j], sweep) = act.what
            && sweep.abs() > HALF_TURN
        {
            let [x, y] = act.origin();
            let radius = libm::hypot(x - i, y - j);
            take([i - radius, j - radius]);
            take([i + radius, j + radius]);
        }
    }
    reach.map(|[low, high]| if low <= high { (low + high) / 2.0 } else { 0.0 })
}

fn attitude(act: &Act) -> u64 {
    let mut hasher = DefaultHasher::new();
    let (_, _, normal) = act.axes();
    hasher.write_usize(normal);
    for angle in act.abc {
        hasher.write_i64(position(angle));
    }
    hasher.finish()
}

/// Cuts the acts up to a move that leaves sideways: the link, then the feature, if the tool fed; gives how many acts
/// they take. What is left belongs to the next link.
pub(super) fn cut<'a>(acts: &'a [Act], book: &ConditionBook) -> (Option<Piece<'a>>, Option<Piece<'a>>, usize) {
    let Some(first) = acts.iter().position(Act::feeds) else {
        return (link(acts), None, acts.len());
    };
    let last = acts.iter().rposition(Act::feeds).unwrap_or(first);
    let start = lead_start(acts, first);
    // The first way up behind the last feed move takes the tool out; what comes behind it is travel.
    let tail = acts.get(last + 1..).unwrap_or_default();
    let out = tail.iter().position(|act| act.what == What::Rapid && !act.is_lateral());
    let end = out.map_or(last + 1, |out| last + 2 + out);
    let feeding = acts.get(first);
    let implied = |act: &&Act| {
        feeding.is_some_and(|feeding| book.covers(feeding, act) && is_plain_approach(act, feeding.origin()))
    };
    let lead: Vec<&Act> = acts.get(start..first).unwrap_or_default().iter().filter(|act| !implied(act)).collect();
    let expected = u32::try_from(first - start - lead.len()).unwrap_or(0);
    let body = acts.get(first..end).unwrap_or_default();
    let sideways = body.iter().any(|act| act.feeds() && (act.is_lateral() || matches!(act.what, What::Arc(..))));
    let kind = if sideways { Kind::Cut } else { Kind::Hole };
    (link(acts.get(..start).unwrap_or_default()), Some(Piece { kind, lead, implied: expected, body }), end)
}

fn link(acts: &[Act]) -> Option<Piece<'_>> {
    (!acts.is_empty()).then_some(Piece { kind: Kind::Link, lead: Vec::new(), implied: 0, body: acts })
}

/// Where the last positioning before the first feed move begins: one rapid sideways at most, then rapids all down or all
/// up, which are one way however many blocks it is written in.
fn lead_start(acts: &[Act], first: usize) -> usize {
    let before =
        |at: usize| at.checked_sub(1).and_then(|before| acts.get(before)).filter(|act| act.what == What::Rapid);
    let (mut start, mut way) = (first, None);
    while let Some(act) = before(start).filter(|act| !act.is_lateral()) {
        let (_, _, normal) = act.axes();
        let up = act.end(normal) > act.start(normal);
        if way.is_some_and(|way| way != up) {
            return start;
        }
        way = Some(up);
        start -= 1;
    }
    start - usize::from(before(start).is_some_and(Act::is_lateral))
}

/// Whether a rapid before the first feed move is what anyone would expect: level to the place, or straight down there.
fn is_plain_approach(act: &Act, place: [f64; 2]) -> bool {
    let (_, _, normal) = act.axes();
    let level = !act.changes(normal);
    let there = act.target().map(position) == place.map(position);
    there && !act.turns && (!act.is_lateral() || level)
}

/// Whether an act ends the passage before it.
pub(super) fn leaves(act: &Act) -> bool {
    match act.what {
        What::Rapid => act.is_lateral(),
        What::Event(Event::ToolChange(_)) => true,
        What::Event(_) | What::Line | What::Arc(..) => false,
    }
}
