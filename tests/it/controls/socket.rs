//! The socket: what it takes, whom it refuses, and what it survives.
#![expect(
    clippy::disallowed_methods,
    reason = "talks to a socket with all that may come"
)]

use super::COMES_WITHIN;
use super::Open;
use super::program;
use serde_json::Value;
use sidevoice::live::control::Board;
use sidevoice::live::control::Controls;
use sidevoice::live::control::Doing;
use sidevoice::live::control::Mapping;
use sidevoice::live::control::Source;
use sidevoice::live::control::Status;
use sidevoice::live::control::Verb;
use sidevoice::live::control::line;
use sidevoice::live::control::socket::CLIENTS;
use sidevoice::live::control::socket::LONGEST;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Read;
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::net::UnixListener;
use std::os::unix::net::UnixStream;
use std::process::Command;
use std::process::Stdio;
use std::thread;
use std::time::Duration;
use std::time::Instant;

fn open() -> Open {
    Open::new(&Mapping {
        media: Default::default(),
        ..Mapping::default()
    })
}

/// A client that speaks lines.
struct Lines(BufReader<UnixStream>);

impl Lines {
    fn new(open: &Open) -> Self {
        let stream = UnixStream::connect(open.socket()).unwrap();
        stream.set_read_timeout(Some(COMES_WITHIN)).unwrap();
        Self(BufReader::new(stream))
    }

    fn send(&mut self, bytes: &[u8]) {
        self.0.get_mut().write_all(bytes).unwrap();
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.0.read_line(&mut line).unwrap();
        line
    }

    fn answer(&mut self) -> Value {
        let line = self.line();
        serde_json::from_str(&line).unwrap_or_else(|error| panic!("{error}: {line:?}"))
    }
}

#[test]
fn verbs_are_taken_as_words_and_as_json_in_the_order_in_which_they_come() {
    let open = open();
    let mode = |path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(open.socket()), 0o600);
    assert_eq!(mode(open.folder()), 0o700);
    let mut client = Lines::new(&open);
    // In one write, as two commands of the same millisecond.
    client.send(b"pause\n{\"verb\":\"rate 7\"}\nskip\r\n");
    for _ in 0..3 {
        assert_eq!(client.line(), "{\"ok\":true}\n");
    }
    for verb in [Verb::Pause, Verb::Rate(Some(7)), Verb::Skip] {
        let told = open.told();
        assert_eq!((told.verb, told.from), (verb, Source::Socket));
    }
    client.send(b"puase\n");
    let answer = client.answer();
    assert_eq!(answer["ok"], false);
    assert!(
        answer["error"]
            .as_str()
            .unwrap()
            .contains("did you mean `pause`?")
    );
}

#[test]
fn a_flood_of_verbs_is_refused_in_words_and_never_waited_for() {
    let open = open();
    let mut client = Lines::new(&open);
    let mut refused = 0;
    for _ in 0..200 {
        client.send(b"skip\n");
        let answer = client.answer();
        if answer["ok"] == false {
            assert!(answer["error"].as_str().unwrap().contains("wait a moment"));
            refused += 1;
        }
    }
    assert!(refused > 0 && refused < 200, "{refused}");
    let taken = std::iter::from_fn(|| open.inputs.next(Duration::ZERO)).count();
    assert_eq!(taken + refused, 200);
}

#[test]
fn ten_thousand_malformed_lines_are_each_answered_and_the_next_verb_is_taken() {
    let open = open();
    let mut client = Lines::new(&open);
    let mut to = client.0.get_ref().try_clone().unwrap();
    let bad: [&[u8]; 8] = [
        b"{\n",
        b"{\"verb\":}\n",
        b"[]\n",
        b"\xff\xfe\x00\n",
        b"{\"verb\":null}\n",
        b"PAUSE\n",
        b"start two words\n",
        b"{\"verb\":\"pause\",\"verb\":\"skip\"}\n",
    ];
    let sender = thread::spawn(move || {
        for index in 0..10_000 {
            to.write_all(bad[index % bad.len()]).unwrap();
        }
        to.write_all(b"where\n").unwrap();
    });
    for index in 0..10_000 {
        let answer = client.answer();
        assert_eq!(answer["ok"], false, "{index}: {answer}");
        assert!(answer["error"].as_str().unwrap().len() > 20);
    }
    assert_eq!(client.line(), "{\"ok\":true}\n");
    sender.join().unwrap();
    assert_eq!(open.told().verb, Verb::Where);
    assert!(open.inputs.next(Duration::ZERO).is_none());
}

