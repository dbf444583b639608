//! Titles and chapters as others read them, in sound files and by film editors.
#![expect(
    clippy::disallowed_methods,
    reason = "looks at the files that were written"
)]

use super::read_by;
use super::sound::ENDINGS;
use super::sound::decoded;
use super::sound::ffmpeg;
use super::sound::plan;
use super::sound::probed;
use super::sound::rendered;
use super::sound::world;
use super::titled;
use super::titles;
use crate::world::World;
use crate::world::parsed;
use serde_json::Value;
use serde_json::json;
use sidevoice::base::chapters::Chapter;
use sidevoice::base::chapters::Contents;
use sidevoice::base::chapters::one_line;
use sidevoice::base::units::At;
use sidevoice::base::units::Frames;
use sidevoice::base::wording::Wording;
use sidevoice::publish::chapters;
use sidevoice::sound::out::Format;
use sidevoice::sound::out::Offline;
use sidevoice::sound::out::SoundFile;
use sidevoice::sound::out::write_sound;
use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

fn read_tags(path: &Path) -> Value {
    let name = path.file_name().unwrap().to_str().unwrap();
    parsed(&read_by("tags.py", name, fs::read(path).unwrap()))
}

/// The chapters that hold no other: start, end, title.
type Leaves = Vec<(i64, i64, String)>;

/// Derives them anew from what `plan` prints.
fn leaves_of_plan(world: &World) -> Leaves {
    let plan = plan(world);
    let end = plan["length_ms"].as_i64().unwrap();
    let segments = plan["segments"].as_array().unwrap();
    let works: Vec<_> = segments.iter().filter(|s| s["kind"] == "work").collect();
    let at = |work: &Value, key: &str| work[key].as_i64().unwrap();
    let mut since = at(works[0], "start_ms");
    let mut all = vec![(0, since, "Opening".to_owned())];
    for work in &works {
        let name = work["name"].as_str().unwrap();
        let name = format!("{}{}", name[..1].to_uppercase(), &name[1..]);
        let within = match work["block"].as_str() {
            Some(block) => format!("{block} / Round {} of 2 / ", work["round"]),
            None => "Part 2 / ".to_owned(),
        };
        all.push((since, at(work, "end_ms"), format!("{within}{name}")));
        since = at(work, "end_ms");
    }
    all.push((since, end, "Finish".to_owned()));
    assert_eq!(all.len(), 7);
    all
}

const TITLE: &str = "Boathouse; #1 = \"first\" \\ & <both>";

#[test]
fn others_read_title_and_chapters_as_they_are_in_the_plan() {
    let world = world();
    let leaves = leaves_of_plan(&world);
    for ending in ENDINGS {
        let path = rendered(&world, &format!("outing.{ending}"), &[]);
        let read = read_tags(&path);
        assert_eq!(read["title"], TITLE, "{ending}");
        let own = |title: &str| title.rsplit(" / ").next().unwrap().to_owned();
        let wanted: Vec<Value> = match ending {
            // Vorbis comments have no ends; a tag of ID3 names each chapter alone, for it has levels.
            "flac" | "opus" => leaves
                .iter()
                .map(|(at, _, title)| json!([at, null, title]))
                .collect(),
            "mp3" => leaves
                .iter()
                .map(|(at, to, title)| json!([at, to, own(title)]))
                .collect(),
            _ => leaves
                .iter()
                .map(|(at, to, title)| json!([at, to, title]))
                .collect(),
        };
        assert_eq!(read["chapters"], json!(wanted), "{ending}");
        if ending == "mp3" {
            let round = |number| json!([format!("Round {number} of 2"), ["March", "Toe tap"]]);
            let blocks = [
                json!(["Warm; up", [round(1), round(2)]]),
                json!(["Part 2", ["March"]]),
            ];
            let tree = json!([[TITLE, ["Opening", blocks[0], blocks[1], "Finish"]]]);
            assert_eq!(read["contents"], tree);
        }
        let seen = probed(&path);
        let seen = seen["chapters"].as_array().unwrap().iter().map(|c| {
            let start: f64 = c["start_time"].as_str().unwrap().parse().unwrap();
            let title = c["tags"]["title"].as_str().unwrap_or_default();
            ((start * 1000.0).round() as i64, title.to_owned())
        });
        let wanted = leaves.iter().map(|(at, _, title)| match ending {
            "mp3" => (*at, own(title)),
            _ => (*at, title.clone()),
        });
        assert_eq!(
            seen.collect::<Vec<_>>(),
            wanted.collect::<Vec<_>>(),
            "{ending}"
        );
    }
}

/// Writes two seconds of silence.
fn write(path: &Path, contents: Contents) {
    let ending = path.extension().unwrap().to_str().unwrap();
    let formats = [Format::Wav, Format::Flac, Format::Mp3, Format::Opus];
    let at = ENDINGS.iter().position(|e| *e == ending).unwrap();
    let sound = SoundFile {
        format: formats[at],
        contents,
        ..SoundFile::default()
    };
    let silence = Offline::new(Vec::new(), Frames::new(96_000));
    write_sound(path, &sound, silence, &mut |_| ControlFlow::Continue(())).unwrap();
}

