//! A bed below spoken lines: rendered, and measured by ffmpeg with and without it.

#![expect(clippy::disallowed_methods, reason = "says how long it took")]

use std::time::Instant;

use sidevoice::base::tones::Tones;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::base::units::Millis;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Tone;
use sidevoice::sound::out::Offline;
use sidevoice::sound::out::OfflineBed;

use super::music;
use crate::measured::Measured;
use crate::speech;

const SECOND: u64 = 48_000;

/// How long the session is, in seconds.
const LENGTH: u64 = 60;

/// Lines, and where they are heard: frames.
struct Spoken {
    clips: Vec<Clip>,
    heard: Vec<(usize, usize)>,
}

/// Lines at these places, in ms: some close to one another, some in the verse and some in the chorus.
const LINES: [(u64, &str); 9] = [
    (3000, "Rest. Next: press-up, hands on the bench."),
    (10_000, "Set your hands under your shoulders, fingers wide."),
    (14_000, "Lower slowly."),
    (22_500, "Breathe out as you push."),
    (30_000, "Back flat from head to tail."),
    (37_000, "three"),
    (38_000, "two"),
    (39_000, "one"),
    (52_000, "Put the weights down. Walk it off. Breathe."),
];

/// A start tone after the count, and an end tone.
const TONES: [(u64, Tone); 2] = [(40_000, Tone::Start), (47_000, Tone::End)];

fn spoken() -> Spoken {
    let folder = tempfile::tempdir().unwrap();
    let speaker = speech::named("compact", folder.path());
    let texts = LINES.map(|(_, text)| text);
    let mut spoken = Spoken {
        clips: Vec::new(),
        heard: Vec::new(),
    };
    let takes = speech::all(speaker.takes(&speech::utterances(&texts)));
    for (take, (id, (ms, _))) in takes.into_iter().zip((0..).zip(LINES)) {
        let at = ms * 48 - take.onset.count();
        let heard = at + take.onset.count()..at + take.end.count();
        spoken
            .heard
            .push((heard.start as usize, heard.end as usize));
        let at = FrameAt::new(at);
        let samples = take.samples;
        spoken.clips.push(Clip { id, at, samples });
    }
    for (ms, tone) in TONES {
        spoken
            .clips
            .push(tone.clip(Tones::Clear, ms, FrameAt::new(ms * 48)));
    }
    spoken
}

/// Renders the lines, over a bed of this level where there is one; returns stereo frames.
fn render(clips: &[Clip], level: Option<f32>, music: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let length = Frames::new(LENGTH * SECOND);
    let mut offline = match level {
        None => Offline::new(clips.to_vec(), length),
        Some(level) => {
            let mut blocks = music::blocks(music).into_iter();
            let aim = |level, fade| BedAim {
                level: Db::new(level),
                fade: Millis::from_ms(fade),
                plays: BedPlays::WithTheClock,
            };
            let bed = OfflineBed {
                blocks: Box::new(move || blocks.next()),
                // Told in the wrong order: from the first frame on, and out at the end.
                aims: vec![
                    (FrameAt::new(57 * SECOND), aim(f32::NEG_INFINITY, 2000)),
                    (FrameAt::START, aim(level, 500)),
                ],
            };
            Offline::with_bed(clips.to_vec(), length, bed)
        }
    };
    let mut out: Vec<f32> = Vec::new();
    while let Some(block) = offline.next_block() {
        out.extend_from_slice(block);
    }
    assert_eq!(offline.lost(), 0);
    out.as_chunks::<2>().0.to_vec()
}

/// The frames of these spans, joined.
fn joined(frames: &[[f32; 2]], spans: &[(usize, usize)]) -> Vec<[f32; 2]> {
    let cut = |(from, to): &(usize, usize)| frames[*from..*to].iter().copied();
    spans.iter().flat_map(cut).collect()
}

/// Speech at least 10 LU over the bed: Torcoli et al. 2019, doi 10.17743/jaes.2019.0052. At most
/// -1 dBTP: AES TD1008. The bed at -12 LU, and as loud as speech.
#[test]
fn speech_stands_10_lu_over_a_bed_of_any_level_and_the_whole_below_the_ceiling() {
    let music = music::music(LENGTH as u32 + 5);
    let spoken = spoken();
    let without = render(&spoken.clips, None, &music);
    for level in [-7.0, 5.0] {
        let begun = Instant::now();
        let with = render(&spoken.clips, Some(level), &music);
        println!("rendered in {:?}", begun.elapsed());
        let bed: Vec<[f32; 2]> = with
            .iter()
            .zip(&without)
            .map(|(with, without)| [with[0] - without[0], with[1] - without[1]])
            .collect();
        let whole = Measured::of_frames(&with);
        println!(
            "{level} dB: {whole:?}, without {:?}",
            Measured::of_frames(&without)
        );
        assert!(whole.true_peak_dbtp <= -1.0, "{whole:?}");
        let speech = Measured::of_frames(&joined(&without, &spoken.heard));
        let below = Measured::of_frames(&joined(&bed, &spoken.heard));
        println!("{level} dB: lines {speech:?} over {below:?}");
        assert!(
            speech.integrated_lufs - below.integrated_lufs >= 10.0,
            "{speech:?} {below:?}"
        );
        for span in spoken.heard.iter().filter(|(from, to)| to - from > 24_000) {
            let below = Measured::of_frames(&joined(&bed, &[*span]));
            assert!(below.loudest_momentary_lufs <= -29.5, "{span:?}: {below:?}");
        }
        // Where nothing is said the bed is as loud as it was asked to be, over verse and chorus alike.
        let free = joined(
            &bed,
            &[(17 * 48_000, 22 * 48_000), (26 * 48_000, 29 * 48_000)],
        );
        let wanted = joined(
            &bed_alone(level, &music),
            &[(17 * 48_000, 22 * 48_000), (26 * 48_000, 29 * 48_000)],
        );
        let off = Measured::of_frames(&free).integrated_lufs
            - Measured::of_frames(&wanted).integrated_lufs;
        assert!(off.abs() <= 0.3, "{off} LU");
        // Out at the end.
        assert!(with[59 * 48_000 + 100..].iter().all(|it| *it == [0.0; 2]));
    }
}

/// The music at its level, as it would be heard without any dip.
fn bed_alone(level: f32, music: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let gain = Db::new(level).gain();
    music::blocks(music)
        .iter()
        .flat_map(|block| block.frames)
        .map(|frame| frame.map(|sample| gain * sample))
        .collect()
}

#[test]
fn the_same_bed_gives_the_same_bytes() {
    let music = music::music(LENGTH as u32);
    let spoken = spoken();
    let once = render(&spoken.clips, Some(-7.0), &music);
    assert!(once == render(&spoken.clips, Some(-7.0), &music));
}

/// A bed that is far too loud by itself, with the lines over it: what the limiter lets through, as a
/// meter reads it that is not the limiter's own.
#[test]
fn a_bed_that_is_far_too_loud_is_limited_to_1_dbtp_below_full_scale() {
    let music = music::music(LENGTH as u32 + 5);
    let spoken = spoken();
    for level in [15.0, 24.0] {
        let whole = Measured::of_frames(&render(&spoken.clips, Some(level), &music));
        println!("{level} dB: {whole:?}");
        assert!((-1.6..=-1.0).contains(&whole.true_peak_dbtp), "{whole:?}");
    }
}
