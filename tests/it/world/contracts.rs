//! What other programs read: exit codes of usage, and the keys of the JSON.

use super::World;
use super::keys;
use super::parsed;
use serde_json::Value;

#[test]
fn wrong_usage_is_told_with_its_own_exit_code() {
    let world = World::new();
    for arguments in [
        &[][..],
        &["nonsense"],
        &["plan"],
        &["plan", "short", "--format", "xml"],
        &["plan", "short", "long"],
        &["check", "--nonsense"],
        &["check", "--mass", "heavy"],
        &["check", "--mass", "0"],
        &["render", "short"],
        &["render", "short", "-o", "a.wav", "--bits", "17"],
        &["render", "short", "-o", "a.wav", "--caution", "none"],
        &["run", "short", "--buffer", "1"],
        &["new"],
        &["voices", "nonsense"],
        &["speaker", "nonsense"],
        &["speaker", "forget"],
        &["speaker", "new"],
        &["plan", "short", "--speaker", "me", "--voice", "compact"],
        &["history", "rate"],
        &["history", "rate", "11"],
        &["history", ".", "--nonsense"],
    ] {
        let ended = world.run(arguments);
        ended.check(64, &[]);
        assert!(ended.err.contains("Usage: ") || ended.err.contains("--help"));
        assert_eq!(ended.out, "", "{arguments:?}");
    }
}

#[test]
fn every_command_has_help() {
    let world = World::new();
    let help = world.run(&["--help"]);
    help.check(0, &[]);
    let commands: Vec<_> = help
        .out
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .collect();
    assert!(commands.len() > 5, "{commands:?}");
    for code in [
        "0 done",
        "1 advice",
        "2 faults",
        "3 a file",
        "4 no sound",
        "5 no such voice",
        "64",
    ] {
        let flat = help.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(code), "no \"{code}\" in {flat}");
    }
    for command in commands {
        for ask in [
            &["help", command][..],
            &[command, "--help"],
            &[command, "-h"],
        ] {
            let help = world.run(ask);
            help.check(0, &[]);
            assert!(help.out.contains("Usage: sidevoice"), "{help:?}");
            assert_eq!(help.err, "");
        }
    }
    for action in ["try", "get"] {
        world.run(&["voices", action, "--help"]).check(0, &[]);
    }
    for action in ["new", "forget"] {
        world.run(&["speaker", action, "--help"]).check(0, &[]);
    }
    assert!(world.run(&["--version"]).out.starts_with("sidevoice "));
}

/// Checks that every entry of a list is an object of exactly these keys; returns the list.
fn entries<'v>(list: &'v Value, wanted: &[&str]) -> &'v [Value] {
    let list = list.as_array().expect("a list");
    let mut wanted = wanted.to_vec();
    wanted.sort_unstable();
    for entry in list {
        assert_eq!(keys(entry), wanted, "in {entry}");
    }
    list
}

/// Checks that a value is one of these words.
fn word(value: &Value, words: &[&str]) {
    let word = value.as_str().unwrap_or("null");
    assert!(words.contains(&word), "{value} is none of {words:?}");
}

