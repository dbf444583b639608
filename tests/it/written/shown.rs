//! Captions and sheets by the programs that show them to people: the checker of HTML by its own makers, a browser,
//! what looks for barriers in it, and the W3C's reader of captions.
#![expect(clippy::disallowed_methods, reason = "hands files to other programs")]

use super::starters;
use super::titled;
use super::titles;
use super::tongues;
use crate::common::root;
use crate::world::World;
use crate::world::parsed;
use serde_json::Value;
use serde_json::json;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::session::Session;
use sidevoice::publish::captions;
use sidevoice::publish::chapters;
use sidevoice::publish::sheet;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

/// Where `scripts/setup --test` puts what `tests/reference/package.json` lists.
fn packages() -> PathBuf {
    let own = root().join(".node/node_modules");
    let packages = std::env::var_os("SIDEVOICE_NODE").map_or(own, PathBuf::from);
    let found = packages.join("axe-core").exists();
    assert!(
        found,
        "no packages in {}: scripts/setup --test",
        packages.display()
    );
    packages
}

/// Runs a helper of `tests/reference` by Node; returns what it printed.
fn by_node(helper: &str, arguments: &[&Path]) -> Value {
    let mut command = Command::new("node");
    command.env("NODE_PATH", packages());
    command.arg(root().join("tests/reference").join(helper));
    let output = command.args(arguments).output().unwrap();
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{failed}");
    parsed(&String::from_utf8(output.stdout).unwrap())
}

/// All starters, and a session of each odd title.
fn classes() -> Vec<(Session, Plan)> {
    let odd = titles();
    let odd = odd.iter().map(|title| titled(title));
    let usual = starters().into_iter().chain(tongues());
    let usual = usual.map(|(_, session, plan)| (session, plan));
    usual.chain(odd).collect()
}

/// Writes a file of each class into a folder.
fn written(
    folder: &Path,
    ending: &str,
    text: impl Fn(&Plan, &Session, &Wording) -> String,
) -> Vec<PathBuf> {
    let classes = classes();
    let files = classes.iter().enumerate().map(|(nth, (session, plan))| {
        let path = folder.join(format!("{nth}{ending}"));
        let wording = Wording::of(session.text.language);
        std::fs::write(&path, text(plan, session, wording)).unwrap();
        path
    });
    files.collect()
}

fn sheets(folder: &Path) -> Vec<PathBuf> {
    written(folder, ".html", |plan, session, wording| {
        sheet::html(&sheet::content(plan, session, wording))
    })
}

#[test]
fn the_checker_of_html_finds_nothing_on_any_sheet() {
    let folder = tempfile::tempdir().unwrap();
    // vnu-jar (npm): the Nu Html Checker of the WHATWG and the W3C. It also warns of `role="list"`, without which Safari
    // takes a list whose numbers are drawn by the style for none (from memory).
    let mut command = Command::new("java");
    command
        .arg("-jar")
        .arg(packages().join("vnu-jar/build/dist/vnu.jar"));
    let output = command
        .args(["--format", "json", "--stdout", "--errors-only"])
        .args(sheets(folder.path()))
        .output()
        .unwrap();
    let found = parsed(&String::from_utf8(output.stdout).unwrap());
    assert_eq!(found["messages"], json!([]));
}

#[test]
fn no_sheet_has_a_barrier() {
    let folder = tempfile::tempdir().unwrap();
    let all = sheets(folder.path());
    // Each takes a browser seconds: every third is enough, of those of odd titles, which differ by the title alone,
    // every sixth.
    let (usual, odd) = all.split_at(all.len() - titles().len());
    let some = usual.iter().step_by(3).chain(odd.iter().step_by(6));
    let files: Vec<_> = some.collect();
    let mut arguments = vec![Path::new("axe")];
    arguments.extend(files.iter().map(|file| file.as_path()));
    let found = by_node("browser.js", &arguments);
    for (file, found) in files.iter().zip(found.as_array().unwrap()) {
        assert_eq!(*found, json!([]), "{}", file.display());
    }
    // On a phone nothing has to be moved sideways to be read.
    arguments[0] = Path::new("phone");
    let widths = by_node("browser.js", &arguments);
    for (file, width) in files.iter().zip(widths.as_array().unwrap()) {
        assert_eq!(*width, json!(360), "{}", file.display());
    }
}

