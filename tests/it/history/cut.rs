//! What is on the disk after a kill, and where the disk takes nothing: a process of its own
//! records, as `sound/player.rs` plays.
#![expect(
    clippy::disallowed_methods,
    reason = "starts a process, kills it, and reads what it left"
)]

use super::began;
use super::minute;
use sidevoice::live::history::Caution;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Entry;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Recorder;
use sidevoice::live::history::Run;
use sidevoice::live::history::read;
use std::env;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Lines;
use std::io::Write;
use std::path::Path;
use std::process::Child;
use std::process::ChildStderr;
use std::process::Command;
use std::process::Stdio;
use std::thread;
use std::time::Duration;

const FOLDER: &str = "SIDEVOICE_TEST_RECORD";

/// A process that records as it is told.
struct Process {
    child: Child,
    news: Lines<BufReader<ChildStderr>>,
}

impl Process {
    /// Starts it; what is said to the shell is done before.
    fn start(folder: &Path, shell: &str) -> Self {
        let mut child = Command::new("bash")
            .arg("-c")
            .arg(format!("{shell} exec \"$0\" \"$@\""))
            .arg(env::current_exe().unwrap())
            .args(["--exact", "history::cut::the_recorder_itself"])
            .args(["--ignored", "--nocapture"])
            .env(FOLDER, folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let news = BufReader::new(child.stderr.take().unwrap()).lines();
        Process { child, news }
    }

    fn tell(&mut self, command: &str) {
        writeln!(self.child.stdin.as_mut().unwrap(), "{command}").unwrap();
    }

    /// Waits for news that begin so and returns the rest.
    fn wait_for(&mut self, begin: &str) -> String {
        for line in self.news.by_ref() {
            let line = line.unwrap();
            assert!(!line.contains("panicked"), "{line}");
            if let Some(rest) = line.strip_prefix(begin) {
                return rest.trim().to_owned();
            }
        }
        panic!("waited in vain for {begin:?}");
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
#[ignore = "started by other tests, as a process of its own"]
fn the_recorder_itself() {
    let Some(folder) = env::var_os(FOLDER) else {
        return;
    };
    let began = began("boathouse-five", Caution::Full);
    let mut recorder = Recorder::start(Path::new(&folder), minute(0), began);
    let mut next = 0;
    let mut record = |recorder: &mut Recorder| {
        let what = Happening::GoneBack { to_ms: next };
        recorder.record(Entry::new(minute(next), next, what));
        next += 1;
    };
    for line in std::io::stdin().lines().map_while(Result::ok) {
        match line.split_once(' ') {
            // On and on, a few lines ahead of the disk.
            None if line == "run" => {
                let (mut given, mut told) = (0, 0);
                loop {
                    if given < recorder.written() + 8 {
                        record(&mut recorder);
                        given += 1;
                    }
                    if recorder.written() > told {
                        told = recorder.written();
                        eprintln!("written {told}");
                    }
                }
            }
            Some(("record", count)) => {
                for _ in 0..count.parse().unwrap() {
                    record(&mut recorder);
                }
            }
            Some(("until", lines)) => {
                while recorder.written() < lines.parse().unwrap() {
                    thread::yield_now();
                }
                eprintln!("written {}", recorder.written());
            }
            None if line == "trouble" => loop {
                if let Some(trouble) = recorder.trouble() {
                    eprintln!("trouble {trouble}");
                    break;
                }
            },
            None if line == "close" => {
                eprintln!("closed {:?}", recorder.close());
                return;
            }
            other => panic!("what is {other:?}?"),
        }
    }
}

/// Checks that the entries are those recorded, in order and without a gap; returns how many lines.
fn whole_lines(run: &Run) -> u64 {
    for (entry, wanted) in run.entries.iter().zip(0..) {
        assert_eq!(entry.what, Happening::GoneBack { to_ms: wanted });
        assert_eq!((entry.time, entry.at_ms), (minute(wanted), wanted));
    }
    run.entries.len() as u64 + 1
}

#[test]
fn a_kill_at_any_moment_loses_no_line_that_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut moment = 0x2545_f491_4f6c_dd1d_u64 ^ u64::from(std::process::id());
    for round in 0..50 {
        // xorshift64 (Marsaglia 2003).
        moment ^= moment << 13;
        moment ^= moment >> 7;
        moment ^= moment << 17;
        let mut process = Process::start(folder.path(), "");
        process.tell("run");
        let mut told: u64 = process.wait_for("written ").parse().unwrap();
        thread::sleep(Duration::from_micros(moment % 30_000));
        process.child.kill().unwrap();
        process.child.wait().unwrap();
        for line in process.news.by_ref().map_while(Result::ok) {
            // The last line of news may be cut as well.
            let count = line.strip_prefix("written ").and_then(|n| n.parse().ok());
            told = told.max(count.unwrap_or(0));
        }
        let record = read(folder.path());
        assert_eq!(record.faults, [], "round {round}");
        // All began in the same second: each has a file of its own.
        assert_eq!(record.runs.len(), round + 1);
        let run = record.runs.last().unwrap();
        assert_eq!(run.ended(), Ended::BrokenOff);
        let lines = whole_lines(run);
        // News come after the disk, so a number cut in two is only too small.
        assert!(lines >= told, "round {round}: {lines} lines, told {told}");
    }
}

#[test]
fn a_run_that_goes_on_is_known_by_its_lock() {
    let folder = tempfile::tempdir().unwrap();
    let mut process = Process::start(folder.path(), "");
    process.tell("record 3");
    process.tell("until 4");
    process.wait_for("written 4");
    assert_eq!(read(folder.path()).runs[0].ended(), Ended::NotYet);
    process.tell("close");
    assert_eq!(process.wait_for("closed "), "None");
    process.child.wait().unwrap();
    assert_eq!(read(folder.path()).runs[0].ended(), Ended::BrokenOff);
}

#[test]
fn a_full_disk_is_told_once_and_what_waited_is_written_when_there_is_room() {
    let folder = tempfile::tempdir().unwrap();
    // A limit on the size of files stands for the disk: a write is cut at it, then refused.
    let mut process = Process::start(folder.path(), "trap '' XFSZ; ulimit -S -f 1;");
    process.tell("record 40");
    process.tell("trouble");
    let trouble = process.wait_for("trouble ");
    assert!(
        trouble.contains("cannot be written to") && trouble.contains("log"),
        "{trouble}"
    );
    let file = fs::read_dir(folder.path().join("log")).unwrap().next();
    let file = file.unwrap().unwrap().path();
    // What was cut in the middle of a line may have been taken off again by now.
    let long = fs::metadata(&file).unwrap().len();
    assert!((1..=1024).contains(&long), "{long}");
    let given = Command::new("prlimit")
        .arg(format!("--pid={}", process.child.id()))
        .arg("--fsize=unlimited")
        .status();
    assert!(given.unwrap().success());
    process.tell("record 1");
    process.tell("until 42");
    process.wait_for("written 42");
    process.tell("close");
    assert_eq!(process.wait_for("closed "), "None");
    let record = read(folder.path());
    assert_eq!(record.faults, []);
    assert_eq!(whole_lines(&record.runs[0]), 42);
}

#[test]
fn a_log_that_is_no_folder_is_told_once_and_nothing_waits() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("log"), "kept").unwrap();
    let began = began("boathouse-five", Caution::Full);
    let mut recorder = Recorder::start(folder.path(), minute(0), began);
    let mut told = Vec::new();
    for at in 0..200 {
        recorder.record(Entry::new(minute(at), at, Happening::Paused));
        told.extend(recorder.trouble());
    }
    assert_eq!(recorder.written(), 0);
    told.extend(recorder.close());
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("The class goes on without"), "{told:?}");
    assert_eq!(fs::read(folder.path().join("log")).unwrap(), b"kept");
    let record = read(folder.path());
    assert!(record.runs.is_empty());
    assert!(
        record.faults[0].to_string().contains("log"),
        "{:?}",
        record.faults
    );
}

#[test]
fn two_runs_of_one_second_have_two_files_in_their_order() {
    let folder = tempfile::tempdir().unwrap();
    for _ in 0..3 {
        let began = began("boathouse-five", Caution::Full);
        let recorder = Recorder::start(folder.path(), minute(0), began);
        assert_eq!(recorder.close(), None);
    }
    let record = read(folder.path());
    let names = record.runs.iter().map(|run| run.file.file_name().unwrap());
    let wanted = ["", "-2", "-3"].map(|n| format!("2026-10-14T18-00-00Z-boathouse-five{n}.jsonl"));
    assert!(names.eq(wanted.iter().map(std::ffi::OsStr::new)));
    // Whatever the session is called, its file lies in the folder.
    let odd = began("../{%H}\u{e9} a", Caution::Full);
    assert_eq!(Recorder::start(folder.path(), minute(1), odd).close(), None);
    let record = read(folder.path());
    let name = record.runs[3].file.file_name().unwrap();
    assert_eq!(name, "2026-10-14T18-01-00Z-_____H___a.jsonl");
}
