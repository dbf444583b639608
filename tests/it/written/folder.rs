//! A folder rendered at once: what is made, what is left as it is, who makes it, and what is said at the end.
#![expect(
    clippy::disallowed_methods,
    reason = "looks at what was written, and waits for who writes it"
)]

use super::read_by;
use crate::world::Ended;
use crate::world::World;
use crate::world::names;
use crate::world::parsed;
use serde_json::json;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;
use std::time::SystemTime;

/// A world with so many sessions more, each with a line of its own.
fn boathouse(more: usize) -> World {
    let world = World::new();
    for nth in 0..more {
        write_session(&world, nth, "Outing");
    }
    world
}

fn write_session(world: &World, nth: usize, title: &str) {
    let text = format!(
        "title = \"{title} {nth}\"\ncaution = \"Mind the oars, crew {nth}.\"\nlead_in = \"1m\"\n\
         [[block]]\nrounds = 2\nwork = \"15s\"\nrest = \"15s\"\nmovements = [\"march\"]\n"
    );
    world.write(&format!("boathouse/sessions/s{nth}.toml"), &text);
}

/// The names in the output folder but for the notes.
fn rendered(world: &World) -> Vec<String> {
    let mut names = names(&world.at("out"));
    names.retain(|name| name != ".sidevoice");
    names
}

fn changed(path: &Path) -> SystemTime {
    fs::metadata(path).unwrap().modified().unwrap()
}

/// How many classes a run says that it rendered.
fn count(said: &str) -> usize {
    let words = said.rsplit_once(": ").unwrap().1;
    let number = words.split_once(" of ").unwrap().0;
    number.parse().unwrap()
}

#[test]
fn all_sessions_are_written_and_then_what_has_changed() {
    let world = boathouse(2);
    let all = [
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "wav,vtt,sheet,chapters",
    ];
    let first = world.run(&all);
    first.check(0, &["3 of 3: "]);
    assert!(
        first
            .out
            .contains("index.html: 3 of 3 rendered, 0 unchanged."),
        "{first:?}"
    );
    let of = |id: &str| ["chapters.vtt", "html", "vtt", "wav"].map(|e| format!("{id}.{e}"));
    let mut expected: Vec<_> = ["s0", "s1", "short"].into_iter().flat_map(of).collect();
    expected.insert(0, "index.html".to_owned());
    assert_eq!(rendered(&world), expected);
    let times = || {
        expected[1..]
            .iter()
            .map(|name| changed(&world.at("out").join(name)))
    };
    let before: Vec<_> = times().collect();
    let bytes = fs::read(world.at("out/s0.wav")).unwrap();

    let again = world.run(&all);
    assert!(
        again
            .check(0, &[])
            .out
            .contains("0 of 3 rendered, 3 unchanged."),
        "{again:?}"
    );
    assert_eq!(times().collect::<Vec<_>>(), before);

    // Another title is heard in the opening, and seen in the captions.
    write_session(&world, 0, "Long outing");
    let some = world.run(&all);
    assert!(
        some.check(0, &[])
            .out
            .contains("1 of 3 rendered, 2 unchanged."),
        "{some:?}"
    );
    assert_ne!(fs::read(world.at("out/s0.wav")).unwrap(), bytes);
    let captions = fs::read_to_string(world.at("out/s0.vtt")).unwrap();
    assert!(captions.contains("Long"), "{captions}");
    // The same text as before gives the same bytes as before.
    write_session(&world, 0, "Outing");
    world.run(&all).check(0, &[]);
    assert_eq!(fs::read(world.at("out/s0.wav")).unwrap(), bytes);

    // A movement is part of all sessions that use it.
    let march = world.at("boathouse/movements/march.toml");
    let text = fs::read_to_string(&march).unwrap();
    fs::write(&march, format!("# on the spot\n{text}")).unwrap();
    assert_eq!(count(&world.run(&all).out), 3);
}

#[test]
fn one_file_of_several_that_is_missing_is_made_again_alone() {
    let world = boathouse(0);
    let all = ["render", ".", "-o", "../out", "--formats", "wav,vtt"];
    world.run(&all).check(0, &[]);
    let wav = changed(&world.at("out/short.wav"));
    fs::remove_file(world.at("out/short.vtt")).unwrap();
    assert_eq!(count(&world.run(&all).out), 1);
    assert!(world.at("out/short.vtt").exists());
    assert_eq!(changed(&world.at("out/short.wav")), wav);
    // Other formats come beside those that are there.
    let other = world.run(&["render", ".", "-o", "../out", "--formats", "srt"]);
    other.check(0, &[]);
    assert_eq!(
        rendered(&world),
        ["index.html", "short.srt", "short.vtt", "short.wav"]
    );
    assert_eq!(count(&world.run(&all).out), 0);
    let page = fs::read_to_string(world.at("out/index.html")).unwrap();
    for name in ["short.srt", "short.vtt", "short.wav"] {
        assert!(page.contains(&format!("href=\"./{name}\"")), "{page}");
    }
}

