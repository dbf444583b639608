//! The background process with real parts: a session is chosen, begun, changed while it runs, left and
//! gone on with, told by another program and heard on a private sound server.
#![expect(
    clippy::disallowed_methods,
    reason = "changes the files that are watched"
)]

use super::class::Class;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use sidevoice::live::control::Doing;
use sidevoice::live::control::Status;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Duration;
use std::time::Instant;

const WATCH: [&str; 4] = ["watch", ".", "--voice", "compact"];

fn session(title: &str) -> String {
    format!(
        "title = \"{title}\"\nlead_in = \"10s\"\ncaution = \"Mind the oars.\"\n[[block]]\n\
         rounds = 4\nwork = \"6s\"\nrest = \"8s\"\nmovements = [\"march\"]\n"
    )
}

fn background(server: Arc<Server>) -> Class {
    let class = Class::start_with(server, &WATCH, &session("Short outing"), "", Vec::new());
    class.wait_until_said("Short outing is waiting");
    class
}

fn signal(class: &Class, name: &str) {
    let id = class.child.id().to_string();
    let sent = Command::new("kill").args(["-s", name, &id]).status();
    assert!(sent.unwrap().success());
}

/// Waits until the class is in a part of the session.
fn wait_for_segment(class: &Class, segment: &str, round: usize) -> Status {
    let is = |s: &Status| s.segment.as_deref() == Some(segment) && s.round == Some(round);
    wait_for(segment, || class.status().filter(is))
}

/// The last file of the record.
fn record(home: &Path) -> String {
    let files = fs::read_dir(home.join("log")).unwrap();
    let last = files.map(|file| file.unwrap().path()).max().unwrap();
    fs::read_to_string(last).unwrap()
}

#[test]
fn a_session_is_chosen_by_ear_begun_changed_and_judged_from_another_program() {
    let mut class = background(Arc::new(Server::start()));
    let home = class.server.folder().to_owned();
    class.wait_for(Doing::Idle);
    class.tell(&["next"]);
    let chosen = |s: &Status| s.session.as_deref() == Some("Short outing");
    wait_for("what is chosen", || class.status().filter(chosen));
    class.tell(&["start"]);
    class.wait_until_said("Short outing begins.");
    class.wait_until_heard();
    // News waits, and what is chosen stays.
    class.tell(&["next"]);
    wait_for_segment(&class, "work", 1);
    fs::write(home.join("sessions/long.toml"), session("Shorter outing")).unwrap();
    class.wait_until_said("The class goes on as its files are now.");
    let now = wait_for_segment(&class, "work", 2);
    assert_eq!(now.session.as_deref(), Some("Shorter outing"));
    class.tell(&["stop"]);
    class.wait_for(Doing::Idle);
    class.wait_until_said("Shorter outing has ended.");
    class.tell(&["rate", "7"]);
    class.wait_until_said("Noted.");
    let record = record(&home);
    for event in [
        "began",
        "work-done",
        "changed-file",
        "stopped",
        "\"felt\":7",
    ] {
        assert!(record.contains(event), "no {event} in {record}");
    }
    assert!(!record.contains("paused"), "nobody paused: {record}");
    signal(&class, "TERM");
    assert_eq!(class.wait_for_end(), Some(0));
}

#[test]
fn after_a_crash_it_says_where_it_stopped_and_start_goes_on_there() {
    let class = background(Arc::new(Server::start()));
    class.tell(&["start"]);
    wait_for_segment(&class, "work", 1);
    wait_for_segment(&class, "work", 2);
    std::thread::sleep(Duration::from_millis(500));
    signal(&class, "KILL");
    let (server, left) = class.leave();
    assert!(left.contains("Short outing begins."), "{left}");
    let mut class = background(server);
    class.wait_for(Doing::Idle);
    class.tell(&["where"]);
    class.tell(&["start"]);
    // It goes on with the rest before the work that was cut off.
    let rest = wait_for_segment(&class, "rest", 2);
    assert!(rest.position_ms > 16_000, "{rest:?}");
    let work = wait_for_segment(&class, "work", 2);
    assert_eq!(work.state, Doing::Running);
    let begun = Instant::now();
    signal(&class, "TERM");
    assert_eq!(class.wait_for_end(), Some(0));
    assert!(begun.elapsed() < Duration::from_secs(10), "it hung");
    let record = record(class.server.folder());
    assert!(record.contains("\"from\":2"), "{record}");
    assert!(record.contains("\"stopped\""), "{record}");
}
