//! The sheet: a page by the HTML standard, whole by itself, with all that is said, in words and in a drawing to scale.

use super::BESIDE_MM;
use super::clock;
use super::read_by;
use super::squeezed;
use super::starters;
use super::titled;
use super::titles;
use crate::common::starter;
use crate::common::tabled_plan;
use crate::world::parsed;
use serde_json::Value;
use serde_json::json;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::session::Session;
use sidevoice::publish::sheet;

fn page(plan: &Plan, session: &Session) -> String {
    let content = sheet::content(plan, session, Wording::of(session.text.language));
    sheet::html(&content)
}

/// Parses a page strictly; nothing in it runs or is fetched.
fn read(page: &str) -> Value {
    let read = parsed(&read_by("page.py", "sheet.html", page));
    assert_eq!(read["active"], json!([]));
    read
}

#[test]
fn all_that_is_said_stands_in_words_once_and_in_order() {
    for (id, session, plan) in starters() {
        let page = page(&plan, &session);
        let read = read(&page);
        let names = page.replace("&#39;", "'").to_lowercase();
        let said = plan
            .sounds
            .iter()
            .filter(|s| !matches!(s.kind, SoundKind::Tone(_)));
        let said: Vec<_> = said.map(|s| s.text.clone()).collect();
        assert_eq!(read["said"], json!(said), "{id}");
        assert_eq!(read["lang"], json!(session.text.language.tag()), "{id}");
        // Every movement is on it by its name, for both readers.
        for movement in &session.movements {
            let times = names.matches(&movement.name.to_lowercase()).count();
            assert!(times >= 2, "{id}: {}", movement.name);
        }
    }
}

/// The value of an attribute.
fn number(element: &str, name: &str) -> f64 {
    let from = element.split(&format!(" {name}=\"")).nth(1).unwrap();
    from.split('"').next().unwrap().parse().unwrap()
}

#[test]
fn works_are_drawn_to_scale() {
    // Six works of 20 s in each of two rounds: bars of one height.
    let session = starter("boathouse-five");
    let page = page(&tabled_plan(&session), &session);
    let bars = page
        .lines()
        .filter(|l| l.contains("class=\"full\"") && l.contains("<rect"));
    let bars = bars.filter(|l| number(l, "height") > 5.0);
    let heights: Vec<f64> = bars.map(|l| number(l, "height")).collect();
    assert_eq!(heights.len(), 12);
    assert!(
        heights.iter().all(|h| (h - heights[0]).abs() < 0.02),
        "{heights:?}"
    );
    // Rests of 10 s are half as long, and narrow.
    let rests = page
        .lines()
        .filter(|l| l.contains("<rect class=\"open\"") && l.contains("width=\"2.00\""));
    let halves = rests.filter(|l| (number(l, "height") - heights[0] / 2.0).abs() < 0.02);
    assert_eq!(halves.count(), 10);
}

#[test]
fn each_line_has_its_time_and_stands_beside_it() {
    for (id, session, plan) in starters() {
        let page = page(&plan, &session);
        let elements: Vec<&str> = page.lines().collect();
        // A frame as long as a line is heard, its time, and its words.
        let told = elements.windows(3).filter(|next| {
            next[0].contains("<rect class=\"open\"") && next[1].starts_with("<text")
        });
        let mut lines = plan.sounds.iter();
        let (mut told_of, mut most) = (0, 0.0_f64);
        for next in told.filter(|next| next[2].starts_with("<text")) {
            let line = lines.find(|s| matches!(s.kind, SoundKind::Line { .. }));
            let time = format!(">{}</text>", clock(line.unwrap().onset.ms()));
            assert!(next[1].ends_with(&time), "{id}: {time} in {}", next[1]);
            assert!(number(next[1], "font-size") < number(next[2], "font-size"));
            assert_eq!(number(next[1], "y"), number(next[2], "y"));
            let late = number(next[1], "y") - number(next[0], "y");
            most = most.max(late.abs());
            told_of += 1;
        }
        let said = plan.sounds.iter();
        let said = said.filter(|s| matches!(s.kind, SoundKind::Line { .. }));
        assert_eq!(told_of, said.count(), "{id}");
        println!("{id}: at most {most:.1} mm from its place");
        assert!(most <= BESIDE_MM, "{id}: {most}");
    }
}

#[test]
fn rounds_have_headings_the_scale_has_times_and_reasons_stand_once() {
    let session = starter("boathouse-five");
    let page = page(&tabled_plan(&session), &session);
    for words in ["Round 1 of 2</text>", "Round 2 of 2</text>", ">3:30</text>"] {
        assert_eq!(page.matches(words).count(), 1, "{words}");
    }
    let reason = "The work already holds 2 cues:";
    assert_eq!(page.matches(reason).count(), 1);
    assert!(!page.contains("(the work already"));
}

#[test]
fn what_is_drawn_fits_its_paper() {
    for (id, session, plan) in starters() {
        let page = page(&plan, &session);
        for svg in page
            .lines()
            .filter(|line| line.contains("width=\"186.0mm\""))
        {
            let height: f64 = svg
                .split(" height=\"")
                .nth(1)
                .unwrap()
                .split("mm")
                .next()
                .unwrap()
                .parse()
                .unwrap();
            // A4 and Letter between margins of 12 mm: 273 and 255 mm.
            assert!(height <= 255.0, "{id}: {height}");
        }
    }
}

#[test]
fn participants_have_starts_easier_options_things_and_cautions() {
    let session = starter("boathouse-five");
    let page = page(&tabled_plan(&session), &session);
    let part = page.split("class=\"all\"").nth(1).unwrap();
    for words in [
        "<h4 dir=\"auto\">One-arm row (right, then left)</h4>",
        "<b>Start:</b> Face the bench, left hand flat on it",
        "<b>Easier:</b> No weight.",
        "A low, steady bench against a wall",
        "call the emergency number",
        "Overhead press, 6 kg",
    ] {
        assert!(part.contains(words), "{words} in {part}");
    }
}

#[test]
fn a_title_is_a_title_whatever_is_in_it() {
    for title in titles() {
        let (session, plan) = titled(&title);
        let read = read(&page(&plan, &session));
        let shown = read["headings"][0][1].as_str().unwrap();
        assert_eq!(squeezed(shown), squeezed(&title));
        // A title that is read from the right is kept apart from the sentence in which it stands.
        if title.starts_with('\u{5d0}') {
            let page = self::page(&plan, &session);
            assert!(page.contains(&format!("<bdi>{title}</bdi>")), "{page}");
        }
    }
}
