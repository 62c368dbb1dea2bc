//! The arguments of every command, and nothing else.

pub use super::record::args::{NewRecord, RecordArgs, SignArgs, VerifyArgs, WithRecord};
use crate::rules;
use crate::tune::Part;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Checks posted drilling and trimming programs for composite laminates, and proposes verified patches.
///
/// Exit codes: 0 clean, 1 findings at or above --fail-on, 2 unusable input or arguments, 3 something needed could not
/// be concluded, 70 a fault of lastply itself.
#[derive(Debug, Parser)]
#[command(name = "lastply", version, disable_help_subcommand = true, max_term_width = 80)]
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
    /// Judge programs against the job file, hole by hole and edge by edge.
    Check(CheckArgs),
    /// Print every rebuilt move with its block, tool, speed, feed and cycle step.
    Moves(MovesArgs),
    /// Print the holes with their layers, feed windows and breakthrough depths.
    Holes(JudgeArgs),
    /// Print the cuts with engagement, feed at the wall, feed reached, clearance and machine time.
    Edges(JudgeArgs),
    /// Propose a patch that was proved by checking the patched copy; printed as a diff, written only when asked.
    Patch(PatchArgs),
    /// Propose a faster program inside every limit, proved like a patch, with what each change buys.
    Tune(TuneArgs),
    /// Say what changed in the machining between two revisions, matched by motion and not by text.
    ///
    /// Exit codes: 0 identical in motion, 1 the machining changed, 2 unusable input or arguments, 3 some block could not be
    /// followed, so that more may have changed.
    Compare(CompareArgs),
    /// Fit a thrust law to the shop's own drilling trials, as a piece of job file.
    Fit(FitArgs),
    /// Make a folder of evidence: inputs, results, changes, patch and waivers, listed with digests; or verify or sign one.
    Record(RecordArgs),
    /// Draw up the operator's sheet: set-up, prove-out, restart, first article and pictures, as one HTML page that prints.
    Sheet(SheetArgs),
    /// Draft a job file from the program, with what it still needs marked.
    Start(ProgramArgs),
    /// List the rules, or print the manual of one.
    Rules(RulesArgs),
    /// Print the JSON Schema of the job file, so that editors can complete it.
    Schema(SchemaArgs),
    /// Serve an editor over standard input and output (Language Server Protocol), which starts this command itself.
    ///
    /// Exit codes: 0 after the editor said goodbye, 1 when it left without.
    Editor(EditorArgs),
    /// Print what a shell needs to complete the command line.
    Completions(CompletionsArgs),
    /// Print the manual page of a command, or of lastply, in the form man reads.
    Man(ManArgs),
}

/// `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// NC programs, or folders of them; `.lastplyignore` and `.gitignore` say what to leave out.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,

    #[command(flatten)]
    pub setting: Setting,

    #[command(flatten)]
    pub measured: Measurements,

    /// How to print the report: whole, or where a folder is named a line for each program and the totals.
    #[arg(long, value_enum)]
    pub format: Option<CheckFormat>,

    /// Show what this rule finds and could not conclude, and nothing else; may be given more than once.
    #[arg(long, value_name = "RULE", value_parser = rule)]
    pub rule: Vec<&'static str>,

    /// Endings of file names that count as programs in a folder, such as nc,mpf.
    #[arg(long, value_name = "ENDINGS", value_delimiter = ',')]
    pub endings: Vec<String>,

    #[command(flatten)]
    pub known: BaselineArgs,

    /// Write programs, findings, holes and edges to this file as one Parquet table as well.
    #[arg(long, value_name = "OUT.parquet")]
    pub table: Option<PathBuf>,

    /// Least severity that makes the exit code 1.
    #[arg(long, value_enum, default_value = "error", value_name = "SEVERITY")]
    pub fail_on: FailOn,

    /// Exit with 0 whatever was found, for editors and scripts that read the report itself.
    #[arg(long)]
    pub exit_zero: bool,
}

