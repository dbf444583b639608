//! What is made of the record of a run is what the room heard in it.

use super::hall::Hall;
use super::tape::Tape;
use sidevoice::base::chapters::Chapter;
use sidevoice::base::heard::Course;
use sidevoice::base::heard::Moved;
use sidevoice::base::heard::WorkDone;
use sidevoice::base::units::At;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::compile::Notices;
use sidevoice::compile::again;
use sidevoice::compile::bed_again;
use sidevoice::compile::moves;
use sidevoice::compile::utterances;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Laid;
use sidevoice::live::history::Run;
use sidevoice::planning::session::NOMINAL_OPEN;
use sidevoice::publish::captions::Caption;
use sidevoice::publish::recorded;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::sync_tone;
use sidevoice::sound::out::Offline;
use std::fs;
use std::path::Path;

/// Without the sync tone in the room the class begins two seconds after the one in the file.
const BEFORE: usize = 96_000;

/// A class with everything in it that a run can have, but without music.
fn an_eventful_class(hall: &mut Hall) {
    let secs = Millis::from_secs;
    hall.wait(secs(9));
    // In the middle of a line; said again after it.
    hall.input("key:space");
    hall.wait(Millis::from_ms(6300));
    hall.input("key:space");
    hall.wait(secs(8));
    // To the first work, into it, and out of it.
    hall.input("key:s");
    hall.wait(secs(14));
    hall.input("key:e");
    hall.wait(secs(3));
    hall.input("key:s");
    hall.wait(secs(2));
    // Two at once: the second cuts what the first one says.
    hall.input("tell:where");
    hall.wait(Millis::from_ms(310));
    hall.input("key:b");
    hall.wait(secs(12));
    hall.input("key:r");
    hall.wait(Millis::from_ms(310));
    hall.lose(Millis::from_ms(3210));
    hall.wait(secs(20));
    hall.input("key:space");
    hall.wait(secs(1));
    hall.lose(NOMINAL_OPEN);
    hall.wait(secs(4));
    hall.input("key:space");
    hall.wait(secs(70));
    hall.input("tell:stop");
}

/// The left side of a file made of a run, with the music of it.
fn rendered(hall: &mut Hall, run: &Run) -> (Laid, Vec<f32>) {
    let laid = run.course().unwrap();
    let takes = &hall.tape().takes;
    let all = utterances(&laid.course);
    assert!(all.iter().all(|it| takes.contains_key(it)), "{all:?}");
    let made = again(&laid.course, takes);
    assert_eq!(made.others, 0);
    let length = laid.course.end.since(FrameAt::START);
    let (bed, notices) = bed_again(&laid.course).unzip();
    let offline = Offline::of_stream(made.clips.into_iter(), length, bed);
    let mut offline = offline.told(moves(&laid.course));
    let mut samples = Vec::new();
    while let Some(block) = offline.next_block() {
        samples.extend(block.iter().step_by(2));
    }
    assert_eq!(offline.lost(), 0);
    let notices = notices.iter().flat_map(Notices::take);
    assert_eq!(notices.collect::<Vec<_>>(), [""; 0]);
    (laid, samples)
}

/// What a file of what the room heard would hold: the sync tone, and silence while the loudspeaker was away.
fn wanted(tape: &Tape) -> Vec<f32> {
    let mut wanted = sync_tone().to_vec();
    wanted.resize(BEFORE, 0.0);
    let mut from = 0;
    for (lost, away) in &tape.lost {
        wanted.extend(&tape.room[from..*lost]);
        wanted.resize(wanted.len() + *away as usize * 48, 0.0);
        from = *lost;
    }
    wanted.extend(&tape.room[from..]);
    wanted
}

fn the_same(wanted: &[f32], file: &[f32], log: &[String]) {
    let both = wanted.len().min(file.len());
    let apart = (0..both).find(|at| wanted[*at] != file[*at]);
    let secs = apart.unwrap_or(0) as f64 / 48_000.0;
    assert_eq!(apart, None, "{secs} s in\n{log:#?}");
    let rest = wanted[both..].iter().chain(&file[both..]);
    assert!(rest.into_iter().all(|it| *it == 0.0));
}

