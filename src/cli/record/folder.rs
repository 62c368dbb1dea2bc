//! A record's folder on disk: read whole, written whole or not at all.

use super::super::failure::Failure;
use super::super::files;
use crate::record::{Difference, Files, MANIFEST, Manifest, differences, is_sign_off};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Every file in and below a folder, by its path with forward slashes.
pub fn read(folder: &Path) -> Result<Files, Failure> {
    let mut found = Files::new();
    if !folder.is_dir() {
        let why = if folder.exists() { "it is a file, not a folder" } else { "there is no such folder" };
        return Err(Failure::Read { path: folder.display().to_string(), why: why.to_owned() });
    }
    walk(folder, "", &mut found)?;
    Ok(found)
}

fn walk(folder: &Path, prefix: &str, found: &mut Files) -> Result<(), Failure> {
    let failure = |error| Failure::read(folder, &error);
    for entry in fs::read_dir(folder).map_err(failure)? {
        let entry = entry.map_err(failure)?;
        let (path, name) = (entry.path(), format!("{prefix}{}", entry.file_name().to_string_lossy()));
        let kind = entry.file_type().map_err(failure)?;
        if kind.is_dir() {
            walk(&path, &format!("{name}/"), found)?;
        } else if kind.is_file() {
            found.insert(name, files::read(&path)?);
        } else {
            // A link or device shows other bytes tomorrow; what it is stands for it, and no record holds that.
            found.insert(name, b"neither a file nor a folder".to_vec());
        }
    }
    Ok(())
}

/// Whether a record may be put at `folder`: nothing is there, or a record nobody signed with nothing beside it.
pub fn may_be_made(folder: &Path) -> Result<(), Failure> {
    if !folder.exists() && !folder.is_symlink() {
        return Ok(());
    }
    let found = read(folder)?;
    if found.is_empty() {
        return Ok(());
    }
    let refuse = |why: &str| Err(Failure::Unusable(format!("`{}` {why}; nothing was changed", folder.display())));
    let Some(Ok(manifest)) = found.get(MANIFEST).map(|list| Manifest::read(list)) else {
        return refuse("is there and is no record");
    };
    if let Some(signed) = found.keys().find(|path| is_sign_off(path, &found)) {
        return refuse(&format!("is a record that was signed ({signed}); put the new one into another folder"));
    }
    let gone = |difference: &Difference| matches!(difference, Difference::Missing(_));
    match differences(&manifest, &found).iter().find(|difference| !gone(difference)) {
        Some(difference) => refuse(&format!("is a record that somebody changed ({difference})")),
        None => Ok(()),
    }
}

/// Puts a record in place of `folder`: a new folder beside it is filled, flushed and renamed, so that at no moment half a
/// record stands under the name.
pub fn store(folder: &Path, record: &Files) -> Result<(), Failure> {
    let Some(name) = folder.file_name().map(|name| name.to_string_lossy().into_owned()) else {
        return Err(Failure::Unusable(format!("`{}` is no name for a new folder", folder.display())));
    };
    let beside = |what: &str| folder.with_file_name(format!(".{name}.{}.{what}", std::process::id()));
    let spare = Spare(beside("new"));
    let failure = |error: io::Error| Failure::write(folder, &error);
    if folder.parent().is_some_and(|parent| !parent.as_os_str().is_empty() && !parent.is_dir()) {
        return Err(Failure::Unusable(format!("there is no folder to make `{}` in", folder.display())));
    }
    fs::create_dir(&spare.0).map_err(failure)?;
    fill(&spare.0, record).map_err(failure)?;
    let old = folder.exists().then(|| Spare(beside("old")));
    if let Some(old) = &old {
        fs::rename(folder, &old.0).map_err(failure)?;
    }
    fs::rename(&spare.0, folder).map_err(|error| {
        if let Some(old) = &old {
            // When even this fails, the old record stands under its spare name and is not taken away.
            let _ = fs::rename(&old.0, folder);
        }
        failure(error)
    })
}

fn fill(folder: &Path, record: &Files) -> io::Result<()> {
    for (name, bytes) in record {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        let mut file = File::create_new(&path)?;
        file.write_all(bytes)?;
        file.sync_all()?;
    }
    Ok(())
}

/// A folder of ours that is taken away when it is not needed any more.
struct Spare(PathBuf);

impl Drop for Spare {
    fn drop(&mut self) {
        // One that was renamed is not there any more, which is as good.
        let _ = fs::remove_dir_all(&self.0);
    }
}
