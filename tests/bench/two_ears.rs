//! What an ear beside the room costs, over a loud bed that is dipped and limited: both callbacks' share of a core,
//! and the longest of them.
//!
//! Prints ratios, which travel between machines better than times do.
#![expect(clippy::disallowed_methods, reason = "measures time")]

use std::f32::consts::TAU;
use std::hint::black_box;
use std::sync::Arc;
use std::time::Duration;
use std::time::Instant;

use rtrb::Producer;
use rtrb::RingBuffer;
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
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::Mixer;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Channel;
use sidevoice::sound::out::Following;
use sidevoice::sound::out::Leading;
use sidevoice::sound::out::Sides;
use sidevoice::sound::out::Source;

#[path = "row.rs"]
mod row;

use row::row;

/// Frames a buffer, and the seconds that are played.
const BUFFER: usize = 480;
const SECONDS: u64 = 600;
const RATE: u64 = 48_000;

fn main() {
    let (mut desks, [room, ear], mut bed) = pair(2);
    let leading = Leading::new(room);
    let following = Following::new(ear.into(), leading.clock(), 2).expect("a resampler");
    let sources: Vec<Box<dyn Source>> = vec![Box::new(leading), Box::new(following)];
    let what = "a room over a bed, and an ear on a device of its own";
    measure(what, &mut desks, &mut bed, sources);
    let (mut desks, [room, ear], mut bed) = pair(1);
    let sides = Sides::new(room.into(), ear.into(), Channel::Left);
    let what = "a room over a bed, and an ear on one channel";
    measure(what, &mut desks, &mut bed, vec![Box::new(sides)]);
}

/// A room with a bed, and an ear that is ahead of it; with the end of the ring that the bed comes from.
fn pair(channels: u16) -> ([Desk; 2], [Mixer; 2], Producer<BedBlock>) {
    let (room_desk, room) = desk_and_mixer(SampleRate::OUTPUT, channels, CAPACITY);
    let (ear_desk, ear) = desk_and_mixer(SampleRate::OUTPUT, 1, CAPACITY);
    let ear = ear.ahead_of(&room_desk, Millis::from_ms(1500));
    let (bed, blocks) = RingBuffer::new(64);
    ([room_desk, ear_desk], [room.with_bed(blocks), ear], bed)
}

/// So loud a bed that it has to be dipped and limited.
fn block(number: u64) -> BedBlock {
    let frame = |n: usize| {
        let turn = TAU * ((number * BED_BLOCK as u64 + n as u64) % 64) as f32 / 64.0;
        [0.9 * turn.sin(), 0.8 * turn.cos()]
    };
    BedBlock {
        frames: std::array::from_fn(frame),
        loudness: -6.0,
    }
}

/// Plays ten minutes of which two thirds are speech.
fn measure(
    what: &str,
    desks: &mut [Desk; 2],
    bed: &mut Producer<BedBlock>,
    mut sources: Vec<Box<dyn Source>>,
) {
    let wave = |index: u64| 0.25 * (TAU * (index % 48) as f32 / 48.0 + 0.1).sin();
    let samples: Arc<[f32]> = (0..3 * RATE).map(wave).collect();
    let aim = BedAim {
        level: Db::new(6.0),
        fade: Millis::from_ms(500),
        plays: BedPlays::WithTheClock,
    };
    desks[0].tell(Command::Bed(aim)).expect("room");
    for desk in desks.iter_mut() {
        desk.tell(Command::Play).expect("room");
    }
    let mut blocks = 0;
    let mut out = vec![0.0; BUFFER * 2];
    let (mut times, mut fed) = (Vec::new(), 0);
    for round in 0..SECONDS * RATE / BUFFER as u64 {
        while fed * RATE * 9 / 2 < round * BUFFER as u64 + 30 * RATE {
            for desk in desks.iter_mut() {
                let (at, samples) = (FrameAt::new(fed * RATE * 9 / 2), samples.clone());
                desk.feed(Clip {
                    id: fed,
                    at,
                    samples,
                })
                .expect("room");
            }
            fed += 1;
        }
        while bed.slots() > 0 {
            // There is room.
            let _ = bed.push(block(blocks));
            blocks += 1;
        }
        let now = Duration::from_millis(10 * round);
        for source in &mut sources {
            let frames = BUFFER * usize::from(source.channels());
            let begun = Instant::now();
            source.fill(now, &mut out[..frames]);
            times.push(begun.elapsed());
            black_box(&out);
        }
        for desk in desks.iter_mut() {
            while desk.finished().is_some() {}
        }
    }
    let all: Duration = times.iter().sum();
    times.sort();
    let buffer = BUFFER as f64 / RATE as f64;
    let part = |time: Duration| 100.0 * time.as_secs_f64() / buffer;
    row(
        &format!("{what}, share of one core in real time"),
        "2 %",
        format!("{:.2} %", 100.0 * all.as_secs_f64() / SECONDS as f64),
    );
    row(
        &format!("{what}, callback of {BUFFER} frames: 99.9th percentile, worst"),
        "worst under 25 %",
        format!(
            "{:.2} %, {:.2} %",
            part(times[times.len() - times.len() / 1000 - 1]),
            part(times[times.len() - 1])
        ),
    );
}
