//! Speech is found where it is, in quiet and at 10 dB above pink noise.

use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::rehearse::ear::Span;

use super::coach::NEAR;
use super::coach::Scene;
use super::coach::mean_square;
use super::coach::takes;
use crate::speech::lines::LINES;

/// The most of the time without speech that may be called speech.
const FALSE: f64 = 0.02;

const VOICES: [&str; 3] = ["compact", "espeak-en", "hibari"];

#[test]
fn in_quiet_every_line_is_found_within_60_ms_of_its_start_and_end() {
    for voice in VOICES {
        let scene = Scene::of(&takes(voice, &LINES));
        let score = scene.score(&scene.heard());
        assert_eq!(score.missed, 0, "{voice}");
        for (off, line) in score.starts.iter().chain(&score.ends) {
            assert!(off.abs() <= NEAR, "{voice}: {off} ms at {:?}", LINES[*line]);
        }
        assert!(score.false_share <= FALSE, "{voice}: {}", score.false_share);
    }
}

/// A take begins and ends at -40 dBFS, a fifth of the noise here: what little lies further off than 60 ms was
/// softer than the noise, and nothing is found where nothing is.
#[test]
fn in_pink_noise_at_10_db_edges_are_found_within_60_ms_but_for_what_the_noise_covers() {
    let (mut near, mut edges) = (0, 0);
    for voice in VOICES {
        let scene = Scene::of(&takes(voice, &LINES));
        let (noisy, noise) = scene.in_noise(10.0);
        let score = noisy.score(&noisy.heard());
        assert_eq!(score.missed, 0, "{voice}");
        assert!(score.false_share <= FALSE, "{voice}: {}", score.false_share);
        let starts = score.starts.iter().map(|(off, line)| (*off, *line));
        let ends = score.ends.iter().map(|(off, line)| (-*off, *line));
        for (n, (late, line)) in starts.chain(ends).enumerate() {
            let text = LINES[line];
            assert!(late >= -NEAR, "{voice}: {late} ms too much at {text:?}");
            edges += 1;
            if late <= NEAR {
                near += 1;
                continue;
            }
            let truth = scene.truth[line];
            let late = Millis::from_ms(late);
            // The last 20 ms belong to both.
            let missed = match n < score.starts.len() {
                true => (truth.from, truth.from + late - Millis::from_ms(20)),
                false => (truth.to - late + Millis::from_ms(20), truth.to),
            };
            let loudest = loudest(&scene, missed);
            assert!(loudest < noise, "{voice}: {late} of {text:?} was missed");
        }
    }
    assert!(near * 100 >= edges * 93, "{near} of {edges} within 60 ms");
}

/// The root of the mean square of the loudest 20 ms of a stretch.
fn loudest(scene: &Scene, (from, to): (At, At)) -> f64 {
    let windows = (from.ms()..(to.ms() - 20).max(from.ms() + 1)).step_by(5);
    let square = |from: i64| {
        let window = Span {
            from: At::from_ms(from),
            to: At::from_ms(from + 20),
        };
        mean_square(scene.between(window).iter().copied())
    };
    windows.map(square).fold(0.0, f64::max).sqrt()
}
