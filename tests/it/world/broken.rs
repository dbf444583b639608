//! What is not there, or not as it should be.

use super::SESSION;
use super::World;
use super::names;
use super::parsed;
use std::fs;

#[test]
fn sessions_that_are_not_there_are_named() {
    let world = World::new();
    let told = ["sessions/none.toml", "file-missing", "look at its name"];
    for command in ["plan", "check", "run"] {
        world.run(&[command, "none"]).check(2, &told);
        world
            .run(&[command, "away/none.toml"])
            .check(2, &["away/none.toml", "file-missing"]);
    }
    let near = ["sessions/shrot.toml", "did you mean \"short\"?"];
    world.run(&["plan", "shrot"]).check(2, &near);
    world.run(&["plan", "."]).check(2, &["file-missing"]);
    world.run(&["plan", ""]).check(2, &["file-missing"]);
    // An id never leads out of the folder; a path says itself where it leads.
    world.write("boathouse/outside.toml", super::SESSION);
    let outside = world.run(&["plan", "../outside"]);
    outside.check(2, &["../outside, line 1", "file-missing"]);
    assert!(!outside.err.contains("sessions/../outside"), "{outside:?}");
    world
        .run(&["check", "/etc/passwd"])
        .check(2, &["/etc/passwd", "toml-syntax"]);
    let no_file = ["file-missing", "not a file"];
    world.run(&["check", "/dev/zero"]).check(2, &no_file);
    // Nobody writes to this pipe.
    let pipe = world.at("boathouse/sessions/pipe.toml");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.unwrap().success());
    world.run(&["check", "pipe"]).check(2, &no_file);
}

#[test]
fn folders_that_are_none_are_named() {
    let world = World::new();
    fs::remove_dir_all(world.at("boathouse/movements")).unwrap();
    world
        .run(&["check"])
        .check(2, &["folder-missing", "sidevoice new FOLDER"]);
    world
        .run(&["check", "sessions/short.toml"])
        .check(2, &["folder-missing"]);
    world.run(&["check", "nowhere"]).check(2, &["file-missing"]);
}

#[test]
fn a_configuration_in_the_session_folder_is_told_of() {
    let world = World::new();
    world.write("boathouse/config.toml", "clarity = \"gym\"\n");
    let told = [
        "config.toml",
        "config-misplaced",
        "nothing reads this file",
        ".config/sidevoice/config.toml",
    ];
    let config = world.at(".config");
    let run = |arguments: &[&str], home: &std::path::Path| {
        super::ended(world.command(arguments).env("XDG_CONFIG_HOME", home))
    };
    run(&["check", "short"], &config).check(0, &told);
    run(&["check", "."], &config).check(0, &told);
    run(&["plan", "short", "--voice", "compact"], &config).check(0, &told);
    run(&["render", "short", "-o", "short.vtt"], &config).check(0, &told);
    // Where it is the user's own, all is well.
    let own = world.at("home/sidevoice");
    fs::create_dir_all(world.at("home")).unwrap();
    std::os::unix::fs::symlink(world.at("boathouse"), &own).unwrap();
    let ended = run(&["check", "short"], &world.at("home"));
    assert!(!ended.err.contains("config-misplaced"), "{ended:?}");
}

