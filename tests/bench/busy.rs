//! Plays beside four busy loops for ten minutes, or as many as its argument says, and counts underruns.
//!
//! All that plays in a class plays: clips, tones, a bed with its dips, the limiter, in buffers of 2048
//! frames, into the null sink of a sound server of its own. A sound server does not tell an underrun:
//! it is found in the recording, as silence within a bed that never is silent.
#![expect(
    clippy::disallowed_methods,
    reason = "measures time and starts processes"
)]

use std::env;
use std::f32::consts::TAU;
use std::hint::black_box;
use std::process::Child;
use std::process::Command as Process;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

use rtrb::RingBuffer;
use sidevoice::base::tones::Tones;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::BED_BLOCK;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::CAPACITY;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Tone;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Host;
use sidevoice::sound::out::Loudspeaker;
use sidevoice::sound::out::Options;

#[path = "row.rs"]
mod row;

#[path = "../it/sound/pulse.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod pulse;

const RATE: u64 = 48_000;

/// Set for the processes that this one starts: what they are to do, and for how many seconds.
const ROLE: &str = "SIDEVOICE_BENCH_BUSY";
const SECONDS: &str = "SIDEVOICE_BENCH_SECONDS";

/// Frames a buffer.
const BUFFER: u32 = 2048;

/// Loops that do nothing but keep a core busy.
const LOOPS: usize = 4;

/// A run of so many zeros is silence: the bed crosses zero, and does not stay there.
const SILENCE: usize = 8;

fn main() {
    let seconds = |value: String| value.parse().unwrap_or(0.0);
    let given = env::var(SECONDS).map_or(0.0, seconds);
    match env::var(ROLE).as_deref() {
        Ok("loop") => return spin(given),
        Ok(_) => return play(given),
        Err(_) => {}
    }
    let minutes = env::args().skip(1).find_map(|it| it.parse::<f64>().ok());
    measure(minutes.unwrap_or(10.0) * 60.0);
}

/// A child that ends with its owner.
struct Helper(Child);

impl Helper {
    fn start(mut command: Process, role: &str, seconds: f64) -> Self {
        command.env(ROLE, role).env(SECONDS, seconds.to_string());
        Helper(command.stdin(Stdio::null()).spawn().expect("this program"))
    }
}

impl Drop for Helper {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn measure(seconds: f64) {
    let server = pulse::Server::start();
    let recorder = server.record();
    let this = env::current_exe().expect("this program");
    let _loops: Vec<Helper> = (0..LOOPS)
        .map(|_| Helper::start(Process::new(&this), "loop", seconds + 60.0))
        .collect();
    let _player = Helper::start(server.command(&this), "player", seconds + 60.0);
    recorder.wait_for("the bed", |samples| {
        samples
            .iter()
            .rev()
            .take(4800)
            .all(|it| *it != 0.0)
            .then_some(())
    });
    let from = recorder.len();
    let goal = from + (seconds * RATE as f64) as usize;
    while recorder.len() < goal {
        recorder.wait_more(2 * RATE as usize);
    }
    let gaps = recorder.wait_for("the recording", |samples| {
        Some(silences(&samples[from..goal]))
    });
    let longest = gaps.iter().max().copied().unwrap_or(0);
    row::row(
        &format!(
            "underruns in {:.0} min beside {LOOPS} busy loops on {} cores, {BUFFER} frames, with a bed",
            seconds / 60.0,
            std::thread::available_parallelism().map_or(0, usize::from),
        ),
        "0",
        match gaps.len() {
            0 => "0".to_owned(),
            count => format!("{count}, the longest {:.0} ms", longest as f64 / 48.0),
        },
    );
}

/// The lengths of the silences in what should have none.
fn silences(samples: &[f32]) -> Vec<usize> {
    let mut found = Vec::new();
    let mut run = 0;
    for sample in samples {
        if *sample == 0.0 {
            run += 1;
            continue;
        }
        if run >= SILENCE {
            found.push(run);
        }
        run = 0;
    }
    found
}

/// Keeps a core busy.
fn spin(seconds: f64) {
    let begun = Instant::now();
    let mut sum = 0_u64;
    while begun.elapsed().as_secs_f64() < seconds {
        for n in 0..100_000 {
            sum = black_box(sum.wrapping_mul(31).wrapping_add(n));
        }
    }
}

/// Plays as a class does: a second of sound each three seconds, a tone after it, over a bed.
fn play(seconds: f64) {
    let begun = Instant::now();
    let (mut ring, blocks) = RingBuffer::new(300);
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    let wave = |n: u64| 0.3 * (TAU * (n % 96) as f32 / 96.0 + 0.1).sin();
    let samples: std::sync::Arc<[f32]> = (0..RATE).map(wave).collect();
    let options = Options {
        host: Host::Server,
        buffer: BUFFER,
        ..Options::default()
    };
    let _loudspeaker = Loudspeaker::open(mixer.with_bed(blocks), options).expect("a sound server");
    let aim = BedAim {
        level: Db::new(-3.0),
        fade: Millis::from_ms(500),
        plays: BedPlays::WithTheClock,
    };
    desk.tell(Command::Bed(aim)).expect("room");
    desk.tell(Command::Play).expect("room");
    let mut made = 0_u64;
    let mut fed = 1_u64;
    while begun.elapsed().as_secs_f64() < seconds {
        while ring.slots() > 0 {
            let frame = |n: usize| {
                let turn = TAU * ((made + n as u64) % 64) as f32 / 64.0 + 0.05;
                [0.2 * turn.sin(), 0.15 * turn.sin()]
            };
            let frames = std::array::from_fn(frame);
            let _ = ring.push(BedBlock {
                frames,
                loudness: -18.0,
            });
            made += BED_BLOCK as u64;
        }
        // Half a minute ahead, as a class feeds.
        while fed * 3 * RATE < desk.status().position.index() + 30 * RATE {
            let at = FrameAt::new(fed * 3 * RATE);
            let samples = samples.clone();
            desk.feed(Clip {
                id: fed,
                at,
                samples,
            })
            .expect("room");
            let mark = FrameAt::new(fed * 3 * RATE + 2 * RATE);
            desk.feed(Tone::Start.clip(Tones::Clear, fed, mark))
                .expect("room");
            fed += 1;
        }
        while desk.finished().is_some() {}
        std::thread::sleep(Duration::from_millis(20));
    }
}
