//! Canonical calls as the interpreter of the report prints them, one a line.

use lastply::motion::{Plane, SpindleSense};

/// What a call does, as far as both sides name it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    Traverse,
    Feed,
    /// First and second end, first and second centre, turns, end along the normal, A, B, C; axes in the plane's order.
    Arc,
    /// Seconds.
    Dwell,
    /// M0 0, M1 1, M2 and M30 2.
    Stop,
    ToolChange,
}

/// A call with its numbers in the units active at that point, and what is in force while it runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    pub what: What,
    pub numbers: Vec<f64>,
    pub plane: Plane,
    pub sense: SpindleSense,
    pub speed: f64,
    pub feed: f64,
}

/// Largest difference allowed: the prints carry four decimals.
const TOLERANCE: f64 = 1e-4;

impl Call {
    /// Whether two calls are the same to the printed digits. Only cutting moves carry a feed.
    pub fn agrees(&self, other: &Self) -> bool {
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= TOLERANCE;
        let moves = !matches!(self.what, What::Stop | What::ToolChange);
        self.what == other.what
            && self.numbers.len() == other.numbers.len()
            && self.numbers.iter().zip(&other.numbers).all(near)
            && (!moves || (self.sense, self.plane) == (other.sense, other.plane))
            && (!moves || self.speed == other.speed)
            && (!matches!(self.what, What::Feed | What::Arc) || near((&self.feed, &other.feed)))
    }
}

/// Reads a printed run: running number, N word, call.
pub fn printed(text: &str) -> Vec<Call> {
    let mut calls = Vec::new();
    let (mut plane, mut sense, mut speed, mut feed) = (Plane::Xy, SpindleSense::Stopped, 0.0, 0.0);
    for line in text.lines() {
        let call = line.trim_start().splitn(3, ' ').nth(2).unwrap().trim();
        let (name, arguments) = call.split_once('(').unwrap();
        let arguments = arguments.trim_end_matches(')');
        let numbers = || arguments.split(", ").map(|number| number.parse().unwrap()).collect::<Vec<f64>>();
        let (what, numbers) = match name {
            "STRAIGHT_TRAVERSE" => (What::Traverse, numbers()),
            "STRAIGHT_FEED" | "STRAIGHT_PROBE" => (What::Feed, numbers()),
            "ARC_FEED" => (What::Arc, numbers()),
            "DWELL" => (What::Dwell, numbers()),
            "PROGRAM_STOP" => (What::Stop, vec![0.0]),
            "OPTIONAL_PROGRAM_STOP" => (What::Stop, vec![1.0]),
            "PROGRAM_END" => (What::Stop, vec![2.0]),
            "CHANGE_TOOL" => (What::ToolChange, numbers()),
            other => {
                match other {
                    "SELECT_PLANE" => plane = plane_of(arguments),
                    "SET_SPINDLE_SPEED" => speed = numbers()[0],
                    "SET_FEED_RATE" => feed = numbers()[0],
                    "START_SPINDLE_CLOCKWISE" => sense = SpindleSense::Clockwise,
                    "START_SPINDLE_COUNTERCLOCKWISE" => sense = SpindleSense::Counterclockwise,
                    "STOP_SPINDLE_TURNING" => sense = SpindleSense::Stopped,
                    _ => assert!(IGNORED.contains(&other), "{line}"),
                }
                continue;
            }
        };
        calls.push(Call { what, numbers, plane, sense, speed, feed });
        if what == What::ToolChange {
            sense = SpindleSense::Stopped;
        }
    }
    calls
}

/// Calls that move nothing and that steps do not carry.
const IGNORED: [&str; 16] = [
    "COMMENT",
    "FLOOD_ON",
    "FLOOD_OFF",
    "MESSAGE",
    "ORIENT_SPINDLE",
    "PALLET_SHUTTLE",
    "SELECT_TOOL",
    "SET_FEED_REFERENCE",
    "SET_MOTION_CONTROL_MODE",
    "SET_ORIGIN_OFFSETS",
    "START_SPEED_FEED_SYNCH",
    "STOP_SPEED_FEED_SYNCH",
    "TURN_PROBE_OFF",
    "TURN_PROBE_ON",
    "USE_LENGTH_UNITS",
    "USE_TOOL_LENGTH_OFFSET",
];

fn plane_of(name: &str) -> Plane {
    match name {
        "CANON_PLANE_XY" => Plane::Xy,
        "CANON_PLANE_XZ" => Plane::Zx,
        "CANON_PLANE_YZ" => Plane::Yz,
        other => unreachable!("{other}"),
    }
}
