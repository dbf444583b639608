//! What is no music, or half of it, is skipped with a word, and the rest is heard.

use super::Folder;
use super::SECOND;
use super::amplitude;
use super::frames;
use super::pull;
use super::sine;
use std::fs;
use std::os::unix::fs::symlink;
use std::process::Command;

/// Bytes without any order, the same each time.
fn noise(count: usize) -> Vec<u8> {
    let mut state = 9u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 33) as u8
    };
    (0..count).map(|_| next()).collect()
}

#[test]
fn each_file_that_cannot_be_played_is_told_once_and_the_rest_is_heard() {
    let folder = Folder::new();
    folder.sine("good.flac", 500, 0.1, 3.0);
    folder.sine("good too.mp3", 500, 0.1, 3.0);
    let made = |name: &str, args: &[&str]| folder.make(name, &sine(900, 0.1, 5.0, 48_000), args);
    made("a.m4a", &["-c:a", "aac"]);
    made("b.wma", &["-c:a", "wmav2"]);
    made("c.opus", &["-c:a", "libopus"]);
    made("d.aiff", &[]);
    folder.make("silence.flac", "anullsrc=r=44100:d=5", &[]);
    made("short.wav", &["-t", "0.5"]);
    fs::write(folder.at("empty.mp3"), "").unwrap();
    fs::write(folder.at("noise.mp3"), noise(300_000)).unwrap();
    fs::write(
        folder.at("words.ogg"),
        "Rack the oars, then the boat.\n".repeat(500),
    )
    .unwrap();
    // A protected file: the frame of MP4, and what nobody can read in it.
    let protected = [
        &b"\0\0\0\x20ftypM4P \0\0\0\0M4P mp42isom\0\0\0\0"[..],
        &noise(300_000),
    ]
    .concat();
    fs::write(folder.at("protected.m4p"), protected).unwrap();
    // The head of each kind, and noise behind it.
    for (name, args) in [
        ("head.wav", &[][..]),
        ("head.flac", &[]),
        ("head.ogg", &["-c:a", "libvorbis"]),
        ("head.mp3", &[]),
    ] {
        let path = made(name, args);
        let mut bytes = fs::read(&path).unwrap();
        bytes.truncate(30);
        bytes.extend(noise(100_000));
        fs::write(path, bytes).unwrap();
    }
    symlink("nowhere", folder.at("link.mp3")).unwrap();
    // What would hold whoever opens it.
    let pipe = folder.at("pipe.mp3");
    assert!(Command::new("mkfifo").arg(pipe).status().unwrap().success());
    fs::write(folder.at("cover.jpg"), noise(1000)).unwrap();
    let mut bed = folder.bed();
    let all = frames(&pull(&mut bed, 20 * SECOND));
    let told = bed.notices();
    println!("{told:#?}");
    // Ten one by one, then that there are more; none twice.
    assert_eq!(told.len(), 11, "{told:#?}");
    assert!(told[10].contains("more files"), "{told:#?}");
    let unique: std::collections::HashSet<_> = told.iter().collect();
    assert_eq!(unique.len(), told.len());
    assert!(
        !told
            .iter()
            .any(|t| t.contains("cover") || t.contains("good")),
        "{told:#?}"
    );
    // Never a hole, and nothing of what was skipped.
    for second in 1..19 {
        let part = &all[second * 48_000..(second + 1) * 48_000];
        assert!(amplitude(part, 500) > 0.04, "second {second}");
        assert!(amplitude(part, 900) < 0.001, "second {second}");
    }
    let most = all.iter().map(|[l, _]| l.abs()).fold(0.0, f32::max);
    assert!(most < 0.15, "{most}");
}

/// What is told of a folder with this one file in it, beside one that is good.
fn told_of(name: &str, make: impl FnOnce(&Folder)) -> Vec<String> {
    let folder = Folder::new();
    make(&folder);
    folder.sine("zz.wav", 500, 0.1, 3.0);
    let mut bed = folder.bed();
    pull(&mut bed, 8 * SECOND);
    let told = bed.notices();
    assert!(told.iter().all(|t| t.contains(name)), "{name}: {told:?}");
    told
}

