//! A class with music below it, written to a file and measured by ffmpeg, and heard from a sound server.

use std::fs;
use std::process::Stdio;

use super::amplitude;
use super::ffmpeg;
use super::integrated;
use super::sine;
use crate::measured::Measured;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use crate::world::World;
use crate::world::parsed;

const SESSION: &str = "title = \"Outing\"\nlead_in = \"45s\"\nfinish = \"15s\"\n\
    music = { folder = \"music\", order = \"named\", rest = \"-20 LU\" }\n\
    [[block]]\nwork = \"25s\"\nrest = \"30s\"\nlast_rest = true\nmovements = [\"march\"]\n\
    [[block]]\nmusic = { folder = \"calm\", level = \"-15 LU\" }\nwork = \"25s\"\nrest = \"30s\"\n\
    last_rest = true\nmovements = [\"march\"]\n\
    [[block]]\nmusic = false\nwork = \"25s\"\nrest = \"20s\"\nlast_rest = true\nmovements = [\"march\"]\n";

/// A world in which that session has two folders of music, 500 Hz in one and 800 Hz in the other.
fn world() -> World {
    let world = World::new();
    world.write("boathouse/sessions/outing.toml", SESSION);
    for (folder, hz) in [("music", 500), ("calm", 800)] {
        fs::create_dir(world.at(&format!("boathouse/{folder}"))).unwrap();
        let path = world.at(&format!("boathouse/{folder}/a.flac"));
        let source = sine(hz, 0.2, 60.0, 44_100);
        ffmpeg(&["-f", "lavfi", "-i", &source, path.to_str().unwrap()]);
    }
    world
}

fn rendered(world: &World, name: &str, more: &[&str]) -> (Vec<[f32; 2]>, String) {
    let arguments = [
        &[
            "render", "outing", "--voice", "compact", "--bits", "24", "-o", name,
        ],
        more,
    ]
    .concat();
    let ended = world.run(&arguments);
    ended.check(0, &[]);
    let mut wav = hound::WavReader::open(world.at(&format!("boathouse/{name}"))).unwrap();
    let samples: Vec<f32> = wav
        .samples::<i32>()
        .map(|s| s.unwrap() as f32 / 8_388_608.0)
        .collect();
    (samples.as_chunks::<2>().0.to_vec(), ended.err)
}

/// The parts of a plan: segments and sounds, by what they are, in seconds.
fn parts(plan: &serde_json::Value, of: &str, from: &str) -> Vec<(String, f64, f64)> {
    let secs = |value: &serde_json::Value| value.as_f64().unwrap() / 1000.0;
    let list = plan[of].as_array().unwrap().iter();
    list.map(|it| {
        (
            it["kind"].as_str().unwrap().to_owned(),
            secs(&it[from]),
            secs(&it["end_ms"]),
        )
    })
    .collect()
}

fn cut(frames: &[[f32; 2]], from: f64, to: f64) -> &[[f32; 2]] {
    &frames[(from * 48_000.0) as usize..(to * 48_000.0) as usize]
}

fn minus(a: &[[f32; 2]], b: &[[f32; 2]]) -> Vec<[f32; 2]> {
    a.iter()
        .zip(b)
        .map(|(a, b)| [a[0] - b[0], a[1] - b[1]])
        .collect()
}

