//! Levels, times and lengths of what is spoken.

use sidevoice::base::units::SampleRate;
use sidevoice::base::utterance::Clarity;
use sidevoice::sound::dsp::Heard;
use sidevoice::sound::dsp::meter;
use sidevoice::sound::speech::Rate;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Take;
use sidevoice::sound::speech::Utterance;

use crate::speech::all;
use crate::speech::check_take;
use crate::speech::compact;
use crate::speech::lines::LINES;
use crate::speech::lines::SCRAPS;
use crate::speech::lines::WORDS;
use crate::speech::lines::odd;
use crate::speech::named;
use crate::speech::shared;
use crate::speech::speaker;
use crate::speech::utterances;

const RATE: SampleRate = SampleRate::OUTPUT;

fn integrated(samples: &[f32]) -> f32 {
    meter::integrated(samples, RATE, Heard::Both).lufs()
}

/// Speech at -18 LUFS (AES TD1008) within 1 LU, joined with and without pauses; each line within
/// 2 LU; words of counts within 2 LU of it at their loudest.
fn check_levels(speaker: &Speaker) {
    let lines = all(speaker.takes(&utterances(&LINES)));
    let words = all(speaker.takes(&utterances(&WORDS)));
    for pause in [0, 4800, 24_000] {
        for chunk in [&lines[..], &lines[..10], &lines[10..20], &lines[40..45]] {
            let mut joined: Vec<f32> = Vec::new();
            for take in chunk {
                joined.extend_from_slice(&take.samples);
                joined.resize(joined.len() + pause, 0.0);
            }
            let level = integrated(&joined);
            assert!(
                (level + 18.0).abs() <= 1.0,
                "{level} LUFS with {pause} between"
            );
        }
    }
    for (text, take) in LINES.iter().zip(&lines) {
        check_take(text, take);
        if take.length().ms() > 800 {
            let level = integrated(&take.samples);
            assert!((level + 18.0).abs() <= 2.0, "{text:?}: {level} LUFS");
        }
    }
    for (text, take) in WORDS.iter().zip(&words) {
        check_take(text, take);
        let level = meter::momentary_max(&take.samples, RATE, Heard::Both).lufs();
        assert!((level + 18.0).abs() <= 2.0, "{text:?}: {level} LUFS");
    }
}

#[test]
fn the_neural_voice_speaks_at_one_level_with_exact_ends() {
    check_levels(&named("hibari", shared()));
}

#[test]
fn the_compact_voice_speaks_at_one_level_with_exact_ends() {
    check_levels(&compact(shared()));
}

/// The estimate is above the true length for about 95 of 100 lines, and not by much.
pub fn check_estimates(speaker: &Speaker, texts: &[&str]) {
    let takes = all(speaker.takes(&utterances(texts)));
    let mut over = 0;
    let mut shares = Vec::new();
    for (text, take) in texts.iter().zip(&takes) {
        let estimate = speaker.estimate().length(text, Rate::NORMAL).ms() as f64;
        let length = take.length().ms() as f64;
        over += usize::from(estimate >= length);
        shares.push(estimate / length);
    }
    shares.sort_by(f64::total_cmp);
    let share = over as f64 / texts.len() as f64;
    let median = shares[shares.len() / 2];
    let name = speaker.name();
    assert!(
        share >= 0.93,
        "{share} of the lines of {name} are within the estimate"
    );
    assert!(
        median <= 1.3,
        "{name} is given {median} times the length of the median line"
    );
    assert!(*shares.first().unwrap() >= 0.85, "{shares:?}");
}

/// Lines and single words.
pub fn english() -> Vec<&'static str> {
    LINES.into_iter().chain(WORDS).collect()
}

#[test]
fn the_neural_voice_is_estimated_with_caution() {
    check_estimates(&named("hibari", shared()), &english());
}

#[test]
fn the_compact_voice_is_estimated_with_caution() {
    check_estimates(&compact(shared()), &english());
}

