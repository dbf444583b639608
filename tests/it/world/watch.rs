//! `watch` with real files, real signals and a real loudspeaker: what is told, what is not read,
//! what is survived.

use super::SESSION;
use super::World;
use crate::sound::pulse;
use std::fs;
use std::fs::File;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Write;
use std::os::unix::net::UnixDatagram;
use std::process::Child;
use std::process::Command;
use std::process::ExitStatus;
use std::process::Stdio;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// How long a line is waited for. Generous: machines are shared.
const LIMIT: Duration = Duration::from_secs(30);

const WAITS: &str = "short: Short outing is waiting: one movement, fifteen seconds.";

/// A running `watch`, killed when dropped.
pub(super) struct Watching {
    process: Child,
    lines: Receiver<String>,
    pub(super) seen: Vec<String>,
}

impl Watching {
    /// Starts to watch the folder of a world without speaking, and waits for its first news.
    pub(super) fn start(world: &World, more: &[&str]) -> Self {
        let mut watching = Self::of(
            world.command(&[&["watch", ".", "--silent"], more].concat()),
            world,
        );
        watching.until(WAITS);
        watching
    }

    fn of(mut command: Command, world: &World) -> Self {
        fs::create_dir_all(world.at("run")).unwrap();
        let mut process = command
            .env("XDG_RUNTIME_DIR", world.at("run"))
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (to, lines) = mpsc::channel();
        let out = process.stdout.take().unwrap();
        let err = process.stderr.take().unwrap();
        for reader in [
            Box::new(out) as Box<dyn std::io::Read + Send>,
            Box::new(err),
        ] {
            let to = to.clone();
            thread::spawn(move || {
                for line in BufReader::new(reader).lines().map_while(Result::ok) {
                    let _ = to.send(line);
                }
            });
        }
        Self {
            process,
            lines,
            seen: Vec::new(),
        }
    }

    /// Waits for a line with these words; returns it. All lines until then are in `seen`.
    pub(super) fn until(&mut self, words: &str) -> String {
        let end = Instant::now() + LIMIT;
        loop {
            let left = end.saturating_duration_since(Instant::now());
            match self.lines.recv_timeout(left) {
                Ok(line) => {
                    self.seen.push(line.clone());
                    if line.contains(words) {
                        return line;
                    }
                }
                Err(_) => panic!("no line with \"{words}\" in {:#?}", self.seen),
            }
        }
    }

    fn signal(&self, name: &str) {
        let id = self.process.id().to_string();
        let sent = Command::new("kill").args(["-s", name, &id]).status();
        assert!(sent.unwrap().success());
    }

