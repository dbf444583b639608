//! A sound server of the test's own, with a sink that leads nowhere and can be listened to.
//!
//! Everything lives in a temporary folder and ends, by process id, when its value is dropped, also
//! when a test fails.
#![expect(
    clippy::disallowed_methods,
    reason = "talks to other processes, which take their time"
)]

use std::fs;
use std::io::Read;
use std::os::unix::fs::PermissionsExt;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::Arc;
use std::sync::Mutex;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use tempfile::TempDir;

/// How long anything may take before a test gives up. Generous: machines are shared.
pub const LIMIT: Duration = Duration::from_secs(30);

const SINK: [&str; 5] = [
    "module-null-sink",
    "sink_name=cap",
    "rate=48000",
    "channels=2",
    "format=float32le",
];

/// A running sound server.
pub struct Server {
    folder: TempDir,
    daemon: Child,
}

/// A recording of all that the sink plays.
pub struct Recorder {
    parec: Child,
    samples: Arc<Mutex<Vec<f32>>>,
}

impl Server {
    /// Starts a server with one sink, 48 kHz, stereo.
    ///
    /// # Panics
    ///
    /// Where there is no PulseAudio: `scripts/setup --test` installs it.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o700)).unwrap();
        let daemon = Self::daemon(&folder).expect("pulseaudio: run scripts/setup --test");
        let server = Server { folder, daemon };
        server.wait_until_ready();
        server
    }

    fn daemon(folder: &TempDir) -> std::io::Result<Child> {
        let socket = folder.path().join("native");
        Self::environment(Command::new("pulseaudio"), folder)
            .args([
                "-n",
                "--daemonize=no",
                "--use-pid-file=no",
                "--exit-idle-time=-1",
            ])
            .args(["--disable-shm=no", "--realtime=no", "--high-priority=no"])
            .arg("-L")
            .arg(format!(
                "module-native-protocol-unix auth-anonymous=1 socket={}",
                socket.display()
            ))
            .arg("-L")
            .arg(SINK.join(" "))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
    }

    fn environment(mut command: Command, folder: &TempDir) -> Command {
        let path = folder.path();
        command
            .env("XDG_RUNTIME_DIR", path)
            .env("PULSE_RUNTIME_PATH", path.join("pulse"))
            .env(
                "PULSE_SERVER",
                format!("unix:{}", path.join("native").display()),
            )
            .env("HOME", path)
            .env_remove("XDG_CONFIG_HOME")
            .env_remove("DBUS_SESSION_BUS_ADDRESS");
        command
    }

    /// Returns the folder that is home and runtime folder of all that finds this server.
    pub fn folder(&self) -> &std::path::Path {
        self.folder.path()
    }

    /// Makes a command that finds this server.
    pub fn command(&self, program: impl AsRef<std::ffi::OsStr>) -> Command {
        Self::environment(Command::new(program), &self.folder)
    }

    fn wait_until_ready(&self) {
        wait_for("the sound server", || {
            let sinks = self
                .command("pactl")
                .args(["list", "short", "sinks"])
                .output()
                .unwrap();
            String::from_utf8_lossy(&sinks.stdout)
                .contains("cap")
                .then_some(())
        });
    }

    /// Takes the only sink away.
    pub fn remove_sink(&self) {
        let done = self
            .command("pactl")
            .args(["unload-module", SINK[0]])
            .status();
        assert!(done.unwrap().success());
    }

    /// Adds a second sink, called `other`.
    pub fn add_other_sink(&self) {
        let mut other = SINK;
        other[1] = "sink_name=other";
        let done = self
            .command("pactl")
            .arg("load-module")
            .args(other)
            .output();
        assert!(done.unwrap().status.success());
    }

    /// Takes the first sink away and leaves the other.
    pub fn remove_first_sink(&self) {
        self.remove(SINK[1]);
    }

    /// Takes the other sink away and leaves the first.
    pub fn remove_other_sink(&self) {
        self.remove("sink_name=other");
    }

    fn remove(&self, sink: &str) {
        let modules = self
            .command("pactl")
            .args(["list", "short", "modules"])
            .output()
            .unwrap();
        let modules = String::from_utf8(modules.stdout).unwrap();
        let line = modules.lines().find(|it| it.contains(sink)).unwrap();
        let id = line.split_whitespace().next().unwrap();
        let done = self.command("pactl").args(["unload-module", id]).status();
        assert!(done.unwrap().success());
    }

    /// Brings a sink of the same name back.
    pub fn add_sink(&self) {
        let done = self.command("pactl").arg("load-module").args(SINK).output();
        assert!(done.unwrap().status.success());
        self.wait_until_ready();
    }

    /// Kills the server, as a crash would.
    pub fn kill(&mut self) {
        let _ = self.daemon.kill();
        let _ = self.daemon.wait();
    }

    /// Stops it where it is, or lets it go on: `STOP` and `CONT`.
    pub fn signal(&self, name: &str) {
        let id = self.daemon.id().to_string();
        let sent = Command::new("kill").args(["-s", name, &id]).status();
        assert!(sent.unwrap().success());
    }

    /// Starts it again in the same place.
    pub fn start_again(&mut self) {
        let _ = fs::remove_file(self.folder.path().join("native"));
        self.daemon = Self::daemon(&self.folder).unwrap();
        self.wait_until_ready();
    }

    /// Begins to record; returns when samples come in.
    pub fn record(&self) -> Recorder {
        self.record_from("cap")
    }

    /// Begins to record what this sink plays.
    pub fn record_from(&self, sink: &str) -> Recorder {
        self.record_channels(sink, 1)
    }

    /// Begins to record both sides of what this sink plays, interleaved.
    pub fn record_sides(&self, sink: &str) -> Recorder {
        self.record_channels(sink, 2)
    }

    fn record_channels(&self, sink: &str, channels: u16) -> Recorder {
        let mut parec = self
            .command("parec")
            .args([
                "-d",
                &format!("{sink}.monitor"),
                "--format=float32le",
                "--rate=48000",
            ])
            .arg(format!("--channels={channels}"))
            .args(["--latency-msec=5", "--raw"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut pipe = parec.stdout.take().unwrap();
        let samples = Arc::new(Mutex::new(Vec::new()));
        let store = Arc::clone(&samples);
        thread::spawn(move || {
            let mut bytes = [0; 4096];
            let mut held = 0;
            while let Ok(read) = pipe.read(&mut bytes[held..]) {
                if read == 0 {
                    break;
                }
                let (whole, rest) = bytes[..held + read].as_chunks::<4>();
                store
                    .lock()
                    .unwrap()
                    .extend(whole.iter().map(|it| f32::from_le_bytes(*it)));
                held = rest.len();
                let from = whole.len() * 4;
                bytes.copy_within(from..from + held, 0);
            }
        });
        let recorder = Recorder { parec, samples };
        // It starts late and then delivers steadily.
        recorder.wait_for("the recorder", |samples| {
            (samples.len() > 4800).then_some(())
        });
        recorder
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Recorder {
    /// Returns how many samples were recorded so far.
    pub fn len(&self) -> usize {
        self.samples.lock().unwrap().len()
    }

    /// Returns what was recorded so far: mono, 48 kHz.
    pub fn samples(&self) -> Vec<f32> {
        self.samples.lock().unwrap().clone()
    }

    /// Waits until something is found in the recording.
    pub fn wait_for<T>(&self, what: &str, look: impl Fn(&[f32]) -> Option<T>) -> T {
        // Not looked through more often than that: it grows long.
        wait_each(Duration::from_millis(60), what, || {
            look(&self.samples.lock().unwrap())
        })
    }

    /// Waits until so many more samples are recorded.
    pub fn wait_more(&self, count: usize) {
        let goal = self.len() + count;
        self.wait_for("more of the recording", |samples| {
            (samples.len() >= goal).then_some(())
        });
    }
}

impl Drop for Recorder {
    fn drop(&mut self) {
        let _ = self.parec.kill();
        let _ = self.parec.wait();
    }
}

/// Looks again and again until there is something, or fails.
pub fn wait_for<T>(what: &str, look: impl FnMut() -> Option<T>) -> T {
    wait_each(Duration::from_millis(20), what, look)
}

fn wait_each<T>(pause: Duration, what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let begun = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(begun.elapsed() < LIMIT, "waited in vain for {what}");
        thread::sleep(pause);
    }
}
