//! How fast the mixer is, how much of its buffer a callback takes, how soon a hold is silent.
//!
//! Prints ratios, which travel between machines better than times do. The last one needs
//! PulseAudio, and plays through a server of its own.
#![expect(
    clippy::disallowed_methods,
    reason = "measures time, and writes files to do so"
)]

use std::env;
use std::f32::consts::TAU;
use std::hint::black_box;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Duration;
use std::time::Instant;

use rtrb::RingBuffer;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::CAPACITY;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Master;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Bits;
use sidevoice::sound::out::Format;
use sidevoice::sound::out::Host;
use sidevoice::sound::out::Loudspeaker;
use sidevoice::sound::out::Offline;
use sidevoice::sound::out::OfflineBed;
use sidevoice::sound::out::Options;
use sidevoice::sound::out::SoundFile;
use sidevoice::sound::out::write_sound;

#[path = "row.rs"]
mod row;

use row::row;

#[path = "../it/sound/pulse.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod pulse;

const RATE: u64 = 48_000;

/// Set for the process that plays while this one listens.
const PLAYER: &str = "SIDEVOICE_BENCH_PLAYER";

fn main() {
    if let Ok(gap) = env::var(PLAYER) {
        return play(gap.parse().unwrap_or(0));
    }
    let hour = session(3600);
    let length = Frames::new(3600 * RATE);
    let begun = Instant::now();
    let mut offline = Offline::new(hour.clone(), length);
    while let Some(block) = offline.next_block() {
        black_box(block);
    }
    let ratio = 3600.0 / begun.elapsed().as_secs_f64();
    row("mixing an hour", "", format!("{ratio:.0} x real time"));
    // On one core; a folder is rendered on all, and is to come to 150 for MP3 on two.
    for (format, bits, name, aim) in [
        (Format::Wav, Bits::Sixteen, "16 bit", ""),
        (Format::Wav, Bits::TwentyFour, "24 bit", ""),
        (Format::Flac, Bits::Sixteen, "FLAC", ""),
        (Format::Opus, Bits::Sixteen, "Opus", ""),
        (Format::Mp3, Bits::Sixteen, "MP3", "75 x real time"),
    ] {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let sound = SoundFile {
            format,
            bits,
            ..SoundFile::default()
        };
        let begun = Instant::now();
        let path = folder.path().join("session");
        write(&path, &sound, hour.clone(), length);
        let ratio = 3600.0 / begun.elapsed().as_secs_f64();
        row(
            &format!("mixing and writing an hour, {name}, synced to the disk"),
            aim,
            format!("{ratio:.0} x real time"),
        );
    }
    let begun = Instant::now();
    let mut offline = Offline::with_bed(hour.clone(), length, loud_bed());
    while let Some(block) = offline.next_block() {
        black_box(block);
    }
    let ratio = 3600.0 / begun.elapsed().as_secs_f64();
    row(
        "mixing an hour over a bed, with dips and limiter",
        "300 x real time",
        format!("{ratio:.0} x real time"),
    );
    share_of_a_core();
    callbacks(480, false);
    callbacks(480, true);
    callbacks(960, false);
    holds();
}

/// A bed that asks for dips and for the limiter: noise with a beat, its level moved each minute.
fn loud_bed() -> OfflineBed {
    let mut number = 0;
    let aim = |minute: u64| {
        let aim = BedAim {
            level: Db::new(if minute.is_multiple_of(2) { 6.0 } else { 2.0 }),
            fade: Millis::from_secs(2),
            plays: BedPlays::WithTheClock,
        };
        (FrameAt::new(minute * 60 * RATE), aim)
    };
    OfflineBed {
        blocks: Box::new(move || {
            number += 1;
            Some(bed_block(number))
        }),
        aims: (0..60).map(aim).collect(),
    }
}

/// Noise that is loud twice a second.
fn bed_block(number: u32) -> BedBlock {
    let level = if number % 50 < 10 { 0.5 } else { 0.2 };
    let mut state = number.wrapping_mul(747_796_405);
    let mut sample = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        level * (state as f32 / u32::MAX as f32 * 2.0 - 1.0)
    };
    BedBlock {
        frames: std::array::from_fn(|_| [sample(), sample()]),
        loudness: -14.0,
    }
}

/// What a class with a bed costs in real time: ten minutes in buffers of 960 frames, as fast as it goes.
fn share_of_a_core() {
    let (mut ring, blocks) = RingBuffer::new(300);
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 512);
    let mut master = Master::new(mixer.with_bed(blocks));
    desk.tell(Command::Bed(loud_bed().aims[0].1)).expect("room");
    desk.tell(Command::Play).expect("room");
    for clip in session(600) {
        desk.feed(clip).expect("room");
    }
    let mut out = vec![0.0; 960 * 2];
    let mut busy = Duration::ZERO;
    let mut number = 0;
    for _ in 0..600 * RATE / 960 {
        while ring.slots() > 0 {
            number += 1;
            let _ = ring.push(bed_block(number));
        }
        let begun = Instant::now();
        master.fill(&mut out);
        busy += begun.elapsed();
        while desk.finished().is_some() {}
    }
    row(
        "mixer with bed, dips and limiter at 960 frames, part of one core",
        "2 % with two outputs",
        format!("{:.2} %", 100.0 * busy.as_secs_f64() / 600.0),
    );
}

