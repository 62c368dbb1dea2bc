//! A language server over the same report: findings while one types, proved edits, what is in force at a block.
//!
//! Language Server Protocol 3.17. Only what is asked for is worked out: findings when an edit comes to rest, the rest on request.

mod actions;
mod depth;
mod desk;
mod findings;
mod hints;
mod hover;
mod links;
mod outline;
mod server;
mod study;
mod text;
mod watch;

pub use desk::Disk;
pub use server::{Parting, serve};
