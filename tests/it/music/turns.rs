//! One track after the other: in order, without gaps, faded, the same each time, in bounded time.

use super::CROSS_FADE_SECS;
use super::Folder;
use super::SECOND;
use super::amplitude;
use super::frames;
use super::pull;
use sidevoice::sound::music::Bed;
use sidevoice::sound::music::Order;
use sidevoice::sound::music::Shelf;

/// Which of these frequencies is the loudest.
fn heard_of(frames: &[[f32; 2]], all: &[u32]) -> u32 {
    let loudest = all
        .iter()
        .max_by(|a, b| amplitude(frames, **a).total_cmp(&amplitude(frames, **b)));
    *loudest.unwrap()
}

#[test]
fn tracks_follow_by_name_and_each_fades_into_the_next_with_its_power_kept() {
    let folder = Folder::new();
    folder.sine("10 last.wav", 900, 0.1, 6.0);
    folder.sine("2 second.flac", 700, 0.5, 6.0);
    folder.sine("1 first.mp3", 500, 0.05, 6.0);
    let all = frames(&pull(&mut folder.bed(), 17 * SECOND));
    // Each is heard alone for two seconds: six less two to come in and two to go.
    for (second, hz) in [(1, 500), (3, 500), (6, 700), (7, 700), (10, 900), (14, 500)] {
        let part = &all[second * 48_000..(second + 1) * 48_000];
        assert_eq!(heard_of(part, &[500, 700, 900]), hz, "second {second}");
    }
    // In the middle of a cross-fade both are at half of their power: -3 dB each.
    let middle = &all[5 * 48_000 - 4800..5 * 48_000 + 4800];
    let alone = [
        amplitude(&all[48_000..96_000], 500),
        amplitude(&all[6 * 48_000..7 * 48_000], 700),
    ];
    for (hz, alone) in [500, 700].into_iter().zip(alone) {
        let part = amplitude(middle, hz) / alone;
        assert!((part - 0.707).abs() < 0.03, "{hz} Hz: {part}");
    }
    // No tick anywhere: a sine of 900 Hz at the level of all moves by no more than this from frame to frame.
    let most = all
        .windows(2)
        .map(|w| (w[1][0] - w[0][0]).abs())
        .fold(0.0, f32::max);
    assert!(most < 0.08 * 0.118 * 2.0, "{most}");
}

/// The period of a folder with one track is its length less the cross-fade, to the frame: nothing is added by
/// a coder, a resampler or a block.
#[test]
fn a_track_is_as_long_as_it_was_made() {
    for (name, rate, args) in [
        ("a.wav", 48_000, &[][..]),
        ("b.flac", 44_100, &[]),
        ("c.mp3", 44_100, &["-b:a", "192k"]),
        ("d.ogg", 48_000, &["-c:a", "libvorbis", "-q:a", "8"]),
        ("e.flac", 192_000, &[]),
    ] {
        let folder = Folder::new();
        // A chirp: it is like itself at no other time.
        let source = format!("aevalsrc='0.2*sin(2*PI*(200+100*t)*t)':s={rate}:d=6");
        folder.make(name, &source, args);
        let all = frames(&pull(&mut folder.bed(), 11 * SECOND));
        let period = (6 - CROSS_FADE_SECS) * 48_000;
        // Alone in the first pass from 2 s on, in the second from 6 s on.
        let first = &all[2 * 48_000 + 4800..4 * 48_000 - 4800];
        let at = |shift: usize| {
            let from = 2 * 48_000 + 4800 + period - 50 + shift;
            let second = &all[from..from + first.len()];
            first
                .iter()
                .zip(second)
                .map(|(a, b)| f64::from(a[0] - b[0]).powi(2))
                .sum::<f64>()
        };
        let best = (0..100).min_by(|a, b| at(*a).total_cmp(&at(*b))).unwrap();
        let off = best as i64 - 50;
        println!("{name}: the second pass begins {off} frames late");
        assert!(off.abs() <= 1, "{name}: {off} frames");
    }
}