#[test]
fn a_title_is_a_title_in_every_format_whatever_is_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let more = [
        "a=b",
        "\u{0}\u{1}zero",
        "[CHAPTER]",
        "\u{1f6a3} two\u{2028}lines",
    ]
    .map(str::to_owned);
    for (nth, title) in titles().into_iter().chain(more).enumerate() {
        let (session, plan) = titled(&title);
        let contents = chapters::contents(&plan, &session, Wording::of(session.text.language));
        let shown = one_line(&title);
        for ending in ENDINGS {
            let path = folder.path().join(format!("{nth}.{ending}"));
            write(&path, contents.clone());
            let read = read_tags(&path);
            assert_eq!(read["title"], shown.as_str(), "{ending}");
            let found = read["chapters"].as_array().unwrap();
            assert_eq!(found.len(), contents.leaves().len(), "{ending}: {title}");
            let named = match ending {
                "mp3" => read["contents"][0][1][1][0] == shown.as_str(),
                _ => found[1][2]
                    .as_str()
                    .unwrap()
                    .starts_with(&format!("{shown} / ")),
            };
            assert!(named, "{ending}: {read}");
        }
    }
}

#[test]
fn a_class_of_a_thousand_chapters_has_them_all() {
    let folder = tempfile::tempdir().unwrap();
    let leaf = |n: i64| Chapter::leaf(At::from_ms(n), At::from_ms(n + 1), &format!("March {n}"));
    let contents = Contents {
        title: "Long outing".to_owned(),
        chapters: (0..1100).map(leaf).collect(),
    };
    for ending in ENDINGS {
        let path = folder.path().join(format!("long.{ending}"));
        write(&path, contents.clone());
        let found = read_tags(&path);
        let found = found["chapters"].as_array().unwrap();
        assert_eq!(found.len(), 1100, "{ending}");
        assert_eq!(found[1099][2], "March 1099", "{ending}");
        assert_eq!(decoded(&path).len(), 96_000, "{ending}");
    }
}

#[test]
fn film_editors_read_the_chapters() {
    let world = world();
    let leaves = leaves_of_plan(&world);
    let (sound, list) = (
        rendered(&world, "a.mp3", &[]),
        rendered(&world, "a.ffmeta", &[]),
    );
    let joined = world.at("joined.mkv");
    let [sound, list, to] = [&sound, &list, &joined].map(|path| path.to_str().unwrap());
    // Only what the list says: the chapters of the sound are left out.
    ffmpeg(&[
        "-i",
        sound,
        "-i",
        list,
        "-map",
        "0:a",
        "-map_metadata",
        "1",
        "-map_chapters",
        "1",
        "-c",
        "copy",
        to,
    ]);
    let seen = probed(&joined);
    assert_eq!(seen["format"]["tags"]["title"], TITLE);
    let found = seen["chapters"].as_array().unwrap().iter().map(|chapter| {
        let ms = |key: &str| {
            let secs: f64 = chapter[key].as_str().unwrap().parse().unwrap();
            (secs * 1000.0).round() as i64
        };
        let title = chapter["tags"]["title"].as_str().unwrap().to_owned();
        (ms("start_time"), ms("end_time"), title)
    });
    assert_eq!(found.collect::<Leaves>(), leaves);
}

#[test]
fn a_title_is_a_title_for_film_editors_whatever_is_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let more = ["a=b;c#d\\e", "\\", "[CHAPTER]", "=;#"].map(str::to_owned);
    for title in titles().into_iter().chain(more) {
        let (session, plan) = titled(&title);
        let contents = chapters::contents(&plan, &session, Wording::of(session.text.language));
        let shown = one_line(&title);
        let path = folder.path().join("a.ffmeta");
        fs::write(&path, chapters::ffmetadata(&contents)).unwrap();
        let seen = probed(&path);
        // A backslash at the end has a space behind it.
        let read = seen["format"]["tags"]["title"].as_str().unwrap();
        assert_eq!(read.trim_end(), shown);
        let found = seen["chapters"].as_array().unwrap();
        let titles: Vec<_> = found
            .iter()
            .map(|c| c["tags"]["title"].as_str().unwrap())
            .collect();
        let wanted = contents.leaves();
        let wanted: Vec<_> = wanted.iter().map(|leaf| leaf.title.as_str()).collect();
        assert_eq!(titles, wanted);

        let rows = read_by("markers.py", "a.csv", chapters::markers(&contents));
        let rows: Vec<[String; 6]> = serde_json::from_str(&rows).unwrap();
        assert_eq!(
            rows[0],
            ["start_s", "end_s", "start", "end", "level", "title"]
        );
        let block = rows.iter().find(|row| row[5] == shown).unwrap();
        assert_eq!(block[4], "1", "{block:?}");
        let first = &contents.chapters[1];
        let seconds = |at: At| format!("{:.3}", at.since_start().secs());
        assert_eq!(
            (&block[0], &block[1]),
            (&seconds(first.start), &seconds(first.end))
        );
        assert!(
            block[2].starts_with("00:0") && block[2].ends_with(&block[0][block[0].len() - 4..])
        );
        assert_eq!(
            rows.iter().filter(|row| row[4] == "3").count(),
            12,
            "the works of two rounds"
        );
    }
}
