//! A session written to a file: what is in it, and what is left behind when that fails.
#![expect(
    clippy::disallowed_methods,
    reason = "looks at the files that were written"
)]

use std::fs;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;

use sidevoice::base::tones::Tones;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Tone;
use sidevoice::sound::out::Bits;
use sidevoice::sound::out::FileError;
use sidevoice::sound::out::Format;
use sidevoice::sound::out::Offline;
use sidevoice::sound::out::Progress;
use sidevoice::sound::out::SoundFile;
use sidevoice::sound::out::write_sound;

const SECOND: u64 = 48_000;

/// A start tone on each of these seconds, given in the wrong order.
fn tones(seconds: u64) -> Vec<Clip> {
    let mark = |second| Tone::Start.clip(Tones::Clear, second, FrameAt::new(second * SECOND));
    (1..seconds).rev().map(mark).collect()
}

fn write(path: &Path, wav: &SoundFile, seconds: u64) -> Result<(), FileError> {
    let mut go_on = |_: Progress| ControlFlow::Continue(());
    write_sound(
        path,
        wav,
        Offline::new(tones(seconds), Frames::new(seconds * SECOND)),
        &mut go_on,
    )
}

/// The names in a folder, hidden ones included.
fn names(folder: &Path) -> Vec<String> {
    fs::read_dir(folder)
        .unwrap()
        .map(|it| it.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[test]
fn a_file_holds_the_clips_on_their_samples_and_zeros_elsewhere() {
    let folder = tempfile::tempdir().unwrap();
    for (bits, step) in [(Bits::Sixteen, 1 << 15), (Bits::TwentyFour, 1 << 23)] {
        let path = folder.path().join("session.wav");
        let wav = SoundFile {
            bits,
            overwrite: true,
            ..SoundFile::default()
        };
        write(&path, &wav, 40).unwrap();
        let mut reader = hound::WavReader::open(&path).unwrap();
        let spec = reader.spec();
        assert_eq!((spec.channels, spec.sample_rate), (2, 48_000));
        assert_eq!(1 << (spec.bits_per_sample - 1), step);
        let samples: Vec<i32> = reader.samples().map(Result::unwrap).collect();
        assert_eq!(samples.len() as u64, 40 * SECOND * 2);
        let onset = Tone::Start.onset(Tones::Clear).count() as usize;
        let tone = Tone::Start.samples(Tones::Clear);
        for (frame, both) in samples.chunks(2).enumerate() {
            // In which second, and where in the tone that begins a little before it.
            let shifted = frame + onset;
            let place = shifted % SECOND as usize;
            let sounds =
                (SECOND as usize..40 * SECOND as usize).contains(&shifted) && place < tone.len();
            let wanted = match sounds {
                true => (f64::from(tone[place]) * f64::from(step)).round() as i32,
                false => 0,
            };
            assert_eq!(both, [wanted; 2], "frame {frame}");
        }
    }
    assert_eq!(names(folder.path()), ["session.wav"]);
}

#[test]
fn a_file_that_is_there_is_kept_unless_it_may_be_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.wav");
    fs::write(&path, "mine").unwrap();
    let kept = write(&path, &SoundFile::default(), 2);
    assert!(matches!(kept, Err(FileError::Exists(_))), "{kept:?}");
    assert_eq!(fs::read(&path).unwrap(), b"mine");
    let wav = SoundFile {
        overwrite: true,
        ..SoundFile::default()
    };
    write(&path, &wav, 2).unwrap();
    assert!(fs::metadata(&path).unwrap().len() > 48_000);
    assert_eq!(names(folder.path()), ["session.wav"]);
}

#[test]
fn a_link_stays_a_link_and_a_new_file_can_be_read_by_others() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let (path, link) = (
        folder.path().join("session.wav"),
        folder.path().join("link.wav"),
    );
    fs::write(&path, "mine").unwrap();
    std::os::unix::fs::symlink(&path, &link).unwrap();
    let wav = SoundFile {
        overwrite: true,
        ..SoundFile::default()
    };
    write(&link, &wav, 2).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::metadata(&path).unwrap().len() > 48_000);
    // As any file that is made here: the umask has its say in both.
    let other = folder.path().join("other");
    fs::write(&other, "").unwrap();
    let mode = |path| fs::metadata(path).unwrap().permissions().mode();
    assert_eq!(mode(&path), mode(&other));
}

