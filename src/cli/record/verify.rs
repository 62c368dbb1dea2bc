//! `lastply record verify`: what differs from a record, named.

use super::super::args::VerifyArgs;
use super::super::failure::Failure;
use super::super::streams::Streams;
use super::super::{INCONCLUSIVE, files};
use super::folder;
use crate::record::{self, Files, Keys, MANIFEST, SUMS, SignOff, SignOffState, Verification};
use crate::render::{Look, counted};
use crate::source::sha256;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Prints what became of a record; exit code 0 when nothing differs, 1 when something does, 3 when that cannot be told.
pub fn run(args: &VerifyArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let found = folder::read(&args.folder)?;
    let keys = keys(&args.key)?;
    let verification = verified(&args.folder, &found)?;
    let sign_offs = record::sign_offs(&found, &keys);
    let mut text = told(&verification, &found, &streams.look);
    for (path, sign_off, state) in &sign_offs {
        text.push_str(&streams.look.led("signed", &signed(path, sign_off.as_ref(), state)));
    }
    let code = code(&verification, &sign_offs);
    text.push_str(&streams.look.wrapped("  ", "  ", meaning(code)));
    streams.write(&text);
    Ok(code)
}

/// Holds a folder against its list.
pub fn verified(folder: &Path, found: &Files) -> Result<Verification, Failure> {
    record::verify(found).map_err(|error| Failure::Unusable(format!("`{}`: {error}", folder.display())))
}

fn keys(paths: &[PathBuf]) -> Result<Keys, Failure> {
    let mut keys = Keys::default();
    for path in paths {
        let pem = files::read(path)?;
        keys.add(&String::from_utf8_lossy(&pem))
            .map_err(|error| Failure::Unusable(format!("`{}`: {error}", path.display())))?;
    }
    Ok(keys)
}

/// What a record is, and how its files and its run hold.
pub fn told(verification: &Verification, found: &Files, look: &Look) -> String {
    let Verification { manifest, files, run } = verification;
    let program = manifest.inputs.first().map_or("", |input| input.file.path.as_str());
    let made = &manifest.made_by;
    let mut text = look.wrapped("", "  ", &format!("record of {program}, made by {} {}", made.name, made.version));
    let digest = found.get(MANIFEST).map(|bytes| sha256(bytes)).unwrap_or_default();
    text.push_str(&look.led("list", &format!("{MANIFEST} sha256 {digest}")));
    let listed: BTreeSet<&str> = manifest.listed().map(|listed| listed.path.as_str()).collect();
    let total = listed.len() as u64 + [MANIFEST, SUMS].len() as u64;
    let mut lines = |lead: &str, differences: &[record::Difference], well: &str| {
        if differences.is_empty() {
            text.push_str(&look.led(lead, well));
        }
        for (index, difference) in differences.iter().enumerate() {
            text.push_str(&look.led(if index == 0 { lead } else { "" }, &difference.to_string()));
        }
    };
    lines("files", files, &format!("{} as recorded", counted(total, "file")));
    match run {
        Some(run) => lines("run", run, "made again from the recorded inputs, with the same results"),
        None => text.push_str(&look.led("run", "not made again, for an input is not the one recorded")),
    }
    if let Some(made) = verification.made_by_other() {
        let this = record::MadeBy::this();
        let rules = if made.rule_set == this.rule_set { "the same rules" } else { "another rule set" };
        let line = format!("made by version {} with {rules}; this is version {}", made.version, this.version);
        text.push_str(&look.led("version", &line));
    }
    text
}

fn signed(path: &str, sign_off: Option<&SignOff>, state: &SignOffState) -> String {
    let who = sign_off.map(|by| format!("{}, {}, {}: {}; ", by.name, by.role, by.date, by.meaning)).unwrap_or_default();
    let worth = match state {
        SignOffState::Stands => "signs this record, without a key".to_owned(),
        SignOffState::Signed => "signs this record, by a key given".to_owned(),
        SignOffState::NotChecked => "signs this record; its signature was not checked: name its --key".to_owned(),
        SignOffState::Broken(why) => format!("does not hold: {why}"),
    };
    format!("{who}{path} {worth}")
}

/// What the files, the run and the sign-offs come to.
fn code(verification: &Verification, sign_offs: &[(&str, Option<SignOff>, SignOffState)]) -> u8 {
    let other = verification.made_by_other().is_some();
    let broken = sign_offs.iter().any(|(_, _, state)| matches!(state, SignOffState::Broken(_)));
    let open = sign_offs.iter().any(|(_, _, state)| *state == SignOffState::NotChecked);
    let run = verification.run_holds();
    match () {
        () if !verification.files.is_empty() || broken || (!run && !other) => 1,
        () if !run || open => INCONCLUSIVE,
        () => 0,
    }
}

fn meaning(code: u8) -> &'static str {
    match code {
        0 => "the record is what it was, and its inputs give its results",
        1 => "something differs: do not rely on this record",
        _ => "nothing was found to differ, but not everything could be concluded",
    }
}
