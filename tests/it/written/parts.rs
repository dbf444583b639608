//! Parts of a class: speech, tones and music apart, and what lies between two places.

use super::sound::decoded;
use super::sound::plan;
use super::sound::rendered;
use super::sound::world;
use crate::common::read_text;
use crate::common::starter;
use crate::common::tabled_plan;
use serde_json::Value;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::Tone;
use sidevoice::publish::excerpt::Excerpt;

/// Where the sounds of a kind are heard, in frames.
fn heard(plan: &Value, kinds: &[&str]) -> Vec<(usize, usize)> {
    let sounds = plan["sounds"].as_array().unwrap().iter();
    let of = sounds.filter(|s| kinds.contains(&s["kind"].as_str().unwrap()));
    let at = |s: &Value, key: &str| s[key].as_u64().unwrap() as usize * 48;
    of.map(|s| (at(s, "onset_ms"), at(s, "end_ms"))).collect()
}

fn loudest(frames: &[[i16; 2]]) -> u16 {
    frames
        .iter()
        .flatten()
        .map(|s| s.unsigned_abs())
        .max()
        .unwrap_or(0)
}

#[test]
fn speech_tones_and_music_apart_are_the_whole_together() {
    let world = world();
    let whole = decoded(&rendered(&world, "outing.wav", &[]));
    let said = world.run(&[
        "render",
        "outing",
        "--voice",
        "compact",
        "-o",
        "apart.wav",
        "--stems",
    ]);
    said.check(0, &[]);
    assert!(!world.at("boathouse/apart.wav").exists());
    let stem = |name: &str| decoded(&world.at(&format!("boathouse/apart.{name}.wav")));
    let (speech, tones, bed) = (stem("speech"), stem("tones"), stem("bed"));
    for part in [&speech, &tones, &bed] {
        assert_eq!(part.len(), whole.len());
    }
    let mut limited = 0;
    for (at, both) in whole.iter().enumerate() {
        for side in 0..2 {
            let parts = [&speech, &tones, &bed].map(|part| i32::from(part[at][side]));
            let (sum, mix) = (parts.iter().sum::<i32>(), i32::from(both[side]));
            // Each is rounded by itself, and no speech sounds with a tone: half a step thrice.
            if sum.abs_diff(mix) > 1 {
                // Where a voice is at the ceiling already, music on top of it is limited, a little.
                let (sum, mix) = (f64::from(sum), f64::from(mix));
                assert!(
                    mix.abs() <= sum.abs() && mix / sum > 0.9,
                    "{at}: {parts:?}, {mix}"
                );
                limited += 1;
            }
        }
    }
    assert!(limited < whole.len() / 50, "{limited} of {}", whole.len());
    // In each there is what its name says, where the plan has it, and nothing else.
    let plan = plan(&world);
    for (part, own, others) in [
        (&speech, &["line", "count"][..], &["tone"][..]),
        (&tones, &["tone"], &["line", "count"]),
    ] {
        for (from, to) in heard(&plan, own) {
            assert!(loudest(&part[from..to]) > 1000, "{own:?} at {from}");
        }
        for (from, to) in heard(&plan, others) {
            assert_eq!(
                loudest(&part[from..to]),
                0,
                "{own:?} in one of {others:?} at {from}"
            );
        }
    }
    // The music steps back for what is heard elsewhere, by at least 6 dB.
    let quiet = heard(&plan, &["line", "count", "tone"]);
    let level = |from: usize, to: usize| f64::from(loudest(&bed[from..to]));
    let spoken = quiet.iter().filter(|(from, to)| to - from > 48_000);
    let longest = quiet
        .windows(2)
        .max_by_key(|pair| pair[1].0 - pair[0].1)
        .unwrap();
    let between = level(longest[0].1 + 48_000, longest[1].0 - 24_000);
    for (from, to) in spoken {
        assert!(level(*from, *to) < between / 1.9, "the music at {from}");
    }
    assert!(between > 300.0, "{between}");
}

