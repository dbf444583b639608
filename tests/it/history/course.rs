//! What sounded in a run, from its record alone: its clock, and what the record lacks.

use super::began;
use super::done;
use super::lines;
use super::work;
use jiff::Timestamp;
use sidevoice::base::heard::BedMove;
use sidevoice::base::heard::Course;
use sidevoice::base::heard::Heard;
use sidevoice::base::heard::Moved;
use sidevoice::base::heard::MusicFrom;
use sidevoice::base::heard::Way;
use sidevoice::base::heard::What;
use sidevoice::base::heard::Why;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::live::history::Caution;
use sidevoice::live::history::CourseError;
use sidevoice::live::history::Entry;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Laid;
use sidevoice::live::history::Played;
use sidevoice::live::history::Run;
use sidevoice::live::history::parse;
use std::path::Path;

/// When the first frame was rendered, in ms.
const BEGAN_MS: i64 = 1_790_000_000_000;
const STOPPED: Happening = Happening::Stopped(Played { played_ms: 60_000 });

fn heard(what: What, from_ms: u64, length_ms: u64) -> Heard {
    Heard {
        what,
        text: match what {
            What::Line => "Press-up.".to_owned(),
            _ => String::new(),
        },
        counts: Vec::new(),
        rate: None,
        soft: false,
        from_frame: from_ms * 48,
        frames: length_ms * 48,
        heard_frames: None,
        fade_frame: None,
    }
}

/// A line of the record: when by the frames, how much later by the wall clock, and what.
fn entry(ms: u64, late_ms: i64, what: Happening) -> String {
    let time = Timestamp::from_millisecond(BEGAN_MS + ms as i64 + late_ms).unwrap();
    let entry = Entry::new(time, 0, what).at_frame(Frames::new(ms * 48));
    serde_json::to_string(&entry).unwrap() + "\n"
}

fn sounded(from_ms: u64, length_ms: u64, late_ms: i64) -> String {
    let line = heard(What::Line, from_ms, length_ms);
    entry(from_ms + length_ms, late_ms, Happening::Sounded(line))
}

fn first(ms: u64) -> String {
    let began = began("boathouse-five", Caution::Full);
    entry(ms, 0, Happening::Began(began))
}

fn run_of(text: &str) -> Run {
    let (run, faults) = parse(Path::new("log/a.jsonl"), text.as_bytes());
    assert_eq!(faults, []);
    run.unwrap()
}

fn laid(text: &str) -> Laid {
    run_of(text).course().unwrap()
}

fn starts_ms(course: &Course) -> Vec<u64> {
    let sounds = course.sounds.iter();
    sounds.map(|(from, _)| from.index() / 48).collect()
}

fn ms(frame: FrameAt) -> u64 {
    frame.index() / 48
}

#[test]
fn where_sound_stood_still_silence_lies_and_a_late_line_or_a_clock_that_was_set_are_none() {
    let at = |late: [i64; 6]| {
        let lines = (0..6).zip(late);
        let lines: String = lines
            .map(|(nth, late)| sounded(1000 + nth * 3000, 1000, late))
            .collect();
        let stopped = entry(20_000, late[5], STOPPED);
        let laid = laid(&(first(0) + &lines + &stopped));
        (
            starts_ms(&laid.course),
            laid.stood.ms(),
            ms(laid.course.end),
        )
    };
    // The file begins two seconds before the run.
    let even = vec![3000, 6000, 9000, 12_000, 15_000, 18_000];
    assert_eq!(at([5, 9, 0, 40, 7, 2]), (even.clone(), 0, 22_000));
    assert_eq!(
        at([5, 2000, 0, 900, 7, 2]),
        (even.clone(), 0, 22_000),
        "late lines"
    );
    let late = vec![3000, 6000, 11_500, 14_500, 17_500, 20_500];
    assert_eq!(at([5, 0, 2510, 2500, 2530, 2504]), (late, 2500, 24_500));
    let hour = 3_600_000;
    assert_eq!(
        at([5, 0, hour, hour, hour, hour]),
        (even, 0, 22_000),
        "set clock"
    );
}