#[test]
fn what_somebody_else_wrote_is_kept_and_told() {
    let world = boathouse(1);
    fs::create_dir(world.at("out")).unwrap();
    world.write("out/short.vtt", "mine");
    world.write("out/index.html", "mine too");
    let all = ["render", ".", "-o", "../out", "--formats", "vtt"];
    let ended = world.run(&all);
    ended.check(
        8,
        &[
            "1 of 2 could not be rendered",
            "short: ",
            "--overwrite",
            "index.html is somebody",
        ],
    );
    assert_eq!(
        fs::read_to_string(world.at("out/short.vtt")).unwrap(),
        "mine"
    );
    assert_eq!(
        fs::read_to_string(world.at("out/index.html")).unwrap(),
        "mine too"
    );
    assert!(world.at("out/s0.vtt").exists());
    // What was made here and changed since is somebody's too.
    fs::write(world.at("out/s0.vtt"), "WEBVTT\n\nNOTE mine\n").unwrap();
    world
        .run(&all)
        .check(8, &["2 of 2 could not be rendered", "s0: "]);
    let mut overwrite = all.to_vec();
    overwrite.push("--overwrite");
    world.run(&overwrite).check(0, &[]);
    for name in ["out/short.vtt", "out/s0.vtt", "out/index.html"] {
        assert!(
            !fs::read_to_string(world.at(name)).unwrap().contains("mine"),
            "{name}"
        );
    }
    // A copy has other times and the same content: it is no other.
    let copied = Command::new("cp")
        .args(["-r"])
        .arg(world.at("out"))
        .arg(world.at("copy"))
        .status();
    assert!(copied.unwrap().success());
    let there = world.run(&["render", ".", "-o", "../copy", "--formats", "vtt"]);
    assert_eq!(count(&there.check(0, &[]).out), 0);
}

#[test]
fn a_session_called_index_takes_no_page_from_the_others() {
    let world = boathouse(1);
    fs::rename(
        world.at("boathouse/sessions/short.toml"),
        world.at("boathouse/sessions/index.toml"),
    )
    .unwrap();
    let all = ["render", ".", "-o", "../out", "--formats", "vtt,sheet"];
    for _ in 0..2 {
        let ended = world.run(&all);
        ended.check(
            8,
            &[
                "1 of 2 could not be rendered",
                "index: ",
                "Rename the session",
            ],
        );
        let page = fs::read_to_string(world.at("out/index.html")).unwrap();
        assert!(page.contains("s0.html"), "{page}");
    }
}

#[test]
fn of_sessions_with_faults_the_others_are_written() {
    let world = boathouse(1);
    world.write("boathouse/sessions/bad.toml", "title = 3\n");
    world.write(
        "boathouse/sessions/crowded.toml",
        "title = \"Crowded\"\nlead_in = \"1s\"\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n",
    );
    let ended = world.run(&[
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "vtt,wav",
        "--plain",
    ]);
    ended.check(
        8,
        &[
            "2 of 4 could not be rendered",
            "bad: ",
            "crowded: ",
            "bad.toml",
        ],
    );
    assert_eq!(
        rendered(&world),
        ["index.html", "s0.vtt", "s0.wav", "short.vtt", "short.wav"]
    );
}

/// Starts the program; it ends by itself.
fn started(world: &World, arguments: &[&str]) -> std::process::Child {
    let mut command = world.command(arguments);
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().unwrap()
}

fn ended(child: std::process::Child) -> (Option<i32>, String, String) {
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let ended = (
        output.status.code(),
        text(output.stdout),
        text(output.stderr),
    );
    assert!(!ended.2.contains("panicked"), "{ended:?}");
    ended
}

#[test]
fn two_processes_share_a_folder_and_make_nothing_twice() {
    let world = boathouse(9);
    let all = [
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "wav,vtt",
        "--jobs",
        "1",
    ];
    let both = [started(&world, &all), started(&world, &all)].map(ended);
    let counts = both.each_ref().map(|(code, out, err)| {
        assert_eq!(*code, Some(0), "{out}{err}");
        count(out)
    });
    assert_eq!(counts[0] + counts[1], 10, "{both:?}");
    assert!(
        counts.iter().all(|made| *made > 0),
        "one made it all: {counts:?}"
    );
    assert_eq!(rendered(&world).len(), 21);
    // Each knows of all of it, whoever made it.
    let page = fs::read_to_string(world.at("out/index.html")).unwrap();
    assert_eq!(page.matches("<section>").count(), 10);
    // As one alone would have made it.
    let alone = world.run(&["render", ".", "-o", "../alone", "--formats", "wav,vtt"]);
    alone.check(0, &[]);
    for name in names(&world.at("alone"))
        .iter()
        .filter(|name| name.contains(".wav"))
    {
        let read = |folder: &str| fs::read(world.at(folder).join(name)).unwrap();
        assert!(read("out") == read("alone"), "{name} differs");
    }
}

