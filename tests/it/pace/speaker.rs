//! `--speaker` and `speaker`: a plan for a human's mouth, and the people who are kept.

use crate::world::World;
use crate::world::parsed;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Rate;
use sidevoice::base::wording::Language;
use sidevoice::rehearse::pace::Heard;
use sidevoice::rehearse::pace::Pace;
use sidevoice::rehearse::pace::Person;
use sidevoice::rehearse::pace::lines::TEN;
use sidevoice::speakers::Speakers;

/// A person who needs so many thousandths of the usual time for each line.
fn person(per_mille: i64) -> Person {
    let lengths = TEN.map(|line| {
        let usual = Pace::USUAL.length(line, Language::English, Rate::NORMAL);
        Millis::from_ms(usual.ms() * per_mille / 1000)
    });
    Person::from_ten(lengths, None)
}

/// A world with the starter folder, and who is kept in it.
fn world(people: &[(&str, Person)]) -> World {
    let world = World::new();
    world.run(&["new", "."]).check(0, &[]);
    let speakers = Speakers::at(world.at("data/sidevoice/speakers"));
    for (name, person) in people {
        speakers.save(name, person).unwrap();
    }
    world
}

#[test]
fn a_plan_for_a_person_has_the_lengths_of_that_person() {
    let anna = person(1000);
    let world = world(&[("anna", anna.clone()), ("slow", person(1700))]);
    let json = |name: &str| {
        let plan = [
            "plan",
            "boathouse-five",
            "--format",
            "json",
            "--speaker",
            name,
        ];
        let ended = world.run(&plan);
        ended.check(0, &[]);
        parsed(&ended.out)
    };
    let plan = json("anna");
    assert_eq!(plan["voice"], "anna");
    let wanted = serde_json::json!({
        "name": "anna", "words_a_minute": anna.words_a_minute(), "lines": 10, "breathless": false
    });
    assert_eq!(plan["speaker"], wanted);
    let kept = Speakers::at(world.at("data/sidevoice/speakers"))
        .load("anna")
        .person
        .unwrap();
    let of_kind = |plan: &serde_json::Value, kind: &str| {
        let sounds = plan["sounds"].as_array().unwrap().iter();
        sounds
            .filter(|s| s["kind"] == kind)
            .cloned()
            .collect::<Vec<_>>()
    };
    for sound in of_kind(&plan, "line") {
        let rate = (sound["rate"].as_f64().unwrap() * 1000.0).round() as u16;
        let text = sound["text"].as_str().unwrap();
        let length = kept.length(text, Language::English, Rate::from_per_mille(rate));
        let planned = sound["end_ms"].as_i64().unwrap() - sound["onset_ms"].as_i64().unwrap();
        assert_eq!(planned, length.ms(), "{sound}");
    }
    // What is counted takes no longer than its beat has.
    let counts = of_kind(&json("slow"), "count");
    let ms =
        |s: &serde_json::Value| s["end_ms"].as_i64().unwrap() - s["onset_ms"].as_i64().unwrap();
    assert!(
        !counts.is_empty() && counts.iter().all(|s| ms(s) <= 600),
        "{counts:?}"
    );
    // Whoever speaks slowly says less.
    let (more, less) = (
        of_kind(&plan, "line").len(),
        of_kind(&json("slow"), "line").len(),
    );
    assert!(less < more, "{less} lines, and {more}");
}

#[test]
fn a_check_for_a_person_says_whose_lengths_it_reckons_with() {
    let world = world(&[("me", person(1000)), ("slow", person(2500))]);
    let plain = ["check", "boathouse-five", "--plain", "--speaker", "me"];
    let ended = world.run(&plain);
    ended.check(0, &[]);
    let words = person(1000).words_a_minute();
    let wanted = format!("by the lengths of me, who speaks {words} words a minute");
    assert!(ended.out.contains(&wanted), "{ended:?}");
    let json = |more: &[&str]| {
        let ended = world.run(&[&["check", "boathouse-five", "--json"][..], more].concat());
        parsed(&ended.out)
    };
    let session = &json(&["--speaker", "me"])["sessions"][0];
    assert_eq!(
        (&session["voice"], &session["speaker"]["lines"]),
        (&"me".into(), &10.into())
    );
    assert!(json(&[])["sessions"][0]["speaker"].is_null());
    // The rest of five seconds leaves little more than one before the count. By estimate that is a warning.
    let tight = "title = \"Tight\"\n[[block]]\nwork = \"20s\"\nrest = \"5s\"\n\
                 movements = [\"press-up\", \"one-arm-row\"]\n";
    world.write("boathouse/sessions/tight.toml", tight);
    let told = parsed(
        &world
            .run(&["check", "tight", "--json", "--speaker", "slow"])
            .out,
    );
    let told = told["diagnostics"].as_array().unwrap().iter();
    let told: Vec<_> = told.filter(|d| d["code"] == "must-may-not-fit").collect();
    assert!(
        !told.is_empty() && told.iter().all(|d| d["level"] == "warning"),
        "{told:?}"
    );
}