#[test]
fn in_a_file_each_part_has_its_music_at_its_level_and_speech_stands_10_lu_above_it() {
    let world = world();
    let (with, said) = rendered(&world, "with.wav", &[]);
    assert!(!said.contains("music"), "{said}");
    let (without, _) = rendered(&world, "without.wav", &["--no-music"]);
    assert_eq!(with.len(), without.len());
    let plan = world.run(&["plan", "outing", "--voice", "compact", "--format", "json"]);
    let plan = parsed(&plan.out);
    let segments = parts(&plan, "segments", "start_ms");
    let sounds = parts(&plan, "sounds", "onset_ms");
    // Below the ceiling the limiter changes nothing: what is left is the bed.
    let bed = minus(&with, &without);

    // Where nothing sounds: two seconds and more behind one sound and before the next.
    let mut quiet = Vec::new();
    for pair in sounds.windows(2) {
        let (from, to) = (pair[0].2 + 1.2, pair[1].1 - 0.4);
        if to - from >= 1.5 {
            quiet.push((from, to));
        }
    }
    let mut heard = [0; 5];
    for (from, to) in quiet {
        // Two seconds after a change of level or of folder it is there.
        let at = segments
            .iter()
            .position(|(_, start, end)| *start + 2.2 <= from && to <= *end);
        let Some(at) = at else { continue };
        let (kind, ..) = &segments[at];
        let part = cut(&bed, from, to);
        let tones = [amplitude(part, 500), amplitude(part, 800)];
        // The lead-in, then a work and a rest for each block, then the finish.
        let (which, wanted) = match (at, kind.as_str()) {
            (0, "lead-in") => (0, Some((0, -38.0))),
            (1, "work") => (1, Some((0, -30.0))),
            (2, "rest") => (2, Some((0, -38.0))),
            (3, "work") => (3, Some((1, -33.0))),
            (4, "rest") => (3, Some((1, -33.0))),
            (5, "work") | (6, "rest") => (4, None),
            _ => continue,
        };
        heard[which] += 1;
        let Some((tone, level)) = wanted else {
            assert!(
                part.iter().all(|[l, _]| l.abs() < 1e-5),
                "{kind} {from}: music where there is none"
            );
            continue;
        };
        assert!(
            tones[1 - tone] < tones[tone] / 100.0,
            "{kind} {from}: {tones:?}"
        );
        if to - from >= 3.0 {
            let found = integrated(part);
            println!("{kind} at {from:.1} s: {found} LUFS for {level}");
            assert!(
                (found - level).abs() <= 0.5,
                "{kind} {from}: {found} for {level}"
            );
        }
    }
    println!("quiet parts looked at: {heard:?}");
    assert!(heard.iter().all(|count| *count > 0), "{heard:?}");

    // All lines, with the bed below them.
    let lines: Vec<_> = sounds.iter().filter(|(kind, ..)| kind == "line").collect();
    assert!(lines.len() > 10);
    let joined = |from: &[[f32; 2]]| -> Vec<[f32; 2]> {
        lines
            .iter()
            .flat_map(|(_, begin, end)| cut(from, *begin, *end).to_vec())
            .collect()
    };
    let (speech, below) = (integrated(&joined(&without)), integrated(&joined(&bed)));
    println!("lines {speech} LUFS, the bed below them {below} LUFS");
    assert!(speech - below >= 10.0, "{speech} over {below}");
    let peak = Measured::of_frames(&with).true_peak_dbtp;
    println!("true peak {peak} dBTP");
    assert!(peak <= -1.0, "{peak} dBTP");
    // It comes softly and goes before the end.
    let end = bed.len();
    assert!(bed[..480].iter().all(|[l, _]| l.abs() < 1e-3));
    assert!(bed[end - 480..].iter().all(|[l, _]| l.abs() < 1e-4));
}

#[test]
fn a_file_is_the_same_each_time_and_without_music_it_is_as_if_none_were_asked_for() {
    let world = world();
    let session = "title = \"Outing\"\nlead_in = \"30s\"\nfinish = \"10s\"\n\
                   music = { order = \"shuffled\" }\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n";
    world.write("boathouse/sessions/outing.toml", session);
    // Short ones alone, so that each has its turn.
    fs::remove_file(world.at("boathouse/music/a.flac")).unwrap();
    for (n, hz) in [600, 700, 900].into_iter().enumerate() {
        let path = world.at(&format!("boathouse/music/{n}.mp3"));
        let source = sine(hz, 0.2, 10.0, 44_100);
        ffmpeg(&["-f", "lavfi", "-i", &source, path.to_str().unwrap()]);
    }
    world.write("boathouse/music/words.mp3", "Rack the oars.");
    let (first, said) = rendered(&world, "first.wav", &[]);
    assert!(
        said.contains("sidevoice: music: words.mp3 is skipped: it holds no sound that is known\n"),
        "{said}"
    );
    let bytes = |name: &str| fs::read(world.at(&format!("boathouse/{name}"))).unwrap();
    rendered(&world, "second.wav", &[]);
    assert!(bytes("first.wav") == bytes("second.wav"));
    // Measures kept nowhere give the same.
    fs::remove_dir_all(world.at("cache/sidevoice/music")).unwrap();
    rendered(&world, "third.wav", &[]);
    assert!(bytes("first.wav") == bytes("third.wav"));
    rendered(&world, "plain.wav", &["--no-music"]);
    assert!(bytes("first.wav") != bytes("plain.wav"));
    let plain: String = session
        .lines()
        .filter(|l| !l.starts_with("music"))
        .map(|l| format!("{l}\n"))
        .collect();
    world.write("boathouse/sessions/outing.toml", &plain);
    rendered(&world, "none.wav", &[]);
    assert!(bytes("none.wav") == bytes("plain.wav"));
    // A folder that is not there is told twice, by the session's reader and by the player, and nothing more.
    world.write(
        "boathouse/sessions/outing.toml",
        &plain.replacen("[[block]]", "music = { folder = \"gone\" }\n[[block]]", 1),
    );
    let (silent, said) = rendered(&world, "gone.wav", &[]);
    assert!(
        said.contains("music-missing") && said.contains("\"gone\" cannot be read"),
        "{said}"
    );
    assert_eq!(silent.len(), first.len());
    assert!(bytes("gone.wav") == bytes("plain.wav"));
}