#[test]
fn without_music_there_is_no_stem_of_it_and_that_is_told() {
    let world = world();
    let render = [
        "render",
        "outing",
        "--voice",
        "compact",
        "--stems",
        "--no-music",
        "-o",
    ];
    let said = world.run(&[&render[..], &["a.flac"]].concat());
    said.check(0, &["--no-music leaves the music out"]);
    assert!(world.at("boathouse/a.tones.flac").exists());
    assert!(!world.at("boathouse/a.bed.flac").exists());
    // Every file that is there is kept, not only the one that is named.
    let again = world.run(&[&render[..], &["a.flac"]].concat());
    again.check(3, &["a.speech.flac is there already"]);
    world
        .run(&[&render[..], &["a.srt"]].concat())
        .check(64, &["--stems", "a.srt"]);
}

#[test]
fn a_part_is_what_the_whole_has_there() {
    let world = world();
    let plan = plan(&world);
    let whole = decoded(&rendered(&world, "outing.wav", &[]));
    let segments = plan["segments"].as_array().unwrap();
    let works: Vec<_> = segments.iter().filter(|s| s["kind"] == "work").collect();
    let frame = |value: &Value| value.as_u64().unwrap() as usize * 48;
    // The rest before the second round's first work, the end of its last one.
    let (from, to) = (frame(&works[1]["end_ms"]), frame(&works[3]["end_ms"]));
    let more = ["--from", "block 1 round 2", "--to", "Block 1"];
    let part = decoded(&rendered(&world, "part.wav", &more));
    let tone = part.len() - (to - from);
    assert!(
        (4_800..24_000).contains(&tone),
        "it ends with the end tone: {tone}"
    );
    // The end tone of the work before it, and what the music did for it, are left out.
    let skipped = heard(&plan, &["tone"])
        .into_iter()
        .find(|(at, _)| *at == from)
        .unwrap();
    let since = skipped.1 - from + 48_000;
    let apart = |a: &[[i16; 2]], b: &[[i16; 2]]| {
        let pairs = a.iter().flatten().zip(b.iter().flatten());
        pairs.map(|(a, b)| a.abs_diff(*b)).max().unwrap_or(0)
    };
    // The music may have stepped back by a quarter of a decibel more, or less, for the tone that is left out.
    let of_whole = &whole[from + since..from + part.len()];
    assert!(apart(&part[since..], of_whole) <= 12);
    let bare_whole = decoded(&rendered(&world, "bare-whole.wav", &["--no-music"]));
    let speech = ["--no-music", "--from", "block 1 round 2", "--to", "Block 1"];
    let bare = decoded(&rendered(&world, "bare.wav", &speech));
    let silent = skipped.1 - from;
    assert_eq!(loudest(&bare[..silent]), 0);
    // Behind the tone, which may fade for a while yet.
    let since = silent + 9_600;
    assert!(bare[since..] == bare_whole[from + since..from + bare.len()]);
    // The rest of the class, and without a place all of it.
    let rest = decoded(&rendered(
        &world,
        "rest.wav",
        &["--from", "block 2", "--no-music"],
    ));
    assert_eq!(rest.len(), whole.len() - to);
}

