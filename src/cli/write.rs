//! Files written whole or not at all.

use super::failure::Failure;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Backups tried before giving up.
const BACKUPS: u32 = 1000;

/// Puts `bytes` in place of `path`: a new file beside it is filled, flushed to disk and renamed over it, so that at no
/// moment half a program stands under the name.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failure = |error: io::Error| Failure::write(path, &error);
    let (spare, mut file) = spare(path).map_err(failure)?;
    let filled = fill(&mut file, bytes).and_then(|()| keep_permissions(path, &file));
    let moved = filled.and_then(|()| fs::rename(&spare, path));
    if moved.is_err() {
        // The spare is ours alone; when even this fails it is a leftover, not damage.
        let _ = fs::remove_file(&spare);
    }
    moved.map_err(failure)
}

/// Copies `path` to a name that is free, such as `part.nc.bak`, and gives that name.
pub fn back_up(path: &Path, bytes: &[u8]) -> Result<PathBuf, Failure> {
    for number in 1..=BACKUPS {
        let ending = if number == 1 { ".bak".to_owned() } else { format!(".bak{number}") };
        let backup = beside(path, "", &ending);
        match File::create_new(&backup) {
            Ok(mut file) => {
                return fill(&mut file, bytes).map(|()| backup.clone()).map_err(|error| {
                    // Half a backup must not look like one.
                    let _ = fs::remove_file(&backup);
                    Failure::write(&backup, &error)
                });
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(Failure::write(&backup, &error)),
        }
    }
    Err(Failure::Unusable(format!("`{}` has {BACKUPS} backups already; take some away", path.display())))
}

fn fill(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(bytes)?;
    file.sync_all()
}

/// The new file may be read and written by whom the old one could.
fn keep_permissions(path: &Path, file: &File) -> io::Result<()> {
    match fs::metadata(path) {
        Ok(meta) => file.set_permissions(meta.permissions()),
        Err(_) => Ok(()),
    }
}

/// A new empty file beside `path`.
fn spare(path: &Path) -> io::Result<(PathBuf, File)> {
    let spare = beside(path, ".", &format!(".{}.new", std::process::id()));
    let file = OpenOptions::new().write(true).create_new(true).open(&spare)?;
    Ok((spare, file))
}

fn beside(path: &Path, before: &str, after: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default();
    let mut new = std::ffi::OsString::from(before);
    new.push(name);
    new.push(after);
    path.with_file_name(new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("part.nc");
        fs::write(&path, "old").unwrap();
        replace(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_failed_write_leaves_the_old_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("no/such/folder/part.nc");
        let message = replace(&path, b"new").unwrap_err().to_string();
        assert!(message.ends_with("there is no such file; nothing was changed"), "{message}");
        let taken = folder.path().join("taken");
        fs::create_dir_all(taken.join("inside")).unwrap();
        assert!(replace(&taken, b"new").is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn backups_never_overwrite_each_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("part.nc");
        assert_eq!(back_up(&path, b"1").unwrap(), folder.path().join("part.nc.bak"));
        assert_eq!(back_up(&path, b"2").unwrap(), folder.path().join("part.nc.bak2"));
        assert_eq!(fs::read(folder.path().join("part.nc.bak")).unwrap(), b"1");
    }
}
