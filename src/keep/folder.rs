//! The folder of copies: their names, their records, one who works in it at a time.

use super::record::{LastFailure, Record};
use crate::book::at::At;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

const FAILURE: &str = "last-failure.json";

/// The folder of copies in a data folder.
pub fn of(data: &Path) -> PathBuf {
    data.join("backups")
}

/// The name of a copy made at an instant: `book-20271014T180000Z`.
pub fn stem(at: At) -> String {
    format!("book-{}", at.utc().format("%Y%m%dT%H%M%SZ"))
}

/// The records in a folder, the newest first. Files that cannot be read as records are passed over: they are no copies.
pub fn records(folder: &Path) -> Vec<Record> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut all: Vec<Record> = entries
        .filter_map(Result::ok)
        .map(|e| e.path())
        .filter(|p| p.extension().is_some_and(|e| e == "json") && p.file_name().is_some_and(|n| n != FAILURE))
        .filter_map(|p| serde_json::from_slice::<Record>(&fs::read(p).ok()?).ok())
        // A record may only speak of a file beside it.
        .filter(|r| is_plain_name(&r.file) && folder.join(&r.file).is_file())
        .collect();
    all.sort_by(|a, b| (b.made_at, &b.file).cmp(&(a.made_at, &a.file)));
    all
}

/// Whether a name is one of ours and leads nowhere else.
pub fn is_plain_name(name: &str) -> bool {
    name.starts_with("book-")
        && name.len() <= 80
        && !name.contains("..")
        && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '.'))
}

/// Why the last try failed, if it did.
pub fn last_failure(folder: &Path) -> Option<LastFailure> {
    serde_json::from_slice(&fs::read(folder.join(FAILURE)).ok()?).ok()
}

/// Notes that a try failed, or that the last one did not.
pub fn note(folder: &Path, failure: Option<&LastFailure>) {
    let path = folder.join(FAILURE);
    let noted = match failure {
        Some(failure) => serde_json::to_vec_pretty(failure).map_err(|e| e.to_string()).and_then(|text| {
            fs::create_dir_all(folder).map_err(|e| e.to_string()).and_then(|()| write_whole(&path, &text))
        }),
        None => match fs::remove_file(&path) {
            Err(e) if e.kind() != ErrorKind::NotFound => Err(e.to_string()),
            _ => Ok(()),
        },
    };
    // The disk may be full, which is what is to be noted; the log is left then.
    if let Err(e) = noted {
        tracing::error!("the state of the copies could not be noted: {e}");
    }
}

/// One who works in the folder at a time; held until dropped.
///
/// # Errors
/// A sentence.
pub fn lock(folder: &Path) -> Result<File, String> {
    fs::create_dir_all(folder).map_err(|e| format!("the folder {} cannot be made: {e}", folder.display()))?;
    let path = folder.join("in-use.lock");
    let file = File::options().create(true).truncate(false).write(true).open(&path);
    let file = file.map_err(|e| format!("{} cannot be written: {e}", path.display()))?;
    file.lock().map_err(|e| format!("{} cannot be locked: {e}", path.display()))?;
    Ok(file)
}

/// Writes a file whole or not at all, and on the disk when it returns.
///
/// # Errors
/// A sentence.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let part = path.with_extension("part");
    let failed = |e: std::io::Error| format!("{} cannot be written: {e}", path.display());
    let mut file = File::create(&part).map_err(failed)?;
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(failed)?;
    fs::rename(&part, path).map_err(failed)?;
    sync_folder(path);
    Ok(())
}

/// Brings a changed name in a folder to the disk, where the system lets a folder be opened.
pub fn sync_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = File::open(folder)
    {
        // Windows opens no folders; there the name is written with the file.
        let _ = folder.sync_all();
    }
}

/// A file's SHA-256 in hexadecimal, and its size.
///
/// # Errors
/// A sentence.
pub fn fingerprint(path: &Path) -> Result<(String, u64), String> {
    let failed = |e: std::io::Error| format!("{} cannot be read: {e}", path.display());
    let mut file = File::open(path).map_err(failed)?;
    let (mut hash, mut bytes) = (Sha256::new(), 0_u64);
    let mut buffer = vec![0_u8; 1 << 16];
    loop {
        let n = file.read(&mut buffer).map_err(failed)?;
        let Some(read) = buffer.get(..n).filter(|r| !r.is_empty()) else { break };
        hash.update(read);
        bytes = bytes.saturating_add(u64::try_from(n).unwrap_or(0));
    }
    Ok((hash.finalize().iter().map(|b| format!("{b:02x}")).collect(), bytes))
}

/// Removes what a try left behind that was cut off. Call it only while the folder is locked.
pub fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.filter_map(Result::ok).map(|e| e.path()) {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        if name.starts_with("book-")
            && [".part", ".rehearsal", "-journal", "-wal", "-shm"].iter().any(|e| name.ends_with(e))
        {
            let _ = fs::remove_file(&path);
        }
    }
}