/// A gate that opens, or closes, within 200 ms.
fn gate(to: f32) -> Moved {
    Moved::Bed(BedMove {
        gate: Some(Way {
            from: 1.0 - to,
            to,
            frames: 9600,
            left: 9600,
        }),
        ..BedMove::default()
    })
}

fn moved(ms: u64, what: Moved) -> String {
    let what = Happening::moved(what, Frames::new(ms * 48));
    entry(ms + 20, 0, what)
}

#[test]
fn music_waits_where_sound_stood_still_and_fades_to_its_end() {
    let lines: String = [0, 0, 2500, 2500, 2500]
        .into_iter()
        .zip(0..)
        .map(|(late, nth)| sounded(1000 + nth * 3000, 1000, late))
        .collect();
    let text = first(0) + &moved(500, gate(1.0)) + &lines;
    let closes = Happening::moved(gate(0.0), Frames::new(15_500 * 48));
    let closes = entry(15_520, 2500, closes);
    let course = laid(&(text + &closes + &entry(15_520, 2500, STOPPED))).course;
    let moves: Vec<_> = course.moves.iter().map(|(at, it)| (ms(*at), *it)).collect();
    let [opens, cut, again, ends] = moves[..] else {
        panic!("{moves:?}");
    };
    // The file begins two seconds before the run.
    assert_eq!(opens, (2500, gate(1.0)));
    assert_eq!(cut, (7000, Moved::Bed(BedMove::CUT)));
    assert!(again.0 == 9500 && matches!(again.1, Moved::Bed(it) if it.gate.unwrap().to == 1.0));
    assert_eq!(ends, (20_000, gate(0.0)));
    assert_eq!(ms(course.end), 20_200);
}

#[test]
fn the_volume_with_which_a_class_begins_is_the_usual_one() {
    let volume = |ms: u64, db: f32| moved(ms, Moved::Volume(Db::new(db)));
    let text = first(0) + &volume(0, 2.0) + &volume(900, -6.0) + &sounded(1000, 1000, 0);
    let text = text + &volume(3000, -9.0) + &volume(5000, -6.0) + &entry(9000, 0, STOPPED);
    let moves = laid(&text).course.moves;
    let wanted = [(5000, -3.0), (7000, 0.0)];
    let wanted = wanted.map(|(ms, db)| (ms, Moved::Volume(Db::new(db))));
    let moves: Vec<_> = moves.iter().map(|(at, it)| (ms(*at), *it)).collect();
    assert_eq!(moves, wanted);
}

#[test]
fn what_no_mixer_does_is_told_and_not_done() {
    let whole = |what: &str| first(0) + &sounded(1000, 1000, 0) + what + &entry(9000, 0, STOPPED);
    let music = Happening::Music(MusicFrom {
        block: 0,
        folder: "music".into(),
        seed: None,
        files: String::new(),
    });
    let music = entry(400, 0, music);
    let good = laid(&whole(&(music.clone() + &moved(500, gate(1.0))))).course;
    assert_eq!((good.moves.len(), good.missing.len()), (1, 0));
    let huge = |at: u64, db: f32| moved(at, Moved::Volume(Db::new(db)));
    let loud = moved(500, gate(1.0)).replace("\"to\":1.0", "\"to\":1e30");
    let ahead =
        moved(500, gate(1.0)).replace("\"from_frame\":24000", "\"from_frame\":9223372036854775808");
    let without = moved(500, gate(1.0)).replace("\"frame\":24960,", "");
    for bad in [huge(0, 1e30), loud, ahead, without] {
        let course = laid(&whole(&(music.clone() + &bad))).course;
        assert_eq!(course.moves, [], "{bad}");
        assert_eq!(course.missing.len(), 1, "{bad}");
    }
    // How it moved is there, and not what it was.
    assert_eq!(laid(&whole(&moved(500, gate(1.0)))).course.missing.len(), 1);
}