#[test]
fn a_message_of_a_megabyte_is_refused_and_not_kept() {
    let open = open();
    let mut client = Lines::new(&open);
    let mut to = client.0.get_ref().try_clone().unwrap();
    let sender = thread::spawn(move || {
        // It is cut off in the middle, which is what is wanted.
        to.write_all(&vec![b'x'; 1 << 20]).is_err()
    });
    let answer = client.answer();
    assert!(
        answer["error"]
            .as_str()
            .unwrap()
            .contains(&LONGEST.to_string())
    );
    let mut rest = Vec::new();
    let _ = client.0.read_to_end(&mut rest);
    assert_eq!(rest, b"");
    assert!(sender.join().unwrap(), "a megabyte was taken");
    let mut other = Lines::new(&open);
    other.send(b"pause\n");
    assert_eq!(other.line(), "{\"ok\":true}\n");
}

#[test]
fn a_client_that_never_reads_is_dropped_and_holds_up_nobody() {
    let open = open();
    let stuck = UnixStream::connect(open.socket()).unwrap();
    stuck
        .set_write_timeout(Some(Duration::from_millis(200)))
        .unwrap();
    let mut to = stuck.try_clone().unwrap();
    // Until nothing more goes in: its answers fill both buffers.
    while to.write_all(&b"nonsense\n".repeat(100)).is_ok() {}
    let mut other = Lines::new(&open);
    other.send(b"pause\n");
    assert_eq!(other.line(), "{\"ok\":true}\n");
    let begun = Instant::now();
    // Dropped: writing is refused, not held up.
    loop {
        match to.write_all(b"nonsense\n") {
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => break,
            _ => assert!(begun.elapsed() < COMES_WITHIN, "it is still connected"),
        }
    }
}

#[test]
fn as_many_as_there_is_room_for_are_served_and_room_comes_back() {
    let open = open();
    let mut clients: Vec<_> = (0..CLIENTS).map(|_| Lines::new(&open)).collect();
    for client in &mut clients {
        client.send(b"status\n");
        assert_eq!(client.answer()["state"], "idle");
    }
    let mut one_more = Lines::new(&open);
    assert!(
        one_more.answer()["error"]
            .as_str()
            .unwrap()
            .contains("close one")
    );
    clients.pop();
    let begun = Instant::now();
    loop {
        // One for whom there is no room yet may find the line closed before it has asked.
        let mut again = Lines::new(&open);
        let asked = again.0.get_mut().write_all(b"status\n");
        let mut line = String::new();
        let answered = asked.and_then(|()| again.0.read_line(&mut line));
        if answered.is_ok() && line.contains("\"idle\"") {
            break;
        }
        assert!(begun.elapsed() < COMES_WITHIN, "no room came back");
        thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn a_follower_sees_each_change_and_the_end() {
    let open = open();
    let show = |state, position_ms| {
        open.board.show(Status {
            state,
            position_ms,
            session: Some("Boathouse five".to_owned()),
            movement: Some("one-arm row".to_owned()),
            side: Some("right".to_owned()),
            round: Some(1),
            ..Status::default()
        });
    };
    show(Doing::Running, 108_400);
    let mut client = Lines::new(&open);
    client.send(b"status --follow\n");
    let first = client.answer();
    assert_eq!(
        (
            &first["state"],
            &first["position_ms"],
            &first["side"],
            &first["round"]
        ),
        (
            &"running".into(),
            &108_400.into(),
            &"right".into(),
            &1.into()
        )
    );
    show(Doing::Paused, 108_500);
    assert_eq!(client.answer()["state"], "paused");
    show(Doing::Finished, 466_000);
    assert_eq!(client.answer()["state"], "finished");
    let Open { controls, .. } = open;
    drop(controls);
    assert_eq!(client.line(), "", "the connection ends with the class");
}

#[test]
fn a_stale_socket_is_replaced_and_a_live_one_is_not() {
    let open = open();
    let folder = open.folder();
    let (teller, _inputs) = line();
    let second = Controls::open(
        &Mapping::default(),
        teller.clone(),
        Board::default(),
        &folder,
    );
    assert!(!second.are_reached());
    assert!(second.notices().any(|n| n.contains("another sidevoice")));
    let mut client = Lines::new(&open);
    client.send(b"pause\n");
    assert_eq!(client.line(), "{\"ok\":true}\n");
    assert_eq!(open.told().verb, Verb::Pause);

    let Open {
        controls, runtime, ..
    } = open;
    drop(controls);
    // What a program that was killed leaves behind.
    drop(UnixListener::bind(folder.join("control.sock")).unwrap());
    let third = Controls::open(&Mapping::default(), teller, Board::default(), &folder);
    assert!(third.are_reached());
    let status = program(runtime.path(), &["status"]).output().unwrap();
    assert_eq!(status.stdout, b"No class runs.\n");
}

#[test]
fn a_folder_that_others_may_write_into_is_not_used() {
    let folder = tempfile::tempdir().unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o777)).unwrap();
    let (teller, _inputs) = line();
    let controls = Controls::open(&Mapping::default(), teller, Board::default(), folder.path());
    assert!(!controls.are_reached());
    assert!(controls.notices().any(|n| n.contains("only you may write")));
}

