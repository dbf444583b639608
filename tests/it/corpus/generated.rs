//! Texts at and beyond the limits, made here because stored they would be large or look broken.

use super::Kind;
use super::check;

fn session(body: &str) -> String {
    format!("title = \"Outing\"\n[[block]]\nwork = \"20s\"\n{body}")
}

fn list(entry: impl Fn(usize) -> String, count: usize) -> String {
    (0..count).map(entry).collect::<Vec<_>>().join(", ")
}

#[test]
fn lists_are_as_long_as_their_limits_and_no_longer() {
    let uses = |count| {
        session(&format!(
            "movements = [{}]\n",
            list(|_| "\"march\"".into(), count)
        ))
    };
    check(Kind::Session, "200.toml", &uses(200), &[]);
    let wanted = ["# error list-too-long 4:13 \"found 201\""];
    check(Kind::Session, "201.toml", &uses(201), &wanted);

    let block = "[[block]]\nwork = \"20s\"\nmovements = [\"march\"]\n";
    let blocks = |count| format!("title = \"Outing\"\n{}", block.repeat(count));
    check(Kind::Session, "blocks.toml", &blocks(100), &[]);
    let wanted = ["# error list-too-long 2:1 \"found 101\""];
    check(Kind::Session, "blocks.toml", &blocks(101), &wanted);

    let cue = |n| format!("{{ kind = \"form\", say = \"Cue number {n}.\" }}");
    let use_with = |count| {
        let cues = list(cue, count);
        session(&format!(
            "movements = [{{ use = \"march\", cues = [{cues}] }}]\n"
        ))
    };
    check(Kind::Session, "cues.toml", &use_with(100), &[]);
    let wanted = ["# error list-too-long 4:38 \"found 101\""];
    check(Kind::Session, "cues.toml", &use_with(101), &wanted);

    let item = |_| "{ item = \"dumbbell\" }".to_owned();
    for (count, wanted) in [(100, vec![]), (101, vec!["# error list-too-long 5:13"])] {
        let equipment = format!("equipment = [{}]\n", list(item, count));
        check(
            Kind::Movement,
            "items.toml",
            &format!("{MOVEMENT}{equipment}"),
            &wanted,
        );
    }
    for (count, wanted) in [(100, vec![]), (101, vec!["# error list-too-long 5:7"])] {
        let cues = format!("cue = [{}]\n", list(cue, count));
        check(
            Kind::Movement,
            "cues.toml",
            &format!("{MOVEMENT}{cues}"),
            &wanted,
        );
    }
}

const MOVEMENT: &str = "name = \"side bend\"\npattern = \"mobility\"\nstart = \"Stand tall.\"\n\
                        how = [\"Bend.\"]\n";

#[test]
fn texts_are_as_long_as_their_limit_and_no_longer() {
    // Characters, not bytes.
    for (letter, count, wanted) in [
        ("a", 5000, vec![]),
        ("é", 5000, vec![]),
        ("a", 5001, vec!["# error text-too-long 1:11 \"found 5001\""]),
    ] {
        let text = format!(
            "opening = \"{}\"\n{}",
            letter.repeat(count),
            session("movements = [\"march\"]\n")
        );
        check(Kind::Session, "long.toml", &text, &wanted);
    }
}

#[test]
fn nothing_is_too_deep_or_too_long_for_the_reader() {
    let deep = format!("title = {}{}\n", "[".repeat(100_000), "]".repeat(100_000));
    let (found, _) = super::read(Kind::Session, "deep.toml", &deep);
    assert!(
        found.iter().any(|d| d.help.contains("a few levels deep")),
        "{found:?}"
    );
    let (found, _) = super::read(Kind::Session, "tables.toml", &"a = { ".repeat(100_000));
    assert!(!found.is_empty());
    let dots = format!("{}z = 1\n", "a.".repeat(100_000));
    let (found, _) = super::read(Kind::Session, "dots.toml", &dots);
    assert!(!found.is_empty());
    let name = "k".repeat(100_000);
    let text = format!("{name} = 1\n{}", session("movements = [\"march\"]\n"));
    check(
        Kind::Session,
        "key.toml",
        &text,
        &["# error key-unknown 1:1 \"kkk...\""],
    );
    let id = format!("movements = [\"{name}\"]\n");
    check(
        Kind::Session,
        "id.toml",
        &session(&id),
        &["# error id-invalid 4:14"],
    );
}
