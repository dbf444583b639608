//! Levelling and the loudness told ahead, against ffmpeg's meter.

use super::Folder;
use super::SECOND;
use super::ffmpeg;
use super::frames;
use super::integrated;
use super::pull;
use crate::measured::Measured;
use crate::measured::write;

/// Music-like noise that swells and falls: pink, with a slow tremolo.
fn noise(gain: f32, secs: u32, seed: u32) -> String {
    format!("anoisesrc=c=pink:r=44100:d={secs}:seed={seed},volume={gain},tremolo=f=0.4:d=0.9")
}

#[test]
fn soft_and_loud_tracks_stand_at_23_lufs_by_ffmpegs_meter() {
    for (name, gain) in [
        ("soft.flac", 0.1),
        ("middle.mp3", 0.6),
        ("loud.ogg", 4.0),
        ("one.wav", 0.3),
    ] {
        let folder = Folder::new();
        let args: &[&str] = if name == "one.wav" {
            &["-ac", "1"]
        } else {
            &["-ac", "2"]
        };
        folder.make(name, &noise(gain, 20, 3), args);
        // All of it but the last two seconds, which fade into the next.
        let heard = frames(&pull(&mut folder.bed(), 18 * SECOND));
        let level = integrated(&heard);
        println!("{name}: {level} LUFS");
        assert!((level + 23.0).abs() <= 0.3, "{name}: {level}");
    }
}

#[test]
fn what_is_very_soft_is_not_raised_without_end() {
    let folder = Folder::new();
    folder.make(
        "whisper.flac",
        &noise(0.015, 20, 3),
        &["-sample_fmt", "s32"],
    );
    let path = folder.at("whisper.flac");
    let own = Measured::of_file(&path).integrated_lufs as f32;
    assert!(own < -45.0, "{own}");
    let level = integrated(&frames(&pull(&mut folder.bed(), 18 * SECOND)));
    // 3 LU more than that of the file: it has one channel, and is heard from two.
    assert!((level - (own + 20.0)).abs() < 3.5, "{level} from {own}");
    assert!(level < -25.0, "{level}");
}

#[test]
fn each_block_tells_the_loudest_moment_that_ffmpegs_meter_finds_in_the_next_three_seconds() {
    let folder = Folder::new();
    let swell = "volume='0.3+0.27*sin(2*PI*t/15)':eval=frame";
    let swelling = format!("anoisesrc=c=pink:r=44100:d=30:seed=5,{swell}");
    folder.make("swell.flac", &swelling, &["-ac", "2"]);
    let blocks = pull(&mut folder.bed(), 25 * SECOND);
    let part = Folder::new();
    write(&part.at("part.wav"), &frames(&blocks));
    let log = part.at("moments");
    let filter = format!(
        "ebur128=metadata=1,ametadata=mode=print:key=lavfi.r128.M:file={}",
        log.display()
    );
    let path = part.at("part.wav");
    ffmpeg(&[
        "-i",
        path.to_str().unwrap(),
        "-af",
        &filter,
        "-f",
        "null",
        "-",
    ]);
    let text = crate::common::read_text(&log);
    // One each 100 ms; each ends a window of 400 ms.
    let moments: Vec<f32> = text
        .lines()
        .filter_map(|l| l.strip_prefix("lavfi.r128.M=")?.parse().ok())
        .collect();
    assert!(moments.len() >= 245, "{}", moments.len());
    let mut most_off = 0.0f32;
    for at in 0..20 {
        let block = &blocks[at * SECOND];
        // Windows that end from the block's beginning to three seconds on.
        let ahead = &moments[at * 10..at * 10 + 30];
        let loudest = ahead.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let off = block.loudness - loudest;
        most_off = most_off.max(off);
        // Never less; a little more, for it knows each 10 ms and 400 ms back.
        assert!(off > -0.1, "second {at}: {} for {loudest}", block.loudness);
        let back = &moments[(at * 10).saturating_sub(5)..at * 10 + 31];
        let most = back.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        assert!(
            block.loudness < most + 0.5,
            "second {at}: {} for {most}",
            block.loudness
        );
    }
    println!("at most {most_off} LU more than ffmpeg's loudest moment");
    let told: Vec<f32> = blocks.iter().map(|b| b.loudness).collect();
    let (low, high) = told
        .iter()
        .fold((0.0f32, -100.0f32), |(l, h), x| (l.min(*x), h.max(*x)));
    assert!(high - low > 5.0, "it swells: {low} to {high}");
}