#[test]
fn words_have_times_and_a_faster_rate_is_faster() {
    let (speaker, _folder) = speaker();
    let text = "Take a 6 kg dumbbell in your right hand";
    let at = |rate| {
        let utterance = Utterance {
            text: text.to_owned(),
            rate: Rate::from_per_mille(rate),
        };
        speaker.take(&utterance).unwrap()
    };
    let (normal, fast) = (at(1000), at(1120));
    let words: Vec<&str> = normal.words.iter().map(|word| word.text.as_str()).collect();
    let expected = [
        "Take", "a", "six", "kilogram", "dumbbell", "in", "your", "right", "hand",
    ];
    assert_eq!(words, expected);
    let ratio = normal.length().ms() as f64 / fast.length().ms() as f64;
    // The whole is 1.12 times as fast; the silences at its ends, which are cut off, not quite.
    assert!((1.08..1.16).contains(&ratio), "{ratio}");
    for take in [normal, fast] {
        check_take(text, &take);
        for word in take.words.windows(2) {
            assert!(word[0].end <= word[1].onset, "{word:?}");
            assert!(word[0].end > word[0].onset, "{word:?}");
        }
    }
}

#[test]
fn odd_texts_give_a_take_or_a_clear_error() {
    let texts = odd();
    assert!(texts.len() >= 300, "{}", texts.len());
    // The compact voice says all of them; the others, which take far longer, those that are one scrap, and some
    // of what is made of several.
    for (voice, each) in [("hibari", 8), ("compact", 1), ("espeak-en", 4)] {
        let speaker = named(voice, shared());
        let texts = texts.iter().enumerate();
        let texts = texts.filter(|(at, _)| *at < SCRAPS || at % each == 0);
        let texts: Vec<&String> = texts.map(|(_, text)| text).collect();
        let wanted: Vec<Utterance> = texts.iter().copied().map(Utterance::new).collect();
        let takes = speaker.takes(&wanted);
        let mut spoken = 0;
        for (text, take) in texts.iter().zip(takes) {
            match take {
                Ok(take) => {
                    check_take(text, &take);
                    spoken += 1;
                }
                Err(error) => {
                    let message = error.to_string();
                    assert!(message.contains("nothing to say"), "{text:?}: {message}");
                }
            }
        }
        assert!(
            spoken * 3 > texts.len() * 2,
            "{spoken} of {} spoken by {voice}",
            texts.len()
        );
        assert_eq!(speaker.notices(), []);
    }
}

#[test]
fn a_line_of_5000_characters_is_spoken_whole_and_a_longer_one_is_refused() {
    let (speaker, _folder) = speaker();
    let line = "Hips back, then stand tall and breathe out. ".repeat(114);
    let take: Take = speaker.take(&Utterance::new(&line[..5000])).unwrap();
    check_take("the long line", &take);
    assert!(take.length().ms() > 200_000, "{} ms", take.length().ms());
    let words = take.words.iter().filter(|word| word.text == "Hips").count();
    assert_eq!(words, 114);
    let error = speaker.take(&Utterance::new(line.repeat(2))).unwrap_err();
    assert!(
        error.to_string().contains("at most 6000 characters"),
        "{error}"
    );
}

#[test]
fn shaped_speech_is_as_loud_as_plain_speech_and_takes_as_long() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let with = |clarity| {
        let (speaker, _) = Speaker::open(Settings {
            voice: Some("compact".to_owned()),
            clarity,
            cache: Some(folder.path().join("cache")),
            ..Settings::standard()
        });
        speaker
    };
    let (plain, gym) = (with(Clarity::Plain), with(Clarity::Gym));
    check_levels(&gym);
    let lines = utterances(&LINES[..]);
    let mut all_more = 0;
    for (plain, shaped) in all(plain.takes(&lines)).iter().zip(all(gym.takes(&lines))) {
        assert_ne!(plain.samples, shaped.samples, "one cache knows both");
        // Soft ends come up and are heard longer; low hums at an end are no longer heard.
        let more = shaped.length().ms() - plain.length().ms();
        assert!((-250..=250).contains(&more), "{more} ms");
        all_more += more;
    }
    let mean = all_more / LINES.len() as i64;
    assert!(mean <= 40, "{mean} ms a line");
}