#[test]
fn what_is_told_of_music_is_read_again_to_the_last_digit() {
    let way = |from: f32, to: f32| Way {
        from,
        to,
        frames: 13_440,
        left: 11_008,
    };
    let dip = (1_u16..400).map(|n| (f32::from(n) * 0.1).sin() * -30.0);
    let all: Vec<Happening> = dip
        .map(|db| {
            let moved = BedMove {
                level: Some(way(0.251_188_64, 1.0 / -db)),
                gate: Some(way(1.0, 0.0)),
                dip: Some(way(db, -0.1)),
            };
            Happening::moved(Moved::Bed(moved), Frames::new(7))
        })
        .chain([Happening::Music(MusicFrom {
            block: 3,
            folder: "/home/crew/music".into(),
            seed: Some((1 << 48) - 1),
            files: "00ff".to_owned(),
        })])
        .collect();
    let lines: String = all.iter().map(|it| entry(9000, 0, it.clone())).collect();
    let run = run_of(&(first(0) + &lines));
    let read: Vec<_> = run.entries.into_iter().map(|entry| entry.what).collect();
    assert_eq!(read, all);
}

#[test]
fn what_is_written_is_read_again_as_it_was() {
    let all = [
        heard(What::SyncTone, 20, 400),
        Heard {
            soft: true,
            ..heard(What::EndTone, 500, 300)
        },
        Heard {
            rate: Some(1100),
            heard_frames: Some(4000),
            fade_frame: Some(3040),
            ..heard(What::Line, 1000, 900)
        },
        Heard {
            counts: vec!["Three.".to_owned(), "Two.".to_owned()],
            ..heard(What::CountIn, 3000, 2000)
        },
    ];
    let lines: String = all
        .iter()
        .map(|heard| entry(9000, 0, Happening::Sounded(heard.clone())))
        .collect();
    let run = run_of(&(first(0) + &lines));
    let read: Vec<_> = run.entries.into_iter().map(|entry| entry.what).collect();
    assert_eq!(read, all.map(Happening::Sounded));
    // What nobody needs is not written.
    let line = lines.lines().next().unwrap();
    assert!(
        line.ends_with(
            "\"event\":\"sounded\",\"what\":\"sync-tone\",\"from_frame\":960,\"frames\":19200}"
        ),
        "{line}"
    );
}

#[test]
fn a_record_from_before_sounds_were_written_down_and_one_without_any_are_refused() {
    let old = lines(
        began("boathouse-five", Caution::Full),
        vec![done(1), STOPPED],
    );
    assert_eq!(run_of(&old).course(), Err(CourseError::TooOld));
    let silent = first(0) + &entry(900, 0, STOPPED);
    assert_eq!(run_of(&silent).course(), Err(CourseError::Silent));
    let tone = Happening::Sounded(heard(What::SyncTone, 100, 400));
    let tone_alone = first(0) + &entry(500, 0, tone) + &entry(900, 0, STOPPED);
    assert_eq!(run_of(&tone_alone).course(), Err(CourseError::Silent));
}

#[test]
fn a_file_begins_with_the_sync_tone_that_was_heard_or_two_seconds_before_the_record() {
    let without = laid(&(first(40) + &sounded(1040, 500, 7) + &entry(2000, 3, STOPPED)));
    assert!(!without.synced);
    assert_eq!(starts_ms(&without.course), [3000]);
    assert_eq!(without.starts.as_millisecond(), BEGAN_MS + 40 - 2000);
    let tone = Happening::Sounded(heard(What::SyncTone, 240, 400));
    let with = first(40) + &entry(640, 5, tone) + &sounded(2040, 500, 7) + &entry(4000, 3, STOPPED);
    let with = laid(&with);
    assert!(with.synced);
    assert_eq!(starts_ms(&with.course), [1800]);
    assert_eq!(with.starts.as_millisecond(), BEGAN_MS + 240);
    assert_eq!(ms(with.course.end), 3760);
}

