//! Raw samples down a pipe: read by a thread of the test, and by a server for several rooms.
#![expect(
    clippy::disallowed_methods,
    reason = "reads pipes and talks to other programs"
)]

use std::fs;
use std::fs::File;
use std::io::Read;
use std::net::TcpListener;
use std::net::TcpStream;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::ChildStdout;
use std::process::Command;
use std::process::Stdio;
use std::thread::JoinHandle;
use std::time::Duration;
use std::time::Instant;

use sidevoice::base::units::FrameAt;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command as Told;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Event;
use sidevoice::sound::out::Loudspeaker;
use sidevoice::sound::out::Options;
use sidevoice::sound::out::Pipe;

use crate::speech::class::folder;
use crate::speech::class::has_a_count;

use super::pulse::wait_for;

fn fifo(folder: &Path) -> PathBuf {
    let path = folder.join("rooms");
    assert!(
        Command::new("mkfifo")
            .arg(&path)
            .status()
            .unwrap()
            .success()
    );
    path
}

fn through(path: &Path) -> Options {
    Options {
        pipe: Some(Pipe::Named(path.into())),
        ..Options::default()
    }
}

/// Two channels of 16 bit, as whole numbers.
fn numbers(bytes: &[u8]) -> Vec<[i16; 2]> {
    let pairs = bytes.chunks_exact(4);
    pairs
        .map(|it| [[it[0], it[1]], [it[2], it[3]]].map(i16::from_le_bytes))
        .collect()
}

#[test]
fn samples_go_down_a_pipe_as_time_goes_and_a_reader_may_go_and_come() {
    let files = tempfile::tempdir().unwrap();
    let path = fifo(files.path());
    let open = || {
        let (desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 8);
        (desk, Loudspeaker::open(mixer, through(&path)))
    };
    let refused = open().1.unwrap_err().to_string();
    assert!(refused.contains("nobody reads the pipe"), "{refused}");

    let reader = reads(&path, 48_000 * 4 * 2);
    let (mut desk, loudspeaker) = open();
    let loudspeaker = loudspeaker.unwrap();
    let ramp: Vec<f32> = (0..24_000).map(|n| n as f32 / 48_000.0).collect();
    desk.feed(Clip {
        id: 1,
        at: FrameAt::new(24_000),
        samples: ramp.into(),
    })
    .unwrap();
    desk.tell(Told::Play).unwrap();
    let (bytes, took) = reader.join().unwrap();
    // As fast as time goes: what waits in the pipe, 85 ms of it, is all that is ahead.
    assert!(took > Duration::from_millis(1850), "{took:?}");
    let frames = numbers(&bytes);
    let first = frames.iter().position(|frame| frame[0] != 0).unwrap();
    for (n, [left, right]) in frames[first..first + 23_000].iter().enumerate() {
        let wanted = ((n + 1) as f32 / 48_000.0 * 32_768.0).round() as i16;
        assert_eq!((*left, *right), (wanted, wanted), "{n} after {first}");
    }

    // It has read enough and is gone.
    let lost = loudspeaker.events().recv_timeout(Duration::from_secs(5));
    let Ok(Event::Lost { reason, .. }) = lost else {
        panic!("{lost:?}");
    };
    assert!(reason.starts_with("nobody reads the pipe "), "{reason}");
    assert!(reason.contains("any more"), "{reason}");
    let again = reads(&path, 9600);
    let back = loudspeaker.events().recv_timeout(Duration::from_secs(5));
    assert!(matches!(back, Ok(Event::Back { .. })), "{back:?}");
    again.join().unwrap();
    let begun = Instant::now();
    assert!(loudspeaker.close().is_some());
    assert!(begun.elapsed() < Duration::from_secs(1));
}

/// Reads so many bytes from a pipe as they come; how long that took.
fn reads(path: &Path, count: usize) -> JoinHandle<(Vec<u8>, Duration)> {
    let path = path.to_owned();
    std::thread::spawn(move || {
        // Waits until somebody writes.
        let mut reader = File::open(path).unwrap();
        let mut bytes = vec![0; count];
        let begun = Instant::now();
        reader.read_exact(&mut bytes).unwrap();
        (bytes, begun.elapsed())
    })
}

