//! `history`: what it prints of a record, and the effort told later.

use super::World;
use super::keys;
use super::parsed;
use std::fs;

const LOG: &str = "boathouse/log/2026-10-14T18-00-00Z-short.jsonl";

/// A run of 20 minutes on a Wednesday, two of three works done, then whatever is said.
fn lines(more: &str) -> String {
    let line = |clock: &str, at: u32, rest: &str| {
        format!("{{\"time\":\"2026-10-14T{clock}:00Z\",\"at_ms\":{at},\"event\":{rest}}}\n")
    };
    let work = |event: &str, number: u32| {
        format!(
            "\"{event}\",\"work\":{number},\"movement\":\"march\",\"name\":\"march\",\"side\":null,\
             \"block\":1,\"round\":{number},\"rounds\":3,\"planned_ms\":15000,\"done_ms\":15000"
        )
    };
    [
        line(
            "18:00",
            0,
            "\"began\",\"format\":\"sidevoice-log/1\",\"version\":\"0.1.0\",\"voice\":\"compact\",\
             \"session\":\"short\",\"title\":\"Short outing\",\"path\":\"sessions/short.toml\",\"hash\":\"00\",\
             \"caution\":\"full\",\"works\":3,\"planned_ms\":100000",
        ),
        line("18:01", 10_000, &work("work-begun", 1)),
        line("18:05", 25_000, &work("work-done", 1)),
        line("18:06", 30_000, &work("work-begun", 2)),
        line("18:10", 45_000, &work("work-done", 2)),
        line("18:11", 50_000, &work("work-begun", 3)),
        line("18:20", 55_000, "\"stopped\",\"played_ms\":1200000"),
        more.to_owned(),
    ]
    .concat()
}

fn world(text: &str) -> World {
    let world = World::new();
    fs::create_dir(world.at("boathouse/log")).unwrap();
    world.write(LOG, text);
    world
}

#[test]
fn where_nothing_was_done_it_says_how_something_comes_there() {
    let world = World::new();
    let told = world.run(&["history"]);
    told.check(0, &[]);
    assert!(
        told.out.contains("`sidevoice run SESSION` writes"),
        "{told:?}"
    );
    world
        .run(&["history", "nowhere"])
        .check(2, &["expected a session folder, found none at nowhere"]);
    world
        .run(&["history", "rate", "7"])
        .check(3, &["no run that waits for it"]);
}

#[test]
fn runs_are_told_as_a_table_as_sentences_and_as_json() {
    let world = world(&lines(""));
    let ended = |arguments: &[&str]| {
        let mut command = world.command(arguments);
        super::ended(command.env("TZ", "UTC"))
    };
    let rated = ended(&["history", "rate", "7"]);
    rated.check(0, &[]);
    assert_eq!(rated.out, "Short outing of 2026-10-14 18:00: load 140.\n");
    let told = ended(&["history"]);
    told.check(0, &[]);
    let row = "2026-10-14 18:00  Short outing     20.0     2 of 3       7   140  stopped\n";
    assert!(told.out.contains(row), "{}", told.out);
    // One day of 140 in seven: mean 20, deviation over n 140 x sqrt(6) / 7 = 48.99; 20 / 48.99 = 0.41, and
    // 140 times the exact ratio, 1 / sqrt(6), is 57.2.
    let week = "2026-10-12     1   140      0.41      57\n";
    assert!(told.out.contains(week), "{}", told.out);
    assert!(
        told.out
            .ends_with("Short outing stopped in round three at the march.\n")
    );
    let plain = ended(&["history", "--plain"]);
    let row = "2026-10-14 18:00, Short outing: 20.0 minutes, 2 of 3 works done, effort felt 7, load 140, stopped.\n";
    assert!(plain.out.starts_with(row), "{}", plain.out);

    let json = parsed(&ended(&["history", ".", "--json"]).out);
    let wanted = [
        "deviation_over",
        "faults",
        "format",
        "runs",
        "unfinished",
        "weeks",
    ];
    assert_eq!(keys(&json), wanted);
    assert_eq!(
        (&json["format"], &json["deviation_over"]),
        (&"sidevoice-history/1".into(), &"n".into())
    );
    let run = &json["runs"][0];
    let wanted = [
        "answered",
        "done_works",
        "ended",
        "felt",
        "file",
        "load",
        "minutes",
        "planned_works",
        "session",
        "time",
        "title",
    ];
    assert_eq!(keys(run), wanted);
    assert_eq!(run["time"], "2026-10-14T18:00:00Z");
    assert_eq!((&run["load"], &run["felt"]), (&140.0.into(), &7.into()));
    let week = &json["weeks"][0];
    let wanted = [
        "days", "load", "monday", "monotony", "runs", "strain", "unrated", "whole",
    ];
    assert_eq!(keys(week), wanted);
    assert_eq!(
        (&week["monotony"], &week["strain"]),
        (&0.41.into(), &57.15.into())
    );
    let wanted = ["at_ms", "hash", "over", "said", "session", "work"];
    assert_eq!(keys(&json["unfinished"][0]), wanted);
}

#[test]
fn what_cannot_be_read_is_told_beside_the_rest() {
    let broken = lines("").replace("\"event\":\"work-done\"", "\"event\":");
    let world = world(&broken);
    world.write("boathouse/log/empty.jsonl", "");
    fs::create_dir(world.at("boathouse/log/folder.jsonl")).unwrap();
    let told = world.run(&["history"]);
    let words = [
        "short.jsonl, line 3: ",
        "short.jsonl, line 5: ",
        "folder.jsonl: ",
        "not a file",
    ];
    told.check(0, &words);
    assert!(told.out.contains("0 of 3"), "{told:?}");
    let json = parsed(&world.run(&["history", "--json"]).out);
    assert_eq!(json["faults"].as_array().unwrap().len(), 3);
}