    /// Ends it in good order; what it printed meanwhile is in `seen`.
    pub(super) fn end(&mut self, signal: &str) -> ExitStatus {
        self.signal(signal);
        let status = self.process.wait().unwrap();
        while let Ok(line) = self.lines.recv_timeout(LIMIT) {
            self.seen.push(line);
        }
        status
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn titled(title: &str) -> String {
    SESSION.replace("Short outing", title)
}

/// Writes a file elsewhere and moves it into place, as careful editors do.
pub(super) fn moved_into_place(world: &World, path: &str, text: &str) {
    world.write("boathouse/part", text);
    fs::rename(world.at("boathouse/part"), world.at(path)).unwrap();
}

const SHORT: &str = "boathouse/sessions/short.toml";

#[test]
fn what_is_broken_is_told_with_its_line_and_what_is_mended_waits_again() {
    let world = World::new();
    let mut watching = Watching::start(&world, &[]);
    world.write(SHORT, &SESSION.replace("\"15s\"", "\"fifteen\""));
    let line = watching.until("fault");
    // The work is on the sixth line of the file, and the title is that of the last good one.
    let told = "short: Short outing has a fault in line 6: expected a duration";
    assert!(line.starts_with(told), "{line}");
    moved_into_place(&world, SHORT, &titled("Mended outing"));
    watching.until("short: Mended outing is waiting");
    // A movement that its session uses: the session is told of, once for each change.
    let march = fs::read_to_string(world.at("boathouse/movements/march.toml")).unwrap();
    world.write("boathouse/movements/march.toml", "name = 3\n");
    watching.until("short: Mended outing has a fault in its movement march, line 1");
    fs::remove_file(world.at("boathouse/movements/march.toml")).unwrap();
    watching.until("expected the id of a movement in this folder, found \"march\"");
    world.write("boathouse/movements/march.toml", &march);
    watching.until("short: Mended outing is waiting");
    world.write("boathouse/sessions/two.toml", &titled("Two"));
    watching.until("two: Two is waiting");
    fs::rename(
        world.at("boathouse/sessions/two.toml"),
        world.at("boathouse/sessions/three.toml"),
    )
    .unwrap();
    watching.until("three: Two is waiting");
    assert!(
        watching
            .seen
            .iter()
            .any(|l| l == "two: Two is no longer there.")
    );
    assert_eq!(watching.end("TERM").code(), Some(0));
}

#[test]
fn a_file_that_somebody_still_writes_to_is_never_read() {
    let world = World::new();
    let mut watching = Watching::start(&world, &[]);
    let text = titled("Slow outing");
    let mut slow = File::create(world.at("boathouse/sessions/slow.toml")).unwrap();
    for (number, byte) in text.bytes().enumerate() {
        slow.write_all(&[byte]).unwrap();
        if number % 20 == 0 {
            // Others are written meanwhile, and are told: the folder was looked at.
            let other = titled(&format!("Other {number}"));
            moved_into_place(&world, "boathouse/sessions/other.toml", &other);
            watching.until(&format!("other: Other {number} is waiting"));
        }
    }
    drop(slow);
    watching.until("slow: Slow outing is waiting");
    // Written over in place: cut to nothing, then byte by byte.
    let text = titled("Slower outing");
    let mut slow = File::create(world.at("boathouse/sessions/slow.toml")).unwrap();
    for byte in text.bytes() {
        slow.write_all(&[byte]).unwrap();
    }
    moved_into_place(&world, SHORT, &titled("Last outing"));
    watching.until("short: Last outing is waiting");
    slow.sync_all().unwrap();
    drop(slow);
    watching.until("slow: Slower outing is waiting");
    let slow: Vec<_> = watching
        .seen
        .iter()
        .filter(|l| l.starts_with("slow: "))
        .collect();
    assert_eq!(slow.len(), 2, "{slow:#?}");
}

#[test]
fn a_folder_that_goes_and_comes_again_is_watched_on() {
    let world = World::new();
    for more in [&[][..], &["--poll"]] {
        let mut watching = Watching::start(&world, more);
        for turn in 0..3 {
            fs::remove_dir_all(world.at("boathouse/sessions")).unwrap();
            watching.until("short: Short outing is no longer there.");
            fs::create_dir(world.at("boathouse/sessions")).unwrap();
            world.write(SHORT, SESSION);
            watching.until(WAITS);
            // And the watch is alive: a change in the new folder is told.
            let title = format!("Outing {turn}");
            world.write(SHORT, &titled(&title));
            watching.until(&format!("short: {title} is waiting"));
            world.write(SHORT, SESSION);
            watching.until(WAITS);
        }
        // The whole folder moves away and comes back.
        fs::rename(world.at("boathouse"), world.at("away")).unwrap();
        watching.until("short: Short outing is no longer there.");
        fs::rename(world.at("away"), world.at("boathouse")).unwrap();
        watching.until(WAITS);
        assert_eq!(watching.end("TERM").code(), Some(0));
    }
}

#[test]
fn by_polling_a_file_is_read_once_it_stands_still() {
    let world = World::new();
    let mut watching = Watching::start(&world, &["--poll"]);
    world.write(SHORT, &titled("Polled outing"));
    watching.until("short: Polled outing is waiting");
    world.write(SHORT, "title = \n");
    watching.until("short: Polled outing has a fault in line 1");
    moved_into_place(&world, SHORT, &titled("Moved outing"));
    watching.until("short: Moved outing is waiting");
    fs::remove_file(world.at(SHORT)).unwrap();
    watching.until("short: Moved outing is no longer there.");
}

#[test]
fn links_are_followed() {
    let world = World::new();
    let mut watching = Watching::start(&world, &[]);
    world.write("elsewhere.toml", &titled("Linked outing"));
    std::os::unix::fs::symlink(
        world.at("elsewhere.toml"),
        world.at("boathouse/sessions/link.toml"),
    )
    .unwrap();
    watching.until("link: Linked outing is waiting");
    std::os::unix::fs::symlink(
        world.at("nowhere"),
        world.at("boathouse/sessions/lost.toml"),
    )
    .unwrap();
    watching.until("lost: Lost has a fault: expected a readable file");
    // Nobody tells of a change behind a link; being asked to read all again finds it at once.
    world.write("elsewhere.toml", &titled("Changed outing"));
    watching.signal("HUP");
    watching.until("link: Changed outing is waiting");
}

#[test]
fn two_thousand_changes_in_a_row_end_in_the_last_one() {
    let world = World::new();
    let mut watching = Watching::start(&world, &[]);
    for number in 0..2000 {
        let text = titled(&format!("Outing {number}"));
        match number % 3 {
            0 => world.write(SHORT, &text),
            1 => moved_into_place(&world, SHORT, &text),
            _ => {
                fs::remove_file(world.at(SHORT)).unwrap();
                world.write(SHORT, &text);
            }
        }
    }
    watching.until("short: Outing 1999 is waiting");
    world.write(SHORT, &titled("The end"));
    watching.until("short: The end is waiting");
    let faults: Vec<_> = watching
        .seen
        .iter()
        .filter(|l| l.contains("fault"))
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
    assert_eq!(watching.end("TERM").code(), Some(0));
}

#[test]
fn a_writer_that_rests_just_after_the_close_of_the_last_one_is_waited_for() {
    let world = World::new();
    let mut watching = Watching::start(&world, &[]);
    for number in 0..400 {
        let text = titled(&format!("Outing {number}"));
        let (first, second) = text.as_bytes().split_at(text.len() / 2);
        // Cut to nothing at about the time at which the last save is looked at and read.
        let mut file = File::create(world.at(SHORT)).unwrap();
        let rest = Duration::from_micros(number * 7919 % 3000);
        if number % 2 == 0 {
            thread::sleep(rest);
        }
        file.write_all(first).unwrap();
        thread::sleep(rest);
        file.write_all(second).unwrap();
        drop(file);
        if number % 5 == 0 {
            thread::sleep(Duration::from_micros(72_000 + number * 613 % 12_000));
        }
    }
    watching.until("short: Outing 399 is waiting");
    let told = watching.seen.iter();
    let faults: Vec<_> = told.filter(|l| l.contains("fault")).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn one_watches_for_a_user_and_the_next_is_told_who() {
    let world = World::new();
    let mut first = Watching::start(&world, &[]);
    let second = Watching::of(world.command(&["watch", "."]), &world);
    let mut second = second;
    let line = second.until("already");
    let number = format!("process {}", first.process.id());
    assert!(
        line.contains(&number) && line.contains("boathouse"),
        "{line}"
    );
    assert_eq!(second.process.wait().unwrap().code(), Some(7));
    // However the first one ends, the next may run.
    first.process.kill().unwrap();
    first.process.wait().unwrap();
    let mut third = Watching::start(&world, &[]);
    assert_eq!(third.end("INT").code(), Some(130));
}

#[test]
fn the_service_manager_is_told_of_beginning_standing_and_end() {
    // sd_notify(3): a datagram of lines such as READY=1 on the socket that NOTIFY_SOCKET names.
    let world = World::new();
    world.write("boathouse/sessions/bad.toml", "title = 1\n");
    let path = world.at("manager");
    let socket = UnixDatagram::bind(&path).unwrap();
    socket.set_read_timeout(Some(LIMIT)).unwrap();
    let told = |wanted: &str| {
        let mut all = Vec::new();
        loop {
            let mut buffer = [0; 1024];
            let length = socket
                .recv(&mut buffer)
                .unwrap_or_else(|e| panic!("{e}: {all:?}"));
            let text = String::from_utf8(buffer[..length].to_vec()).unwrap();
            all.push(text.clone());
            if text.lines().any(|line| line == wanted) {
                return;
            }
        }
    };
    let mut command = world.command(&["watch", ".", "--silent"]);
    command.env("NOTIFY_SOCKET", &path);
    let mut watching = Watching::of(command, &world);
    told("STATUS=One session is waiting and one has a fault");
    told("READY=1");
    world.write("boathouse/sessions/bad.toml", SESSION);
    told("STATUS=Two sessions are waiting");
    watching.signal("TERM");
    told("STOPPING=1");
    assert_eq!(watching.process.wait().unwrap().code(), Some(0));
}

#[test]
fn a_unit_is_written_as_systemd_reads_it_and_removed() {
    let world = World::new();
    let config = world.at("my config");
    let run =
        |arguments: &[&str]| super::ended(world.command(arguments).env("XDG_CONFIG_HOME", &config));
    fs::rename(world.at("boathouse"), world.at("boat $HOUSE 100%")).unwrap();
    fs::create_dir(world.at("boathouse")).unwrap();
    let folder = world.at("boat $HOUSE 100%");
    let written = run(&["watch", folder.to_str().unwrap(), "--install", "--poll"]);
    written.check(0, &[]);
    assert!(
        written
            .out
            .contains("systemctl --user enable --now sidevoice"),
        "{written:?}"
    );
    let unit = config.join("systemd/user/sidevoice.service");
    let text = fs::read_to_string(&unit).unwrap();
    assert!(written.out.contains(&text), "{text}");
    // The reference for what a unit may hold is systemd's own reader.
    let verified = Command::new("systemd-analyze")
        .args(["verify", "--user", "--man=no"])
        .arg(&unit)
        .env("XDG_RUNTIME_DIR", world.home.path())
        .output();
    match verified {
        Ok(verified) => {
            let said = String::from_utf8_lossy(&verified.stderr).into_owned();
            assert!(!said.contains("sidevoice.service"), "{said}");
        }
        Err(_) => eprintln!("not tested: there is no systemd-analyze here"),
    }
    run(&["watch", "--uninstall"]).check(0, &[]);
    assert!(!unit.exists());
    let again = run(&["watch", "--uninstall"]);
    again.check(0, &[]);
    assert!(again.out.contains("There is no"), "{again:?}");
}

#[test]
fn a_folder_that_is_none_is_not_watched() {
    let world = World::new();
    world
        .run(&["watch", "nowhere"])
        .check(2, &["nowhere", "sidevoice new FOLDER"]);
    world
        .run(&["watch", ".", "--voice", "zebra"])
        .check(5, &["zebra"]);
    world.run(&["watch"]).check(64, &[]);
}

#[test]
fn news_is_spoken_when_idle_and_where_nothing_can_be_heard_that_is_told_once() {
    let world = World::new();
    let server = pulse::Server::start();
    let recorder = server.record();
    let mut command = server.command(env!("CARGO_BIN_EXE_sidevoice"));
    command
        .args(["watch", ".", "--voice", "compact"])
        .current_dir(world.at("boathouse"))
        .env("XDG_CACHE_HOME", world.at("cache"))
        .env("XDG_DATA_HOME", world.at("data"));
    let runtime = command
        .get_envs()
        .find(|(k, _)| *k == "XDG_RUNTIME_DIR")
        .unwrap()
        .1
        .unwrap()
        .to_owned();
    let mut process = command.stdout(Stdio::piped()).spawn().unwrap();
    let loud = |samples: &[f32]| samples.iter().filter(|s| s.abs() > 0.01).count();
    // "One session is waiting." lasts more than a second.
    recorder.wait_for("the summary", |samples| {
        (loud(samples) > 4800).then_some(())
    });
    // And ends, before the next is written.
    let quiet = |s: &[f32]| {
        s[s.len().saturating_sub(24_000)..]
            .iter()
            .all(|s| s.abs() < 0.001)
    };
    recorder.wait_for("silence", |samples| quiet(samples).then_some(()));
    let before = recorder.len();
    world.write(SHORT, "title = 1\n");
    recorder.wait_for("the fault", |samples| {
        (loud(&samples[before..]) > 9600).then_some(())
    });
    assert!(
        std::path::Path::new(&runtime)
            .join("sidevoice/lock")
            .exists()
    );
    process.kill().unwrap();
    process.wait().unwrap();

    let mut command = world.command(&["watch", ".", "--voice", "compact", "--device", "none-such"]);
    command.env("PULSE_SERVER", "unix:/nonexistent");
    let mut watching = Watching::of(command, &world);
    watching.until("cannot be spoken");
    world.write(SHORT, SESSION);
    watching.until(WAITS);
    world.write(SHORT, "title = 2\n");
    watching.until("has a fault");
    watching.end("TERM");
    let told = watching
        .seen
        .iter()
        .filter(|l| l.contains("cannot be spoken"));
    assert_eq!(told.count(), 1, "{:#?}", watching.seen);
}
