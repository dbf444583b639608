//! The record of what was done: what is written, what is on the disk after a cut, what is read.

mod course;
mod cut;
mod loads;
mod noting;
mod reading;

use jiff::Timestamp;
use sidevoice::live::history::Began;
use sidevoice::live::history::Caution;
use sidevoice::live::history::Done;
use sidevoice::live::history::Entry;
use sidevoice::live::history::FORMAT;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Rate;
use sidevoice::live::history::WorkAt;
use std::path::Path;

/// A moment, in minutes after a Wednesday evening.
fn minute(after: i64) -> Timestamp {
    let evening: Timestamp = "2026-10-14T18:00:00Z".parse().unwrap();
    Timestamp::from_millisecond(evening.as_millisecond() + after * 60_000).unwrap()
}

fn began(session: &str, caution: Caution) -> Began {
    Began {
        format: FORMAT.to_owned(),
        version: "0.1.0".to_owned(),
        voice: "compact".to_owned(),
        session: session.to_owned(),
        title: "Boathouse five".to_owned(),
        path: format!("sessions/{session}.toml"),
        hash: "0f".repeat(32),
        caution,
        works: 12,
        from: None,
        planned_ms: 466_000,
        language: None,
        clarity: None,
    }
}

fn work(number: usize) -> WorkAt {
    WorkAt {
        work: number,
        movement: Some("press-up".to_owned()),
        name: "press-up".to_owned(),
        side: None,
        block: 1,
        round: number.div_ceil(6),
        rounds: 2,
        turn: None,
        planned_ms: Some(20_000),
    }
}

fn done(number: usize) -> Happening {
    Happening::WorkDone(Done {
        work: work(number),
        done_ms: 20_000,
    })
}

fn rated(felt: Option<u8>) -> Happening {
    Happening::Rate(Rate { felt, later: true })
}

/// The lines of a file: the beginning, then an entry each minute.
fn lines(began: Began, what: Vec<Happening>) -> String {
    let all = std::iter::once(Happening::Began(began)).chain(what);
    all.zip(0..)
        .map(|(what, at)| {
            let entry = Entry::new(minute(at), at * 60_000, what);
            serde_json::to_string(&entry).unwrap() + "\n"
        })
        .collect()
}

#[expect(clippy::disallowed_methods, reason = "writes what will be read")]
fn write(folder: &Path, name: &str, text: impl AsRef<[u8]>) {
    std::fs::create_dir_all(folder.join("log")).unwrap();
    std::fs::write(folder.join("log").join(name), text).unwrap();
}
