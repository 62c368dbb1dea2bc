//! `[tune]`: how far tuning may go.

use super::Limit;

/// `[tune]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Tuning {
    /// Share by which feeds and speeds stay under the limits of the process, 0 up to 1.
    pub margin: Limit<f64>,
    /// Most feeds along one hole; a stated entry feed may have one more.
    pub stages: Limit<u32>,
    /// Runs of the program that one tool must last where its speed is raised.
    pub parts: Limit<u32>,
    /// Orders that must stay: in each, what comes earlier is machined before what comes later.
    pub pins: Vec<Vec<Pinned>>,
}

impl Default for Tuning {
    fn default() -> Self {
        let house = "house value";
        Self {
            margin: Limit::new(0.1, house),
            stages: Limit::new(2, house),
            parts: Limit::new(1, house),
            pins: Vec::new(),
        }
    }
}

/// One entry of a pinned order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pinned {
    /// All that this tool does: `T6`.
    Tool(u32),
    /// All holes of a group, by its id.
    Group(String),
    /// One hole, by its id.
    Hole(String),
    /// One edge, by its id.
    Edge(String),
}

impl Pinned {
    /// The entry as the job file writes it.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Tool(number) => format!("T{number}"),
            Self::Group(id) | Self::Hole(id) | Self::Edge(id) => id.clone(),
        }
    }
}
