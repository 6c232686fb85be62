//! The one door for files: what a command reads is told what it is before it is opened, what it writes is written whole or
//! not at all, and nothing that a person made is lost. Does not know what the files mean.

use anyhow::Context;
use fanlap::error::Problem;
use fanlap::job::LARGEST_BYTES;
use std::cell::RefCell;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Component, Path, PathBuf};

/// The files of one command.
pub struct Files {
    /// Whether what was read, a link and earlier grades may be replaced.
    replace: bool,
    read: RefCell<Vec<PathBuf>>,
}

/// What a command writes: names within its folder, and their bytes.
pub type Outputs = Vec<(String, Vec<u8>)>;

impl Files {
    /// Of a command that was or was not told to replace.
    pub fn new(replace: bool) -> Self {
        Self { replace, read: RefCell::default() }
    }

    /// The text of a file; `what` it should be, in words.
    pub fn text(&self, path: &Path, what: &str) -> Result<String, Problem> {
        let refused = |given: String, remedy: &str| Problem::new(path.display().to_string(), given, what, remedy);
        let missing = |error: std::io::Error| refused(error.to_string(), "Check the name and the place.");
        let found = fs::metadata(path).map_err(missing)?;
        // told before it is opened: a pipe would be waited for, a device never ends
        if !found.is_file() {
            let given = if found.is_dir() { "a folder" } else { "a pipe or a device" };
            return Err(refused(given.to_string(), "Name a file, not a folder or a pipe."));
        }
        let mut bytes = Vec::new();
        let most = LARGEST_BYTES as u64 + 1;
        let opened = File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes));
        opened.map_err(missing)?;
        if bytes.len() > LARGEST_BYTES {
            let given = format!("{} bytes", found.len().max(bytes.len() as u64));
            let allowed = format!("{what} of up to {LARGEST_BYTES} bytes");
            let remedy = "Check that it is the file you mean; move long spectra into files beside the job.";
            return Err(Problem::new(path.display().to_string(), given, allowed, remedy));
        }
        self.read.borrow_mut().extend(fs::canonicalize(path));
        decoded(bytes).map_err(|given| refused(given, SAVE_AS_UTF8))
    }

    /// The text of a file that a job names: it lies beside the job or below.
    pub fn beside(&self, folder: &Path, name: &str) -> Result<String, String> {
        const OUTSIDE: &str = "outside the job's folder";
        let inside = |part: Component| matches!(part, Component::Normal(_) | Component::CurDir);
        if name.is_empty() || !Path::new(name).components().all(inside) {
            return Err(OUTSIDE.to_string());
        }
        let (folder, path) = (if folder.as_os_str().is_empty() { Path::new(".") } else { folder }, folder.join(name));
        if let (Ok(folder), Ok(path)) = (fs::canonicalize(folder), fs::canonicalize(&path))
            && !path.starts_with(folder)
        {
            return Err(format!("a link to a place {OUTSIDE}"));
        }
        let why = |problem: Problem| format!("{} ({})", problem.given, problem.remedy.trim_end_matches('.'));
        self.text(&path, "a file beside the job").map_err(why)
    }

    /// Writes files into a folder, which is made if it is not there: all of them or none. Says what was written.
    pub fn write(&self, folder: &Path, outputs: &[(String, Vec<u8>)]) -> anyhow::Result<()> {
        self.write_new(folder, outputs, false)
    }

    /// The same of files that took work: earlier ones are replaced only if that is said.
    pub fn write_kept(&self, folder: &Path, outputs: &[(String, Vec<u8>)]) -> anyhow::Result<()> {
        self.write_new(folder, outputs, true)
    }

    fn write_new(&self, folder: &Path, outputs: &[(String, Vec<u8>)], kept: bool) -> anyhow::Result<()> {
        self.folder_allowed(folder)?;
        for (name, _) in outputs {
            self.allowed(&folder.join(name), kept)?;
        }
        let made = missing_folders(folder);
        let done = fs::create_dir_all(folder)
            .with_context(|| format!("{} could not be made", folder.display()))
            .and_then(|()| put(folder, outputs));
        if done.is_err() {
            made.iter().for_each(|folder| drop(fs::remove_dir(folder)));
            return done;
        }
        let names: Vec<String> = outputs.iter().map(|(name, _)| folder.join(name).display().to_string()).collect();
        eprintln!("written: {}", fanlap::error::visible(&names.join(", ")));
        Ok(())
    }

    /// Refuses a folder that is none, or is reached through a link.
    fn folder_allowed(&self, folder: &Path) -> Result<(), Problem> {
        // without a slash at its end, which would follow a link
        let plain: PathBuf = folder.components().collect();
        let refused = |given: &str, remedy: &str| {
            Err(Problem::new(format!("--out {}", folder.display()), given, "a folder to write into", remedy))
        };
        match fs::symlink_metadata(&plain) {
            Ok(found) if found.is_symlink() && !self.replace => {
                refused("a link", "Name the folder it leads to, or say --replace to write there.")
            }
            Ok(_) if fs::metadata(&plain).is_ok_and(|found| !found.is_dir()) => {
                refused("something else of this name, so the folder could not be made", "Name a folder.")
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotADirectory => {
                refused("a place within a file, so the folder could not be made", "Name a folder.")
            }
            _ => Ok(()),
        }
    }

    /// Refuses to write over what a person would lose.
    fn allowed(&self, path: &Path, kept: bool) -> Result<(), Problem> {
        let Ok(found) = fs::symlink_metadata(path) else { return Ok(()) };
        let refused = |given: &str, remedy: &str| {
            let allowed = "a name that is free, or a file this program may replace";
            Err(Problem::new(path.display().to_string(), given, allowed, remedy))
        };
        if !found.is_file() && !found.is_symlink() {
            let given = if found.is_dir() { "a folder" } else { "a pipe or a device" };
            return refused(given, "Move it away or give another folder with --out: it could not be written over.");
        }
        if self.replace {
            return Ok(());
        }
        let was_read = || fs::canonicalize(path).is_ok_and(|path| self.read.borrow().contains(&path));
        if found.is_symlink() {
            refused("a link", "Give another folder with --out, or say --replace to put a file in the link's place.")
        } else if was_read() {
            refused("the file that was read", "Give another folder with --out, or say --replace to write over it.")
        } else if kept {
            refused(
                "a file that is there already",
                "Give another folder with --out, or say --replace to write over it.",
            )
        } else {
            Ok(())
        }
    }
}

