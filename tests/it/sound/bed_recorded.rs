//! The bed as it is heard: recorded in real time from what a sound server plays.

use sidevoice::base::units::Db;
use sidevoice::sound::mix::Clip;

use super::player::BED_LEFT;
use super::player::Player;
use super::player::lines;
use super::pulse::Recorder;
use super::pulse::Server;

/// Frames a buffer: on a busy machine smaller ones slip, and the sound server does not say so.
const BUFFER: u32 = 2048;

const MS: usize = 48;

/// What is recorded: the bed's gain, and all else.
struct Heard {
    gains: Vec<f32>,
    clips: Vec<f32>,
}

impl Heard {
    fn of(recording: &[f32]) -> Self {
        let frames = recording.as_chunks::<2>().0.iter();
        let both = |it: &[f32; 2]| ((it[0] - it[1]) / (2.0 * BED_LEFT), (it[0] + it[1]) / 2.0);
        let (gains, clips) = frames.map(both).unzip();
        Heard { gains, clips }
    }
}

/// A clip with the place of its first audible sample, in it and in the session.
struct Line {
    clip: Clip,
    lead: usize,
    onset: usize,
}

fn in_order() -> Vec<Line> {
    let line = |clip: Clip| {
        let lead = clip.samples.iter().position(|it| it.abs() > 0.01).unwrap();
        let onset = clip.at.index() as usize + lead;
        Line { clip, lead, onset }
    };
    let mut lines: Vec<Line> = lines().into_iter().map(line).collect();
    lines.sort_by_key(|line| line.onset);
    lines
}

/// Waits until so much of the session must have been heard.
fn hear(recorder: &Recorder, frames: usize) -> Heard {
    recorder.wait_more(2 * frames);
    Heard::of(&recorder.samples())
}

/// Finds the place from which on something is heard again after 100 ms of silence.
fn onset_after(clips: &[f32], from: usize) -> usize {
    let mut quiet = 0;
    for (index, sample) in clips.iter().enumerate().skip(from) {
        match sample.abs() > 0.01 {
            true if quiet >= 100 * MS => return index,
            true => quiet = 0,
            false => quiet += 1,
        }
    }
    panic!("nothing more is heard");
}

/// Checks a sound in the recording: there from its first audible sample on, and the bed in time. A machine
/// that is busy may slip inside the window: then this is false.
fn is_right(heard: &Heard, onset: usize, line: &Line) -> bool {
    let audible = &line.clip.samples[line.lead..line.lead + 90 * MS];
    let first = &heard.clips[onset..onset + audible.len()];
    let whole = first.iter().zip(audible).all(|(a, b)| (a - b).abs() < 1e-4);
    // Back to where the bed is still up.
    let up = |db: f32| {
        let level = Db::new(db).gain();
        let last = heard.gains[..onset].iter().rposition(|it| *it >= level);
        (onset - last.unwrap()) / MS
    };
    let ahead = [up(-0.02), up(-1.0), up(-3.0)];
    let during = &heard.gains[onset - 40 * MS..onset + 90 * MS];
    let down = during.iter().all(|it| *it < Db::new(-11.9).gain());
    println!(
        "{}: whole {whole}, dips {ahead:?} ms ahead, down {down}",
        line.clip.id
    );
    whole && down && ahead.iter().all(|it| (200..=300).contains(it))
}

#[test]
fn dips_begin_200_to_300_ms_before_each_onset_and_no_first_sample_is_lost() {
    let server = Server::start();
    let recorder = server.record_sides("cap");
    let mut player = Player::start(&server, "bed", BUFFER);
    player.wait_for("open");
    player.tell("play");
    let lines = in_order();
    let of = 6;
    let heard = hear(&recorder, lines[of].onset + 48_000);
    let mut right = 0;
    let mut from = 0;
    for line in &lines[..of] {
        let onset = onset_after(&heard.clips, from);
        right += usize::from(is_right(&heard, onset, line));
        from = onset;
    }
    assert!(right * 3 >= of * 2, "{right} of {of}");
    // Between them the bed comes up again, and no step of it is heard.
    assert!(heard.gains.iter().any(|it| *it > 0.999));
    let steps = heard
        .gains
        .windows(2)
        .filter(|it| (it[1] - it[0]).abs() > 0.001);
    assert!(steps.count() <= 2, "more clicks than slips");
}

#[test]
fn the_bed_comes_back_with_its_device_and_dips_for_the_next_sound() {
    let server = Server::start();
    let recorder = server.record_sides("cap");
    let mut player = Player::start(&server, "bed", BUFFER);
    player.wait_for("open");
    player.tell("play");
    let heard = hear(&recorder, 2 * 48_000);
    assert!(*heard.gains.last().unwrap() > 0.999);
    server.remove_sink();
    let lost = player.wait_for("lost");
    let at: usize = lost.split(' ').next().unwrap().parse().unwrap();
    server.add_sink();
    player.wait_for("back");
    let recorder = server.record_sides("cap");
    let silent = hear(&recorder, 12_000);
    assert!(
        silent.gains.iter().all(|it| *it == 0.0),
        "plays without being told"
    );
    player.tell("play");
    let lines = in_order();
    let next = lines.iter().find(|line| line.onset > at).unwrap();
    let heard = hear(&recorder, next.onset - at + 3 * 48_000);
    // By a fade, and the next line is there from its first sample.
    let first = heard.gains.iter().position(|it| *it != 0.0).unwrap();
    let rise = &heard.gains[first..first + 300 * MS];
    assert!(rise[0] < 0.01 && rise.windows(2).all(|it| it[1] > it[0] - 1e-5));
    let onset = onset_after(&heard.clips, first);
    assert!(is_right(&heard, onset, next));
    player.tell("close");
    assert!(player.wait_for_end());
}
