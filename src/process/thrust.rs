//! Critical thrust of the plies left under the tool, thrust laws, and where slowing down must begin.
//!
//! The plate model is that of Hocheng and Dharan, Journal of Engineering for Industry, 1990: the uncut plies are a clamped circular plate,
//! loaded at its centre by the chisel edge, and a delamination at its rim grows once its energy release rate reaches
//! the mode I fracture energy. With rim moment P / 4 pi and rigidity M the rate is (P / 4 pi)^2 / 2M, which gives
//! P = pi sqrt(32 G M). The thickness is what is left under the chisel edge, never the whole laminate.

use crate::job::{Lip, PlateData, ThrustLaw, Tool, ToolKind};
use crate::operation::lip;
use crate::units::{Millimetres, MmPerRev, Newtons};
use core::f64::consts::PI;

/// Rigidity of a plate `uncut` mm thick, N mm: M = E h^3 / (12 (1 - nu^2)).
#[must_use]
pub fn rigidity(plate: &PlateData, uncut: Millimetres) -> f64 {
    plate.modulus * uncut.0 * uncut.0 * uncut.0 / (12.0 * (1.0 - plate.poisson * plate.poisson))
}

/// Point load in N at which the last `uncut` mm are pushed out: F = pi sqrt(32 G M), without the safety factor.
#[must_use]
pub fn push_out(plate: &PlateData, uncut: Millimetres) -> Newtons {
    Newtons(PI * libm::sqrt(32.0 * plate.fracture_energy * rigidity(plate, uncut)))
}

/// Thrust in N allowed while `uncut` mm are left: the push-out load over the safety factor.
#[must_use]
pub fn allowed_thrust(plate: &PlateData, uncut: Millimetres) -> Newtons {
    push_out(plate, uncut) / plate.safety
}

/// Uncut thickness at which `thrust` becomes critical, safety factor q included:
/// h = (3 (1 - nu^2) (q F)^2 / (8 pi^2 G E))^(1/3), the inverse of [`allowed_thrust`].
#[must_use]
pub fn critical_uncut(plate: &PlateData, thrust: Newtons) -> Millimetres {
    let load = plate.safety * thrust.0;
    let cubed = 3.0 * (1.0 - plate.poisson * plate.poisson) * load * load
        / (8.0 * PI * PI * plate.fracture_energy * plate.modulus);
    Millimetres(libm::cbrt(cubed))
}

/// How a tool spreads its thrust over the plate. Radii are shares of the delamination's radius, from 0 up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadShape {
    /// Chisel edge of a twist drill.
    Point,
    /// Thin ring of this radius: a rim that cuts first.
    Ring(f64),
    /// Uniform disc of this radius: lips without a chisel edge.
    Disc(f64),
    /// Uniform annulus of this outer radius: the wall of a core drill.
    Annulus {
        /// Outer radius.
        radius: f64,
        /// Wall over outer radius, 0 to 1.
        wall: f64,
    },
    /// Centre point and a ring of this radius.
    Candle {
        /// Radius of the ring.
        radius: f64,
        /// Load of the ring over load of the point.
        share: f64,
    },
    /// On the rim of a hole of this radius that is already through.
    Rim {
        /// Radius of the hole.
        radius: f64,
        /// Poisson ratio.
        poisson: f64,
    },
}

impl LoadShape {
    /// How a tool loads the plies left when a delamination may reach as far as the plate data let pass. A chisel edge
    /// loads them at a point. Spurs load them at the rim, a core drill over its wall; without a stated delamination
    /// factor those too count as a point, for every other shape bears more.
    #[must_use]
    pub fn of(tool: &Tool, plate: &PlateData) -> Self {
        let Some(factor) = plate.delamination.filter(|factor| *factor > 1.0) else { return Self::Point };
        let radius = 1.0 / factor;
        match (lip(&tool.kind), &tool.kind) {
            (Lip::Rim, ToolKind::CoreDrill { wall }) => {
                Self::Annulus { radius, wall: (2.0 * wall.0 / tool.diameter.0).clamp(0.0, 1.0) }
            }
            (Lip::Rim, _) => Self::Ring(radius),
            (Lip::Chisel | Lip::Flat, _) => Self::Point,
        }
    }

    /// Critical thrust over that of a point load.
    ///
    /// Our own derivation on the plate above, by superposing the rim moments of ring loads. The candle form adds the
    /// moments exactly; a published form drops the cross term of the two loads and allows about a quarter more.
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            Self::Point => 1.0,
            Self::Ring(s) => 1.0 / (1.0 - s * s),
            Self::Disc(s) => 1.0 / (1.0 - s * s / 2.0),
            Self::Annulus { radius: s, wall } => 1.0 / (1.0 - s * s * (2.0 - 2.0 * wall + wall * wall) / 2.0),
            Self::Candle { radius: s, share } => (1.0 + share) / (1.0 + share * (1.0 - s * s)),
            Self::Rim { radius: t, poisson } => rim_factor(t, poisson),
        }
    }
}

/// Edge load on the free inner rim of an annular plate clamped outside.
fn rim_factor(t: f64, poisson: f64) -> f64 {
    let (less, more, square) = (1.0 - poisson, 1.0 + poisson, t * t);
    (less + more * square) / (less * (1.0 - square) - 2.0 * more * square * libm::log(t))
}

/// Thrust in N by a tool's law F = c f^m D^p times its wear factor; `None` outside the feeds the law was fitted on.
#[must_use]
pub fn law_thrust(law: &ThrustLaw, per_rev: MmPerRev, diameter: Millimetres, wear: f64) -> Option<Newtons> {
    let (least, most) = law.valid;
    (least..=most).contains(&per_rev.0).then(|| Newtons(coefficient(law, diameter, wear) * libm::pow(per_rev.0, law.m)))
}

/// Feed at which the law gives `thrust`: f = (F / (w c D^p))^(1/m). It may lie outside the feeds the law was fitted on.
#[must_use]
pub fn feed_of_thrust(law: &ThrustLaw, thrust: Newtons, diameter: Millimetres, wear: f64) -> MmPerRev {
    MmPerRev(libm::pow(thrust.0 / coefficient(law, diameter, wear), 1.0 / law.m))
}

fn coefficient(law: &ThrustLaw, diameter: Millimetres, wear: f64) -> f64 {
    wear * law.c * libm::pow(diameter.0, law.p)
}
