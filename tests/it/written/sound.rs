//! Sound files as others read them: their samples, their length, their loudness.
#![expect(
    clippy::disallowed_methods,
    reason = "looks at the files that were written"
)]

use crate::common::root;
use crate::measured::Measured;
use crate::world::World;
use crate::world::parsed;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

/// Two blocks, one of two rounds, with music below it; its titles hold marks of several formats.
const SESSION: &str = "title = \"Boathouse; #1 = \\\"first\\\" \\\\ & <both>\"\nlead_in = \"40s\"\nfinish = \"15s\"\n\
    music = { folder = \"music\", order = \"named\" }\n\
    [[block]]\ntitle = \"Warm; up\"\nrounds = 2\nbetween_rounds = \"20s\"\nlast_rest = true\nwork = \"15s\"\nrest = \"15s\"\n\
    movements = [\"march\", \"tap\"]\n\
    [[block]]\nwork = \"20s\"\nrest = \"15s\"\nmovements = [\"march\"]\n";

/// The formats of sound, by their endings.
pub const ENDINGS: [&str; 4] = ["wav", "flac", "mp3", "opus"];

/// A world with that session, `outing`.
pub fn world() -> World {
    let world = World::new();
    let tap = root().join("tests/corpus/library/movements/tap.toml");
    fs::copy(tap, world.at("boathouse/movements/tap.toml")).unwrap();
    world.write("boathouse/sessions/outing.toml", SESSION);
    fs::create_dir(world.at("boathouse/music")).unwrap();
    // Longer than the class, so that no two tracks lie over one another.
    let source = "aevalsrc='0.2*sin(2*PI*500*t)|0.2*sin(2*PI*600*t)':s=48000:d=230";
    let path = world.at("boathouse/music/a.flac");
    ffmpeg(&["-f", "lavfi", "-i", source, path.to_str().unwrap()]);
    world
}

/// Its plan, as it is printed.
pub fn plan(world: &World) -> Value {
    let plan = world.run(&["plan", "outing", "--voice", "compact", "--format", "json"]);
    parsed(&plan.out)
}

/// Renders the session; returns where the file is.
pub fn rendered(world: &World, name: &str, more: &[&str]) -> PathBuf {
    let render = ["render", "outing", "--voice", "compact", "-o", name];
    world.run(&[&render[..], more].concat()).check(0, &[]);
    world.at("boathouse").join(name)
}

pub fn ffmpeg(args: &[&str]) -> Vec<u8> {
    let output = Command::new("ffmpeg")
        .args(["-hide_banner", "-nostdin", "-nostats", "-y"])
        .args(args)
        .output()
        .expect("ffmpeg is needed: install the package `ffmpeg`");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{args:?}: {said}");
    output.stdout
}

/// The left and right samples that ffmpeg decodes, of 16 bits.
pub fn decoded(path: &Path) -> Vec<[i16; 2]> {
    let args = ["-i", path.to_str().unwrap(), "-f", "s16le", "-"];
    let bytes = ffmpeg(&args);
    let frames = bytes.as_chunks::<4>().0.iter();
    let frames = frames.map(|[a, b, c, d]| [[*a, *b], [*c, *d]].map(i16::from_le_bytes));
    frames.collect()
}

/// What ffprobe says, as JSON.
pub fn probed(path: &Path) -> Value {
    let output = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-of",
            "json",
            "-show_format",
            "-show_streams",
            "-show_chapters",
        ])
        .arg(path)
        .output()
        .expect("ffprobe is needed: install the package `ffmpeg`");
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{output:?}"
    );
    parsed(&String::from_utf8(output.stdout).unwrap())
}