/// Somebody else's program: `nobody`'s, by its number.
fn as_somebody_else(script: &str, path: &std::path::Path) -> std::process::Output {
    Command::new("setpriv")
        .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
        .args(["perl", "-MSocket", "-e", script])
        .arg(path)
        .stdin(Stdio::null())
        .output()
        .expect("setpriv and perl are part of Debian")
}

#[test]
fn another_user_is_refused_by_the_file_and_by_the_program() {
    if !rustix::process::geteuid().is_root() {
        // Only root can be somebody else.
        return;
    }
    // It may be refused before it has written.
    let script = "$SIG{PIPE} = 'IGNORE'; socket(my $s, AF_UNIX, SOCK_STREAM, 0) or die; \
                  connect($s, pack_sockaddr_un($ARGV[0])) or die \"refused: $!\"; \
                  syswrite($s, \"pause\\n\"); print scalar <$s>;";
    let open = open();
    let refused = as_somebody_else(script, &open.socket());
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(said.contains("refused: Permission denied"), "{said}");

    // Let in by mistake, it is still not listened to.
    for path in [open.runtime.path(), &open.folder()] {
        fs::set_permissions(path, fs::Permissions::from_mode(0o755)).unwrap();
    }
    fs::set_permissions(open.socket(), fs::Permissions::from_mode(0o666)).unwrap();
    let refused = as_somebody_else(script, &open.socket());
    let said = String::from_utf8(refused.stdout).unwrap();
    assert!(said.contains("only the user who runs sidevoice"), "{said}");
    assert!(open.inputs.next(Duration::from_millis(50)).is_none());
}

#[test]
fn tell_and_status_are_the_other_end() {
    let open = open();
    let run = |arguments: &[&str]| {
        let output = program(open.runtime.path(), arguments).output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (
            output.status.code(),
            text(output.stdout),
            text(output.stderr),
        )
    };
    assert_eq!(
        run(&["tell", "rate", "7"]),
        (Some(0), String::new(), String::new())
    );
    assert_eq!(open.told().verb, Verb::Rate(Some(7)));
    let (code, out, err) = run(&["tell", "puase"]);
    assert_eq!((code, out.as_str()), (Some(64), ""));
    assert!(err.contains("did you mean `pause`?"), "{err}");
    let (code, out, _) = run(&["status", "--json"]);
    let status: Value = serde_json::from_str(&out).unwrap();
    assert_eq!((code, &status["state"]), (Some(0), &"idle".into()));

    let nothing = tempfile::tempdir().unwrap();
    for arguments in [
        &["tell", "pause"][..],
        &["status"],
        &["status", "--json", "--follow"],
    ] {
        let output = program(nothing.path(), arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(6));
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.contains("nothing is running"), "{said}");
        assert_eq!(output.stdout, b"");
    }
}