/// Findings that were there before.
#[derive(Debug, Default, Args)]
pub struct BaselineArgs {
    /// Findings that were there before and do not count; only others fail.
    #[arg(long, value_name = "FILE")]
    pub baseline: Option<PathBuf>,

    /// Take new findings into the baseline.
    #[arg(long, requires = "baseline")]
    pub accept_new: bool,

    /// Take entries out of the baseline that nothing answers to any more.
    #[arg(long, requires = "baseline")]
    pub drop_stale: bool,
}

/// A rule by its name.
fn rule(name: &str) -> Result<&'static str, String> {
    let found = rules::rule_named(name).map(|rule| rule.name);
    found.ok_or_else(|| format!("there is no such rule; {}", rules::suggestion(name)))
}

/// `moves`.
#[derive(Debug, Args)]
pub struct MovesArgs {
    /// NC program.
    pub file: PathBuf,

    #[command(flatten)]
    pub setting: Setting,

    /// How to print the moves; CSV and JSON are in mm whatever the program speaks.
    #[arg(long, value_enum, default_value = "table")]
    pub format: MovesFormat,
}

/// `patch`.
#[derive(Debug, Args)]
pub struct PatchArgs {
    /// NC program.
    pub file: PathBuf,

    #[command(flatten)]
    pub setting: Setting,

    /// How to print the patch.
    #[arg(long, value_enum, default_value = "diff")]
    pub format: PatchFormat,

    /// Let holes written out alike call one subprogram, where the job file says how calls are written.
    #[arg(long)]
    pub share: bool,

    /// Write the patched program to this file as well.
    #[arg(long, value_name = "OUT", conflicts_with = "in_place")]
    pub write: Option<PathBuf>,

    /// Put the patched program in place of the old one, which is kept beside it as NAME.bak.
    #[arg(long)]
    pub in_place: bool,
}

/// `tune`.
#[derive(Debug, Args)]
pub struct TuneArgs {
    /// NC program.
    pub file: PathBuf,

    #[command(flatten)]
    pub setting: Setting,

    /// Change this alone; may be given more than once.
    #[arg(long, value_parser = part, value_name = "PART")]
    pub only: Vec<Part>,

    /// How to print the result; `diff` puts the report on standard error beside it.
    #[arg(long, value_enum, default_value = "diff")]
    pub format: TuneFormat,

    /// Write the tuned program to this file as well.
    #[arg(long, value_name = "OUT")]
    pub write: Option<PathBuf>,
}

/// A part of tuning by its word.
fn part(word: &str) -> Result<Part, String> {
    let known: Vec<&str> = Part::ALL.iter().map(|part| part.word()).collect();
    let found = Part::ALL.into_iter().find(|part| part.word() == word);
    found.ok_or_else(|| format!("one of {}", known.join(", ")))
}

/// `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// NC program as it was.
    pub old: PathBuf,

    /// NC program as it is.
    pub new: PathBuf,

    #[command(flatten)]
    pub setting: Setting,

    /// Job file of OLD alone; without it that of --job, else the one found for OLD. A revision without one is read by the
    /// other's.
    #[arg(long, value_name = "FILE", conflicts_with = "tools")]
    pub old_job: Option<PathBuf>,

    /// How to print the comparison.
    #[arg(long, value_enum, default_value = "terminal")]
    pub format: ReportFormat,
}

/// `fit`.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// Trials as CSV: columns feed_mm_rev, diameter_mm, thrust_N, and if measured speed_rev_min, holes and
    /// delamination_factor; other units as the header says, such as feed_in_rev.
    pub file: PathBuf,

    /// Number of the tool in the job file.
    #[arg(long, value_name = "N")]
    pub tool: Option<u32>,

    /// Draw points, law and band to this file as SVG.
    #[arg(long, value_name = "OUT.svg")]
    pub plot: Option<PathBuf>,
}

/// Commands that read one program and nothing else.
#[derive(Debug, Args)]
pub struct ProgramArgs {
    /// NC program.
    pub file: PathBuf,

