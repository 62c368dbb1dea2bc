//! Checks against published figures and geometry, one file a source.

mod point_geometry;