#[test]
fn captions_name_music_where_it_begins_and_where_it_begins_again() {
    let world = world();
    let captions = |name: &str, more: &[&str]| {
        let arguments = ["render", "outing", "--voice", "compact", "-o", name];
        world.run(&[&arguments, more].concat()).check(0, &[]);
        fs::read_to_string(world.at(&format!("boathouse/{name}"))).unwrap()
    };
    // One folder fades into the next; the last block has none, and nothing begins behind it but the finish.
    assert_eq!(captions("with.srt", &[]).matches("[music]").count(), 2);
    assert_eq!(
        captions("none.srt", &["--no-music"])
            .matches("[music]")
            .count(),
        0
    );
    // A part that begins in the middle of it says so at its beginning.
    let part = captions("part.srt", &["--from", "1:30", "--to", "2:00"]);
    assert_eq!(part.matches("[music]").count(), 1, "{part}");
    let short = captions("short.srt", &["--from", "1:30", "--to", "1:31"]);
    let ends = short.lines().filter_map(|line| line.split(" --> ").nth(1));
    assert!(
        ends.clone().count() > 0 && ends.clone().all(|end| end <= "00:00:01,000"),
        "{short}"
    );
    fs::remove_dir_all(world.at("boathouse/music")).unwrap();
    assert_eq!(captions("gone.srt", &[]).matches("[music]").count(), 1);
}

#[test]
fn in_a_running_class_music_waits_with_it_and_goes_on_and_ends_with_it() {
    let server = Server::start();
    let world = world();
    // Nothing but music for a minute: a work without a word in the way.
    let session = SESSION.replace("rest = \"-20 LU\"", "level = \"-6 LU\"");
    world.write("boathouse/sessions/outing.toml", &session);
    let recorder = server.record();
    let log = fs::File::create(world.at("said")).unwrap();
    let mut class = server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["run", "outing", "--voice", "compact", "--buffer", "2048"])
        .current_dir(world.at("boathouse"))
        .env("XDG_CACHE_HOME", world.at("cache"))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log)
        .spawn()
        .unwrap();
    let tell = |verb: &str| {
        let told = server
            .command(env!("CARGO_BIN_EXE_sidevoice"))
            .args(["tell", verb])
            .status();
        assert!(told.unwrap().success());
    };
    // The amplitude of the music in the last half second.
    let now = || {
        let samples = recorder.samples();
        let last: Vec<_> = samples[samples.len().saturating_sub(24_000)..]
            .iter()
            .map(|s| [*s; 2])
            .collect();
        amplitude(&last, 500)
    };
    // At -24 LUFS it has an amplitude of 0.06; below speech less than 0.025.
    wait_for("music", || (now() > 0.04).then_some(()));
    tell("pause");
    wait_for("silence", || (now() < 1e-4).then_some(()));
    recorder.wait_more(48_000);
    assert!(now() < 1e-4, "it waits");
    tell("resume");
    wait_for("music again", || (now() > 0.04).then_some(()));
    tell("stop");
    wait_for("silence", || (now() < 1e-4).then_some(()));
    let ended = wait_for("the end", || class.try_wait().unwrap());
    let said = fs::read_to_string(world.at("said")).unwrap();
    assert!(ended.success(), "{said}");
    assert!(!said.contains("music"), "{said}");

    // A file of that run has the same music at the same times.
    let film = ["render", "--from-record", "last", "-o", "film.wav"];
    let made = world.run(&film);
    made.check(0, &[]);
    assert!(!made.err.contains("music"), "{made:?}");
    let mut wav = hound::WavReader::open(world.at("boathouse/film.wav")).unwrap();
    let film = wav.samples::<i16>().step_by(2);
    let film: Vec<f32> = film.map(|it| f32::from(it.unwrap()) / 32_768.0).collect();
    let room = recorder.samples();
    // It began twice: a pause lay between.
    let captions = ["render", "--from-record", "last", "-o", "film.srt"];
    world.run(&captions).check(0, &[]);
    let captions = fs::read_to_string(world.at("boathouse/film.srt")).unwrap();
    assert_eq!(captions.matches("[music]").count(), 2, "{captions}");
    // From the first sound on: in the file the sync tone lies before it.
    let first = |samples: &[f32]| samples.iter().position(|it| it.abs() > 1e-3).unwrap();
    let film = &film[48_000 + first(&film[48_000..])..];
    let room = &room[first(&room)..];
    let level = |half: &[f32]| amplitude(&half.iter().map(|it| [*it; 2]).collect::<Vec<_>>(), 500);
    let halves = film.chunks(24_000).zip(room.chunks(24_000));
    let levels: Vec<_> = halves.map(|(a, b)| (level(a), level(b))).collect();
    let heard = levels.iter().filter(|(film, _)| *film > 0.03).count();
    let alike = levels
        .iter()
        .filter(|(film, room)| (film - room).abs() < 0.002);
    let (alike, all) = (alike.count(), levels.len());
    println!("{alike} of {all} half seconds alike, music in {heard}");
    // The last one is not whole.
    assert!(heard >= 2 && alike + 1 >= all, "{levels:?}");
}
