//! A small program that plays through the loudspeaker, in a process of its own.
//!
//! The sound system finds its server by the environment, which a process has only one of: so the
//! test binary starts itself again, with the name of the one test below, and talks to it by lines:
//! commands to its standard input, news from its standard error.
#![expect(
    clippy::disallowed_methods,
    reason = "is a program of its own: a thread reads its input"
)]

use std::env;
use std::f32::consts::TAU;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Write;
use std::io::stdin;
use std::path::Path;
use std::process;
use std::process::Child;
use std::process::Stdio;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;

use rtrb::RingBuffer;
use sidevoice::base::tones::Tones;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::BED_BLOCK;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::CAPACITY;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::Outcome;
use sidevoice::sound::mix::Tone;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Event;
use sidevoice::sound::out::Host;
use sidevoice::sound::out::Loudspeaker;
use sidevoice::sound::out::Options;
use sidevoice::sound::out::devices;

use super::pulse::LIMIT;
use super::pulse::Server;
use super::pulse::wait_for;

/// Says what to play, and that this is the child.
const SCENE: &str = "SIDEVOICE_TEST_SCENE";
const WAIT: &str = "SIDEVOICE_TEST_WAIT";
const SYSTEM: &str = "SIDEVOICE_TEST_SYSTEM";
const BUFFER: &str = "SIDEVOICE_TEST_BUFFER";

/// Frames from one tone to the next.
pub const STEP: u64 = 24_000;

/// The player as its parent sees it.
pub struct Player {
    child: Child,
    news: Receiver<String>,
}

impl Player {
    /// Starts it: scene `tones` has a start tone every [`STEP`] from the start of the session on,
    /// `long` one long sound, `bed` the clips of [`lines`] over a bed. It waits for `play`.
    pub fn start(server: &Server, scene: &str, buffer: u32) -> Self {
        Self::spawn(server.command(env::current_exe().unwrap()), scene, buffer)
    }

    /// Starts it so that it waits for a device where there is none.
    pub fn start_waiting(server: &Server, scene: &str, buffer: u32) -> Self {
        let mut command = server.command(env::current_exe().unwrap());
        command.env(WAIT, "1");
        Self::spawn(command, scene, buffer)
    }

    /// Starts it past any sound server, on the system's own sound with these settings.
    pub fn start_on_system(settings: &Path) -> Self {
        let mut command = process::Command::new(env::current_exe().unwrap());
        command
            .env("ALSA_CONFIG_PATH", settings)
            .env("PULSE_SERVER", "unix:/nonexistent")
            .env(SYSTEM, "1");
        Self::spawn(command, "tones", 960)
    }

    fn spawn(mut command: process::Command, scene: &str, buffer: u32) -> Self {
        let mut child = command
            .args([
                "--exact",
                "sound::player::the_player_itself",
                "--ignored",
                "--nocapture",
            ])
            .env(SCENE, scene)
            .env(BUFFER, buffer.to_string())
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
        Player { child, news }
    }

    /// Sends it a command.
    pub fn tell(&mut self, command: &str) {
        writeln!(self.child.stdin.as_mut().unwrap(), "{command}").unwrap();
    }

    /// Waits for news that begin so and returns the rest; other news are passed over.
    pub fn wait_for(&self, begin: &str) -> String {
        loop {
            let line = match self.news.recv_timeout(LIMIT) {
                Ok(line) => line,
                Err(error) => panic!("waited in vain for {begin:?}: {error}"),
            };
            if let Some(rest) = line.strip_prefix(begin) {
                return rest.trim().to_owned();
            }
            assert!(!line.contains("panicked"), "the player: {line}");
        }
    }

