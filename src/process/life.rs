//! Tool life against surface speed, and what a program takes of it.

use super::speed::surface_speed;
use crate::job::{LifeLaw, LifeLimit, Tool};
use crate::operation::{StrokeKind, Survey};
use crate::units::{MetresPerMin, RevPerMin};

/// Share of the stated life that is left at `surface` (m/min): (at / surface)^k, never more than 1.
///
/// F. W. Taylor, On the Art of Cutting Metals, Trans. ASME 28, 1907, draws V T^n = C over the time T in cut. Holes and
/// metres at the same advance a turn count V T, so they fall by k = 1/n - 1.
#[must_use]
pub fn share_at(law: &LifeLaw, surface: MetresPerMin) -> f64 {
    libm::pow(law.at.0 / surface.0, law.exponent).min(1.0)
}

/// Surface speed in m/min that leaves `share` (over 0, at most 1) of the stated life: the law above, turned round.
#[must_use]
pub fn speed_for(law: &LifeLaw, share: f64) -> MetresPerMin {
    law.at * libm::pow(share, -1.0 / law.exponent)
}

/// What a program takes of a tool's life.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spent {
    /// Holes, those it comes back to counted once.
    pub holes: usize,
    /// Metres of material cut.
    pub metres: f64,
}

impl Spent {
    /// What a program takes of the life of tool `number`.
    #[must_use]
    pub fn of(number: u32, survey: &Survey) -> Self {
        let uses = || survey.tools.iter().filter(|used| used.tool == number);
        let holes = uses().flat_map(|used| used.holes.clone()).filter(|index| !survey.returns_to(*index)).count();
        Self { holes, metres: uses().map(|used| (used.cut_length + used.drilled_length) / 1000.0).sum() }
    }

    /// The same in the unit of a limit.
    #[must_use]
    pub fn by(self, limit: LifeLimit) -> f64 {
        match limit {
            LifeLimit::Holes(_) => self.holes as f64,
            LifeLimit::Metres(_) => self.metres,
        }
    }
}

/// A life shortened by the speed that a program cuts at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shortened {
    /// Fastest surface speed in material, m/min.
    pub surface: MetresPerMin,
    /// Share of the stated life that is left at it.
    pub share: f64,
}

/// How a tool's law shortens its life at the fastest speed of a program; `None` where the stated life holds.
///
/// # Errors
/// Why the law tells nothing here.
pub fn shortened(tool: &Tool, survey: &Survey) -> Result<Option<Shortened>, String> {
    let Some(law) = &tool.life_law else { return Ok(None) };
    let unknown =
        || format!("tool {} cuts at a spindle speed that is not known, so its life is not known", tool.number);
    let Some(speed) = fastest(tool.number, survey).ok_or_else(unknown)? else { return Ok(None) };
    let surface = surface_speed(tool.diameter, speed);
    if surface > law.up_to {
        let (is, most) = (libm::ceil(surface.0), law.up_to);
        return Err(format!("tool {} cuts at {is} m/min, and its life law was tried up to {most} only", tool.number));
    }
    Ok((surface > law.at).then(|| Shortened { surface, share: share_at(law, surface) }))
}

/// The fastest turn of a tool in material; the outer `None` where some speed is not known, the inner where it cuts nothing.
fn fastest(number: u32, survey: &Survey) -> Option<Option<RevPerMin>> {
    let recipes = survey.recipes.iter().filter(|recipe| recipe.tool == number);
    let fed = recipes.flat_map(|recipe| &recipe.strokes).filter(|stroke| stroke.kind == StrokeKind::Feed);
    let drilled: Option<Vec<f64>> = fed.map(|stroke| stroke.speed).collect();
    let uses = || survey.tools.iter().filter(|used| used.tool == number);
    if uses().any(|used| used.speed_unknown) {
        return None;
    }
    let milled = uses().filter_map(|used| used.fastest);
    Some(drilled?.into_iter().chain(milled).reduce(f64::max).map(RevPerMin))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn law(exponent: f64) -> LifeLaw {
        LifeLaw { at: MetresPerMin(100.0), exponent, up_to: MetresPerMin(300.0), origin: "trial".to_owned() }
    }

    #[test]
    fn distance_falls_as_the_time_of_the_law_over_time_says() {
        // V T^n = C with n = 0.25: twice the speed leaves 1/16 of the minutes, and 2/16 of the metres.
        let (n, speed) = (0.25, MetresPerMin(200.0));
        let metres = (speed.0 / 100.0) * libm::pow(100.0 / speed.0, 1.0 / n);
        assert!((share_at(&law(1.0 / n - 1.0), speed) - metres).abs() < 1e-12 && (metres - 0.125).abs() < 1e-12);
    }

    #[test]
    fn a_life_is_never_longer_than_stated_and_the_law_turns_round() {
        assert_eq!(share_at(&law(2.0), MetresPerMin(50.0)), 1.0);
        for share in [1.0, 0.5, 0.2] {
            assert!((share_at(&law(2.5), speed_for(&law(2.5), share)) - share).abs() < 1e-12);
        }
    }
}
