//! Chip thickness against the cutting edge.
