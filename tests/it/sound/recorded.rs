//! The program itself speaks a class, is ended in one way or another, and what its record says.
#![expect(
    clippy::disallowed_methods,
    reason = "makes a session folder and looks into it"
)]

use super::pulse::Server;
use super::pulse::wait_for;
use jiff::SignedDuration;
use jiff::Timestamp;
use sidevoice::live::history::Caution;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Run;
use sidevoice::live::history::read;
use std::fs;
use std::path::Path;
use std::process::Child;
use std::process::Stdio;

const SESSION: &str = "title = \"Short outing\"\nlead_in = \"1m\"\n[[block]]\nwork = \"15s\"\n\
                       movements = [\"march\"]\n";

/// A folder with one session.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    for part in ["sessions", "movements"] {
        fs::create_dir(at(part)).unwrap();
    }
    let march = crate::common::root().join("tests/corpus/library/movements/march.toml");
    fs::copy(march, at("movements/march.toml")).unwrap();
    fs::write(at("sessions/short.toml"), SESSION).unwrap();
    folder
}

fn start(server: &Server, folder: &Path, more: &[&str]) -> Child {
    server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["run", "short", "--voice", "compact"])
        .args(more)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Waits for the run that goes on.
fn running(folder: &Path) -> Run {
    wait_for("the record's first line", || {
        let mut runs = read(folder).runs;
        runs.pop().filter(|run| run.ended() == Ended::NotYet)
    })
}

fn interrupt(child: Child) -> (Option<i32>, String) {
    let id = child.id().to_string();
    let sent = std::process::Command::new("kill")
        .args(["-s", "INT", &id])
        .status();
    assert!(sent.unwrap().success());
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    (output.status.code(), err)
}

#[test]
fn a_run_is_written_down_and_the_next_one_goes_by_it() {
    let server = Server::start();
    let folder = folder();
    let path = folder.path();
    let mut first = start(&server, path, &[]);
    let run = running(path);
    assert_eq!(run.began.session, "short");
    assert_eq!(run.began.title, "Short outing");
    assert_eq!(run.began.path, "sessions/short.toml");
    assert_eq!((run.began.works, run.began.voice.as_str()), (1, "compact"));
    assert_eq!(run.began.caution, Caution::Full);
    first.kill().unwrap();
    first.wait().unwrap();
    let killed = &read(path).runs[0];
    assert_eq!((killed.ended(), killed.begun()), (Ended::BrokenOff, 0));

    // As if that run had come to its work, an hour ago.
    let text = crate::common::read_text(&killed.file);
    let hour = SignedDuration::from_hours(1);
    let ago = Timestamp::from_millisecond(run.time.as_millisecond()).unwrap() - hour;
    let text = text.replace(&run.time.to_string(), &ago.to_string());
    let begun = format!(
        "{{\"time\":\"{ago}\",\"at_ms\":60000,\"event\":\"work-begun\",\"work\":1,\"movement\":\"march\",\
         \"name\":\"march\",\"side\":null,\"block\":1,\"round\":1,\"rounds\":1,\"planned_ms\":15000}}\n"
    );
    fs::write(&killed.file, text + &begun).unwrap();
    let second = start(&server, path, &[]);
    let run = running(path);
    assert_eq!(run.began.caution, Caution::Brief);
    assert_eq!(run.began.hash, killed.began.hash);
    let (code, err) = interrupt(second);
    assert_eq!(code, Some(130), "{err}");
    assert!(
        err.contains("The last time, Short outing stopped at the march."),
        "{err}"
    );
    assert_eq!(read(path).runs[1].ended(), Ended::Stopped);

    // A record that cannot be written is told, and the class is heard all the same.
    let log = path.join("log");
    let files = fs::read_dir(&log).unwrap().count();
    let third = start(&server, path, &["--no-log", "--caution", "full"]);
    interrupt_when_it_says(third, "0:00");
    assert_eq!(fs::read_dir(&log).unwrap().count(), files);
    fs::remove_dir_all(&log).unwrap();
    fs::write(&log, "in the way").unwrap();
    let fourth = start(&server, path, &[]);
    let err = interrupt_when_it_says(fourth, "cannot be written to log");
    assert_eq!(err.matches("cannot be written to").count(), 1, "{err}");
    assert!(err.contains("lead-in"), "{err}");
}

/// Reads on until a line has these words, interrupts it, and returns all that it said.
fn interrupt_when_it_says(mut child: Child, words: &str) -> String {
    use std::io::BufRead;
    use std::io::BufReader;
    let mut said = String::new();
    let mut err = BufReader::new(child.stderr.take().unwrap());
    let mut heard = (false, false);
    while heard != (true, true) {
        let read = err.read_line(&mut said).unwrap();
        assert!(read > 0, "no \"{words}\" in {said}");
        heard = (said.contains(words), said.contains("lead-in"));
    }
    let (code, _) = interrupt(child);
    assert_eq!(code, Some(130), "{said}");
    std::io::Read::read_to_string(&mut err, &mut said).unwrap();
    said
}
