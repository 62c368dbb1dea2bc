//! The arguments of every command, and nothing else.

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Checks posted drilling and trimming programs for composite laminates, and proposes verified patches.
///
/// Exit codes: 0 clean, 1 findings at or above --fail-on, 2 unusable input or arguments, 3 something needed could not
/// be concluded, 70 a fault of lastply itself.
#[derive(Debug, Parser)]
#[command(name = "lastply", version, disable_help_subcommand = true)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// Colour in reports; NO_COLOR in the environment turns it off unless `always` is given.
    #[arg(long, global = true, value_enum, default_value = "auto")]
    pub color: When,
}

/// One variant a command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// List the rules, or print the manual of one.
    Rules(RulesArgs),
    /// Print the JSON Schema of the job file, so that editors can complete it.
    Schema(SchemaArgs),
}

/// `rules`.
#[derive(Debug, Args)]
pub struct RulesArgs {
    /// Name of a rule; without it every rule is listed.
    pub name: Option<String>,
}

/// `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Print the schema of `check --format json` instead.
    #[arg(long)]
    pub output: bool,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// Only in a terminal.
    #[default]
    Auto,
    /// Even into a file.
    Always,
    /// Nowhere.
    Never,
}