#[test]
fn time_without_a_loudspeaker_counts_by_the_earliest_lines_on_both_sides() {
    // Away from 5 to 12 s by the wall clock; the lines are 3 to 18 ms late.
    let text = first(0)
        + &sounded(1000, 500, 18)
        + &sounded(2000, 500, 3)
        + &sounded(4500, 500, 11)
        + &entry(5000, 60, Happening::DeviceLost)
        + &entry(5000, 900, Happening::Paused)
        + &entry(5000, 6990, Happening::DeviceBack)
        + &entry(5000, 7001, Happening::Resumed)
        + &sounded(5500, 500, 7012)
        + &sounded(6500, 500, 7003)
        + &entry(8000, 7015, STOPPED);
    let laid = laid(&text);
    // The first line of all is not late.
    assert_eq!(starts_ms(&laid.course), [3000, 4000, 6500, 14_503, 15_503]);
    assert_eq!(ms(laid.course.end), 17_003);
    // A clock that was put back takes no time away.
    let back = text
        .lines()
        .map(|line| match line.contains("\"frame\":288000") {
            true => line.replace("2026-09-21", "2026-09-20") + "\n",
            false => line.to_owned() + "\n",
        });
    let course = self::laid(&back.collect::<String>()).course;
    assert!(course.sounds.windows(2).all(|pair| pair[0].0 < pair[1].0));
}

#[test]
fn works_lie_where_they_were_done_and_one_gone_back_to_counts_again() {
    let text = first(0)
        + &entry(1000, 0, Happening::WorkBegun(work(1)))
        + &sounded(1200, 500, 0)
        + &entry(9000, 0, Happening::GoneBack { to_ms: 0 })
        + &entry(12_000, 0, Happening::WorkBegun(work(1)))
        + &entry(32_000, 0, done(1))
        + &entry(40_000, 0, Happening::WorkBegun(work(2)))
        + &entry(45_000, 0, STOPPED);
    let course = laid(&text).course;
    let spans: Vec<_> = course
        .works
        .iter()
        .map(|work| (ms(work.start), ms(work.end)))
        .collect();
    assert_eq!(spans, [(3000, 11_000), (14_000, 34_000), (42_000, 47_000)]);
}

#[test]
fn what_lacks_is_told_with_its_time() {
    let text = first(0)
        + &sounded(1000, 500, 0)
        + &entry(9000, 0, Happening::Missed { count: 3 })
        + "{\"time\":\"2026-09-21T14:13:32Z\",\"at_ms\":0,\"frame\":480000,\"event\":\"sung\"}\n"
        + &sounded(11_000, 500, 0);
    let told = |text: &str| -> Vec<(u64, u64, Why)> {
        let course = laid(text).course;
        let all = course.missing.iter();
        all.map(|it| (ms(it.from), ms(it.to), it.why)).collect()
    };
    let wanted = [
        (3500, 11_000, Why::Missed(3)),
        (12_000, 12_000, Why::Unknown),
        (13_500, 13_500, Why::CutOff),
    ];
    assert_eq!(told(&text), wanted);
    let whole = text.clone() + &entry(12_000, 0, STOPPED);
    assert_eq!(told(&whole), wanted[..2]);
    // A line that was being written when the power went.
    let torn = whole[..whole.len() - 20].to_owned();
    assert_eq!(told(&torn), wanted);
}

#[test]
fn numbers_that_cannot_be_are_no_years_of_silence() {
    let end = || entry(2000, 0, STOPPED);
    let far = sounded(1000, 500, 0).replace(
        "\"from_frame\":48000",
        "\"from_frame\":18446744073709551615",
    );
    let course = laid(&(first(0) + &sounded(500, 100, 0) + &far + &end())).course;
    assert_eq!(course.sounds.len(), 1);
    assert_eq!(course.missing[0].why, Why::Unknown);
    let far = end().replace("\"frame\":96000", "\"frame\":18446744073709551615");
    let text = first(0) + &sounded(1000, 500, 0) + &far;
    assert_eq!(run_of(&text).course(), Err(CourseError::TooLong));
}