    #[command(flatten)]
    pub setting: Setting,
}

/// Commands that judge one program.
#[derive(Debug, Args)]
pub struct JudgeArgs {
    /// NC program.
    pub file: PathBuf,

    #[command(flatten)]
    pub setting: Setting,

    #[command(flatten)]
    pub measured: Measurements,
}

/// `sheet`.
#[derive(Debug, Args)]
pub struct SheetArgs {
    #[command(flatten)]
    pub program: JudgeArgs,

    /// Write the page to this file instead of standard output.
    #[arg(long, value_name = "OUT")]
    pub out: Option<PathBuf>,

    /// Paper to lay it out for.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: PaperSize,
}

/// Paper sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    A4,
    Letter,
}

/// What was measured at the machine; it lies over the job for this run and never changes its file.
#[derive(Clone, Debug, Default, Args)]
pub struct Measurements {
    /// Thickness as measured, thickness=39.6mm, or thickness.NAME=39.6mm where the part has several laminates.
    #[arg(long, value_name = "WHAT=AMOUNT")]
    pub measured: Vec<String>,

    /// A tool as measured: N:stickout=61mm, N:length=, N:diameter=, or N:used= for holes or metres done before.
    #[arg(long, value_name = "N:WHAT=AMOUNT")]
    pub tool: Vec<String>,
}

impl Measurements {
    /// Whether nothing was measured.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.measured.is_empty() && self.tool.is_empty()
    }
}

/// `rules`.
#[derive(Debug, Args)]
pub struct RulesArgs {
    /// Name of a rule; without it every rule is listed.
    pub name: Option<String>,
}

/// `editor`.
#[derive(Debug, Args)]
pub struct EditorArgs {
    /// Taken because editors add it; standard input and output are the only way to talk.
    #[arg(long, hide = true)]
    pub stdio: bool,
}

/// `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Print the schema of what a command prints with `--format json` instead; `check` when none is named.
    #[arg(long, value_enum, value_name = "COMMAND", num_args = 0..=1, default_missing_value = "check")]
    pub output: Option<Output>,
}

/// `completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// Which shell.
    pub shell: clap_complete::Shell,
}

/// `man`.
#[derive(Debug, Args)]
pub struct ManArgs {
    /// A command; without it the page of lastply.
    pub command: Option<String>,
}

/// What a program is read with; shared by all commands that read one.
#[derive(Clone, Debug, Default, Args)]
pub struct Setting {
    /// Job file; without it NAME.job.toml beside the program, then job.toml there or in a folder above.
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,

    /// Dialect to read the program in, over the job file's.
    #[arg(long, value_name = "NAME")]
    pub dialect: Option<String>,

    /// Tool table for programs without a job: TOML with [tool.N] length and diameter.
    #[arg(long, value_name = "FILE", conflicts_with = "job")]
    pub tools: Option<PathBuf>,

    /// Day to judge waivers on, YYYY-MM-DD; the job file's date, then today, when left out.
    #[arg(long, value_name = "DATE")]
    pub date: Option<crate::job::Date>,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum When {
    #[default]
    Auto,
    Always,
    Never,
}

/// Formats of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CheckFormat {
    Terminal,
    /// A line for each program, and the totals.
    Table,
    Json,
    /// JSON Lines: an object for each program and finding, and one for the run.
    Jsonl,
    /// SARIF 2.1.0, with the verified patch of each finding that has one.
    Sarif,
}

/// Formats of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ReportFormat {
    Terminal,
    Json,
}

/// Formats of moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MovesFormat {
    Table,
    Csv,
    Json,
}

/// Formats of a patch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PatchFormat {
    Diff,
    Json,
}

/// Formats of a tuned program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TuneFormat {
    Diff,
    Report,
    Json,
}

/// Commands whose JSON has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Output {
    Check,
    Compare,
}

/// Severities as arguments.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    Error,
    Warning,
    Note,
}
