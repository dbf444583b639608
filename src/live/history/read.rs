//! Reads the record again. A torn last line is what a power cut leaves, and no fault; a broken
//! line before it is told and passed over.

use super::Entry;
use super::FORMAT;
use super::Happening;
use super::live_file::is_live;
use super::log_of;
use super::run::Run;
use std::fmt;
use std::fs;
use std::fs::File;
use std::io;
use std::io::ErrorKind;
use std::io::Read;
use std::path::Path;
use std::path::PathBuf;

/// No run is longer; a class of an hour takes about 300 kB.
const LARGEST: u64 = 32 << 20;

/// All runs of a folder, the earliest first, and what could not be read.
#[derive(Debug, Default)]
pub struct Record {
    pub runs: Vec<Run>,
    pub faults: Vec<Fault>,
}

/// What could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    pub file: PathBuf,
    /// Counted from 1; none where it is the whole file.
    pub line: Option<usize>,
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        write!(f, ": {}", self.message)
    }
}

/// Reads the record of a session folder; one that is not there is an empty one.
pub fn read(folder: &Path) -> Record {
    let log = log_of(folder);
    let mut record = Record::default();
    let entries = match fs::read_dir(&log) {
        Ok(entries) => entries,
        Err(error) => {
            if error.kind() != ErrorKind::NotFound {
                record.faults.push(whole(&log, &error));
            }
            return record;
        }
    };
    let paths = entries.flatten().map(|entry| entry.path());
    let mut paths: Vec<_> = paths
        .filter(|p| p.extension().is_some_and(|e| e == "jsonl"))
        .collect();
    paths.sort();
    for path in paths {
        let (run, faults) = read_run(&path);
        record.faults.extend(faults);
        record.runs.extend(run);
    }
    // Of two in one second the second has the longer name.
    record.runs.sort_by(|a, b| {
        let key = |run: &Run| (run.time, run.file.as_os_str().len());
        key(a).cmp(&key(b)).then_with(|| a.file.cmp(&b.file))
    });
    record
}

/// Reads one file of the record, wherever it is: the run, if its beginning is there, and what could not be read.
pub fn read_run(path: &Path) -> (Option<Run>, Vec<Fault>) {
    match bytes(path) {
        Ok((bytes, live)) => {
            let (run, faults) = parse(path, &bytes);
            (run.map(|run| Run { live, ..run }), faults)
        }
        Err(error) => (None, vec![whole(path, &error)]),
    }
}

fn bytes(path: &Path) -> io::Result<(Vec<u8>, bool)> {
    // Looked at before it is opened: a pipe that nobody writes to would hold the program.
    if !fs::metadata(path)?.is_file() {
        return Err(io::Error::other("it is not a file"));
    }
    let mut bytes = Vec::new();
    let file = File::open(path)?;
    let live = is_live(&file);
    file.take(LARGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST {
        return Err(io::Error::other("it is larger than any run"));
    }
    Ok((bytes, live))
}

fn whole(path: &Path, error: &io::Error) -> Fault {
    let text = error.to_string();
    let why = text.split(" (os error").next().unwrap_or(&text);
    Fault {
        file: path.to_owned(),
        line: None,
        message: format!("it cannot be read: {}", why.to_lowercase()),
    }
}

/// Reads the bytes of one file: the run, if its beginning is there, and its broken lines.
pub fn parse(file: &Path, bytes: &[u8]) -> (Option<Run>, Vec<Fault>) {
    let mut faults = Vec::new();
    let mut entries = Vec::new();
    let mut torn = false;
    let mut fault = |line: usize, message: String| {
        faults.push(Fault {
            file: file.to_owned(),
            line: Some(line + 1),
            message,
        });
    };
    for (index, line) in bytes.split_inclusive(|byte| *byte == b'\n').enumerate() {
        let ends = line.ends_with(b"\n");
        if line.trim_ascii().is_empty() {
            continue;
        }
        match serde_json::from_slice::<Entry>(line) {
            Ok(entry) => match checked(&entry) {
                Ok(()) => entries.push((index, entry)),
                Err(message) => fault(index, message),
            },
            Err(_) if !ends => torn = true,
            Err(error) => fault(
                index,
                format!("expected a line of the record, found none that can be read: {error}"),
            ),
        }
    }
    let mut entries = entries.into_iter();
    let run = match entries.next() {
        Some((_, entry)) if matches!(entry.what, Happening::Began(_)) => {
            let rest = entries.map(|(_, entry)| entry).collect();
            Run::new(file, entry, rest, torn)
        }
        Some((index, _)) => {
            fault(index, "expected the beginning of a run first".to_owned());
            None
        }
        // Cut off before its first line was whole: nothing was done yet.
        None => None,
    };
    (run, faults)
}

/// Checks what the types do not.
fn checked(entry: &Entry) -> Result<(), String> {
    match &entry.what {
        Happening::Rate(rate) if rate.felt.is_some_and(|felt| felt > 10) => {
            Err("expected an effort from 0 to 10".to_owned())
        }
        // A later format of the same kind is read as far as it is understood.
        Happening::Began(began) if !began.format.starts_with("sidevoice-log/") => Err(format!(
            "expected the format `{FORMAT}`, found `{}`",
            began.format.chars().take(40).collect::<String>()
        )),
        _ => Ok(()),
    }
}