/// An hour's clips: two thirds of the time is speech, 3 s at a time.
fn session(seconds: u64) -> Vec<Clip> {
    let samples: std::sync::Arc<[f32]> = (0..3 * RATE).map(wave).collect();
    let clip = |id: u64| Clip {
        id,
        at: FrameAt::new(id * RATE * 9 / 2),
        samples: samples.clone(),
    };
    (0..seconds * 2 / 9).map(clip).collect()
}

fn wave(index: u64) -> f32 {
    0.25 * (TAU * (index % 48) as f32 / 48.0 + 0.1).sin()
}

fn write(path: &Path, sound: &SoundFile, clips: Vec<Clip>, length: Frames) {
    let mut go_on = |_| ControlFlow::Continue(());
    write_sound(path, sound, Offline::new(clips, length), &mut go_on).expect("a file");
}

/// The longest and the median callback as a part of the buffer's time, in the worst case that the
/// desk allows: full, with four clips at once and a command each time.
fn callbacks(frames: usize, with_bed: bool) {
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    let (mut ring, blocks) = RingBuffer::new(300);
    let mut master = match with_bed {
        true => Master::new(mixer.with_bed(blocks)),
        false => Master::new(mixer),
    };
    desk.tell(Command::Bed(loud_bed().aims[0].1)).expect("room");
    let mut out = vec![0.0; frames * 2];
    let samples: std::sync::Arc<[f32]> = (0..RATE / 2).map(wave).collect();
    let buffer = Duration::from_secs_f64(frames as f64 / RATE as f64);
    let mut times = Vec::new();
    for round in 0..20_000_u64 {
        let at = desk.status().position.index();
        while desk.room() > 0 {
            let id = round + desk.room() as u64;
            let at = FrameAt::new(at + desk.room() as u64 * 6000);
            let samples = samples.clone();
            desk.feed(Clip { id, at, samples }).expect("room");
        }
        let command = match round % 50 {
            20 => Command::Hold,
            40 => Command::Jump(FrameAt::new(round)),
            _ => Command::Play,
        };
        desk.tell(command).expect("room");
        while with_bed && ring.slots() > 0 {
            let _ = ring.push(bed_block(round as u32));
        }
        let begun = Instant::now();
        master.fill(&mut out);
        times.push(begun.elapsed());
        while desk.finished().is_some() {}
    }
    times.sort();
    let part = |time: Duration| 100.0 * time.as_secs_f64() / buffer.as_secs_f64();
    row(
        &format!(
            "callback of {frames} frames{}, part of its buffer: median, 99.9th percentile, worst",
            if with_bed {
                " with bed and limiter"
            } else {
                ""
            },
        ),
        if frames == 480 {
            "worst under 25 %"
        } else {
            ""
        },
        format!(
            "{:.3} %, {:.2} %, {:.2} %",
            part(times[times.len() / 2]),
            part(times[times.len() - times.len() / 1000 - 1]),
            part(times[times.len() - 1]),
        ),
    );
}

/// From the call of a hold to silence, as heard from a real sound server.
///
/// The call is placed at what is recorded when the player says so; since the recorder lags behind,
/// by 5 ms and more, the truth is that much shorter.
fn holds() {
    let server = pulse::Server::start();
    let recorder = server.record();
    let mut times = Vec::new();
    for round in 0..21_u64 {
        let from = recorder.len();
        // A gap of its own each time, so that a hold comes anywhere between two callbacks.
        let mut player = server
            .command(env::current_exe().expect("this program"))
            .env(PLAYER, (300 + round * 7).to_string())
            .stdout(std::process::Stdio::piped())
            .spawn()
            .expect("this program");
        let mut lines = std::io::BufRead::lines(std::io::BufReader::new(
            player.stdout.take().expect("a pipe"),
        ));
        let held = lines.next().map(|_| recorder.len());
        let _ = player.wait();
        recorder.wait_more(4800);
        let recording = recorder.samples();
        let last = recording[from..].iter().rposition(|it| *it != 0.0);
        if let (Some(held), Some(last)) = (held, last) {
            times.push(((from + last) as f64 - held as f64) * 1000.0 / RATE as f64);
        }
    }
    times.sort_by(f64::total_cmp);
    row(
        "hold to silence at 960 frames, recorded from a null sink: median, range",
        "60 ms",
        format!(
            "{:.0} ms, {:.0} to {:.0} ms",
            times[times.len() / 2],
            times[0],
            times[times.len() - 1],
        ),
    );
}

/// Plays for so many ms, says so, holds.
fn play(gap: u64) {
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    let samples = (0..5 * RATE).map(wave).collect();
    let at = FrameAt::START;
    desk.feed(Clip { id: 1, at, samples }).expect("room");
    let options = Options {
        host: Host::Server,
        ..Options::default()
    };
    let _loudspeaker = Loudspeaker::open(mixer, options).expect("a sound server");
    desk.tell(Command::Play).expect("room");
    std::thread::sleep(Duration::from_millis(gap));
    println!("hold");
    desk.tell(Command::Hold).expect("room");
    std::thread::sleep(Duration::from_millis(300));
}
