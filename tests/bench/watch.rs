//! What watching costs: a save until the session is ready, idling, ten thousand sessions.
//!
//! Needs the voice hibari. The program is measured from outside, as it is used.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use sidevoice::sound::speech::Settings;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;
use std::time::Instant;

#[path = "row.rs"]
mod row;

use row::row;

const PROGRAM: &str = env!("CARGO_BIN_EXE_sidevoice");
const STARTER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/starter");
const LIMIT: Duration = Duration::from_secs(60);
const SAVES: usize = 15;
const MANY: usize = 10_000;

struct Watching {
    process: Child,
    lines: Receiver<(Instant, String)>,
    manager: UnixDatagram,
    begun: Instant,
}

impl Watching {
    fn start(home: &Path, folder: &Path) -> Self {
        let path = home.join("manager");
        let _ = fs::remove_file(&path);
        let manager = UnixDatagram::bind(&path).expect("a socket");
        let begun = Instant::now();
        let mut process = Command::new(PROGRAM)
            .args(["watch", "--silent"])
            .arg(folder)
            .env("XDG_RUNTIME_DIR", home)
            .env("XDG_CACHE_HOME", home.join("cache"))
            .env("XDG_DATA_HOME", data_home())
            .env("NOTIFY_SOCKET", &path)
            .env("SIDEVOICE_LOG", "info")
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program");
        let (to, lines) = mpsc::channel();
        let err = process.stderr.take().expect("its standard error");
        thread::spawn(move || {
            for line in BufReader::new(err).lines().map_while(Result::ok) {
                let _ = to.send((Instant::now(), line));
            }
        });
        Self {
            process,
            lines,
            manager,
            begun,
        }
    }

    fn until_ready(&self) -> Duration {
        let mut buffer = [0; 4096];
        loop {
            let length = self.manager.recv(&mut buffer).expect("a datagram");
            if buffer[..length].starts_with(b"READY=1") {
                return self.begun.elapsed();
            }
        }
    }

    /// Waits until the opening of a session is made.
    fn until_made(&self, id: &str) -> Instant {
        loop {
            let (at, line) = self.lines.recv_timeout(LIMIT).expect("a line in time");
            if line.contains("opening made") && line.contains(id) {
                return at;
            }
        }
    }

    /// Returns its resident memory in MB, what of it is no page of a file, and all its processor time in
    /// seconds.
    fn costs(&self) -> (f64, f64, f64) {
        let read = |file: &str| {
            fs::read_to_string(format!("/proc/{}/{file}", self.process.id())).unwrap_or_default()
        };
        let status = read("status");
        let mb = |name: &str| {
            let line = status.lines().find(|l| l.starts_with(name));
            let kb = line.and_then(|l| l.split_whitespace().nth(1)?.parse::<f64>().ok());
            kb.unwrap_or(f64::NAN) / 1024.0
        };
        // proc_pid_stat(5): user and system time are the 14th and 15th field, in ticks of 10 ms;
        // the second field ends in the last bracket.
        let stat = read("stat");
        let after = stat.rsplit(')').next().unwrap_or_default();
        let fields: Vec<_> = after.split_whitespace().collect();
        let ticks = |at: usize| fields.get(at).and_then(|f| f.parse::<f64>().ok());
        let spent = ticks(11).unwrap_or(f64::NAN) + ticks(12).unwrap_or(f64::NAN);
        (mb("VmRSS"), mb("RssAnon"), spent / 100.0)
    }

    fn has_child(&self) -> bool {
        let tasks = fs::read_dir(format!("/proc/{}/task", self.process.id()));
        tasks.into_iter().flatten().flatten().any(|task| {
            let children = fs::read_to_string(task.path().join("children"));
            children.is_ok_and(|list| !list.trim().is_empty())
        })
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn data_home() -> PathBuf {
    let voices = Settings::standard().voices.expect("a data folder");
    voices.ancestors().nth(2).expect("its home").to_owned()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("the starter folder").flatten() {
        if entry.path().is_dir() {
            continue;
        }
        fs::copy(entry.path(), to.join(entry.file_name())).expect("a copy");
    }
}

fn saves_and_idling(home: &Path) {
    let folder = home.join("folder");
    for part in ["sessions", "movements"] {
        copy(&Path::new(STARTER).join(part), &folder.join(part));
    }
    let watching = Watching::start(home, &folder);
    watching.until_made("warm-up");
    let file = folder.join("sessions/boathouse-five.toml");
    let text = fs::read_to_string(&file).expect("the session");
    let mut took: Vec<_> = (0..=SAVES)
        .map(|number| {
            let title = format!("Evening number {}", number * 7 + 100);
            let text = text.replace("Boathouse five", &title);
            fs::write(&file, text).expect("a save");
            let saved = Instant::now();
            watching.until_made("boathouse-five") - saved
        })
        // The first may find the engine ended.
        .skip(1)
        .collect();
    took.sort();
    row(
        "a save until the session is planned and its opening spoken ahead: median, worst of 15",
        "300 ms",
        format!(
            "{} ms, {} ms",
            took[SAVES / 2].as_millis(),
            took[SAVES - 1].as_millis()
        ),
    );
    while watching.has_child() {
        thread::sleep(Duration::from_millis(200));
    }
    thread::sleep(Duration::from_secs(10));
    let (.., before) = watching.costs();
    let span = Duration::from_secs(60);
    thread::sleep(span);
    let (resident, own, after) = watching.costs();
    row(
        "watching, idle: resident, of that its own and no page of the program, of a core",
        "15 MB, 0.1 %",
        format!(
            "{resident:.1} MB, {own:.1} MB, {:.2} %",
            (after - before) / span.as_secs_f64() * 100.0
        ),
    );
}

fn many(home: &Path) {
    let folder = home.join("many");
    copy(
        &Path::new(STARTER).join("movements"),
        &folder.join("movements"),
    );
    let sessions = folder.join("sessions");
    fs::create_dir_all(&sessions).expect("a folder");
    let text = fs::read_to_string(Path::new(STARTER).join("sessions/boathouse-five.toml"))
        .expect("the session");
    for number in 0..MANY {
        let text = text.replace("Boathouse five", &format!("Outing {number}"));
        fs::write(sessions.join(format!("outing-{number}.toml")), text).expect("a file");
    }
    // What was just written is not settled: as after a start, the files are older.
    thread::sleep(Duration::from_secs(3));
    let watching = Watching::start(home, &folder);
    let known = watching.until_ready();
    let (resident, ..) = watching.costs();
    row(
        "10,000 session files known, from the start of the program; resident then",
        "500 ms",
        format!("{} ms, {resident:.0} MB", known.as_millis()),
    );
}

fn main() {
    let home = tempfile::tempdir().expect("a temporary folder");
    many(home.path());
    saves_and_idling(home.path());
}
