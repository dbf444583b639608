//! Loudness and true peak by ffmpeg's `ebur128` filter: EBU R128 on ITU-R BS.1770, by others.

use std::collections::BTreeMap;

use super::program::Heard;
use super::program::MS;
use super::program::Sound;
use super::program::all_heard;
use super::program::write_wav;
use crate::measured::Measured;

/// Speech stands at -18 LUFS and at most at -1 dBTP (AES TD1008, R2).
const SPEECH_LUFS: f64 = -18.0;
const MOST_DBTP: f64 = -1.0;

fn measure(samples: &[i16]) -> Measured {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("part.wav");
    write_wav(&path, samples);
    Measured::of_file(&path)
}

fn cut<'h>(heard: &'h Heard, sound: &Sound) -> &'h [i16] {
    &heard.samples[(sound.onset_ms * MS) as usize..(sound.end_ms * MS) as usize]
}

#[test]
fn the_meter_reads_its_own_anchor() {
    // BS.1770: 997 Hz at 0 dBFS in one channel is -3.01 LKFS; here at -20 dBFS in two: -20.0.
    let sine = |n: i32| {
        let phase = std::f64::consts::TAU * 997.0 * f64::from(n) / 48_000.0;
        (3276.8 * phase.sin()).round() as i16
    };
    let measured = measure(&(0..96_000).map(sine).collect::<Vec<_>>());
    assert!(
        (measured.integrated_lufs + 20.0).abs() <= 0.1,
        "{measured:?}"
    );
    assert!(
        (measured.loudest_momentary_lufs + 20.0).abs() <= 0.1,
        "{measured:?}"
    );
    assert!(
        (measured.true_peak_dbtp + 20.0).abs() <= 0.2,
        "{measured:?}"
    );
}

#[test]
fn the_lines_of_a_session_stand_at_18_lufs_below_full_scale() {
    for heard in all_heard() {
        let lines = heard.plan.sounds.iter().filter(|s| s.kind == "line");
        let joined: Vec<i16> = lines.flat_map(|s| cut(heard, s)).copied().collect();
        let measured = measure(&joined);
        println!("{}: lines {measured:?}", heard.label);
        let off = measured.integrated_lufs - SPEECH_LUFS;
        assert!(off.abs() <= 1.0, "{}: {measured:?}", heard.label);
    }
}

#[test]
fn words_too_short_for_an_integrated_value_are_as_loud_as_the_lines() {
    for heard in all_heard() {
        let counts = heard.plan.sounds.iter().filter(|s| s.kind == "count");
        let words: BTreeMap<&str, &Sound> = counts.map(|s| (s.text.as_str(), s)).collect();
        assert!(words.len() >= 3, "{}", heard.label);
        for (word, sound) in words {
            // The word begins with a window of the meter, which then holds a short one whole.
            let mut padded = vec![0; 1000 * MS as usize];
            padded.extend(cut(heard, sound));
            padded.resize(padded.len() + 1000 * MS as usize, 0);
            let measured = measure(&padded);
            println!("{}: {word} {measured:?}", heard.label);
            let off = measured.loudest_momentary_lufs - SPEECH_LUFS;
            assert!(off.abs() <= 2.0, "{}: {word}: {measured:?}", heard.label);
        }
    }
}

#[test]
fn no_true_peak_of_a_session_is_above_1_dbtp_below_full_scale() {
    for heard in all_heard() {
        let measured = measure(&heard.samples);
        println!("{}: whole {measured:?}", heard.label);
        assert!(
            measured.true_peak_dbtp <= MOST_DBTP,
            "{}: {measured:?}",
            heard.label
        );
    }
}
