//! What listening through a microphone costs, as a part of one core.
//!
//! Two figures: the ear alone, on a minute of speech-like sound; and the whole path, from a real sound server
//! through the callback, the ring and the ear, by the processor time of this process.
#![expect(
    clippy::disallowed_methods,
    reason = "measures time, and starts a sound server to do so"
)]

use std::env;
use std::f32::consts::TAU;
use std::fs;
use std::hint::black_box;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use sidevoice::base::units::SampleRate;
use sidevoice::rehearse::ear::Ear;
use sidevoice::sound::microphone::Microphone;
use sidevoice::sound::microphone::Options;
use sidevoice::sound::out::Host;

#[path = "row.rs"]
mod row;

use row::row;

#[path = "../it/sound/pulse.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod pulse;

/// Set for the process that listens.
const LISTENER: &str = "SIDEVOICE_BENCH_LISTENER";

/// How long it listens.
const LISTENING: Duration = Duration::from_secs(20);

/// Ticks of processor time a second: the same on every Linux (`man 7 time`).
const TICKS: f64 = 100.0;

fn main() {
    if env::var_os(LISTENER).is_some() {
        return listen();
    }
    for hz in [16_000, 48_000, 192_000] {
        let samples: Vec<f32> = (0..hz * 60).map(|n| buzz(n, hz)).collect();
        let mut ear = Ear::new(SampleRate::from_hz(hz)).expect("a rate of microphones");
        let begun = Instant::now();
        for chunk in samples.chunks(hz as usize / 50) {
            black_box(ear.push(chunk));
        }
        let share = 100.0 * begun.elapsed().as_secs_f64() / 60.0;
        row(
            &format!("finding speech at {hz} Hz, part of one core"),
            "",
            format!("{share:.2} %"),
        );
    }
    let server = pulse::Server::start();
    let heard = server
        .command(env::current_exe().expect("this program"))
        .env(LISTENER, "1")
        .output()
        .expect("this program");
    row(
        "microphone to spans at 48 kHz through a sound server, part of one core",
        "3 %",
        String::from_utf8_lossy(&heard.stdout).trim(),
    );
}

/// Syllables of a buzz with pauses: what keeps an ear busy.
fn buzz(n: u32, hz: u32) -> f32 {
    let t = n as f32 / hz as f32;
    let syllable = (TAU * 2.5 * t).sin().max(0.0) * f32::from(u8::from(t % 4.0 < 2.5));
    let tones = (1..20).map(|over| (TAU * (120.0 * t * over as f32).fract()).sin() / over as f32);
    0.1 * syllable * tones.sum::<f32>()
}

/// Listens as a rehearsal does and prints its processor time.
fn listen() {
    let options = Options {
        host: Host::Server,
        device: None,
    };
    let mut microphone = Microphone::open(options).expect("a microphone");
    let mut ear = Ear::new(microphone.rate()).expect("a rate of microphones");
    let mut samples = Vec::new();
    let (begun, used) = (Instant::now(), processor_time());
    while begun.elapsed() < LISTENING {
        samples.clear();
        microphone.poll(&mut samples);
        black_box(ear.push(&samples));
        thread::sleep(Duration::from_millis(50));
    }
    let used = processor_time() - used;
    println!("{:.1} %", 100.0 * used / begun.elapsed().as_secs_f64());
}

/// Seconds of processor time of this process, all its threads (`man 5 proc`: fields 14 and 15).
fn processor_time() -> f64 {
    let text = fs::read_to_string("/proc/self/stat").expect("Linux");
    let after = text.rsplit(')').next().unwrap_or_default();
    let fields = after.split_whitespace().skip(11).take(2);
    fields.filter_map(|it| it.parse::<f64>().ok()).sum::<f64>() / TICKS
}
