//! Coaches made of synthetic voices, whose lengths are known to the sample: a pace learnt from half of the lines
//! tells the lengths of the other half.

use crate::speech::lines::LINES;
use crate::speech::named;
use crate::speech::shared;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Rate;
use sidevoice::base::utterance::Utterance;
use sidevoice::base::wording::Language;
use sidevoice::rehearse::pace::Heard;
use sidevoice::rehearse::pace::Pace;

/// The speeds of the coaches, in thousandths of the voice's own.
const SPEEDS: [u16; 3] = [800, 1000, 1200];
/// The largest median error, as a part of the length.
const MEDIAN: f64 = 0.10;

/// Speaks the lines as one coach.
fn heard(voice: &str, per_mille: u16) -> Vec<Heard> {
    let speaker = named(voice, shared());
    let lines = LINES.map(|text| Utterance {
        text: text.to_owned(),
        rate: Rate::from_per_mille(per_mille),
    });
    let takes = speaker.takes(&lines).into_iter();
    let lengths = takes.map(|take| take.unwrap().length());
    let lines = LINES.iter().zip(lengths);
    let heard = lines.map(|(text, length)| Heard {
        text: (*text).to_owned(),
        length,
    });
    heard.collect()
}

/// The errors with which a pace tells lines, as parts of their lengths, the least first.
fn errors(pace: &Pace, lines: &[Heard]) -> Vec<f64> {
    let error = |line: &Heard| {
        let told = pace.length(&line.text, Language::English, Rate::NORMAL);
        (told - line.length).ms().unsigned_abs() as f64 / line.length.ms() as f64
    };
    let mut errors: Vec<_> = lines.iter().map(error).collect();
    errors.sort_unstable_by(f64::total_cmp);
    errors
}

/// Learns from every other line, and tells the others.
fn check(voice: &str, per_mille: u16) {
    let all = heard(voice, per_mille);
    for first in [0, 1] {
        let half = |n: usize| -> Vec<Heard> {
            let lines = all.iter().enumerate();
            let half = lines
                .filter(|(at, _)| at % 2 == n)
                .map(|(_, line)| line.clone());
            half.collect()
        };
        let pace = Pace::fit(&half(first), Language::English);
        let unheard = half(1 - first);
        let errors = errors(&pace, &unheard);
        let median = errors[errors.len() / 2];
        let longer = |line: &&Heard| {
            line.length > pace.cautious(&line.text, Language::English, Rate::NORMAL)
        };
        let longer = unheard.iter().filter(longer).count();
        println!(
            "{voice} at {per_mille}: median {:.1} %, {longer} of 33 longer than with caution, {pace:?}",
            100.0 * median
        );
        assert!(
            median <= MEDIAN,
            "{voice} at {per_mille}: {median}, {pace:?}"
        );
        // With caution one line in twenty is longer; of 33, five or more come by chance once in forty times.
        assert!(longer <= 4, "{voice} at {per_mille}: {longer} longer");
    }
}

#[test]
fn a_pace_tells_the_lines_of_the_compact_voice_that_it_did_not_hear() {
    for speed in SPEEDS {
        check("compact", speed);
    }
}

#[test]
fn a_pace_tells_the_lines_of_espeak_ng_that_it_did_not_hear() {
    for speed in SPEEDS {
        check("espeak-en", speed);
    }
}

#[test]
fn a_pace_tells_the_lines_of_the_neural_voice_that_it_did_not_hear() {
    for speed in SPEEDS {
        check("hibari", speed);
    }
}

#[test]
fn ten_lines_of_which_two_are_wrong_still_tell_the_others() {
    let all = heard("compact", 1000);
    // Ten lines of one rehearsal, one cut short, one with a door in it.
    let mut ten: Vec<Heard> = all.iter().step_by(6).take(10).cloned().collect();
    ten[3].length = Millis::from_ms(ten[3].length.ms() / 2);
    ten[7].length = Millis::from_ms(ten[7].length.ms() * 2);
    let pace = Pace::fit(&ten, Language::English);
    let unheard = all
        .iter()
        .filter(|line| !ten.iter().any(|t| t.text == line.text));
    let unheard: Vec<_> = unheard.cloned().collect();
    let errors = errors(&pace, &unheard);
    let median = errors[errors.len() / 2];
    println!("ten lines, two wrong: median {:.1} %", 100.0 * median);
    assert!(median <= 0.15, "{median}, {pace:?}");
}