#[test]
fn an_interruption_leaves_what_is_whole_and_the_next_run_goes_on() {
    let world = boathouse(40);
    let all = [
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "wav",
        "--jobs",
        "1",
    ];
    let child = started(&world, &all);
    let begun = Instant::now();
    while !world.at("out/s1.wav").exists() {
        assert!(
            begun.elapsed() < Duration::from_secs(30),
            "nothing is written"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    let id = child.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-s", "INT", &id])
            .status()
            .unwrap()
            .success()
    );
    let (code, _, err) = ended(child);
    assert_eq!(code, Some(130), "{err}");
    assert!(err.contains("the same command goes on from here"), "{err}");
    let there = rendered(&world);
    assert!(
        there
            .iter()
            .all(|name| name.ends_with(".wav") || name == "index.html"),
        "{there:?}"
    );
    assert!(there.len() < 41, "it was done already");
    let whole = there.iter().filter(|name| name.ends_with(".wav")).count();
    let rest = world.run(&all);
    rest.check(0, &[]);
    assert_eq!(count(&rest.out), 41 - whole);
}

#[test]
fn each_session_is_spoken_in_each_language_that_is_named() {
    let world = boathouse(0);
    let ended = world.run(&[
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "vtt",
        "--voices",
        "en,de,compact",
    ]);
    // English ones are in the language that the session is written in.
    ended.check(
        0,
        &["in \"de\" the session's own texts", "language: short."],
    );
    assert!(!ended.err.contains("in \"en\""), "{ended:?}");
    assert_eq!(
        rendered(&world),
        [
            "index.html",
            "short.compact.vtt",
            "short.de.vtt",
            "short.en.vtt"
        ]
    );
    let captions = |name: &str| fs::read_to_string(world.at("out").join(name)).unwrap();
    assert!(captions("short.de.vtt").contains("[Startton]"));
    assert!(captions("short.en.vtt").contains("[start tone]"));
    let page = fs::read_to_string(world.at("out/index.html")).unwrap();
    assert!(page.contains("lang=\"de\""), "{page}");
    // html5lib finds no error in it, nor in one whose titles are markup.
    read_by("page.py", "index.html", &page);
    let text = "title = '<b>\"Eight\"</b> & --> more'\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n";
    world.write("boathouse/sessions/short.toml", text);
    world
        .run(&["render", ".", "-o", "../out", "--formats", "vtt,wav"])
        .check(0, &[]);
    let page = fs::read_to_string(world.at("out/index.html")).unwrap();
    let read = parsed(&read_by("page.py", "index.html", &page));
    assert_eq!(
        read["headings"][1],
        json!([2, "<b>\"Eight\"</b> & --> more"])
    );
    assert_eq!(read["active"], json!(["source src", "a href", "a href"]));
}

#[test]
fn what_makes_no_sense_is_told_before_anything_is_made() {
    let world = boathouse(0);
    world.write("file", "");
    let run = |more: &[&str]| -> Ended {
        let mut all = vec!["render", ".", "-o", "../out"];
        all.extend(more);
        world.run(&all)
    };
    run(&["--formats", "aiff,vtt"]).check(64, &["aiff", "sheet", "chapters"]);
    run(&["--voices", "xx,de,nobody"]).check(5, &["\"xx\", \"nobody\"", "hibari", "pt"]);
    run(&["--jobs", "0"]).check(64, &["jobs"]);
    run(&["--voice", "compact"]).check(64, &["--voices"]);
    world
        .run(&["render", ".", "-o", "../file"])
        .check(3, &["expected a folder"]);
    world.run(&["render", "..", "-o", "../out"]).check(2, &[]);
    world
        .run(&["render", "short", "-o", "a.wav", "--jobs", "2"])
        .check(64, &["--jobs", "folder"]);
    assert!(!world.at("out").exists());
    // A folder in which nothing can be written.
    fs::create_dir(world.at("out")).unwrap();
    fs::write(world.at("out/.sidevoice"), "").unwrap();
    run(&[]).check(3, &[".sidevoice"]);
}
