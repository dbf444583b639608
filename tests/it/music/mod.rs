//! The bed from outside: files made by ffmpeg, played to samples, and measured by ffmpeg again.
#![expect(
    clippy::disallowed_methods,
    reason = "writes the files that are played"
)]

mod bad;
mod class;
mod kinds;
mod levels;
mod long;
mod said;
mod thread;
mod turns;

use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::music::Bed;
use sidevoice::sound::music::Order;
use sidevoice::sound::music::Shelf;
use tempfile::TempDir;

use crate::measured::Measured;

/// Blocks a second.
const SECOND: usize = 100;
/// The most that two tracks overlap.
const CROSS_FADE_SECS: usize = 2;

/// A folder for music, gone with the test.
struct Folder(TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn at(&self, name: &str) -> PathBuf {
        self.path().join(name)
    }

    /// Makes a file from a source of ffmpeg's (`lavfi`), with further arguments.
    fn make(&self, name: &str, source: &str, args: &[&str]) -> PathBuf {
        let path = self.at(name);
        ffmpeg(
            &[
                &["-f", "lavfi", "-i", source],
                args,
                &[path.to_str().unwrap()],
            ]
            .concat(),
        );
        path
    }

    /// Makes a stereo file with a sine in it, at an amplitude, for some seconds.
    fn sine(&self, name: &str, hz: u32, amplitude: f32, secs: f32) -> PathBuf {
        self.make(name, &sine(hz, amplitude, secs, 48_000), &[])
    }

    fn named(&self) -> Shelf {
        Shelf {
            folder: self.path().to_owned(),
            order: Order::Named,
        }
    }

    fn bed(&self) -> Bed {
        Bed::open(self.named(), None)
    }
}

/// The same sine left and right.
fn sine(hz: u32, amplitude: f32, secs: f32, rate: u32) -> String {
    let wave = format!("{amplitude}*sin(2*PI*{hz}*t)");
    format!("aevalsrc='{wave}|{wave}':s={rate}:d={secs}")
}

fn ffmpeg(args: &[&str]) -> String {
    let output = Command::new("ffmpeg")
        .args(["-hide_banner", "-nostdin", "-nostats", "-y"])
        .args(args)
        .output()
        .expect("ffmpeg is needed: install the package `ffmpeg`");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{args:?}: {said}");
    said
}

fn pull(bed: &mut Bed, blocks: usize) -> Vec<BedBlock> {
    (0..blocks).map(|_| bed.pull()).collect()
}

fn frames(blocks: &[BedBlock]) -> Vec<[f32; 2]> {
    blocks.iter().flat_map(|block| block.frames).collect()
}

/// The amplitude of a frequency in the left channel (Goertzel's sum over whole periods).
fn amplitude(frames: &[[f32; 2]], hz: u32) -> f32 {
    let turn = std::f64::consts::TAU * f64::from(hz) / 48_000.0;
    let (mut re, mut im) = (0.0, 0.0);
    for (n, [left, _]) in frames.iter().enumerate() {
        let (sin, cos) = (turn * n as f64).sin_cos();
        re += f64::from(*left) * cos;
        im += f64::from(*left) * sin;
    }
    (2.0 * re.hypot(im) / frames.len() as f64) as f32
}

/// The integrated loudness that ffmpeg's `ebur128` filter reads from frames.
fn integrated(frames: &[[f32; 2]]) -> f32 {
    Measured::of_frames(frames).integrated_lufs as f32
}
