//! `lastply record sign`: a sign-off beside a record that was verified.

use super::super::args::SignArgs;
use super::super::failure::Failure;
use super::super::streams::Streams;
use super::super::{INCONCLUSIVE, clock, files, write};
use super::{folder, verify};
use crate::record::{MANIFEST, Manifest, SignOff, signature_name, signed_with};
use crate::source::sha256;

/// Writes a sign-off; a record that is not what it was is not signed: exit code 1, or 3 when another version made it and
/// this one gives other results.
pub fn run(args: &SignArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let found = folder::read(&args.folder)?;
    let verification = verify::verified(&args.folder, &found)?;
    if !verification.files.is_empty() || !verification.run_holds() {
        streams.write(&verify::told(&verification, &found, &streams.look));
        streams.write("  not signed\n");
        let other_version = verification.files.is_empty() && verification.made_by_other().is_some();
        return Ok(if other_version { INCONCLUSIVE } else { 1 });
    }
    let Some(date) = args.date.or_else(clock::today) else {
        return Err(Failure::Unusable("the clock tells no day; name it with --date".to_owned()));
    };
    let sign_off = SignOff {
        manifest_sha256: found.get(MANIFEST).map(|bytes| sha256(bytes)).unwrap_or_default(),
        name: args.name.clone(),
        role: args.role.clone(),
        meaning: args.meaning.clone(),
        date: date.to_string(),
    };
    let name = sign_off.file_name(|name| found.contains_key(name));
    let bytes = sign_off.bytes();
    let signature = args.key.as_ref().map(|key| signature(key, &bytes)).transpose()?;
    if let Some(signature) = &signature {
        write::replace(&args.folder.join(signature_name(&name)), signature)?;
    }
    write::replace(&args.folder.join(&name), &bytes)?;
    let with = if signature.is_some() { ", with a signature beside it" } else { "" };
    let verdict = Manifest::read(found.get(MANIFEST).map_or(&[][..], Vec::as_slice)).map(|list| list.verdict.words());
    let over = verdict.map(|words| format!("; what is signed: {words}")).unwrap_or_default();
    streams.write(&streams.look.wrapped("", "  ", &format!("signed: {name}{with}{over}")));
    Ok(0)
}

fn signature(key: &std::path::Path, bytes: &[u8]) -> Result<Vec<u8>, Failure> {
    let pem = files::read(key)?;
    let signature = signed_with(&String::from_utf8_lossy(&pem), bytes);
    signature.map_err(|error| Failure::Unusable(format!("`{}`: {error}", key.display())))
}
