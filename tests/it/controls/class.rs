//! A class that is spoken on a private sound server, and told by media keys on a bus of its own,
//! by hotkeys on a display of its own, and by `tell`.
#![expect(
    clippy::disallowed_methods,
    reason = "starts a class and what tells it, and waits for them"
)]

use crate::sound::pulse::Recorder;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use sidevoice::live::control::Doing;
use sidevoice::live::control::Status;
use sidevoice::live::control::socket::Client;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Read;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::Arc;
use std::sync::Mutex;
use std::thread;

/// A session that lasts long enough for all that is told.
const SESSION: &str = "title = \"Long outing\"\nlead_in = \"10s\"\ncaution = \"Mind the oars.\"\n\
                       [[block]]\nrounds = 3\nwork = \"2m\"\nrest = \"30s\"\n\
                       movements = [\"march\"]\n";

/// A running class, or the background process, and where its environment says that controls are.
pub struct Class {
    pub server: Arc<Server>,
    /// Somebody listens: a sink that nobody ever listened to may not take its first sound.
    _recorder: Recorder,
    pub child: Child,
    /// What was printed.
    pub said: Arc<Mutex<String>>,
    environment: Vec<(&'static str, String)>,
}

impl Class {
    fn start(config: &str, environment: Vec<(&'static str, String)>) -> Self {
        let run = [
            "run", "long", "--voice", "compact", "--plain", "--buffer", "2048",
        ];
        Self::start_with(
            Arc::new(Server::start()),
            &run,
            SESSION,
            config,
            environment,
        )
    }

    /// Starts the program with these arguments beside a folder with the session `long`.
    pub fn start_with(
        server: Arc<Server>,
        arguments: &[&str],
        session: &str,
        config: &str,
        environment: Vec<(&'static str, String)>,
    ) -> Self {
        let home = server.folder().to_owned();
        for part in ["sessions", "movements", ".config/sidevoice"] {
            fs::create_dir_all(home.join(part)).unwrap();
        }
        let march = crate::common::root().join("tests/corpus/library/movements/march.toml");
        fs::copy(march, home.join("movements/march.toml")).unwrap();
        fs::write(home.join("sessions/long.toml"), session).unwrap();
        fs::write(home.join(".config/sidevoice/config.toml"), config).unwrap();
        let recorder = server.record();
        let mut class = Self {
            child: Self::command_on(&server, &environment, env!("CARGO_BIN_EXE_sidevoice"))
                .args(arguments)
                .stdin(Stdio::null())
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .unwrap(),
            _recorder: recorder,
            server,
            said: Arc::default(),
            environment,
        };
        class.hear_what_is_printed();
        class
    }

    fn hear_what_is_printed(&mut self) {
        let out = self.child.stdout.take().unwrap();
        let err = self.child.stderr.take().unwrap();
        for mut from in [Box::new(out) as Box<dyn Read + Send>, Box::new(err)] {
            let said = Arc::clone(&self.said);
            thread::spawn(move || {
                let mut some = [0; 1024];
                while let Ok(read @ 1..) = from.read(&mut some) {
                    said.lock()
                        .unwrap()
                        .push_str(&String::from_utf8_lossy(&some[..read]));
                }
            });
        }
    }

    fn command_on(
        server: &Server,
        environment: &[(&'static str, String)],
        program: &str,
    ) -> Command {
        let mut command = server.command(program);
        command.current_dir(server.folder());
        for name in [
            "DISPLAY",
            "WAYLAND_DISPLAY",
            "SIDEVOICE_LOG",
            "XDG_CACHE_HOME",
        ] {
            command.env_remove(name);
        }
        command.envs(environment.iter().map(|(name, value)| (name, value)));
        command
    }

    /// Runs another program in the world of the class; returns what it printed.
    fn run(&self, program: &str, arguments: &[&str]) -> String {
        let mut command = Self::command_on(&self.server, &self.environment, program);
        let done = command.args(arguments).output();
        let done = done.unwrap_or_else(|e| panic!("{program}: {e}: run scripts/setup --test"));
        assert!(done.status.success(), "{program} {arguments:?}: {done:?}");
        String::from_utf8(done.stdout).unwrap()
    }

    /// Waits for the end of a program that was killed; returns its world and what it printed.
    pub fn leave(mut self) -> (Arc<Server>, String) {
        let _ = self.child.wait();
        let said = self.said.lock().unwrap().clone();
        (Arc::clone(&self.server), said)
    }

    pub fn tell(&self, words: &[&str]) {
        let arguments = [&["tell"], words].concat();
        self.run(env!("CARGO_BIN_EXE_sidevoice"), &arguments);
    }

    /// Asks over the socket, as often as a test wants: a program each time would keep the machine
    /// from its sound.
    pub fn status(&self) -> Option<Status> {
        let folder = self.server.folder().join("sidevoice");
        Client::connect(&folder).ok()?.status().ok()
    }

    /// Waits until the class does this.
    pub fn wait_for(&self, state: Doing) -> Status {
        let is = |status: &Status| status.state == state;
        wait_for(&format!("{state:?}"), || self.status().filter(is))
    }

    /// Waits until the class is heard: the clock runs.
    pub fn wait_until_heard(&self) -> Status {
        let runs = |status: &Status| status.state == Doing::Running && status.position_ms > 1000;
        wait_for("the clock", || self.status().filter(runs))
    }

    pub fn wait_until_said(&self, words: &str) {
        wait_for(words, || {
            self.said.lock().unwrap().contains(words).then_some(())
        });
    }

    /// Waits until it ends by itself; returns its exit code.
    pub fn wait_for_end(&mut self) -> Option<i32> {
        wait_for("the end of the class", || self.child.try_wait().unwrap()).code()
    }
}

impl Drop for Class {
    fn drop(&mut self) {
        if thread::panicking() {
            let status = self.status();
            println!("{status:?}\n{}", self.said.lock().unwrap());
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Something that is started for a class and tells where it is.
struct Part {
    child: Child,
    at: String,
}

impl Part {
    /// Starts a program that prints where it is as its first line.
    fn start(program: &str, arguments: &[&str]) -> Self {
        let child = Command::new(program)
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let mut child =
            child.unwrap_or_else(|e| panic!("{program}: {e}: run scripts/setup --test"));
        let mut at = String::new();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        lines.read_line(&mut at).unwrap();
        let at = at.trim().to_owned();
        assert_ne!(at, "", "{program} does not say where it is");
        Self { child, at }
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_class_is_told_from_another_terminal_and_leaves_no_socket_behind() {
    let mut class = Class::start("[keys]\ns = \"skpi\"\n", Vec::new());
    class.wait_until_said("config.toml, line 2, column 5: error: expected a verb, found `skpi`");
    class.wait_until_said("the defaults go on");
    let running = class.wait_until_heard();
    assert_eq!(running.session.as_deref(), Some("Long outing"));
    assert_eq!(running.segment.as_deref(), Some("lead-in"));
    assert_eq!(running.round, Some(1));
    class.tell(&["pause"]);
    let paused = class.wait_for(Doing::Paused);
    let printed = class.run(env!("CARGO_BIN_EXE_sidevoice"), &["status"]);
    assert!(
        printed.starts_with("Paused, Long outing, at 0:0"),
        "{printed}"
    );
    class.tell(&["resume"]);
    let on = class.wait_for(Doing::Running);
    assert!(on.position_ms >= paused.position_ms);
    class.tell(&["stop"]);
    assert_eq!(class.wait_for_end(), Some(0));
    assert!(
        !class
            .server
            .folder()
            .join("sidevoice/control.sock")
            .exists()
    );
}

#[test]
fn media_keys_drive_a_class_and_see_where_it_is() {
    let bus = Part::start(
        "dbus-daemon",
        &["--session", "--nofork", "--nosyslog", "--print-address"],
    );
    let address = vec![("DBUS_SESSION_BUS_ADDRESS", bus.at.clone())];
    let mut class = Class::start("", address);
    class.wait_until_heard();
    let player = |arguments: &[&str]| {
        let arguments = [&["--player", "sidevoice"], arguments].concat();
        class.run("playerctl", &arguments).trim().to_owned()
    };
    // The bus knows it a moment after the socket does.
    wait_for("the class on the bus", || {
        class
            .run(
                "dbus-send",
                &[
                    "--session",
                    "--print-reply",
                    "--dest=org.freedesktop.DBus",
                    "/org/freedesktop/DBus",
                    "org.freedesktop.DBus.ListNames",
                ],
            )
            .contains("MediaPlayer2.sidevoice")
            .then_some(())
    });
    assert_eq!(player(&["status"]), "Playing");
    player(&["pause"]);
    let paused = class.wait_for(Doing::Paused);
    assert_eq!(player(&["status"]), "Paused");
    assert_eq!(player(&["metadata", "album"]), "Long outing");
    assert_eq!(player(&["metadata", "title"]), "lead-in, next march");
    let seconds: f64 = player(&["position"]).parse().unwrap();
    let ms = paused.position_ms as f64;
    assert!(
        (seconds * 1000.0 - ms).abs() < 500.0,
        "{seconds} s, {ms} ms"
    );
    player(&["play-pause"]);
    class.wait_for(Doing::Running);
    player(&["next"]);
    let is_work = |status: &Status| status.segment.as_deref() == Some("work");
    wait_for("the work", || class.status().filter(is_work));
    wait_for("the title", || {
        (player(&["metadata", "title"]) == "march").then_some(())
    });
    player(&["stop"]);
    assert_eq!(class.wait_for_end(), Some(0));
}

#[test]
fn hotkeys_drive_a_class_whatever_window_is_in_front() {
    let display = Part::start(
        "Xvfb",
        &[
            "-displayfd",
            "1",
            "-screen",
            "0",
            "320x240x24",
            "-nolisten",
            "tcp",
        ],
    );
    let at = vec![("DISPLAY", format!(":{}", display.at))];
    let mut class = Class::start(
        "[x11]\n\"ctrl+alt+space\" = \"pause-or-resume\"\nf9 = \"stop\"\n",
        at,
    );
    class.wait_until_heard();
    let press = |key: &str| class.run("xdotool", &["key", key]);
    press("ctrl+alt+space");
    class.wait_for(Doing::Paused);
    // Without its modifiers it is somebody else's key; with num lock it is the same.
    press("space");
    press("ctrl+space");
    press("Num_Lock");
    press("ctrl+alt+space");
    class.wait_for(Doing::Running);
    press("F9");
    assert_eq!(class.wait_for_end(), Some(0));
}

#[test]
fn where_hotkeys_cannot_work_it_says_so_and_what_can_be_used() {
    let config = "[x11]\nf9 = \"stop\"\n";
    for (environment, why) in [
        (Vec::new(), "there is no X display"),
        (
            vec![("WAYLAND_DISPLAY", "wayland-0".to_owned())],
            "Wayland keeps keys",
        ),
        (vec![("DISPLAY", ":4711".to_owned())], "hotkeys do not work"),
    ] {
        let class = Class::start(config, environment);
        class.wait_until_said(why);
        class.wait_until_said("sidevoice tell VERB");
        class.wait_for(Doing::Running);
    }
}