/// A folder of two tracks of noise, seven seconds each.
fn music(folder: &Path, seed: u32) {
    fs::create_dir(folder).unwrap();
    for track in 0..2 {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 48_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut wav = hound::WavWriter::create(folder.join(format!("{track}.wav")), spec).unwrap();
        let mut state = seed + track;
        for _ in 0..7 * 48_000 {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            wav.write_sample((state >> 20) as i16 - 2048).unwrap();
        }
        wav.finalize().unwrap();
    }
}

#[test]
fn what_is_written_of_a_run_is_what_the_room_heard_sample_for_sample() {
    let folder = tempfile::tempdir().unwrap();
    let mut hall = Hall::taped(folder.path());
    an_eventful_class(&mut hall);
    hall.fade_out();
    let run = hall.tape().close();
    assert_eq!(run.ended(), Ended::Stopped);
    let (laid, file) = rendered(&mut hall, &run);
    assert!(!laid.synced);
    assert_eq!(laid.course.missing, []);
    // The file begins two seconds before the record.
    let since = run.time.as_millisecond() - laid.starts.as_millisecond();
    assert_eq!(since, 2000);

    the_same(&wanted(hall.tape()), &file, &hall.log);
    let cut = laid
        .course
        .sounds
        .iter()
        .filter(|(_, heard)| heard.heard_frames.is_some());
    let cut: Vec<_> = cut.map(|(_, heard)| heard.fade_frame.is_some()).collect();
    // By pauses and jumps with a fade, by a lost loudspeaker without one.
    assert!(cut.contains(&true) && cut.contains(&false), "{cut:?}");
}

#[test]
fn music_and_volume_are_what_the_room_heard_sample_for_sample() {
    let folder = tempfile::tempdir().unwrap();
    let (quick, calm) = (folder.path().join("quick"), folder.path().join("calm"));
    music(&quick, 7);
    music(&calm, 70);
    let mut hall = Hall::taped(folder.path());
    hall.lay(&quick);
    let secs = Millis::from_secs;
    let aim = |db: f32, plays| BedAim {
        level: Db::new(db),
        fade: secs(1),
        plays,
    };
    hall.wait(Millis::from_ms(1210));
    hall.aim(aim(-12.0, BedPlays::WithTheClock));
    hall.wait(secs(12));
    // In a fade of the music, which a pause waits out.
    hall.aim(aim(-18.0, BedPlays::WithTheClock));
    hall.wait(Millis::from_ms(310));
    hall.input("key:space");
    hall.wait(secs(3));
    hall.input("key:space");
    hall.wait(secs(8));
    hall.change_to(&calm);
    hall.input("tell:quieter");
    hall.wait(secs(5));
    // No music for six seconds, three of which lie ready.
    hall.starve(true);
    hall.wait(secs(6));
    hall.starve(false);
    hall.wait(secs(8));
    hall.input("tell:louder");
    hall.input("key:s");
    hall.wait(secs(6));
    hall.lose(Millis::from_ms(3210));
    hall.wait(secs(20));
    hall.aim(aim(-15.0, BedPlays::Always));
    hall.input("key:space");
    hall.wait(secs(5));
    hall.lose(secs(2));
    hall.change_to(&quick);
    hall.wait(secs(4));
    hall.input("key:space");
    hall.wait(secs(20));
    hall.input("tell:stop");
    hall.fade_out();
    let run = hall.tape().close();
    let (laid, file) = rendered(&mut hall, &run);
    let wanted = wanted(hall.tape());
    the_same(&wanted, &file, &hall.log);

    let shelves: Vec<_> = laid.course.music.iter().map(|it| &it.folder).collect();
    assert_eq!(shelves, [&quick, &calm, &quick]);
    let count = |of: fn(&Moved) -> bool| laid.course.moves.iter().filter(|it| of(&it.1)).count();
    let cuts = count(|it| matches!(it, Moved::Bed(it) if it.cuts()));
    // By two losses of the loudspeaker; what is made too slowly has faded before it is used up.
    assert_eq!(cuts, 2);
    assert_eq!(count(|it| matches!(it, Moved::Volume(_))), 2);
    // Twenty seconds and more of it are music without a word.
    let sounds = wanted.iter().filter(|it| **it != 0.0).count();
    let spoken = again(&laid.course, &hall.tape().takes).clips.into_iter();
    let spoken: usize = spoken.map(|clip| clip.samples.len()).sum();
    assert!(sounds > spoken + 20 * 48_000, "{sounds} {spoken}");
}