#[test]
fn the_w3c_s_reader_finds_nothing_wrong_with_captions_and_chapters() {
    let folder = tempfile::tempdir().unwrap();
    let untold = |plan: &Plan, wording: &Wording| captions::captions(plan, wording, |_| Vec::new());
    let mut files = written(folder.path(), ".vtt", |plan, _, wording| {
        captions::webvtt(&untold(plan, wording))
    });
    files.extend(written(
        folder.path(),
        ".chapters.vtt",
        |plan, session, wording| chapters::webvtt(&chapters::contents(plan, session, wording)),
    ));
    let paths: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
    let read = by_node("vtt.js", &paths);
    let read = read.as_array().unwrap();
    for (file, read) in files.iter().zip(read) {
        assert_eq!(read["errors"], json!([]), "{}", file.display());
    }
    for ((session, plan), read) in classes().iter().zip(read) {
        let made = untold(plan, Wording::of(session.text.language));
        let shown: Vec<Value> = made
            .iter()
            .map(|c| {
                let rows: Vec<String> = c
                    .rows
                    .iter()
                    .map(|row| captions::Caption::row(row))
                    .collect();
                json!([c.start.ms(), c.end.ms(), rows.join("\n")])
            })
            .collect();
        // It leaves the semicolon of a letter that is written out ("&lt;"): none is compared.
        let bare = |captions: &Value| captions.to_string().replace(';', "");
        let title = &session.text.title;
        assert_eq!(bare(&read["captions"]), bare(&json!(shown)), "{title}");
    }
}

#[test]
fn a_browser_shows_each_caption_in_its_time_and_none_in_between() {
    let world = World::new();
    let (sound, track) = (world.at("class.wav"), world.at("class.vtt"));
    for path in [&sound, &track] {
        let to = path.to_str().unwrap();
        world
            .run(&["render", "short", "--voice", "compact", "-o", to])
            .check(0, &[]);
    }
    let read = by_node("vtt.js", &[&track]);
    let captions: Vec<(i64, i64, String)> =
        serde_json::from_value(read[0]["captions"].clone()).unwrap();
    assert!(captions.len() > 10);
    let mut times: Vec<(i64, String)> = Vec::new();
    let mut before = 0;
    for (start, end, text) in captions {
        if start > before {
            times.push(((before + start) / 2, String::new()));
        }
        times.extend([
            (start + 5, text.clone()),
            ((start + end) / 2, text.clone()),
            (end - 5, text),
        ]);
        before = end;
    }
    let instants: Vec<PathBuf> = times.iter().map(|(at, _)| at.to_string().into()).collect();
    let mut arguments = vec![Path::new("track"), &sound, &track];
    arguments.extend(instants.iter().map(PathBuf::as_path));
    let found = by_node("browser.js", &arguments);
    assert_eq!(found["length"], json!(85_000));
    let wanted: Vec<&str> = times.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(found["shown"], json!(wanted));
}

#[test]
fn a_browser_prints_a_sheet_on_either_paper() {
    let folder = tempfile::tempdir().unwrap();
    for (id, session, plan) in tongues().into_iter().take(3) {
        let content = sheet::content(&plan, &session, Wording::of(session.text.language));
        let path = folder.path().join(format!("{id}.html"));
        std::fs::write(&path, sheet::html(&content)).unwrap();
        for format in ["A4", "Letter"] {
            let pdf = by_node(
                "browser.js",
                &[Path::new("print"), &path, Path::new(format)],
            );
            let info = Command::new("pdfinfo")
                .arg(pdf.as_str().unwrap())
                .output()
                .unwrap();
            let info = String::from_utf8(info.stdout).unwrap();
            let pages = info.lines().find_map(|line| line.strip_prefix("Pages:"));
            let pages: usize = pages.unwrap().trim().parse().unwrap();
            // A few for the coach, one for everybody.
            assert!((3..=5).contains(&pages), "{id} {format}: {info}");
        }
    }
}