#[test]
fn each_is_told_with_its_reason() {
    let source = sine(900, 0.1, 5.0, 48_000);
    let reasons: &[(&str, &[&str], &str)] = &[
        ("a.m4a", &["-c:a", "aac"], "MP4"),
        ("a.wma", &["-c:a", "wmav2"], "Windows Media"),
        ("a.opus", &["-c:a", "libopus"], "Opus"),
        ("a.ogg", &["-c:a", "libopus"], "Opus"),
        ("a.aiff", &[], "AIFF"),
        ("a.wav", &["-c:a", "adpcm_ms"], "of a kind that is not read"),
        ("b.wav", &["-t", "0.5"], "shorter than a second"),
        ("silence.flac", &["-af", "volume=0"], "silence"),
    ];
    for (name, args, reason) in reasons {
        let told = told_of(name, |folder| drop(folder.make(name, &source, args)));
        assert!(
            told.len() == 1 && told[0].contains(reason),
            "{name}: {told:?}"
        );
    }
    for (name, bytes, reason) in [
        ("a.mp3", Vec::new(), "empty"),
        ("b.mp3", noise(300_000), "no sound"),
        ("c.flac", b"fLaC".to_vec(), "damaged"),
        (
            "d.wav",
            b"RIFF\xff\xff\xff\x7fWAVEfmt \x10\0\0\0".to_vec(),
            "damaged",
        ),
        (
            "e.ogg",
            [&b"OggS\0\x02"[..], &[0; 22], b"\x01vorbis"].concat(),
            "damaged",
        ),
        (
            "f.wav",
            [
                &b"RIFF\x28\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\0\0\0\0\0\0\0\0\x02\0\x10\0"[..],
                b"data\x04\0\0\0\x01\0\x01\0",
            ]
            .concat(),
            "rate of 0 Hz",
        ),
        // A tag of 256 MB (ID3v2.4, section 3.1: seven bits a byte).
        (
            "g.mp3",
            [&b"ID3\x04\0\0\x7f\x7f\x7f\x7f"[..], &noise(5000)].concat(),
            "its tag is damaged",
        ),
    ] {
        let told = told_of(name, |folder| fs::write(folder.at(name), bytes).unwrap());
        assert!(
            told.len() == 1 && told[0].contains(reason),
            "{name}: {told:?}"
        );
    }
}

#[test]
fn what_is_too_short_is_not_called_silence() {
    for name in ["a.wav", "a.mp3"] {
        let told = told_of(name, |folder| {
            let path = folder.make(name, &sine(900, 0.1, 5.0, 44_100), &[]);
            let whole = fs::read(&path).unwrap();
            fs::write(path, &whole[..3000]).unwrap();
        });
        let right = |told: &str| told.contains("second") && !told.contains("silence");
        assert!(told.len() == 1 && right(&told[0]), "{name}: {told:?}");
    }
}

#[test]
fn a_wav_file_that_was_written_down_a_pipe_is_whole() {
    let written = Command::new("ffmpeg")
        .args(["-hide_banner", "-nostdin", "-f", "lavfi", "-i"])
        .arg(sine(900, 0.1, 5.0, 44_100))
        .args(["-f", "wav", "-"])
        .output()
        .unwrap();
    let piped = written.stdout;
    // ffmpeg cannot go back, and leaves the largest length.
    assert_eq!(piped[4..8], [0xff; 4]);
    let mut right_outside = piped.clone();
    let all = u32::try_from(piped.len() - 8).unwrap();
    right_outside[4..8].copy_from_slice(&all.to_le_bytes());
    for bytes in [piped, right_outside] {
        let folder = Folder::new();
        fs::write(folder.at("a.wav"), bytes).unwrap();
        let mut bed = folder.bed();
        let all = frames(&pull(&mut bed, 3 * SECOND));
        assert_eq!(bed.notices(), Vec::<String>::new());
        assert!(amplitude(&all[48_000..96_000], 900) > 0.06);
    }
}

#[test]
fn of_a_folder_of_links_that_lead_nowhere_each_is_named() {
    let folder = Folder::new();
    symlink("nowhere", folder.at("a.mp3")).unwrap();
    symlink("b.mp3", folder.at("b.mp3")).unwrap();
    let pipe = folder.at("c.mp3");
    assert!(Command::new("mkfifo").arg(pipe).status().unwrap().success());
    let told = folder.bed().notices();
    let begin = [
        "a.mp3 is skipped: it is a link that leads nowhere",
        "b.mp3 is skipped: it is a link that leads nowhere",
        "c.mp3 is skipped: it is not a file",
        "there is no music in \"",
    ];
    assert_eq!(told.len(), begin.len(), "{told:#?}");
    for (told, begin) in told.iter().zip(begin) {
        assert!(told.starts_with(begin), "{told}");
    }
}

#[test]
fn a_folder_that_is_emptied_while_it_plays_is_told_as_gone() {
    let folder = Folder::new();
    for name in ["a.wav", "b.flac"] {
        folder.sine(name, 900, 0.1, 6.0);
    }
    let mut bed = folder.bed();
    pull(&mut bed, SECOND);
    for name in ["a.wav", "b.flac"] {
        fs::remove_file(folder.at(name)).unwrap();
    }
    pull(&mut bed, 20 * SECOND);
    let told = bed.notices();
    assert!(told.last().unwrap().contains("are gone"), "{told:?}");
}