    /// Waits until it ends by itself and tells whether it ended well.
    pub fn wait_for_end(&mut self) -> bool {
        wait_for("the player's end", || self.child.try_wait().unwrap()).success()
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
#[ignore = "started by other tests, as a process of its own"]
fn the_player_itself() {
    let Ok(scene) = env::var(SCENE) else { return };
    let (mut desk, mut mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    // Three seconds deep, as that of a class.
    let (mut ring, blocks) = RingBuffer::new(300);
    if scene == "bed" {
        mixer = mixer.with_bed(blocks);
        desk.tell(Command::Bed(BedAim {
            level: Db::new(0.0),
            fade: Millis::from_ms(10),
            plays: BedPlays::WithTheClock,
        }))
        .unwrap();
    }
    for clip in clips(&scene) {
        desk.feed(clip).unwrap();
    }
    let options = Options {
        host: match env::var(SYSTEM) {
            Ok(_) => Host::Best,
            Err(_) => Host::Server,
        },
        buffer: env::var(BUFFER).unwrap().parse().unwrap(),
        wait: env::var(WAIT).is_ok(),
        ..Options::default()
    };
    match devices(Host::Server) {
        Ok(found) if found.is_empty() => eprintln!("no device"),
        Ok(found) => {
            for device in found {
                eprintln!("device {} {}", device.id, device.default);
            }
        }
        Err(error) => eprintln!("no device: {error}"),
    }
    let loudspeaker = match Loudspeaker::open(mixer, options) {
        Ok(loudspeaker) => loudspeaker,
        Err(error) => return eprintln!("refused {error:?}"),
    };
    eprintln!("open {}", loudspeaker.device().unwrap_or("nothing"));
    let (tell, told) = mpsc::channel();
    thread::spawn(move || {
        for line in stdin().lines().map_while(Result::ok) {
            let _ = tell.send(line);
        }
    });
    loop {
        while scene == "bed" && ring.push(bed_block()).is_ok() {}
        match told.recv_timeout(Duration::from_millis(2)).as_deref() {
            Ok("play") => desk.tell(Command::Play).unwrap(),
            Ok("hold") => desk.tell(Command::Hold).unwrap(),
            Ok("status") => eprintln!("status {:?}", desk.status()),
            Ok("close") | Err(mpsc::RecvTimeoutError::Disconnected) => break,
            Ok(other) => panic!("what is {other}?"),
            Err(mpsc::RecvTimeoutError::Timeout) => {}
        }
        for event in loudspeaker.events().try_iter() {
            match event {
                Event::Lost { at, reason } => eprintln!("lost {} {reason}", at.index()),
                Event::Back { device } => eprintln!("back {device}"),
                Event::Ended { reason } => eprintln!("ended {reason}"),
            }
        }
        take_back(&mut desk);
    }
    let place = loudspeaker.close().map(|it| it.position().index());
    eprintln!("closed {place:?}");
}

/// Reports what is done; a long sound that was cut is fed again from its start.
fn take_back(desk: &mut Desk) {
    while let Some(finished) = desk.finished() {
        eprintln!("done {} {:?}", finished.clip.id, finished.outcome);
        if matches!(finished.outcome, Outcome::Cut(_)) && finished.clip.id == LONG {
            let at = desk.status().position;
            desk.feed(Clip {
                at,
                ..finished.clip
            })
            .unwrap();
        }
    }
}

/// The id of the long sound.
const LONG: u64 = 1000;

fn clips(scene: &str) -> Vec<Clip> {
    match scene {
        "tones" => (0..60)
            .map(|it| Tone::Start.clip(Tones::Clear, it, FrameAt::new(it * STEP)))
            .collect(),
        "long" => {
            // Half a minute of 1 kHz, of which no sample is zero.
            let wave = |index: u32| 0.25 * (TAU * (index as f32 + 0.5) / 48.0).sin();
            vec![Clip {
                id: LONG,
                at: FrameAt::START,
                samples: (0..30 * 48_000).map(wave).collect(),
            }]
        }
        "bed" => lines(),
        other => panic!("what is {other}?"),
    }
}

/// The level of the bed of the scene `bed`: constant, so that its gain is seen, left and right apart.
pub const BED_LEFT: f32 = 0.1;

/// As loud as speech: what is heard over it needs a dip of 12 dB.
fn bed_block() -> BedBlock {
    BedBlock {
        frames: [[BED_LEFT, -BED_LEFT]; BED_BLOCK],
        loudness: -18.0,
    }
}

/// The clips of the scene `bed`: hums of a second with a lead that is not audible, 4.5 s from one to the
/// next, and a tone half-way: far enough apart for a dip each.
pub fn lines() -> Vec<Clip> {
    let hum = |n: u32| 0.2 * (TAU * n as f32 / 218.0).sin() * (n as f32 / 20_000.0).min(1.0);
    let samples: std::sync::Arc<[f32]> = (0..48_000).map(hum).collect();
    let mut clips = Vec::new();
    for line in 1..=12_u64 {
        let at = FrameAt::new(line * 9 * STEP);
        let samples = samples.clone();
        clips.push(Clip {
            id: line,
            at,
            samples,
        });
        clips.push(Tone::End.clip(Tones::Clear, 100 + line, at + Frames::new(5 * STEP)));
    }
    clips
}