#[test]
fn a_run_that_ended_before_its_first_work_is_one_chapter() {
    let course = Course {
        end: FrameAt::new(96_000),
        ..Course::default()
    };
    let wording = Wording::of(Language::English);
    let opening = Chapter::leaf(At::START, At::from_ms(2000), "Opening");
    assert_eq!(recorded::chapters(&course, wording), [opening]);
    assert_eq!(recorded::chapters(&Course::default(), wording), []);
}

#[test]
fn turns_on_stations_are_told_apart() {
    let turn = |number: usize| WorkDone {
        start: FrameAt::new(number as u64 * 96_000),
        end: FrameAt::new(number as u64 * 96_000 + 48_000),
        name: None,
        side: None,
        block: 1,
        round: 1,
        rounds: 1,
        turn: Some((number, 3)),
    };
    let course = Course {
        // The second was skipped; a record from before turns were written down has none.
        works: vec![
            turn(1),
            turn(3),
            WorkDone {
                turn: None,
                ..turn(4)
            },
        ],
        end: FrameAt::new(500_000),
        ..Course::default()
    };
    let chapters = recorded::chapters(&course, Wording::of(Language::German));
    let titles: Vec<&str> = chapters.iter().map(|it| it.title.as_str()).collect();
    let all = "Alle Stationen";
    let of = |number| format!("{all}, {number} von 3");
    assert_eq!(titles[1..4], [&*of(1), &*of(3), all]);
}

#[test]
fn captions_and_chapters_of_a_run_tell_how_it_went() {
    let folder = tempfile::tempdir().unwrap();
    let mut hall = Hall::taped(folder.path());
    an_eventful_class(&mut hall);
    hall.fade_out();
    let run = hall.tape().close();
    let laid = run.course().unwrap();
    let made = again(&laid.course, &hall.tape().takes);
    let wording = Wording::english();
    let captions = recorded::captions(&made.spoken, &laid.course.missing, &[], &wording);
    for pair in captions.windows(2) {
        assert!(pair[0].start < pair[1].start, "{pair:?}");
        assert!(pair[0].end <= pair[1].start, "{pair:?}");
    }
    let rows = captions.iter().flat_map(|it| &it.rows);
    let rows: Vec<String> = rows.map(|row| Caption::row(row)).collect();
    assert!(rows.iter().all(|row| row.chars().count() <= 37), "{rows:?}");
    assert_eq!(rows[0], "[sync tone]");
    assert!(rows.iter().any(|row| row == "Paused."), "{rows:#?}");
    assert!(
        rows.iter().any(|row| row.ends_with('\u{2014}')),
        "{rows:#?}"
    );

    let chapters = recorded::chapters(&laid.course, &wording);
    let mut leaves = Vec::new();
    for chapter in &chapters {
        gather(chapter, &mut leaves);
    }
    for pair in leaves.windows(2) {
        assert!(pair[0].end <= pair[1].start, "{pair:?}");
    }
    let titles: Vec<&str> = leaves.iter().map(|leaf| leaf.title.as_str()).collect();
    assert_eq!(titles.first(), Some(&"Opening"));
    // It was stopped in a work, so there is no finish.
    assert_eq!(titles.len(), laid.course.works.len() + 1);
    // Gone back to: one more chapter of the same name.
    assert_eq!(titles[1], titles[2], "{titles:?}");
}

fn gather<'a>(chapter: &'a Chapter, leaves: &mut Vec<&'a Chapter>) {
    match chapter.parts[..] {
        [] => leaves.push(chapter),
        _ => chapter.parts.iter().for_each(|part| gather(part, leaves)),
    }
}
