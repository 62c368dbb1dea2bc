//! The arguments of `record`.

use super::super::args::{Measurements, Setting};
use crate::job::Date;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// `record`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct RecordArgs {
    /// What to do with a record that is there; without it one is made.
    #[command(subcommand)]
    pub with: Option<WithRecord>,

    #[command(flatten)]
    pub new: Option<NewRecord>,

    // These two stand here, not in `NewRecord`: clap never fills an optional group that holds groups.
    #[command(flatten)]
    pub setting: Setting,

    #[command(flatten)]
    pub measured: Measurements,
}

/// A new record.
#[derive(Debug, Args)]
pub struct NewRecord {
    /// NC program.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Folder to make; one that is there is replaced when it is a record that nobody signed.
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Revision released before, to tell what changed since.
    #[arg(long, value_name = "OLD")]
    pub against: Option<PathBuf>,

    /// Job file of OLD alone; without it that of --job, else the one found for OLD, else that of FILE.
    #[arg(long, value_name = "FILE", requires = "against", conflicts_with = "tools")]
    pub old_job: Option<PathBuf>,
}

/// What can be done with a record.
#[derive(Debug, Subcommand)]
pub enum WithRecord {
    /// Hold every file against the record's list, run the check again and hold its results against those recorded.
    ///
    /// Exit codes: 0 all as recorded, 1 something differs, 2 no record, 3 something could not be concluded.
    Verify(VerifyArgs),
    /// Write a sign-off of a record beside it, once the record was verified.
    Sign(SignArgs),
}

/// `record verify`.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// Folder of the record.
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Public Ed25519 key, PEM, that sign-offs have to be signed with; several may be given, any of them will do.
    #[arg(long, value_name = "FILE")]
    pub key: Vec<PathBuf>,
}

/// `record sign`.
#[derive(Debug, Args)]
pub struct SignArgs {
    /// Folder of the record.
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Who signs.
    #[arg(long, value_parser = clap::builder::NonEmptyStringValueParser::new())]
    pub name: String,

    /// In which role, such as programmer, reviewer or process engineer.
    #[arg(long, value_parser = clap::builder::NonEmptyStringValueParser::new())]
    pub role: String,

    /// What the signature means, such as "reviewed" or "approved for the first article".
    #[arg(long, value_parser = clap::builder::NonEmptyStringValueParser::new())]
    pub meaning: String,

    /// Day of the sign-off, YYYY-MM-DD; today when left out.
    #[arg(long, value_name = "DATE")]
    pub date: Option<Date>,

    /// Private Ed25519 key of the shop, PEM of PKCS #8, to put a detached signature beside the sign-off.
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
}