#[test]
fn of_a_file_that_was_cut_off_what_is_there_is_heard_with_a_word() {
    for (name, args) in [
        ("a.wav", &[][..]),
        ("a.flac", &[]),
        ("a.mp3", &["-q:a", "4"]),
        ("a.ogg", &["-c:a", "libvorbis"]),
    ] {
        let folder = Folder::new();
        let path = folder.make(name, &sine(900, 0.1, 12.0, 44_100), args);
        let mut bed = folder.bed();
        pull(&mut bed, SECOND);
        assert_eq!(bed.notices(), Vec::<String>::new(), "{name}, whole");
        let whole = fs::read(&path).unwrap();
        fs::write(&path, &whole[..whole.len() / 2]).unwrap();
        folder.sine("b.wav", 500, 0.1, 6.0);
        let mut bed = folder.bed();
        let all = frames(&pull(&mut bed, 8 * SECOND));
        let told = bed.notices();
        println!("{name}: {told:?}");
        assert!(
            told.len() == 1 && told[0].contains("ends before it should"),
            "{told:?}"
        );
        assert!(amplitude(&all[48_000..96_000], 900) > 0.06, "{name}");
        assert!(
            amplitude(&all[6 * 48_000 + 24_000..7 * 48_000], 500) > 0.06,
            "{name}"
        );
    }
}

#[test]
fn damage_in_the_middle_of_a_file_is_played_over() {
    for (name, args) in [
        ("a.flac", &[][..]),
        ("a.mp3", &["-q:a", "4"]),
        ("a.ogg", &["-c:a", "libvorbis"]),
    ] {
        for at in [3, 5, 8] {
            let folder = Folder::new();
            let path = folder.make(name, &sine(900, 0.1, 10.0, 44_100), args);
            let mut bytes = fs::read(&path).unwrap();
            let from = bytes.len() * at / 10;
            let damage = noise(bytes.len() / 50);
            bytes[from..from + damage.len()].copy_from_slice(&damage);
            fs::write(&path, bytes).unwrap();
            folder.sine("b.wav", 500, 0.1, 6.0);
            let all = frames(&pull(&mut folder.bed(), 20 * SECOND));
            let heard = |hz| {
                let parts = all.chunks(48_000).map(|part| amplitude(part, hz));
                parts.filter(|level| *level > 0.05).count()
            };
            assert!(
                heard(900) >= 1 && heard(500) >= 3,
                "{name}, {at}: {} {}",
                heard(900),
                heard(500)
            );
            assert!(all.iter().all(|[l, _]| l.is_finite()), "{name}");
        }
    }
}

#[test]
fn without_anything_to_play_there_is_silence_and_one_word() {
    let silent = |folder: &Folder, word: &str| {
        let mut bed = folder.bed();
        let blocks = pull(&mut bed, 4 * SECOND);
        assert!(frames(&blocks).iter().all(|frame| *frame == [0.0; 2]));
        assert!(blocks.iter().all(|b| b.loudness == f32::NEG_INFINITY));
        let told = bed.notices();
        assert!(told.last().unwrap().contains(word), "{told:?}");
        assert!(!bed.prepare());
        told.len()
    };
    let empty = Folder::new();
    assert_eq!(silent(&empty, "there is no music in"), 1);
    fs::write(empty.at("cover.png"), "?").unwrap();
    assert_eq!(silent(&empty, "there is no music in"), 1);
    fs::write(empty.at("a.mp3"), "?").unwrap();
    assert_eq!(silent(&empty, "can be played"), 2);
    let gone = Folder::new();
    fs::remove_dir(gone.path()).unwrap();
    assert_eq!(silent(&gone, "cannot be read"), 1);
    fs::write(gone.path(), "a file").unwrap();
    assert_eq!(silent(&gone, "cannot be read"), 1);
    fs::remove_file(gone.path()).unwrap();
    fs::create_dir(gone.path()).unwrap();
}

#[test]
fn a_track_that_is_deleted_while_it_plays_is_heard_to_its_end() {
    let folder = Folder::new();
    let path = folder.sine("a.flac", 900, 0.1, 20.0);
    folder.sine("b.wav", 500, 0.1, 6.0);
    let mut bed = folder.bed();
    pull(&mut bed, 2 * SECOND);
    fs::remove_file(path).unwrap();
    let all = frames(&pull(&mut bed, 28 * SECOND));
    assert!(amplitude(&all[14 * 48_000..15 * 48_000], 900) > 0.06);
    assert!(amplitude(&all[20 * 48_000..21 * 48_000], 500) > 0.06);
    let told = bed.notices();
    assert!(
        told.len() == 1 && told[0].contains("a.flac is skipped: it cannot be read"),
        "{told:?}"
    );
    // What is left plays on alone.
    assert!(amplitude(&all[26 * 48_000..27 * 48_000], 500) > 0.04);
}
