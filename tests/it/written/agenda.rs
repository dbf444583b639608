//! The calendar: as another program reads it, in the time zone that it carries; and lists of files.

use super::read_by;
use super::titles;
use crate::world::World;
use crate::world::parsed;
use serde_json::json;
use std::collections::HashSet;

const WEEKLY: &str = "when = { first = \"2027-03-16 18:30\", zone = \"Europe/Berlin\", repeats = \"weekly\", \
                      on = [\"tuesday\", \"friday\"], until = \"2027-03-30\", except = [\"2027-03-19\"] }";

/// A session of one movement, with lines of its own.
fn session(title: &str, when: &str) -> String {
    let title = serde_json::to_string(title).unwrap();
    format!("title = {title}\n{when}\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n")
}

#[test]
fn a_calendar_has_each_session_when_it_takes_place() {
    let world = World::new();
    world.write("boathouse/sessions/weekly.toml", &session("Outing", WEEKLY));
    let once = "when = { first = \"2027-07-01 07:00\", zone = \"America/Phoenix\" }";
    world.write("boathouse/sessions/once.toml", &session("Outing", once));
    let printed = world.run(&["agenda"]);
    printed.check(0, &[]);
    assert_eq!(world.run(&["agenda"]).out, printed.out);
    assert!(printed.out.split("\r\n").all(|line| line.len() <= 75));
    let events = parsed(&read_by("agenda.py", "agenda.ics", &printed.out));
    // Two sessions of one title are two events.
    assert_eq!(
        (
            events.as_array().unwrap().len(),
            events[1]["title"].as_str()
        ),
        (2, Some("Outing"))
    );
    assert_ne!(events[0]["uid"], events[1]["uid"]);
    // Phoenix is seven hours behind all the year; Berlin's clocks went forward on 28 March 2027.
    assert_eq!(events[0]["times"], json!(["2027-07-01 14:00"]));
    assert_eq!(
        events[1]["times"],
        json!([
            "2027-03-16 17:30",
            "2027-03-23 17:30",
            "2027-03-26 17:30",
            "2027-03-30 16:30"
        ])
    );
    let about = events[0]["about"].as_str().unwrap();
    assert!(
        about.starts_with("Outing: one round of one movement"),
        "{about}"
    );
}

#[test]
fn a_title_is_a_summary_whatever_is_in_it() {
    let world = World::new();
    let titles: Vec<String> = titles()
        .into_iter()
        .filter(|title| !title.contains('{'))
        .collect();
    for (nth, title) in titles.iter().enumerate() {
        let when = "when = { first = \"2027-07-01 07:00\", zone = \"Asia/Kolkata\", repeats = \"daily\", times = 3 }";
        world.write(
            &format!("boathouse/sessions/s{nth}.toml"),
            &session(title, when),
        );
    }
    let printed = world.run(&["agenda"]);
    printed.check(0, &[]);
    let events = parsed(&read_by("agenda.py", "agenda.ics", &printed.out));
    let found = events
        .as_array()
        .unwrap()
        .iter()
        .map(|event| event["title"].as_str().unwrap());
    let found: HashSet<_> = found.collect();
    let wanted = titles
        .iter()
        .map(|title| title.split_whitespace().collect::<Vec<_>>().join(" "));
    for title in wanted {
        assert!(found.contains(title.as_str()), "{title} in {found:?}");
    }
    assert_eq!(events[0]["times"].as_array().unwrap().len(), 3);
}

#[test]
fn no_dates_and_zones_that_there_are_not_are_told() {
    let world = World::new();
    world
        .run(&["agenda"])
        .check(3, &["says when it takes place", "when = {"]);
    world
        .run(&["agenda", "-o", "agenda.txt"])
        .check(3, &["ends in .ics"]);
    let when = "when = { first = \"2027-07-01 07:00\", zone = \"Europe/Lisbn\" }";
    world.write("boathouse/sessions/lost.toml", &session("Outing", when));
    world
        .run(&["check"])
        .check(0, &["zone-unknown", "did you mean \"Europe/Lisbon\"?"]);
    world.run(&["agenda"]).check(3, &["Europe/Lisbn"]);
}