#[test]
fn captions_chapters_and_markers_are_cut_likewise_and_nothing_in_the_middle() {
    let world = world();
    let plan = plan(&world);
    // From the middle of a line to the middle of another.
    let lines = heard(&plan, &["line"]);
    let long = |range: std::ops::Range<usize>| {
        let (from, to) = lines[range]
            .iter()
            .find(|(from, to)| to - from > 40_000)
            .unwrap();
        (from + to) / 2 / 48
    };
    let (from, to) = (long(2..8), long(12..lines.len()));
    let clock = |ms: usize| format!("{}:{:02}.{:03}", ms / 60_000, ms / 1000 % 60, ms % 1000);
    let more = ["--from", &clock(from), "--to", &clock(to)];
    let sound = decoded(&rendered(
        &world,
        "part.wav",
        &[&more[..], &["--no-music"]].concat(),
    ));
    assert_eq!(sound.len(), (to - from) * 48);
    let inside: Vec<_> = heard(&plan, &["line", "count", "tone"])
        .into_iter()
        .filter(|(onset, end)| *onset >= from * 48 && *end <= to * 48)
        .collect();
    // Nothing of the lines that lie across the edges.
    let (first, last) = (
        inside[0].0 - from * 48,
        inside.last().unwrap().1 - from * 48,
    );
    assert_eq!(loudest(&sound[..first - 2_400]), 0);
    assert_eq!(loudest(&sound[last + 9_600..]), 0);
    let with_music = read_text(&rendered(&world, "music.srt", &more));
    assert!(with_music.starts_with("1\n00:00:00,000 --> ") && with_music.contains("[music]"));
    let alone = [&more[..], &["--no-music"]].concat();
    let srt = read_text(&rendered(&world, "part.srt", &alone));
    let starts = srt.lines().filter(|line| line.contains(" --> "));
    let starts: Vec<&str> = starts.map(|line| &line[..12]).collect();
    let time = |ms: usize| {
        format!(
            "00:{:02}:{:02},{:03}",
            ms / 60_000,
            ms / 1000 % 60,
            ms % 1000
        )
    };
    for (onset, _) in &inside {
        assert!(
            starts.contains(&time(onset / 48 - from).as_str()),
            "{onset} in {srt}"
        );
    }
    assert_eq!(starts[0], time(inside[0].0 / 48 - from));
    let csv = read_text(&rendered(&world, "part.csv", &more));
    let rows: Vec<&str> = csv.lines().skip(1).collect();
    assert!(rows[0].starts_with("0.000,"), "{csv}");
    let end = format!("{}.{:03}", (to - from) / 1000, (to - from) % 1000);
    assert_eq!(
        rows.last().unwrap().split(',').nth(1),
        Some(end.as_str()),
        "{csv}"
    );
}

#[test]
fn a_block_keeps_its_chapters_and_the_tone_that_ends_it() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let round = Excerpt::between(
        &plan.timeline,
        &plan.sounds,
        Some("block 1 round 1"),
        Some("block 1 round 1"),
    )
    .unwrap();
    // The lead-in belongs to the first round.
    assert_eq!(round.from.ms(), 0);
    let sounds = round.sounds(&plan);
    assert_eq!(sounds.last().unwrap().kind, SoundKind::Tone(Tone::End));
    assert_eq!(sounds.last().unwrap().end, round.to);
    let second =
        Excerpt::between(&plan.timeline, &plan.sounds, Some("block 1 round 2"), None).unwrap();
    // The second round begins before that tone, and leaves it out.
    assert!(second.from < round.to);
    assert!(second.sounds(&plan)[0].kind != SoundKind::Tone(Tone::End));
    let all = Excerpt::between(&plan.timeline, &plan.sounds, None, None).unwrap();
    assert_eq!(all, Excerpt::whole(&plan));
    assert_eq!(all.sounds(&plan), plan.sounds);
}

#[test]
fn places_that_are_not_there_are_told_all_at_once() {
    let world = world();
    let fails = |more: &[&str], words: &[&str]| {
        let render = ["render", "outing", "--voice", "compact", "-o", "part.wav"];
        let ended = world.run(&[&render[..], more].concat());
        ended.check(64, words);
        assert!(!world.at("boathouse/part.wav").exists());
    };
    fails(
        &["--from", "block 3", "--to", "block 1 round 4"],
        &[
            "--from \"block 3\": expected block 1 to 2, found block 3",
            "--to \"block 1 round 4\": expected round 1 to 2, found round 4",
        ],
    );
    fails(
        &["--from", "soon", "--to", "2"],
        &[
            "--from \"soon\": expected a time",
            "--to \"2\": expected a time",
        ],
    );
    fails(
        &["--from", "block 9", "--to", "then"],
        &["found block 9", "--to \"then\""],
    );
    fails(&["--to", "99:00"], &["expected at most", "found 99:00"]);
    fails(
        &["--from", "1:00", "--to", "0:30"],
        &["expected --to to lie after --from", "0:30", "1:00"],
    );
    fails(
        &["--from", "block 2", "--to", "block 1 round 1"],
        &["expected --to to lie after"],
    );
    fails(
        &["--from", "block 2 round 2"],
        &["expected round 1, the only one, found round 2"],
    );
    let sheet = ["render", "outing", "-o", "part.html", "--from", "1:00"];
    world.run(&sheet).check(64, &["a sheet, which is whole"]);
}
