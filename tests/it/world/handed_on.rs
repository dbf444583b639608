//! Captions, chapters, sheets, calendars and lists as files: whole or not at all, and only where they may stand.

use super::World;
use super::ended;
use super::names;
use super::output::Small;
use std::fs;
use std::path::Path;
use std::process::Command;

const TITLED: &str = "when = { first = \"2027-07-01 07:00\", zone = \"Europe/Berlin\" }\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n";

/// Each kind of file, with the command that writes it.
const FILES: [(&[&str], &str); 7] = [
    (&["render", "short", "--voice", "compact"], "class.vtt"),
    (&["render", "short", "--voice", "compact"], "class.srt"),
    (
        &["render", "short", "--voice", "compact"],
        "class.chapters.vtt",
    ),
    (&["sheet", "short", "--voice", "compact"], "class.html"),
    (&["sheet", "short", "--voice", "compact"], "class.pdf"),
    (&["agenda"], "class.ics"),
    (&["agenda"], "class.m3u8"),
];

/// A world whose one session has a date, and a rendered file to be listed beside it.
fn world() -> World {
    let world = World::new();
    let session = format!("title = \"Short outing\"\n{TITLED}");
    world.write("boathouse/sessions/short.toml", &session);
    world.write("short.mp3", "");
    world
}

fn write(world: &World, command: &[&str], to: &Path, more: &[&str]) -> super::Ended {
    let to = ["-o", to.to_str().unwrap()];
    world.run(&[command, &to, more].concat())
}

#[test]
fn each_file_is_written_whole_and_kept_unless_it_may_go() {
    let world = world();
    for (command, name) in FILES {
        let path = world.at(name);
        fs::write(&path, "mine").unwrap();
        write(&world, command, &path, &[]).check(3, &[name, "is there already", "--overwrite"]);
        assert_eq!(fs::read(&path).unwrap(), b"mine", "{name}");
        write(&world, command, &path, &["--overwrite"]).check(0, &[]);
        let first = fs::read(&path).unwrap();
        assert!(first.len() > 40, "{name}");
        write(&world, command, &path, &["--overwrite"]).check(0, &[]);
        assert!(
            fs::read(&path).unwrap() == first,
            "{name} is another the second time"
        );
    }
    let mut left: Vec<&str> = FILES.map(|(_, name)| name).to_vec();
    left.extend(["boathouse", "cache", "short.mp3"]);
    left.sort_unstable();
    assert_eq!(names(world.home.path()), left);
    // A session at fault does not cost the files that are there.
    world.write("boathouse/sessions/short.toml", "title = 1\n");
    for (command, name) in &FILES[..5] {
        let before = fs::read(world.at(name)).unwrap();
        write(&world, command, &world.at(name), &["--overwrite"]).check(2, &["type-wrong"]);
        assert!(fs::read(world.at(name)).unwrap() == before, "{name}");
    }
}

#[test]
fn names_and_places_that_no_file_can_have_are_told_of() {
    let world = world();
    let before = names(&world.at("boathouse"));
    for (command, name) in FILES {
        let at = |folder: &str| Path::new(folder).join(name);
        write(&world, command, &at("none"), &[]).check(3, &["no folder none"]);
        write(&world, command, &at("sessions/short.toml"), &[]).check(3, &["short.toml"]);
        write(&world, command, &at("/proc"), &[]).check(3, &["/proc"]);
        let long = format!("{}{name}", "x".repeat(300));
        write(&world, command, Path::new(&long), &[]).check(3, &[&long]);
        fs::create_dir_all(world.at("folder").join(name)).unwrap();
        let folder = world.at("folder").join(name);
        write(&world, command, &folder, &["--overwrite"]).check(3, &["is not a file"]);
        let bare = &name[name.find('.').unwrap()..];
        write(&world, command, Path::new(bare), &[]).check(3, &["ends in ."]);
        write(&world, command, Path::new(""), &[]).check(64, &["--output"]);
    }
    let wrong = |command: &[&str], name: &str| write(&world, command, Path::new(name), &[]);
    wrong(&["sheet", "short"], "class.odt").check(3, &["ends in .html or .pdf, found class.odt"]);
    wrong(&["sheet", "short"], "class").check(3, &["ends in .html or .pdf, found class"]);
    wrong(&["render", "short"], "class.sub").check(3, &[".vtt, .srt", "found \"class.sub\""]);
    wrong(&["agenda"], "class.html").check(3, &["ends in .ics"]);
    let paper = ["sheet", "short", "--paper", "a3"];
    wrong(&paper, "class.pdf").check(64, &["expected a4 or letter, found a3"]);
    assert_eq!(names(&world.at("boathouse")), before);
}