#[test]
fn a_time_at_which_the_clocks_are_changed_is_told() {
    let world = World::new();
    // The clocks of the European Union: Directive 2000/84/EC, from 2:00 to 3:00 on the last Sunday of March and back
    // on that of October.
    for (first, words) in [
        ("2027-03-28 02:30", "does not exist in Europe/Berlin"),
        ("2027-10-31 02:30", "comes twice in Europe/Berlin"),
    ] {
        let when = format!("when = {{ first = \"{first}\", zone = \"Europe/Berlin\" }}");
        world.write("boathouse/sessions/lost.toml", &session("Outing", &when));
        let told = world.run(&["check"]);
        told.check(0, &["when-invalid", first, words, "calendars do not agree"]);
    }
}

#[test]
fn a_zone_is_spelt_as_its_list_does_and_has_no_change_that_changes_nothing() {
    let world = World::new();
    for (id, zone) in [("a", "asia/kathmandu"), ("b", "Asia/Kathmandu")] {
        let when = format!("when = {{ first = \"2027-07-01 07:00\", zone = \"{zone}\" }}");
        world.write(
            &format!("boathouse/sessions/{id}.toml"),
            &session("Outing", &when),
        );
    }
    let printed = world.run(&["agenda"]).check(0, &[]).out.clone();
    assert_eq!(printed.matches("BEGIN:VTIMEZONE").count(), 1, "{printed}");
    assert_eq!(printed.matches("BEGIN:STANDARD").count(), 1, "{printed}");
    assert_eq!(
        printed.matches("TZID=Asia/Kathmandu").count(),
        2,
        "{printed}"
    );
}

#[test]
fn what_was_rendered_at_once_is_listed_with_its_voices_and_lengths() {
    let world = World::new();
    let out = world.at("out");
    let list = out.join("all.m3u8");
    let list = list.to_str().unwrap();
    std::fs::create_dir(&out).unwrap();
    let none = world.run(&["agenda", "-o", list]);
    none.check(3, &["no sound of these sessions", "--formats mp3"]);
    let all = [
        "render",
        ".",
        "-o",
        "../out",
        "--formats",
        "mp3,vtt",
        "--voices",
        "compact,de",
    ];
    world.run(&all).check(0, &[]);
    world.write("out/short.de.speech.wav", "");
    world.run(&["agenda", "-o", list]).check(0, &[]);
    let text = crate::common::read_text(&out.join("all.m3u8"));
    let lines: Vec<&str> = text.lines().collect();
    let title = |line: &str| line.split_once(',').unwrap().1.to_owned();
    assert_eq!(lines.len(), 5, "{text}");
    assert_eq!(title(lines[1]), "Short outing (compact)");
    assert_eq!((lines[2], lines[4]), ("short.compact.mp3", "short.de.mp3"));
    // As long as ffprobe finds the file to be, to half a second and a frame of the encoder.
    for at in [1, 3] {
        let seconds: f64 = lines[at][8..].split_once(',').unwrap().0.parse().unwrap();
        let probed = super::sound::probed(&out.join(lines[at + 1]));
        let probed: f64 = probed["format"]["duration"]
            .as_str()
            .unwrap()
            .parse()
            .unwrap();
        assert!((seconds - probed).abs() <= 0.6, "{seconds} {probed}");
    }
}

#[test]
fn rendered_files_are_listed_in_the_order_of_their_sessions() {
    let world = World::new();
    let when = "when = { first = \"2027-07-01 07:00\", zone = \"Europe/Berlin\" }";
    world.write(
        "boathouse/sessions/zulu.toml",
        &session("Out, and\nback", when),
    );
    for file in ["short.mp3", "zulu.flac", "zulu.mp3", "other.wav"] {
        world.write(&format!("boathouse/{file}"), "");
    }
    world.run(&["agenda", "-o", "class.m3u8"]).check(0, &[]);
    let list = crate::common::read_text(&world.at("boathouse/class.m3u8"));
    assert_eq!(
        list,
        "#EXTM3U\n#EXTINF:-1,Out, and back\nzulu.flac\n#EXTINF:-1,Short outing\nshort.mp3\n"
    );
    // What is there is kept.
    let again = world.run(&["agenda", "-o", "class.m3u8"]);
    again.check(3, &["class.m3u8 is there already", "--overwrite"]);
}