#[test]
fn check_ends_with_nought_one_or_two() {
    let world = World::new();
    let warm = SESSION.replace("[[block]]", "[[block]]\npart = \"warm-up\"");
    world.write("boathouse/sessions/short.toml", &warm);
    world.run(&["check", "--strict"]).check(0, &[]);
    // By ear, a rest of a second grows: that is advice.
    let tight = "title = \"Tight\"\nby_ear = true\n[[block]]\npart = \"warm-up\"\nwork = \"15s\"\nrest = \"1s\"\n\
                 movements = [\"march\", \"march\"]\n";
    world.write("boathouse/sessions/tight.toml", tight);
    let advice = world.run(&["check", "tight"]);
    advice.check(0, &["rest-lengthened"]);
    assert!(
        advice.out.contains("1 session in order; 0 errors"),
        "{advice:?}"
    );
    world
        .run(&["check", "tight", "--strict"])
        .check(1, &["rest-lengthened"]);
    world.write("boathouse/sessions/bad.toml", "title = 1\n");
    let bad = world.run(&["check", "--strict", "--plain"]);
    bad.check(
        2,
        &[
            "sessions/bad.toml, line 1, column 9: error: ",
            "[type-wrong]",
        ],
    );
    assert!(bad.out.contains("2 sessions in order; 2 errors"), "{bad:?}");

    let json = world.run(&["check", "--json"]);
    json.check(2, &[]);
    let json = parsed(&json.out);
    let ids = json["sessions"].as_array().unwrap().iter();
    let ids: Vec<_> = ids.map(|s| s["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["short", "tight"]);
    let first = &json["diagnostics"][0];
    let wanted = ["code", "column", "file", "help", "level", "line", "message"];
    assert_eq!(super::keys(first), wanted);
    let all = json["diagnostics"].as_array().unwrap();
    let places: Vec<_> = all
        .iter()
        .map(|d| (d["code"].as_str(), d["line"].as_i64()))
        .collect();
    assert!(
        places.contains(&(Some("type-wrong"), Some(1))),
        "{places:?}"
    );
    assert!(
        places.contains(&(Some("rest-lengthened"), Some(7))),
        "{places:?}"
    );
}

#[test]
fn new_keeps_what_is_there() {
    let world = World::new();
    world.write("boathouse/movements/march.toml", "# mine\n");
    let made = world.run(&["new", "."]);
    made.check(0, &[]);
    assert!(made.out.contains("1 files kept as they were"), "{made:?}");
    let march = fs::read_to_string(world.at("boathouse/movements/march.toml")).unwrap();
    assert_eq!(march, "# mine\n");
    assert!(names(&world.at("boathouse/sessions")).contains(&"short.toml".to_owned()));

    let fresh = world.at("a/b/fresh");
    world.run(&["new", fresh.to_str().unwrap()]).check(0, &[]);
    world.run(&["check", fresh.to_str().unwrap()]).check(0, &[]);
    let below_a_file = world.at("boathouse/sessions/short.toml/new");
    world
        .run(&["new", below_a_file.to_str().unwrap()])
        .check(3, &["short.toml"]);
}

#[test]
fn a_neural_voice_that_is_missing_or_damaged_is_named_and_the_compact_one_speaks() {
    let world = World::new();
    let plan = ["plan", "short", "--voice", "hibari", "--format", "json"];
    let told = |why: &str| {
        let ended = world.run(&plan);
        let words = [
            "hibari",
            why,
            "sidevoice voices get hibari",
            "The compact voice speaks",
        ];
        ended.check(0, &words);
        let plan = parsed(&ended.out);
        assert_eq!(plan["voice"], "compact");
        assert!(plan["sounds"].as_array().unwrap().len() > 5);
        ended.err
    };
    told("missing");
    let folder = world.at("data/sidevoice/voices/hibari");
    fs::create_dir_all(&folder).unwrap();
    let voice = sidevoice::sound::speech::library::find("hibari").unwrap();
    // Each file in turn is cut short while those before it are of the right length.
    for file in &voice.files {
        fs::write(folder.join(&file.name), "cut").unwrap();
        let err = told("3 found");
        assert!(err.contains(&file.name), "{err}");
        let whole = fs::File::create(folder.join(&file.name)).unwrap();
        whole.set_len(file.bytes).unwrap();
    }
}

#[test]
fn a_neural_voice_of_the_right_length_and_the_wrong_bytes_is_named_and_the_compact_one_speaks() {
    let world = World::new();
    let folder = world.at("data/sidevoice/voices/hibari");
    fs::create_dir_all(&folder).unwrap();
    for file in sidevoice::sound::speech::library::find("hibari")
        .unwrap()
        .files
    {
        let whole = fs::File::create(folder.join(&file.name)).unwrap();
        whole.set_len(file.bytes).unwrap();
    }
    let ended = world.run(&["plan", "short", "--voice", "hibari", "--format", "json"]);
    ended.check(
        0,
        &[
            "SHA-256",
            "sidevoice voices get hibari",
            "compact voice speaks instead",
        ],
    );
    assert!(parsed(&ended.out)["sounds"].as_array().unwrap().len() > 5);
    let listed = world.run(&["voices", "--json"]);
    listed.check(0, &[]);
    parsed(&listed.out);
}

#[test]
fn the_voices_of_a_session_folder_are_known_in_it_and_their_faults_told() {
    let world = World::new();
    let heron = "name = \"heron\"\nabout = \"of Scotland\"\nengine = \"espeak\"\n\
                 speaks = \"en-gb-scotland\"\nlanguage = \"en-GB\"\nlicence = \"GPL-3.0-or-later\"\n";
    std::fs::create_dir(world.at("boathouse/voices")).unwrap();
    world.write("boathouse/voices/heron.toml", heron);
    let wanted = super::SESSION.replace("opening", "voice = \"heron\"\nopening");
    world.write("boathouse/sessions/short.toml", &wanted);
    world.run(&["check", "short"]).check(0, &[]);
    world
        .run(&["render", "short", "-o", "short.wav"])
        .check(0, &[]);
    let listed = world.run(&["voices", "--json"]);
    listed.check(0, &[]);
    let listed = parsed(&listed.out);
    let voice = |name: &str| {
        let all = listed.as_array().unwrap().iter();
        all.clone().find(|v| v["name"] == name).unwrap().clone()
    };
    assert_eq!(voice("heron")["here"], true);
    assert_eq!(voice("heron")["file"], "voices/heron.toml");
    assert_eq!(voice("compact")["ten_words_ms"], 1);
    assert!(voice("system")["ten_words_ms"].is_null());
    let got = world.run(&["voices", "get", "heron"]);
    assert!(got.out.contains("heron is here already"), "{got:?}");

    world.write(
        "boathouse/voices/gull.toml",
        &heron.replace("\"heron\"", "\"compact\""),
    );
    let told = [
        "voice-taken",
        "gull.toml:1:8",
        "give this voice another name",
    ];
    world.run(&["check", "short"]).check(2, &told);
    let listed = world.run(&["voices"]);
    listed.check(2, &["voice-taken"]);
    assert!(listed.out.contains("heron: of Scotland"), "{listed:?}");
}

#[test]
fn a_voice_that_espeak_does_not_have_is_not_here_and_is_not_stood_in_for() {
    let world = World::new();
    fs::create_dir(world.at("boathouse/voices")).unwrap();
    let text = "name = \"owl\"\nabout = \"of the night\"\nengine = \"espeak\"\nlanguage = \"en\"\n\
                licence = \"GPL-3.0-or-later\"\nspeaks = \"zz\"\n";
    world.write("boathouse/voices/owl.toml", text);
    let listed = world.run(&["voices"]);
    listed.check(0, &[]);
    let told = "gave no sound with its voice zz";
    let owl = listed.out.split("owl: of the night").nth(1).unwrap();
    assert!(owl.contains(told) && !owl.contains("ready"), "{owl}");
    world.run(&["voices", "try", "owl"]).check(5, &[told]);
    // A class is spoken all the same.
    let run = world.run(&["render", "short", "--voice", "owl", "-o", "short.wav"]);
    run.check(0, &[told]);
    assert_eq!(run.err.matches(told).count(), 1, "told once: {run:?}");
}

#[test]
fn a_voice_that_there_is_not_is_an_ending_of_its_own() {
    let world = World::new();
    let told = ["no voice called \"zebra\"", "hibari, compact"];
    world
        .run(&["plan", "short", "--voice", "zebra"])
        .check(5, &told);
    world.run(&["voices", "try", "zebra"]).check(5, &told);
    world.run(&["voices", "get", "zebra"]).check(5, &["zebra"]);
    let wanted = super::SESSION.replace("opening", "voice = \"hibary\"\nopening");
    world.write("boathouse/sessions/short.toml", &wanted);
    let told = [
        "voice-unknown",
        "short.toml:2:9",
        "did you mean \"hibari\"?",
    ];
    world.run(&["check", "short"]).check(2, &told);
    world.run(&["plan", "short"]).check(5, &["hibary"]);
}

#[test]
fn a_session_that_nobody_here_can_speak_is_told() {
    let world = World::new();
    let german = SESSION.replace("title", "language = \"de\"\ntitle");
    world.write("boathouse/sessions/kurz.toml", &german);
    let with = world.run(&["check", "kurz"]);
    assert!(!with.err.contains("voice-missing"), "{with:?}");
    // Without espeak-ng on the path.
    let empty = world.at("boathouse");
    let mut command = world.command(&["check", "kurz"]);
    let output = command.env("PATH", &empty).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    let wanted = "expected a voice for German, found none here";
    assert!(
        told.contains("voice-missing") && told.contains(wanted),
        "{told}"
    );
    let mut command = world.command(&["check", "short"]);
    let output = command.env("PATH", &empty).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!told.contains("voice-missing"), "{told}");
}
