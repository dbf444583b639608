//! What is made of the record of a run is what the room heard in it.

use super::hall::Hall;
use sidevoice::base::chapters::Chapter;
use sidevoice::base::heard::Course;
use sidevoice::base::heard::WorkDone;
use sidevoice::base::units::At;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::compile::again;
use sidevoice::compile::utterances;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Laid;
use sidevoice::live::history::Run;
use sidevoice::planning::session::NOMINAL_OPEN;
use sidevoice::publish::captions::Caption;
use sidevoice::publish::recorded;
use sidevoice::sound::mix::sync_tone;
use sidevoice::sound::out::Offline;

/// Without the sync tone in the room the class begins two seconds after the one in the file.
const BEFORE: usize = 96_000;

/// A class with everything in it that a run can have but music.
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

/// The left side of a file made of a run.
fn rendered(hall: &mut Hall, run: &Run) -> (Laid, Vec<f32>) {
    let laid = run.course().unwrap();
    let takes = &hall.tape().takes;
    let all = utterances(&laid.course);
    assert!(all.iter().all(|it| takes.contains_key(it)), "{all:?}");
    let made = again(&laid.course, takes);
    assert_eq!(made.others, 0);
    let length = laid.course.end.since(FrameAt::START);
    let mut offline = Offline::new(made.clips, length);
    let mut samples = Vec::new();
    while let Some(block) = offline.next_block() {
        samples.extend(block.iter().step_by(2));
    }
    assert_eq!(offline.lost(), 0);
    (laid, samples)
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

    let mut wanted = sync_tone().to_vec();
    wanted.resize(BEFORE, 0.0);
    let tape = hall.tape();
    let mut from = 0;
    for (lost, away) in &tape.lost {
        wanted.extend(&tape.room[from..*lost]);
        wanted.resize(wanted.len() + *away as usize * 48, 0.0);
        from = *lost;
    }
    wanted.extend(&tape.room[from..]);
    let both = wanted.len().min(file.len());
    let apart = (0..both).find(|at| wanted[*at] != file[*at]);
    assert_eq!(
        apart,
        None,
        "{} s in\n{:#?}",
        apart.unwrap_or(0) / 48_000,
        hall.log
    );
    assert!(
        wanted[both..]
            .iter()
            .chain(&file[both..])
            .all(|it| *it == 0.0)
    );
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
    let captions = recorded::captions(&made.spoken, &laid.course.missing, &wording);
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