pub const SAVE_AS_UTF8: &str =
    "Save it as UTF-8: in an editor \"Save as\" with the encoding UTF-8, in a spreadsheet as \"CSV UTF-8\".";

/// A text in UTF-8, without its byte order mark; what else it is.
pub fn decoded(bytes: Vec<u8>) -> Result<String, String> {
    let wide = |mark: &[u8]| bytes.starts_with(mark);
    // the mark of UTF-32 begins like that of UTF-16
    if wide(&[0xff, 0xfe, 0, 0]) || wide(&[0, 0, 0xfe, 0xff]) {
        return Err("a text in UTF-32, not in UTF-8".to_string());
    }
    if wide(&[0xff, 0xfe]) || wide(&[0xfe, 0xff]) {
        return Err("a text in UTF-16, not in UTF-8".to_string());
    }
    if let Some(place) = bytes.iter().position(|byte| *byte == 0) {
        return Err(format!("a zero byte after {place} bytes, as in UTF-16 or in a file that is no text, not UTF-8"));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..place].iter().filter(|byte| **byte == b'\n').count() + 1;
        format!("line {line} with a letter that is not in UTF-8")
    })?;
    Ok(text.trim_start_matches('\u{feff}').to_string())
}

/// The folders that are not there yet, the innermost first.
fn missing_folders(folder: &Path) -> Vec<PathBuf> {
    let missing = folder.ancestors().take_while(|part| !part.as_os_str().is_empty() && !part.exists());
    missing.map(Path::to_path_buf).collect()
}

/// Writes all files beside their places, then renames them into them; what fails half way is undone.
fn put(folder: &Path, outputs: &[(String, Vec<u8>)]) -> anyhow::Result<()> {
    let scratch = |i: usize, what: &str| folder.join(format!(".fanlap-{}-{i}.{what}", std::process::id()));
    let place = |i: usize| folder.join(&outputs[i].0);
    let failed = |i: usize| format!("{} could not be written", place(i).display());
    let mut fresh = Vec::new();
    let mut rename = |i: usize| {
        // what stands there keeps another name until all is done
        fresh.push(fs::symlink_metadata(place(i)).is_err());
        drop(fs::hard_link(place(i), scratch(i, "old")));
        fs::rename(scratch(i, "new"), place(i)).with_context(|| failed(i))
    };
    let all = 0..outputs.len();
    let beside = all.clone().try_for_each(|i| whole(&scratch(i, "new"), &outputs[i].1).with_context(|| failed(i)));
    let done = beside.and_then(|()| all.clone().try_for_each(&mut rename));
    if done.is_err() {
        for (i, fresh) in fresh.iter().enumerate().filter(|(i, _)| !scratch(*i, "new").exists()) {
            let back = fs::rename(scratch(i, "old"), place(i));
            if back.is_err() && *fresh {
                drop(fs::remove_file(place(i)));
            }
        }
    }
    all.for_each(|i| ["new", "old"].into_iter().for_each(|what| drop(fs::remove_file(scratch(i, what)))));
    done
}

/// Writes a new file down to the disk.
fn whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}