#[test]
fn a_pipe_that_nobody_empties_holds_up_nobody() {
    let files = tempfile::tempdir().unwrap();
    let path = fifo(files.path());
    let at = path.clone();
    let (enough, wait) = std::sync::mpsc::channel::<()>();
    let reader = std::thread::spawn(move || {
        let mut reader = File::open(at).unwrap();
        reader.read_exact(&mut [0; 100]).unwrap();
        // It stays and takes nothing more.
        let _ = wait.recv();
    });
    let (_desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 8);
    let loudspeaker = Loudspeaker::open(mixer, through(&path)).unwrap();
    std::thread::sleep(Duration::from_millis(400));
    let begun = Instant::now();
    assert!(loudspeaker.close().is_some());
    assert!(begun.elapsed() < Duration::from_secs(1));
    drop(enough);
    reader.join().unwrap();
}

#[test]
fn what_is_no_pipe_is_refused_with_what_to_do() {
    let files = tempfile::tempdir().unwrap();
    let open = |path: &Path| {
        let (_desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 8);
        Loudspeaker::open(mixer, through(path))
            .unwrap_err()
            .to_string()
    };
    let none = open(&files.path().join("none"));
    assert!(none.contains("mkfifo"), "{none}");
    let file = files.path().join("file");
    fs::write(&file, "kept").unwrap();
    let refused = open(&file);
    assert!(refused.contains("expected a named pipe"), "{refused}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "kept");
}

/// A program that ends with the test.
pub(crate) struct Running(pub Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().port()
}

/// Debian's snapserver reads the pipe, its client writes what it plays to a file.
#[test]
fn a_server_for_several_rooms_carries_a_class() {
    let folder = folder("compact");
    let folder = folder.path();
    let pipe = fifo(folder);
    let [stream, control, web] = std::array::from_fn(|_| free_port());
    let log = || {
        Stdio::from(
            File::options()
                .append(true)
                .create(true)
                .open(folder.join("log.txt"))
                .unwrap(),
        )
    };
    fs::create_dir(folder.join("server")).unwrap();
    fs::write(folder.join("server.conf"), "").unwrap();
    let server = Command::new("snapserver")
        .arg(format!("--config={}", folder.join("server.conf").display()))
        .arg(format!(
            "--server.datadir={}",
            folder.join("server").display()
        ))
        .arg("--server.mdns_enabled=false")
        .arg(format!(
            "--stream.source=pipe://{}?name=boathouse&sampleformat=48000:16:2&mode=read&codec=pcm",
            pipe.display()
        ))
        .args([
            "--stream.bind_to_address=127.0.0.1",
            "--tcp.bind_to_address=127.0.0.1",
        ])
        .args(["--http.bind_to_address=127.0.0.1"])
        .arg(format!("--stream.port={stream}"))
        .arg(format!("--tcp.port={control}"))
        .arg(format!("--http.port={web}"))
        .stdout(log())
        .stderr(log())
        .spawn()
        .expect("snapserver is installed by scripts/setup --test");
    let _server = Running(server);
    wait_for("the server", || {
        TcpStream::connect(("127.0.0.1", stream)).ok()
    });
    let heard = folder.join("heard.raw");
    let client = Command::new("snapclient")
        .args(["--host", "127.0.0.1", "--hostID", "boathouse"])
        .arg(format!("--port={stream}"))
        .arg(format!("--player=file:filename={}", heard.display()))
        .stdout(log())
        .stderr(log())
        .spawn()
        .expect("snapclient is installed by scripts/setup --test");
    let _client = Running(client);
    let mut class = Running(
        Command::new(env!("CARGO_BIN_EXE_sidevoice"))
            .args(["run", "short", "--caution", "brief", "--no-log", "--sink"])
            .arg(format!("pipe:{}", pipe.display()))
            .current_dir(folder)
            .env("XDG_DATA_HOME", folder)
            .env("XDG_RUNTIME_DIR", folder)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log())
            .spawn()
            .unwrap(),
    );
    // The count into the work and its start tone, half a minute on.
    let begun = Instant::now();
    loop {
        let bytes = fs::read(&heard).unwrap_or_default();
        let left: Vec<f32> = numbers(&bytes)
            .iter()
            .map(|[left, _]| f32::from(*left) / 32_768.0)
            .collect();
        if has_a_count(&left) {
            break;
        }
        let said = || fs::read_to_string(folder.join("log.txt")).unwrap();
        assert!(begun.elapsed() < Duration::from_secs(90), "{}", said());
        assert!(class.0.try_wait().unwrap().is_none(), "{}", said());
        std::thread::sleep(Duration::from_millis(500));
    }
}

