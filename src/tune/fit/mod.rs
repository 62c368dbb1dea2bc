//! Laws from the shop's own drilling trials: thrust and delamination against feed, with what they are worth.

pub mod regression;