#[test]
fn options_that_a_file_has_no_use_for_are_told_of() {
    let world = world();
    let wrong =
        |name: &str, more: &[&str]| write(&world, &["render", "short"], Path::new(name), more);
    wrong("class.mp3", &["--bits", "24"]).check(64, &["--bits is for .wav and .flac"]);
    wrong("class.html", &["--paper", "letter"]).check(64, &["--paper is for .pdf"]);
    wrong("class.wav", &["--from", "-5"]).check(64, &["--from \"-5\": expected a time"]);
    let record = ["--from-record", "last", "--from", "0:10", "--to", "0:20"];
    wrong("class.wav", &record).check(64, &["--from and --to cut a class as it is planned"]);
    let folder = ["render", ".", "-o", "class.mp3"];
    world
        .run(&folder)
        .check(3, &["expected a folder to write to, found class.mp3"]);
}

#[test]
fn a_file_that_may_not_grow_so_large_is_named_and_no_part_of_it_is_left() {
    let world = world();
    let before = names(&world.at("boathouse"));
    let mut limited = Command::new("bash");
    let limited = limited
        .args([
            "-c",
            "ulimit -f 20 && exec \"$0\" render short -o class.wav",
        ])
        .arg(env!("CARGO_BIN_EXE_sidevoice"))
        .current_dir(world.at("boathouse"))
        .env("HOME", world.at("."))
        // Lines are kept in files too; here none are.
        .env("XDG_CACHE_HOME", "/dev/null");
    ended(limited).check(3, &["class.wav", "large"]);
    assert_eq!(names(&world.at("boathouse")), before);
}

#[test]
fn a_full_disk_is_named_and_no_part_of_a_file_is_left_on_it() {
    let world = world();
    let Some(small) = Small::new() else {
        eprintln!("not tested: nothing may be mounted here");
        return;
    };
    fs::write(small.folder().join("short.mp3"), "").unwrap();
    // Fills it: what does not fit is not written.
    fs::write(small.folder().join("full"), [0; 300_000]).unwrap_err();
    for (command, name) in FILES {
        let full = write(&world, command, &small.folder().join(name), &[]);
        full.check(3, &["the disk that holds", name, "is full"]);
        assert_eq!(names(small.folder()), ["full", "short.mp3"]);
    }
}

#[test]
fn titles_of_all_kinds_are_written_to_all_kinds_of_files() {
    let world = world();
    let long = "Boathouse \u{fc}ber".repeat(24);
    for (nth, title) in [
        "The \"long\" 'outing'\nand --> back <b>&amp;</b>",
        "\u{5d0}\u{5d9}\u{5de}\u{5d5}\u{5df} (2) \u{627}\u{644}\u{645}\u{631}\u{643}\u{628}",
        "\u{4e2d}\u{1f6a3}\u{200d}\u{2642}\u{fe0f} x",
        &long,
    ]
    .iter()
    .enumerate()
    {
        let session = format!(
            "title = {}\n{TITLED}",
            serde_json::to_string(title).unwrap()
        );
        world.write("boathouse/sessions/short.toml", &session);
        for (command, name) in FILES {
            let path = world.at(&format!("{nth}-{name}"));
            write(&world, command, &path, &[]).check(0, &[]);
        }
    }
}

#[test]
fn two_sessions_of_one_title_have_files_of_their_own() {
    let world = world();
    for (id, work) in [("short", "15s"), ("twin", "20s")] {
        let session = format!("title = \"Outing\"\n{}", TITLED.replace("15s", work));
        world.write(&format!("boathouse/sessions/{id}.toml"), &session);
        for name in ["vtt", "html", "pdf"] {
            let command = if name == "vtt" { "render" } else { "sheet" };
            let path = world.at(&format!("{id}.{name}"));
            write(&world, &[command, id, "--voice", "compact"], &path, &[]).check(0, &[]);
        }
    }
    for name in ["vtt", "html", "pdf"] {
        let read = |id: &str| fs::read(world.at(&format!("{id}.{name}"))).unwrap();
        assert!(read("short") != read("twin"), "{name}");
    }
}

#[test]
fn a_session_in_which_next_to_nothing_is_said_has_all_its_files() {
    let world = world();
    let session = "title = \"O\"\ntalk = \"quiet\"\n\
                   when = { first = \"2027-07-01 07:00\", zone = \"Europe/Berlin\" }\n\
                   [[block]]\nwork = \"1s\"\nmovements = [\"march\"]\n";
    world.write("boathouse/sessions/short.toml", session);
    for (command, name) in FILES {
        write(&world, command, &world.at(name), &[]).check(0, &[]);
    }
}
