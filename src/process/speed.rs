//! Spindle speed, surface speed, feed.
