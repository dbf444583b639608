//! Loudness and true peak of a sound file by ffmpeg's `ebur128` filter: EBU R128 on ITU-R BS.1770, by others.

use std::path::Path;
use std::process::Command;

/// What the meter reads.
#[derive(Debug)]
pub struct Measured {
    pub integrated_lufs: f64,
    /// Of all windows of 400 ms, one each 100 ms.
    pub loudest_momentary_lufs: f64,
    pub true_peak_dbtp: f64,
}

impl Measured {
    /// Has ffmpeg read a file.
    pub fn of_file(path: &Path) -> Self {
        let filter = "ebur128=peak=true:metadata=1,\
                      ametadata=mode=print:key=lavfi.r128.M:file=-";
        let output = Command::new("ffmpeg")
            .args(["-hide_banner", "-nostdin", "-nostats", "-i"])
            .arg(path)
            .args(["-af", filter, "-f", "null", "-"])
            .output()
            .expect("ffmpeg is needed: install the package `ffmpeg`");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        let summary = said.split("Summary:").nth(1).expect("a summary");
        let after = |name: &str| {
            let value = summary.lines().find_map(|l| l.trim().strip_prefix(name));
            let number = value.and_then(|v| v.split_whitespace().next());
            let number = number.and_then(|n| n.parse().ok());
            number.expect("a number after the name")
        };
        Self {
            integrated_lufs: after("I:"),
            true_peak_dbtp: after("Peak:"),
            loudest_momentary_lufs: String::from_utf8_lossy(&output.stdout)
                .lines()
                .filter_map(|l| l.strip_prefix("lavfi.r128.M=")?.parse::<f64>().ok())
                .fold(f64::NEG_INFINITY, f64::max),
        }
    }

    /// Has ffmpeg read frames at 48 kHz.
    pub fn of_frames(frames: &[[f32; 2]]) -> Self {
        let file = tempfile::Builder::new().suffix(".wav").tempfile().unwrap();
        write(file.path(), frames);
        Self::of_file(file.path())
    }
}

/// Writes frames at 48 kHz as a WAV file of 32-bit floating point.
pub fn write(path: &Path, frames: &[[f32; 2]]) {
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 48_000,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut wav = hound::WavWriter::create(path, spec).unwrap();
    for sample in frames.as_flattened() {
        wav.write_sample(*sample).unwrap();
    }
    wav.finalize().unwrap();
}
