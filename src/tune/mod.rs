//! Faster within every window: so far the order of visits.

pub mod route;