#[test]
fn every_format_is_as_long_as_the_class_to_the_sample_and_begins_when_it_does() {
    let world = world();
    let plan = plan(&world);
    let end = plan["length_ms"].as_i64().unwrap();
    let wav = rendered(&world, "outing.wav", &["--no-music"]);
    let whole = decoded(&wav);
    assert_eq!(whole.len() as i64, end * 48);
    // A line: of a tone, whose waves are alike, each would do.
    let lines = plan["sounds"].as_array().unwrap();
    let line = lines.iter().find(|sound| {
        let ms = |key: &str| sound[key].as_i64().unwrap();
        sound["kind"] == "line" && ms("end_ms") - ms("onset_ms") > 1500
    });
    let line = line.unwrap()["onset_ms"].as_u64().unwrap() as usize * 48;
    let loudness = Measured::of_file(&wav).integrated_lufs;
    for ending in ["flac", "mp3", "opus"] {
        let path = rendered(&world, &format!("outing.{ending}"), &["--no-music"]);
        let read = decoded(&path);
        assert_eq!(read.len(), whole.len(), "{ending}");
        let seen = probed(&path);
        let lasts: f64 = seen["streams"][0]["duration"]
            .as_str()
            .unwrap()
            .parse()
            .unwrap();
        // ffprobe counts the whole packets of MP3 and Opus, delay and filling included: less than two of each.
        let off = lasts - end as f64 / 1000.0;
        match ending {
            "flac" => assert!(off.abs() < 1e-6, "{lasts}"),
            _ => assert!((-1e-6..0.06).contains(&off), "{ending}: {lasts}"),
        }
        if ending == "flac" {
            assert!(read == whole, "FLAC is not what WAV is");
            continue;
        }
        let found = Measured::of_file(&path).integrated_lufs;
        assert!(
            (found - loudness).abs() <= 0.3,
            "{ending}: {found} for {loudness} LUFS"
        );
        let delay = delay(&whole, &read, line);
        assert!(delay.abs() <= 24, "{ending}: {delay} frames late");
    }
}

/// By how many frames what is read lags behind what was written, where both are most alike from a place on.
fn delay(written: &[[i16; 2]], read: &[[i16; 2]], at: usize) -> i64 {
    let around = at..at + 72_000;
    let alike = |shift: i64| -> f64 {
        let pairs = around.clone().map(|n| {
            let moved = (n as i64 + shift) as usize;
            f64::from(written[n][0]) * f64::from(read[moved][0])
        });
        pairs.sum()
    };
    let best = (-480..=480i64).max_by(|a, b| alike(*a).total_cmp(&alike(*b)));
    best.unwrap()
}

#[test]
fn flac_of_24_bits_holds_what_wav_does_and_its_sum_is_right() {
    let world = world();
    let bytes = |name: &str| {
        let path = rendered(&world, name, &["--bits", "24"]);
        let path = path.to_str().unwrap();
        // Each frame's own sum and that of the whole are checked as it is decoded.
        ffmpeg(&["-err_detect", "explode", "-i", path, "-f", "s24le", "-"])
    };
    let (wav, flac) = (bytes("outing.wav"), bytes("outing.flac"));
    assert!(wav == flac && !wav.is_empty());
    let head = fs::read(world.at("boathouse/outing.flac")).unwrap();
    // RFC 9639, 8.2: the MD5 of the samples stands behind 18 bytes of the first block.
    let sum: String = head[26..42]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let path = world.at("boathouse/outing.wav");
    let path = path.to_str().unwrap();
    let wanted = ffmpeg(&[
        "-i",
        path,
        "-f",
        "s24le",
        "-c:a",
        "pcm_s24le",
        "-f",
        "md5",
        "-",
    ]);
    assert_eq!(
        String::from_utf8(wanted).unwrap().trim(),
        format!("MD5={sum}")
    );
}

#[test]
fn the_same_class_gives_the_same_bytes() {
    let world = world();
    for ending in ENDINGS {
        let name = format!("outing.{ending}");
        let first = fs::read(rendered(&world, &name, &[])).unwrap();
        let second = fs::read(rendered(&world, &name, &["--overwrite"])).unwrap();
        assert!(first == second, "{ending}");
        assert!(first.len() > 100_000, "{ending}");
    }
}
