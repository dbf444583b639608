//! A coach heard through a real sound server, and what happens when the microphone goes away.
//!
//! The monitor of a sink that leads nowhere is the default microphone. Whoever listens is a process of its own,
//! since the sound system is found by the environment: this binary again, with the one ignored test below.
#![expect(
    clippy::disallowed_methods,
    reason = "is a program of its own, and talks to other processes"
)]

use std::env;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Read;
use std::io::stdin;
use std::process::Child;
use std::process::Stdio;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::rehearse::ear::Ear;
use sidevoice::rehearse::ear::Span;
use sidevoice::sound::microphone::Microphone;
use sidevoice::sound::microphone::MicrophoneError;
use sidevoice::sound::microphone::Options;
use sidevoice::sound::microphone::microphones;
use sidevoice::sound::out::Host;

use super::coach::NEAR;
use super::coach::Scene;
use super::coach::pink;
use super::coach::takes;
use crate::sound::pulse::LIMIT;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use crate::speech::lines::LINES;

/// Says that this is the child, and which device it listens to; empty for the default.
const DEVICE: &str = "SIDEVOICE_TEST_MICROPHONE";

/// The listener as its parent sees it; its input closed, it ends.
struct Listener {
    child: Child,
    news: Receiver<String>,
}

impl Listener {
    fn start(server: &Server, device: &str) -> Self {
        let mut child = server
            .command(env::current_exe().unwrap())
            .args([
                "--exact",
                "rehearse::microphone::the_listener_itself",
                "--ignored",
                "--nocapture",
            ])
            .env(DEVICE, device)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let (tell, news) = mpsc::channel();
        thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if tell.send(line).is_err() {
                    break;
                }
            }
        });
        Listener { child, news }
    }

    /// Waits for news that begin so and returns the rest.
    fn wait_for(&self, begin: &str) -> String {
        loop {
            let line = match self.news.recv_timeout(LIMIT) {
                Ok(line) => line,
                Err(error) => panic!("waited in vain for {begin:?}: {error}"),
            };
            assert!(!line.contains("panicked"), "the listener: {line}");
            if let Some(rest) = line.strip_prefix(begin) {
                return rest.trim().to_owned();
            }
        }
    }

    /// Ends it and returns the spans that it heard, in ms.
    fn end(mut self) -> Vec<Span> {
        drop(self.child.stdin.take());
        let ended = wait_for("the listener's end", || self.child.try_wait().unwrap());
        assert!(ended.success());
        let number = |it: &str| At::from_ms(it.parse().unwrap());
        let span = |line: String| {
            let rest = line.strip_prefix("span ")?.to_owned();
            let (from, to) = rest.split_once(' ').unwrap();
            Some(Span {
                from: number(from),
                to: number(to),
            })
        };
        self.news.iter().filter_map(span).collect()
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Begins to play mono samples at 48 kHz into the default sink.
pub fn play(server: &Server, samples: &[f32]) -> Child {
    let file = server.folder().join("coach.raw");
    let bytes: Vec<u8> = samples.iter().flat_map(|it| it.to_le_bytes()).collect();
    fs::write(&file, bytes).unwrap();
    server
        .command("pacat")
        .args(["--playback", "--raw", "--format=float32le", "--rate=48000"])
        .args(["--channels=1", "--latency-msec=200"])
        .arg(file)
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// A few lines in a room that hisses, with a second of it at the end.
fn room() -> Scene {
    let mut scene = Scene::of(&takes("compact", &LINES[..6]));
    let noise = pink(scene.samples.len());
    for (sample, noise) in scene.samples.iter_mut().zip(noise) {
        *sample += noise * 0.005;
    }
    scene
}

#[test]
fn a_coach_is_heard_through_a_microphone_where_and_as_long_as_she_speaks() {
    let server = Server::start();
    let listener = Listener::start(&server, "");
    let opened = listener.wait_for("open ");
    assert!(opened.ends_with("48000"), "{opened}");
    let scene = room();
    let mut player = play(&server, &scene.samples);
    assert!(player.wait().unwrap().success());
    let found = listener.end();
    // The player begins at any time: the first line says when.
    let offsets: Vec<Millis> = scene
        .truth
        .iter()
        .map(|line| {
            let at = |it: &&Span| (it.length() - line.length()).ms().abs() <= 2 * NEAR;
            let near = found.iter().filter(at);
            let off = |it: &Span| it.from - line.from;
            near.map(off)
                .min_by_key(|it| (*it - (found[0].from - scene.truth[0].from)).ms().abs())
                .unwrap_or_else(|| panic!("{line:?} is not among {found:?}"))
        })
        .collect();
    let mut sorted = offsets.clone();
    sorted.sort();
    let middle = sorted[sorted.len() / 2];
    // A busy machine may slip once; then the lines after that are late together.
    let near = offsets
        .iter()
        .filter(|it| (**it - middle).ms().abs() <= NEAR);
    assert!(near.count() >= 4, "{offsets:?}");
}

#[test]
fn a_sink_that_plays_nothing_is_a_muted_microphone() {
    let server = Server::start();
    let listener = Listener::start(&server, "");
    listener.wait_for("open ");
    listener.wait_for("health the microphone has sent pure silence");
    assert_eq!(listener.end(), []);
}

#[test]
fn a_microphone_that_is_unplugged_or_whose_server_ends_is_told_and_nothing_hangs() {
    for crash in [false, true] {
        let mut server = Server::start();
        let mut listener = Listener::start(&server, "");
        listener.wait_for("began");
        let mut player = play(&server, &room().samples);
        thread::sleep(Duration::from_secs(1));
        if crash {
            server.kill();
        } else {
            server.remove_sink();
        }
        let told = listener.wait_for("gone ");
        assert!(told.contains("microphone"), "{told}");
        let ended = wait_for("the listener's end", || listener.child.try_wait().unwrap());
        assert!(ended.success());
        let _ = player.kill();
        let _ = player.wait();
    }
}

#[test]
fn a_microphone_that_is_not_there_is_told_with_what_there_is() {
    let server = Server::start();
    let listener = Listener::start(&server, "attic");
    let told = listener.wait_for("error ");
    assert!(told.contains("called attic"), "{told}");
    assert!(told.contains("cap.monitor"), "{told}");
    listener.end();
    let mut gone = Server::start();
    gone.kill();
    let listener = Listener::start(&gone, "");
    let told = listener.wait_for("error ");
    assert!(told.contains("expected a sound system"), "{told}");
    listener.end();
}

/// Not a test: what [`Listener::start`] starts.
#[test]
#[ignore = "is started by other tests"]
fn the_listener_itself() {
    let Ok(device) = env::var(DEVICE) else {
        return;
    };
    let options = Options {
        host: Host::Server,
        device: Some(device).filter(|it| !it.is_empty()),
    };
    let known = microphones(Host::Server);
    eprintln!("known {known:?}");
    let before = Instant::now();
    match Microphone::open(options) {
        Ok(microphone) => listen(microphone, before),
        Err(error) => {
            assert!(!matches!(error, MicrophoneError::Failed(_)), "{error}");
            eprintln!("error {error}");
        }
    }
}

fn listen(mut microphone: Microphone, before: Instant) {
    eprintln!("open {} {}", microphone.device(), microphone.rate().hz());
    let told_to_end = Arc::new(AtomicBool::new(false));
    let ends = Arc::clone(&told_to_end);
    thread::spawn(move || {
        let _ = stdin().read_to_end(&mut Vec::new());
        ends.store(true, Ordering::Relaxed);
    });
    let mut ear = Ear::new(microphone.rate()).unwrap();
    let (mut samples, mut began, mut health) = (Vec::new(), None, String::new());
    let tell = |found: Vec<Span>| {
        for span in found {
            eprintln!("span {} {}", span.from.ms(), span.to.ms());
        }
    };
    loop {
        let over = told_to_end.load(Ordering::Relaxed);
        samples.clear();
        let poll = microphone.poll(&mut samples);
        tell(ear.push(&samples));
        tell(ear.lost(poll.lost));
        if began.is_none()
            && let Some(it) = microphone.began()
        {
            // A frame may have been captured while it was opened, but not seconds before.
            assert!(it.at + Duration::from_secs(2) > before && it.at <= Instant::now());
            assert!(it.latency < Duration::from_secs(2), "{it:?}");
            eprintln!("began");
            began = Some(it.at);
        }
        let since = began.map_or(Duration::ZERO, |it| it.elapsed());
        let now = ear
            .health(At::from_ms(since.as_millis() as i64))
            .to_string();
        if now != health {
            eprintln!("health {now}");
            health = now;
        }
        if let Some(reason) = poll.gone {
            eprintln!("gone {reason}");
            break;
        }
        if over {
            break;
        }
        thread::sleep(Duration::from_millis(20));
    }
    tell(ear.finish());
}
