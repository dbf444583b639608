//! Syllables against the CMU Pronouncing Dictionary and, in other languages, against the sounds of espeak-ng.

use crate::common::python;
use crate::common::root;
use crate::speech::lines::LINES;
use crate::speech::tongues::TONGUES;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Rate;
use sidevoice::base::wording::Language;
use sidevoice::rehearse::pace::Pace;
use sidevoice::sound::speech::normalise;
use sidevoice::sound::speech::syllables;
use std::io::Write;
use std::process::Command;
use std::process::Stdio;

/// How many words of the dictionary are compared, and how many in a hundred must agree.
const WORDS: usize = 2000;
const AGREE: usize = 95;

#[test]
fn two_thousand_words_count_as_the_cmu_pronouncing_dictionary_has_them() {
    let output = Command::new(python())
        .arg(root().join("tests/reference/syllables.py"))
        .arg(WORDS.to_string())
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    let rows = String::from_utf8(output.stdout).unwrap();
    assert_eq!(rows.lines().count(), WORDS);
    let wrong: Vec<_> = rows.lines().filter(|row| !agrees(row)).collect();
    println!("{} of {WORDS} agree", WORDS - wrong.len());
    let most = WORDS * (100 - AGREE) / 100;
    assert!(wrong.len() <= most, "{}: {wrong:?}", wrong.len());
}

/// A word agrees if one of the ways to say it has as many syllables.
fn agrees(row: &str) -> bool {
    let (word, ways) = row.split_once('\t').unwrap();
    let own = syllables::count(word, "en").to_string();
    ways.split(' ').any(|way| way == own)
}

#[test]
fn coaching_lines_have_the_syllables_and_the_usual_pace_the_words_a_minute_that_are_reckoned_with()
{
    let said = LINES.map(|line| normalise::normalise(line, &normalise::ENGLISH));
    let counted = said.iter().map(|line| syllables::of_normalised(line, "en"));
    let words = said.iter().map(|line| line.split_whitespace().count());
    let each = counted.sum::<usize>() as f64 / words.sum::<usize>() as f64;
    // `Pace::USUAL` says 1.2.
    assert!((1.15..=1.25).contains(&each), "{each}");
    let words = said.iter().map(|line| line.split_whitespace().count());
    let length = |line| Pace::USUAL.length(line, Language::English, Rate::NORMAL);
    let minutes = LINES.map(length).iter().copied().sum::<Millis>().secs() / 60.0;
    let words_a_minute = words.sum::<usize>() as f64 / minutes;
    println!("{each} syllables a word, {words_a_minute} words a minute");
    // Rodero 2012, Text & Talk 32:391-411.
    assert!(
        (160.0..=180.0).contains(&words_a_minute),
        "{words_a_minute}"
    );
}

#[test]
fn words_of_other_languages_count_as_espeak_ng_sounds_them() {
    for tongue in TONGUES {
        let language = normalise::language(tongue.language);
        let lines = tongue.lines.iter();
        let said: Vec<_> = lines
            .map(|line| normalise::normalise(line, language))
            .collect();
        let mut words: Vec<&str> = said
            .iter()
            .flat_map(|line| syllables::words(line))
            .collect();
        words.sort_unstable();
        words.dedup();
        assert!(words.len() > 80, "{}: {}", tongue.language, words.len());
        let sounded = sounded(tongue.language, &words);
        let rows = words.iter().zip(sounded);
        let wrong: Vec<_> = rows
            .map(|(word, sounded)| (*word, syllables::count(word, tongue.language), sounded))
            .filter(|(_, own, sounded)| own != sounded)
            .collect();
        println!(
            "{}: {} of {} agree",
            tongue.language,
            words.len() - wrong.len(),
            words.len()
        );
        // A rule of spelling: nine in ten.
        assert!(
            wrong.len() * 10 <= words.len(),
            "{}: {wrong:?}",
            tongue.language
        );
    }
}

/// Counts the vowels with which espeak-ng speaks each word; a diphthong is one of its sounds.
fn sounded(language: &str, words: &[&str]) -> Vec<usize> {
    let voice = if language == "pt" { "pt-br" } else { language };
    let mut child = Command::new("espeak-ng")
        .args(["-q", "--ipa", "--sep=_", "-v", voice])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("espeak-ng");
    let text: String = words.iter().map(|word| format!("{word}.\n")).collect();
    let mut input = child.stdin.take().unwrap();
    input.write_all(text.as_bytes()).unwrap();
    drop(input);
    let output = child.wait_with_output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    // The vowels of the IPA chart.
    let vowel = |sound: &str| sound.contains(|c| "aeiouyɐɑɒæɔəɘɚɛɜɝɞɨɪɯɵøœɶʉʊʌʏãẽĩõũ".contains(c));
    let lines = text.lines().filter(|line| !line.trim().is_empty());
    let counts = lines.map(|line| line.split(['_', ' ']).filter(|sound| vowel(sound)).count());
    let counts: Vec<_> = counts.collect();
    assert_eq!(counts.len(), words.len(), "{text}");
    counts
}