/// A class whose samples go to standard output, of which three seconds were read; what it says, and its log.
struct Piped {
    class: Running,
    reader: Option<ChildStdout>,
    files: tempfile::TempDir,
}

impl Piped {
    fn start() -> Self {
        let files = folder("compact");
        let at = files.path();
        // However the tests were started, a closed terminal is heard by it.
        let mut class = Command::new("env")
            .args(["--default-signal=HUP", env!("CARGO_BIN_EXE_sidevoice")])
            .args(["run", "short", "--caution", "brief"])
            .args(["--sink", "pipe:-"])
            .current_dir(at)
            .env("XDG_DATA_HOME", at)
            .env("XDG_RUNTIME_DIR", at)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(File::create(at.join("said.txt")).unwrap())
            .spawn()
            .unwrap();
        let mut bytes = vec![0; 48_000 * 4 * 3];
        let mut reader = class.stdout.take().unwrap();
        reader.read_exact(&mut bytes).unwrap();
        // The opening begins within three seconds.
        assert!(numbers(&bytes).iter().any(|[left, _]| left.abs() > 1000));
        Self {
            class: Running(class),
            reader: Some(reader),
            files,
        }
    }

    fn said(&self) -> String {
        fs::read_to_string(self.files.path().join("said.txt")).unwrap()
    }

    /// Waits for the end; nothing of it may be left but a record that ends.
    fn check_the_end(&mut self, code: i32) {
        let class = &mut self.class.0;
        let ended = wait_for("the end", || class.try_wait().unwrap());
        assert_eq!(ended.code(), Some(code), "{}", self.said());
        let socket = self.files.path().join("sidevoice/control.sock");
        assert!(!socket.exists(), "a socket is left");
        let log = fs::read_dir(self.files.path().join("log")).unwrap();
        let log = log.map(|file| fs::read_to_string(file.unwrap().path()).unwrap());
        let log = log.collect::<String>();
        assert!(log.contains("\"stopped\""), "{log}");
    }
}

#[test]
fn standard_output_is_a_pipe_too_and_the_class_ends_with_its_reader() {
    let mut class = Piped::start();
    drop(class.reader.take());
    class.check_the_end(4);
    let said = class.said();
    let leaves = "nobody reads standard output any more";
    assert_eq!(said.matches(leaves).count(), 1, "{said}");
    for word in ["Paused", "loudspeaker", "the sound is back"] {
        assert!(!said.contains(word), "{said}");
    }
}

#[test]
fn a_closed_terminal_ends_a_class_in_order() {
    let mut class = Piped::start();
    let mut reader = class.reader.take().unwrap();
    // Read on: the end is faded out, and heard.
    let reads = std::thread::spawn(move || std::io::copy(&mut reader, &mut std::io::sink()));
    let id = class.class.0.id().to_string();
    // By its shell and by the system.
    for _ in 0..2 {
        let sent = Command::new("kill").args(["-s", "HUP", &id]).status();
        assert!(sent.unwrap().success());
    }
    class.check_the_end(130);
    reads.join().unwrap().unwrap();
}
