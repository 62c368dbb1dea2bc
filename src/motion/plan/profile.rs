//! Speed over one move: up a ramp, along the top, down a ramp; lengths in mm, speeds in mm/s, times in s.
//!
//! Formulas are those of uniformly accelerated motion; what is said of jerk is our own derivation from them.

/// What drives a move: the bounds along its direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// Acceleration, mm/s2.
    pub acceleration: f64,
    /// Jerk, mm/s3; infinite when acceleration changes at once.
    pub jerk: f64,
    /// Greatest speed, mm/s; infinite when nobody states one.
    pub rate: f64,
}

/// Time and top speed of one move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    /// Time, s.
    pub seconds: f64,
    /// Highest speed reached, mm/s.
    pub peak: f64,
}

impl Drive {
    /// Time from rest to `speed`: `v/a + a/j` when the full acceleration is reached on the way, else `2 sqrt(v/j)`.
    #[must_use]
    pub fn ramp(&self, speed: f64) -> f64 {
        let Self { acceleration, jerk, .. } = *self;
        if speed * jerk >= acceleration * acceleration {
            speed / acceleration + acceleration / jerk
        } else {
            2.0 * libm::sqrt(speed / jerk)
        }
    }

    /// Mean acceleration from rest to `speed`, mm/s2: the acceleration itself without a jerk bound.
    #[must_use]
    pub fn mean_acceleration(&self, speed: f64) -> f64 {
        if self.jerk == f64::INFINITY { self.acceleration } else { speed / self.ramp(speed) }
    }

    /// A move of `length` from rest to rest that would like to go `top` fast.
    ///
    /// Two ramps of `T(v)` each cover `v T(v)`, so a short move turns back at the speed where that is its length:
    /// `sqrt(a L)` without jerk.
    #[must_use]
    pub fn stop_to_stop(&self, length: f64, top: f64) -> Profile {
        if length <= 0.0 {
            return Profile { seconds: 0.0, peak: 0.0 };
        }
        let Self { acceleration, jerk, rate } = *self;
        let onset = acceleration / jerk;
        let reach = if length >= 2.0 * acceleration * onset * onset {
            0.5 * acceleration * (libm::sqrt(onset * onset + 4.0 * length / acceleration) - onset)
        } else {
            libm::cbrt(0.25 * length * length * jerk)
        };
        let peak = reach.min(top).min(rate);
        Profile { seconds: length / peak + self.ramp(peak), peak }
    }
}

/// A move of `length` that enters at `from`, leaves at `to` and would like to go `top` fast, with `acceleration`.
///
/// The ramps meet where `v^2 = (from^2 + to^2)/2 + a L`.
#[must_use]
pub fn between(length: f64, from: f64, to: f64, top: f64, acceleration: f64) -> Profile {
    let ends = from * from + to * to;
    let peak = libm::sqrt(0.5 * ends + acceleration * length).min(top).max(from).max(to);
    if length <= 0.0 || peak <= 0.0 {
        return Profile { seconds: 0.0, peak: 0.0 };
    }
    let ramps = (2.0 * peak - from - to) / acceleration;
    let ramped = (2.0 * peak * peak - ends) / (2.0 * acceleration);
    Profile { seconds: ramps + (length - ramped).max(0.0) / peak, peak }
}

/// Time of a straight move from rest to rest, such as a stroke of a canned cycle: `length` in mm, `speed` in mm/s,
/// `acceleration` in mm/s2.
#[must_use]
pub fn trapezoid_time(length: f64, speed: f64, acceleration: f64) -> f64 {
    let drive = Drive { acceleration, jerk: f64::INFINITY, rate: f64::INFINITY };
    drive.stop_to_stop(length, speed).seconds
}