#[test]
fn the_plan_as_json_has_the_keys_and_words_of_its_contract() {
    let world = World::new();
    world.run(&["new", "."]).check(0, &[]);
    let ended = world.run(&[
        "plan",
        "boathouse-five",
        "--voice",
        "compact",
        "--format",
        "json",
    ]);
    ended.check(0, &[]);
    let plan = parsed(&ended.out);
    let wanted = [
        "diagnostics",
        "format",
        "left_out",
        "length_ms",
        "sample_rate",
        "segments",
        "session",
        "sounds",
        "speaker",
        "voice",
    ];
    assert_eq!(keys(&plan), wanted);
    assert_eq!(plan["format"], "sidevoice-plan/1");
    assert_eq!(plan["session"], "Boathouse five");
    assert_eq!(plan["voice"], "compact");
    assert_eq!(plan["sample_rate"], 48_000);
    let segments = entries(
        &plan["segments"],
        &[
            "index",
            "kind",
            "start_ms",
            "end_ms",
            "open",
            "nominal_ms",
            "block",
            "round",
            "rounds",
            "movement",
            "name",
            "side",
        ],
    );
    let mut end = 0;
    for (index, segment) in segments.iter().enumerate() {
        assert_eq!(segment["index"], index);
        assert_eq!(segment["start_ms"], end);
        assert_eq!(segment["open"], false);
        word(&segment["kind"], &["lead-in", "work", "rest", "finish"]);
        word(&segment["side"], &["right", "left", "null"]);
        assert_eq!(segment["movement"].is_null(), segment["kind"] != "work");
        end = segment["end_ms"].as_i64().unwrap();
    }
    assert_eq!(plan["length_ms"], end);
    let sounds = entries(
        &plan["sounds"],
        &[
            "kind", "onset_ms", "end_ms", "segment", "text", "tone", "line", "cue", "wording",
            "rate", "words",
        ],
    );
    for sound in sounds {
        word(&sound["kind"], &["tone", "count", "line"]);
        word(&sound["tone"], &["start", "end", "null"]);
        word(&sound["wording"], &["full", "brief", "null"]);
        word(
            &sound["cue"],
            &[
                "opening",
                "caution",
                "equipment",
                "name",
                "side",
                "start",
                "how",
                "safety",
                "form",
                "breathing",
                "easier",
                "harder",
                "progress",
                "recovery",
                "effort",
                "closing",
                "null",
            ],
        );
        assert_eq!(sound["kind"] == "tone", !sound["tone"].is_null(), "{sound}");
        assert_eq!(sound["kind"] == "line", !sound["line"].is_null(), "{sound}");
        let (onset, end) = (sound["onset_ms"].as_i64(), sound["end_ms"].as_i64());
        assert!(onset < end, "{sound}");
        entries(&sound["words"], &["text", "onset_ms", "end_ms"]);
    }
    let left_out = ["line", "segment", "text", "reason", "lacks_ms"];
    assert!(!entries(&plan["left_out"], &left_out).is_empty());
    entries(
        &plan["diagnostics"],
        &["code", "level", "message", "file", "line", "column", "help"],
    );
}

#[test]
fn the_problem_as_json_has_the_keys_of_its_contract_and_its_values_add_up() {
    let world = World::new();
    world.run(&["new", "."]).check(0, &[]);
    let ended = world.run(&[
        "plan",
        "boathouse-five",
        "--voice",
        "compact",
        "--format",
        "problem",
    ]);
    ended.check(0, &[]);
    let problem = parsed(&ended.out);
    assert_eq!(keys(&problem), ["format", "stretches"]);
    assert_eq!(problem["format"], "sidevoice-problem/1");
    let stretches = entries(
        &problem["stretches"],
        &[
            "index", "proven", "open", "windows", "limits", "lines", "chosen",
        ],
    );
    assert!(stretches.len() > 10);
    for stretch in stretches {
        let windows = entries(&stretch["windows"], &["id", "start_ms", "end_ms", "gap_ms"]);
        entries(&stretch["limits"], &["windows", "count", "talk_ms"]);
        let lines = entries(
            &stretch["lines"],
            &["id", "must", "said_before", "fade", "choices"],
        );
        for line in lines {
            let fade = line["fade"].as_array().unwrap();
            let said = line["said_before"].as_u64().unwrap() as usize;
            let fade = fade[said.min(fade.len() - 1)].as_i64().unwrap();
            let wanted = ["wording", "rate", "window", "length_ms", "base", "value"];
            for choice in entries(&line["choices"], &wanted) {
                let base = choice["base"].as_i64().unwrap();
                assert_eq!(choice["value"], base * fade / 1000, "{choice}");
                assert!(choice["window"].as_u64().unwrap() < windows.len() as u64);
            }
        }
        for chosen in entries(&stretch["chosen"], &["line", "choice", "start_ms"]) {
            let line = lines
                .iter()
                .find(|line| line["id"] == chosen["line"])
                .unwrap();
            let choice = &line["choices"][chosen["choice"].as_u64().unwrap() as usize];
            let window = &windows[choice["window"].as_u64().unwrap() as usize];
            let at = |value: &Value| value.as_i64().unwrap();
            let start = at(&chosen["start_ms"]);
            assert!(start >= at(&window["start_ms"]), "{chosen}");
            assert!(
                start + at(&choice["length_ms"]) <= at(&window["end_ms"]),
                "{chosen}"
            );
        }
    }
}