#[test]
fn the_same_seed_gives_the_same_samples_and_another_one_another_order() {
    let folder = Folder::new();
    let tones = [400, 500, 600, 700, 800];
    for (n, hz) in tones.into_iter().enumerate() {
        folder.sine(&format!("{n}.flac"), hz, 0.1, 4.5);
    }
    let kept = Folder::new();
    let heard = |seed: u64, prepares: bool| {
        let shelf = Shelf {
            folder: folder.path().to_owned(),
            order: Order::Shuffled { seed },
        };
        let mut bed = Bed::open(shelf, Some(kept.at("music")));
        let mut all = Vec::new();
        for _ in 0..20 * SECOND {
            // Whether the next track is got ready ahead changes nothing that is heard.
            if prepares {
                bed.prepare();
            }
            all.push(bed.pull());
        }
        frames(&all)
    };
    // The second time what was measured is found, and gives the same.
    let first = heard(1, false);
    assert!(first == heard(1, true));
    let order = |all: &[[f32; 2]]| -> Vec<u32> {
        // Each is alone for half a second, from two seconds on; the next one comes in behind it.
        let alone = |n: usize| &all[n * 120_000 + 98_400..n * 120_000 + 117_600];
        (0..7).map(|n| heard_of(alone(n), &tones)).collect()
    };
    let mut round = order(&first)[..5].to_vec();
    round.sort_unstable();
    assert_eq!(
        round,
        tones,
        "each once before any comes again: {:?}",
        order(&first)
    );
    let orders: std::collections::HashSet<_> =
        (1..6).map(|seed| order(&heard(seed, false))).collect();
    assert!(orders.len() >= 4, "{orders:?}");
    // Measured once each, under the hash of what they hold.
    let entries = std::fs::read_dir(kept.at("music")).unwrap().count();
    assert_eq!(entries, 5);
    std::fs::copy(folder.at("0.flac"), folder.at("again.flac")).unwrap();
    drop(heard(1, true));
    assert_eq!(std::fs::read_dir(kept.at("music")).unwrap().count(), 5);
}

#[test]
fn another_shelf_fades_in_and_the_first_goes_on_where_it_was() {
    let (one, other) = (Folder::new(), Folder::new());
    one.make(
        "chirp.wav",
        "aevalsrc='0.2*sin(2*PI*(200+20*t)*t)':s=48000:d=60",
        &[],
    );
    other.sine("calm.wav", 3000, 0.1, 60.0);
    let mut bed = one.bed();
    let before = frames(&pull(&mut bed, 5 * SECOND));
    bed.switch(other.named());
    // Not ready is not waited for.
    let still = frames(&pull(&mut bed, SECOND));
    assert!(amplitude(&still, 3000) < 1e-3);
    while bed.prepare() {}
    let faded = frames(&pull(&mut bed, 4 * SECOND));
    assert!(
        amplitude(&faded[..4800], 3000) < 0.01,
        "from the next block on"
    );
    let (middle, end) = (&faded[43_200..52_800], &faded[96_000 + 4800..]);
    let full = amplitude(end, 3000);
    assert!((amplitude(middle, 3000) / full - 0.707).abs() < 0.03);
    assert!(bed.notices().is_empty());
    bed.switch(one.named());
    while bed.prepare() {}
    let back = frames(&pull(&mut bed, 3 * SECOND));
    // What lay ready when it was left is not heard: it goes on three seconds on.
    let wanted = |n: usize| {
        let t = n as f64 / 48_000.0;
        (std::f64::consts::TAU * (200.0 + 20.0 * t) * t).sin() as f32
    };
    let from = 48_000 * 2 + 24_000;
    let piece = &back[from..from + 4800];
    let alike = |at: usize| -> f32 {
        piece
            .iter()
            .enumerate()
            .map(|(n, frame)| frame[0] * wanted(at + n))
            .sum()
    };
    let expected = 48_000 * (5 + 1 + 3) + from;
    let best = (expected - 960..expected + 960).max_by(|a, b| alike(*a).total_cmp(&alike(*b)));
    let off = best.unwrap().abs_diff(expected);
    assert!(off <= 480, "{off} frames off");
    assert!(before.len() == 240_000);
}