#[test]
fn until_somebody_was_heard_me_is_a_usual_pace_and_others_are_not_there() {
    let world = world(&[]);
    let words = Person::usual().words_a_minute();
    let told = format!("nobody has heard you yet: reckoning with {words} words a minute");
    for command in [
        &["plan", "boathouse-five", "--speaker", "me"][..],
        &[
            "plan",
            "boathouse-five",
            "--speaker",
            "me",
            "--format",
            "script",
        ],
        &["check", "--speaker", "me"],
    ] {
        let ended = world.run(command);
        ended.check(0, &[&told]);
        assert_eq!(
            ended.err.matches("nobody has heard you").count(),
            1,
            "{ended:?}"
        );
    }
    let ended = world.run(&["plan", "boathouse-five", "--speaker", "me"]);
    let wanted = format!("Speaker: me, at {words} words a minute.");
    assert!(ended.out.contains(&wanted), "{ended:?}");
    let list = world.run(&["speaker"]);
    list.check(0, &[]);
    assert!(
        list.out
            .contains(&format!("\"me\" speaks at a usual pace, {words} words")),
        "{list:?}"
    );
    assert_eq!(world.run(&["speaker", "--json"]).out, "[]\n");
    for command in [
        &["plan", "boathouse-five", "--speaker", "anna"][..],
        &["check", "--speaker", "../me"],
        &["speaker", "forget", "../../boathouse/sessions/short"],
    ] {
        world
            .run(command)
            .check(5, &["there is no speaker called", "\"me\" alone"]);
    }
    let forget = world.run(&["speaker", "forget", "me"]);
    forget.check(5, &["there is no speaker called \"me\"", "\"me\" alone"]);
    world
        .run(&["check", "--speaker", "Me"])
        .check(5, &["Did you mean \"me\"?"]);
    assert!(world.at("boathouse/sessions/short.toml").exists());
}

#[test]
fn speakers_are_listed_and_forgotten() {
    let heard = |lines: usize| {
        let one = Heard {
            text: TEN[1].to_owned(),
            length: Millis::from_ms(2000),
        };
        Person::learnt(&vec![one; lines], Language::German)
    };
    let world = world(&[("me", person(1000)), ("anna", heard(1))]);
    let list = world.run(&["speaker"]);
    list.check(0, &[]);
    let lines: Vec<_> = list.out.lines().collect();
    assert_eq!(lines.len(), 2);
    assert!(
        lines[0].starts_with("anna: ") && lines[0].ends_with(", from 1 line in German"),
        "{lines:?}"
    );
    let words = person(1000).words_a_minute();
    assert_eq!(
        lines[1],
        format!("me: {words} words a minute, from 10 lines in English")
    );
    let json = parsed(&world.run(&["speaker", "--json"]).out);
    assert_eq!(json[1]["words_a_minute"], words);
    assert_eq!(json[0]["language"], "de");
    let forgotten = world.run(&["speaker", "forget", "anna"]);
    forgotten.check(0, &[]);
    assert_eq!(forgotten.out, "anna is forgotten.\n");
    world
        .run(&["speaker", "forget", "anna"])
        .check(5, &["The speakers are: me"]);
}

#[test]
fn a_bad_file_of_a_speaker_is_told_at_its_places() {
    let world = world(&[("anna", person(1000))]);
    world.write(
        "data/sidevoice/speakers/me.toml",
        "lines = -1\n[pace]\nsyllable_ms = 217\n",
    );
    let told = ["me.toml", "number-outside", "key-missing", "letter_ms"];
    for command in [
        &["plan", "boathouse-five", "--speaker", "me"][..],
        &["check", "--speaker", "me"],
    ] {
        let ended = world.run(command);
        ended.check(2, &told);
        assert_eq!(ended.out, "", "{ended:?}");
    }
    // The others are listed all the same; forgetting needs no sound file.
    let list = world.run(&["speaker"]);
    list.check(2, &told);
    assert!(list.out.starts_with("anna: "), "{list:?}");
    world.run(&["speaker", "forget", "me"]).check(0, &[]);
    world.run(&["speaker"]).check(0, &[]);
}
