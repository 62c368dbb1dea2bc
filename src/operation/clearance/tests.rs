//! Clearance over small runs.