#[test]
fn the_check_as_json_has_the_keys_of_its_contract() {
    let world = World::new();
    world.run(&["new", "."]).check(0, &[]);
    let ended = world.run(&["check", "boathouse-five", "--json", "--mass", "140"]);
    ended.check(0, &[]);
    let check = parsed(&ended.out);
    assert_eq!(keys(&check), ["diagnostics", "format", "sessions"]);
    assert_eq!(check["format"], "sidevoice-check/1");
    let diagnostic = ["code", "level", "message", "file", "line", "column", "help"];
    let told = entries(&check["diagnostics"], &diagnostic);
    assert!(
        told.iter().any(|d| d["code"] == "change-too-quick"),
        "{told:?}"
    );
    let wanted = [
        "id", "title", "voice", "speaker", "totals", "fit", "counts", "ready", "balance", "energy",
        "notes",
    ];
    let sessions = entries(&check["sessions"], &wanted);
    assert_eq!(sessions.len(), 1);
    let session = &sessions[0];
    assert_eq!(session["id"], "boathouse-five");
    let totals = [
        "rest_ms",
        "rests",
        "training_ms",
        "whole_ms",
        "work_ms",
        "work_to_rest",
        "works",
    ];
    assert_eq!(keys(&session["totals"]), totals);
    assert_eq!(session["totals"]["work_ms"], 240_000);
    assert_eq!(session["totals"]["work_to_rest"], 1.85);
    let fit = entries(
        &session["fit"],
        &[
            "kind",
            "at_ms",
            "rest_ms",
            "added_ms",
            "before",
            "side",
            "changes",
            "needed_ms",
            "free_ms",
            "spare_ms",
            "in_work_before",
            "smallest_ms",
        ],
    );
    for row in fit {
        word(&row["kind"], &["lead-in", "rest", "finish"]);
        word(&row["side"], &["right", "left", "null"]);
        let ms = |key: &str| row[key].as_i64().unwrap();
        assert_eq!(ms("spare_ms"), ms("free_ms") - ms("needed_ms"), "{row}");
    }
    let counts = [
        "alternate",
        "both",
        "impact",
        "left",
        "overhead",
        "patterns",
        "right",
        "static",
    ];
    assert_eq!(keys(&session["counts"]), counts);
    entries(&session["counts"]["patterns"], &["pattern", "works"]);
    entries(&session["ready"], &["item", "count", "load", "fixed"]);
    assert_eq!(keys(&session["balance"]), ["left_ms", "right_ms", "uneven"]);
    let energy = &session["energy"];
    assert_eq!(
        keys(energy),
        ["estimate", "formula", "kcal", "mass_kg", "parts", "source"]
    );
    assert_eq!(
        (&energy["estimate"], &energy["mass_kg"]),
        (&true.into(), &140.0.into())
    );
    // 7.5 MET x 3.5 x 140 / 200 x 370 s, to a tenth (2024 Adult Compendium, 02040, R).
    assert_eq!(energy["kcal"], 113.3);
    entries(
        &energy["parts"],
        &["code", "activity", "met", "time_ms", "kcal"],
    );
    // A whole folder has all its sessions, in the order of their ids.
    let all = parsed(&world.run(&["check", "--json"]).out);
    let ids = all["sessions"].as_array().unwrap().iter();
    let ids: Vec<_> = ids.map(|s| s["id"].as_str().unwrap()).collect();
    assert!(ids.len() >= 7 && ids.is_sorted(), "{ids:?}");
}

#[test]
fn a_folder_is_told_a_line_a_session_and_the_same_each_time() {
    let world = World::new();
    world.run(&["new", "."]).check(0, &[]);
    let ended = world.run(&["check"]);
    ended.check(0, &["change-too-quick"]);
    let lines: Vec<_> = ended.out.lines().collect();
    let first = lines
        .iter()
        .find(|l| l.starts_with("boathouse-five: "))
        .unwrap();
    assert!(
        first.contains("4:00 of work, 2:10 of rest (1.8 to 1), about 57 kcal"),
        "{first}"
    );
    let sessions = lines.iter().filter(|l| l.contains(" kcal")).count();
    assert_eq!(sessions, lines.len() - 1, "{ended:?}");
    for _ in 0..3 {
        let again = world.run(&["check"]);
        assert_eq!((&again.out, &again.err), (&ended.out, &ended.err));
    }
    let one = world.run(&["check", "boathouse-five", "--plain", "--mass", "82.5"]);
    one.check(0, &["line 10, column 1: advice: "]);
    assert!(
        one.out
            .contains("kcal at 82.5 kg, an estimate: kcal = MET x 3.5 x kg / 200 x min")
    );
    assert!(one.out.contains(" before press-up: "), "{one:?}");
}
