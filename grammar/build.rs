//! Reads `codes.toml` and `dialects/*.toml` into tables the crate compiles in.
fn main() {}
