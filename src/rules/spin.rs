//! How long the spindle has had to reach its speed: time since it last started or changed speed.

use crate::job::Job;
use crate::motion::{SpindleSense, Step, StepKind};

/// Counts seconds of moves and dwells; rapids count where the job gives their rate.
pub(super) struct SpinClock {
    rapid: Option<f64>,
    enough: f64,
    turning: (u32, u32, SpindleSense),
    since: f64,
}

impl SpinClock {
    pub fn new(job: Option<&Job>) -> Self {
        let rates = job.map(|job| job.machine.rapid).unwrap_or_default();
        Self {
            rapid: rates.into_iter().flatten().map(|rate| rate.0).reduce(f64::min),
            enough: job.and_then(|job| job.machine.spin_up).map_or(0.0, |time| time.0),
            turning: (0, 0, SpindleSense::Stopped),
            since: f64::INFINITY,
        }
    }

    /// Seconds since the last change as a step begins; `None` when the job gives no spin-up time.
    pub fn at(&mut self, step: &Step<'_>) -> Option<f64> {
        if self.enough <= 0.0 {
            return None;
        }
        let turning = (step.state.speed.at, step.state.spindle.at, step.state.spindle.value);
        if turning != self.turning {
            self.turning = turning;
            self.since = 0.0;
        }
        Some(self.since)
    }

    /// Whether the spindle has had time enough since it last changed.
    pub fn is_up(&self) -> bool {
        self.since >= self.enough
    }

    /// Adds the time of a step. Nothing is added once the spin-up time has passed.
    pub fn pass(&mut self, step: &Step<'_>) {
        if self.since >= self.enough {
            return;
        }
        self.since += match step.kind {
            StepKind::Dwell(seconds) => seconds.unwrap_or(0.0),
            StepKind::Rapid => self.rapid.map_or(0.0, |rate| 60.0 * step.length() / rate),
            StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => {
                step.feed.filter(|feed| *feed > 0.0).map_or(0.0, |feed| 60.0 * step.length() / feed)
            }
            // A person or a tool changer takes longer than any spindle.
            StepKind::Stop(_) | StepKind::ToolChange => f64::INFINITY,
            StepKind::Spindle | StepKind::End => 0.0,
        };
    }
}
