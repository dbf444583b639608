//! The sheet as PDF: tagged whole, its names found by other programs, its words beside their time.
#![expect(clippy::disallowed_methods, reason = "hands files to their readers")]

use super::clock;
use super::read_by;
use super::squeezed;
use super::starters;
use super::titled;
use super::titles;
use super::tongues;
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
use sidevoice::publish::sheet::Paper;
use std::process::Command;

fn made(plan: &Plan, session: &Session, paper: Paper) -> Vec<u8> {
    let content = sheet::content(plan, session, Wording::of(session.text.language));
    sheet::pdf(&content, paper).unwrap()
}

/// Reads a PDF by another library; nothing that PDF/UA asks for is missing.
fn read(pdf: &[u8], of: &str) -> Value {
    let read = parsed(&read_by("pdf.py", "sheet.pdf", pdf));
    assert_eq!(read["faults"], json!([]), "{of}");
    assert_eq!(read["dated"], json!(false), "{of}");
    read
}

/// What pdftotext (Debian, poppler-utils) finds, a page each, without white space: where rows end is the layout's.
fn texts(pdf: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = Command::new("pdftotext").arg(&path).arg("-").output();
    let output = output.expect("pdftotext, of poppler-utils: scripts/setup --test installs it");
    assert!(output.status.success(), "{output:?}");
    let text = String::from_utf8(output.stdout).unwrap();
    let pages = text.split('\u{c}').map(squeezed);
    pages.filter(|page| !page.is_empty()).collect()
}

/// The alternative texts of the elements of a role.
fn alternatives<'a>(read: &'a Value, role: &str) -> Vec<&'a str> {
    let elements = read["elements"].as_array().unwrap().iter();
    let of = elements.filter(|element| element[0] == role);
    of.map(|element| element[1].as_str().unwrap()).collect()
}

#[test]
fn all_starters_are_tagged_whole_and_every_name_is_found_in_both_parts() {
    for (id, session, plan) in starters() {
        let pdf = made(&plan, &session, Paper::A4);
        let found = read(&pdf, &id);
        assert_eq!(found["lang"], json!(session.text.language.tag()), "{id}");
        assert_eq!(found["title"], json!(session.text.title), "{id}");
        // Each count and each tone is a figure with its words and its time; each line has its time beside it.
        let figures = alternatives(&found, "Figure");
        for sound in &plan.sounds {
            let at = clock(sound.onset.ms());
            let words = match sound.kind {
                SoundKind::Count => format!("{at} {}", sound.text),
                SoundKind::Line { .. } => at,
                SoundKind::Tone(_) => continue,
            };
            assert!(figures.contains(&words.as_str()), "{id}: {words}");
        }
        let pages = texts(&pdf);
        assert_eq!(
            pages.len(),
            found["pages"].as_array().unwrap().len(),
            "{id}"
        );
        let all = pages.concat();
        for sound in plan
            .sounds
            .iter()
            .filter(|s| matches!(s.kind, SoundKind::Line { .. }))
        {
            // A line may be parted by the next column's.
            let words = sound.text.split_whitespace().next().unwrap();
            assert!(all.contains(words), "{id}: {}", sound.text);
        }
        let small = all.to_lowercase();
        for movement in &session.movements {
            let name = squeezed(&movement.name.to_lowercase());
            assert!(small.matches(&name).count() >= 2, "{id}: {name}");
            assert!(pages.last().unwrap().to_lowercase().contains(&name) || pages.len() > 3);
        }
    }
}

#[test]
fn a_class_of_eight_minutes_has_a_few_pages_of_its_paper() {
    for (id, session, plan) in tongues() {
        let found = read(&made(&plan, &session, Paper::A4), &id);
        let pages = found["pages"].as_array().unwrap();
        assert!(
            pages.iter().all(|page| *page == json!([210.0, 297.0])),
            "{id}"
        );
        assert!(pages.len() <= 5, "{id}: {}", pages.len());
        let letter = read(&made(&plan, &session, Paper::Letter), &id);
        let pages = letter["pages"].as_array().unwrap();
        assert!(
            pages.iter().all(|page| *page == json!([215.9, 279.4])),
            "{id}"
        );
        assert!(pages.len() <= 5, "{id}: {}", pages.len());
    }
}

/// The words of a PDF in the order in which they are drawn (pdftotext of poppler-utils).
fn words(pdf: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    let told = Command::new("pdftotext")
        .arg("-raw")
        .arg(&path)
        .arg("-")
        .output();
    let told = told.unwrap();
    let told = String::from_utf8(told.stdout).unwrap();
    // A line for safety has its sign before it.
    let words = told.split_whitespace().filter(|word| *word != "!");
    words.map(str::to_owned).collect()
}

#[test]
fn lines_stand_behind_their_times_in_order() {
    for (id, session, plan) in starters() {
        for paper in [Paper::A4, Paper::Letter] {
            let words = words(&made(&plan, &session, paper));
            let mut from = 0;
            for sound in &plan.sounds {
                if !matches!(sound.kind, SoundKind::Line { .. }) {
                    continue;
                }
                let time = clock(sound.onset.ms());
                let first = sound.text.split_whitespace().next().unwrap();
                let pairs = words[from..].windows(2);
                let mut pairs = pairs.map(|pair| pair[0] == time && pair[1] == first);
                let Some(at) = pairs.position(|found| found) else {
                    panic!("{id}: no {time} {}", sound.text);
                };
                from += at + 1;
            }
        }
    }
}

#[test]
fn the_coach_has_one_page_of_a_class_of_eight_minutes() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    assert!(plan.timeline.end().ms() > 7 * 60_000);
    let pages = texts(&made(&plan, &session, Paper::A4));
    assert_eq!(pages.len(), 2);
    // With what was left out, and the last word.
    assert!(pages[0].contains("Leftout") && pages[0].contains("Finish,0:25"));
}

#[test]
fn the_same_sheet_is_the_same_bytes() {
    let session = starter("boathouse-five-es");
    let plan = tabled_plan(&session);
    let first = made(&plan, &session, Paper::Letter);
    assert!(first == made(&plan, &session, Paper::Letter));
    assert!(first != made(&plan, &session, Paper::A4));
}

#[test]
fn a_title_is_a_title_whatever_is_in_it() {
    for title in titles() {
        let (session, plan) = titled(&title);
        let pdf = made(&plan, &session, Paper::A4);
        let found = read(&pdf, &title);
        let shown = found["title"].as_str().unwrap();
        assert_eq!(squeezed(shown), squeezed(&title));
        // pdftotext puts what is read from the right into its own order: the letters are all there.
        let first: String = squeezed(&title).chars().take(12).collect();
        let page = texts(&pdf).concat();
        if title.is_ascii() {
            assert!(page.contains(&first), "{first} in {page}");
        } else {
            assert!(first.chars().all(|c| page.contains(c)), "{first} in {page}");
        }
    }
}
