//! Much of it: a track of three hours, a folder of five thousand.

use std::fs;
use std::io::BufWriter;
use std::io::Write;
use std::process::Command;
use std::time::Instant;

use super::Folder;
use super::SECOND;
use super::amplitude;
use super::frames;
use super::pull;
use sidevoice::sound::music::Bed;
use sidevoice::sound::music::Order;
use sidevoice::sound::music::Shelf;

/// Set where a test runs itself, alone in a process, to be measured.
const ALONE: &str = "SIDEVOICE_TEST_ALONE";
const HZ: u32 = 44_100;

/// Writes a track of three hours, stereo, 16 bit: 1.9 GB if it were not for the zeros in it, of which a disk
/// keeps nothing. It has a quarter of a second of sound in each ten.
fn three_hours(folder: &Folder) {
    let bytes = 3 * 3600 * HZ * 4;
    let mut head = Vec::new();
    head.extend(b"RIFF");
    head.extend((bytes + 36).to_le_bytes());
    head.extend(b"WAVEfmt \x10\0\0\0\x01\0\x02\0");
    head.extend(HZ.to_le_bytes());
    head.extend((HZ * 4).to_le_bytes());
    head.extend(b"\x04\0\x10\0data");
    head.extend(bytes.to_le_bytes());
    let file = fs::File::create(folder.at("long.wav")).unwrap();
    file.set_len(u64::from(bytes) + 44).unwrap();
    let mut file = BufWriter::new(file);
    file.write_all(&head).unwrap();
    let sound: Vec<u8> = (0..HZ / 4)
        .map(|n| (8000.0 * (std::f32::consts::TAU * 500.0 * n as f32 / HZ as f32).sin()) as i16)
        .flat_map(|s| [s.to_le_bytes(), s.to_le_bytes()].concat())
        .collect();
    for tens in 0..3 * 360u64 {
        use std::io::Seek;
        let at = 44 + tens * 10 * u64::from(HZ) * 4;
        file.seek(std::io::SeekFrom::Start(at)).unwrap();
        file.write_all(&sound).unwrap();
    }
    file.flush().unwrap();
}

/// The most memory that this process ever had, in kilobytes.
fn most_kb() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let line = status
        .lines()
        .find_map(|l| l.strip_prefix("VmHWM:"))
        .unwrap();
    line.trim().trim_end_matches(" kB").parse().unwrap()
}

#[test]
fn a_track_of_three_hours_takes_no_more_memory_than_a_short_one() {
    if std::env::var_os(ALONE).is_none() {
        let name = "music::long::a_track_of_three_hours_takes_no_more_memory_than_a_short_one";
        let output = Command::new(std::env::current_exe().unwrap())
            .args([name, "--exact", "--nocapture"])
            .env(ALONE, "1")
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stdout);
        println!("{said}");
        assert!(output.status.success(), "{said}");
        assert!(said.contains("more than a short one"), "{said}");
        return;
    }
    let short = Folder::new();
    short.sine("a.wav", 500, 0.1, 10.0);
    pull(&mut short.bed(), 30 * SECOND);
    let before = most_kb();
    let folder = Folder::new();
    three_hours(&folder);
    let began = Instant::now();
    let mut bed = folder.bed();
    let first = pull(&mut bed, SECOND);
    let measured = began.elapsed();
    assert!(frames(&first).iter().any(|[l, _]| l.abs() > 0.05));
    // Ten minutes of it, one second at a time: nothing of it is kept.
    for _ in 0..600 {
        pull(&mut bed, SECOND);
    }
    assert_eq!(bed.notices(), [""; 0]);
    let more = most_kb() - before;
    println!("measured in {measured:?}; {more} kB more than a short one");
    assert!(more < 8_000, "{more} kB");
}

#[test]
fn of_five_thousand_files_only_those_are_opened_that_are_heard() {
    let folder = Folder::new();
    folder.sine("0000.wav", 500, 0.1, 12.0);
    folder.sine("0001.wav", 700, 0.1, 12.0);
    // What is opened is told of: these cannot be played.
    for n in 2..5000 {
        fs::write(folder.at(&format!("{n:04}.mp3")), "?").unwrap();
    }
    let began = Instant::now();
    let mut bed = folder.bed();
    let listed = began.elapsed();
    println!("5,000 files listed in {listed:?}");
    let all = frames(&pull(&mut bed, 3 * SECOND));
    assert!(amplitude(&all[48_000..96_000], 500) > 0.06);
    assert_eq!(bed.notices(), [""; 0]);
    // Once round all of them, and the two that can be played go on.
    let all = frames(&pull(&mut bed, 24 * SECOND));
    assert!(amplitude(&all[22 * 48_000..23 * 48_000], 500) > 0.06);
    assert_eq!(bed.notices().len(), 11);
}

#[test]
fn of_five_thousand_tracks_a_shuffled_row_begins_with_any() {
    let folder = Folder::new();
    let one = folder.sine("0000.wav", 500, 0.1, 2.0);
    for n in 1..5000 {
        fs::hard_link(&one, folder.at(&format!("{n:04}.wav"))).unwrap();
    }
    let shelf = Shelf {
        folder: folder.path().to_owned(),
        order: Order::Shuffled { seed: 3 },
    };
    let mut bed = Bed::open(shelf, None);
    let all = frames(&pull(&mut bed, 10 * SECOND));
    assert!(
        all[4800..]
            .chunks(4800)
            .all(|part| amplitude(part, 500) > 0.03)
    );
    assert_eq!(bed.notices(), [""; 0]);
}