#[test]
fn what_is_broken_off_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.wav");
    let mut seen = Vec::new();
    let mut stop = |progress: Progress| {
        seen.push(progress.done.count());
        match seen.len() {
            3 => ControlFlow::Break(()),
            _ => ControlFlow::Continue(()),
        }
    };
    let length = Frames::new(10 * SECOND);
    let broken_off = write_sound(
        &path,
        &SoundFile::default(),
        Offline::new(tones(10), length),
        &mut stop,
    );
    assert!(
        matches!(broken_off, Err(FileError::Cancelled(_))),
        "{broken_off:?}"
    );
    assert_eq!(seen, [4096, 8192, 12288]);
    assert!(names(folder.path()).is_empty());
}

#[test]
fn places_where_no_file_can_stand_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let away = write(
        &folder.path().join("none/session.wav"),
        &SoundFile::default(),
        1,
    );
    assert!(matches!(away, Err(FileError::NoFolder(_))), "{away:?}");
    let file = tempfile::NamedTempFile::new().unwrap();
    let under = write(&file.path().join("session.wav"), &SoundFile::default(), 1);
    assert!(matches!(under, Err(FileError::NoFolder(_))), "{under:?}");
    let wav = SoundFile {
        overwrite: true,
        ..SoundFile::default()
    };
    for place in [
        folder.path(),
        Path::new("/dev/null"),
        Path::new("/"),
        Path::new(""),
    ] {
        let refused = write(place, &wav, 1);
        assert!(
            matches!(refused, Err(FileError::NotAFile(_))),
            "{place:?}: {refused:?}"
        );
    }
    // 4 GiB at 16 bit are 6 h 12 min.
    let path = folder.path().join("long.wav");
    let mut go_on = |_: Progress| ControlFlow::Continue(());
    for hours in [7, u64::MAX / SECOND / 3600] {
        let length = Frames::new(hours * 3600 * SECOND);
        let long = write_sound(&path, &wav, Offline::new(Vec::new(), length), &mut go_on);
        assert!(matches!(long, Err(FileError::TooLong(_))), "{long:?}");
    }
    assert!(names(folder.path()).is_empty());
}

/// A file system of its own, where it may be mounted; ended with the test.
struct Mount(tempfile::TempDir);

impl Mount {
    fn new(options: &str) -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "none"])
            .arg(folder.path())
            .status();
        mounted
            .is_ok_and(|it| it.success())
            .then_some(Mount(folder))
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

#[test]
fn a_full_disk_and_a_closed_folder_are_named_and_leave_nothing_behind() {
    let (Some(small), Some(closed)) = (Mount::new("size=256k"), Mount::new("ro")) else {
        eprintln!("not tested: nothing may be mounted here");
        return;
    };
    for format in [Format::Wav, Format::Flac, Format::Mp3, Format::Opus] {
        let sound = SoundFile {
            format,
            ..SoundFile::default()
        };
        let full = write(&small.0.path().join("session"), &sound, 300);
        assert!(
            matches!(full, Err(FileError::DiskFull(_))),
            "{format:?}: {full:?}"
        );
        assert!(names(small.0.path()).is_empty(), "{format:?}");
    }
    let denied = write(
        &closed.0.path().join("session.wav"),
        &SoundFile::default(),
        10,
    );
    assert!(matches!(denied, Err(FileError::Denied(..))), "{denied:?}");
}

#[test]
fn an_outside_reader_finds_length_rate_and_channels() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.wav");
    for (bits, codec) in [
        (Bits::Sixteen, "pcm_s16le"),
        (Bits::TwentyFour, "pcm_s24le"),
    ] {
        let wav = SoundFile {
            bits,
            overwrite: true,
            ..SoundFile::default()
        };
        write(&path, &wav, 7).unwrap();
        let probed = Command::new("ffprobe")
            .args(["-v", "error", "-of", "csv=p=0", "-show_entries"])
            .arg("stream=codec_name,sample_rate,channels,duration_ts")
            .arg(&path)
            .output();
        let Ok(probed) = probed else {
            eprintln!("not tested: no ffprobe here");
            return;
        };
        let said = String::from_utf8(probed.stdout).unwrap();
        assert_eq!(said.trim(), format!("{codec},48000,2,{}", 7 * SECOND));
    }
}
