//! A report as it is kept for the next one, and what got better since.

use super::Report;
use super::Row;
use super::Spoke;
use crate::base::units::Millis;
use crate::base::wording::Language;
use crate::planning::plan::Plan;
use crate::planning::timeline::SegmentKind;
use crate::rehearse::practice::RUN_UP;
use crate::rehearse::practice::Score;
use serde::Deserialize;
use serde::Serialize;

/// The format of a kept report; it only ever gains keys.
pub const FORMAT: &str = "sidevoice-rehearsal/1";

/// What a rehearsal came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    pub format: String,
    /// The session's id, and when the rehearsal began, in UTC.
    pub session: String,
    pub began: String,
    /// The tag of the language in which the coach spoke.
    #[serde(default)]
    pub language: String,
    pub rows: Vec<KeptRow>,
    /// Lines that were spoken one by one, with how long each took.
    #[serde(default)]
    pub lines: Vec<KeptLine>,
}

/// A rest or a work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptRow {
    /// Which it is, whatever its length: kind, block, round, place and side.
    pub place: String,
    pub over_ms: i64,
    pub spare_ms: i64,
    /// Musts for which there was silence.
    pub silent: usize,
    /// When the coach spoke, in ms from the start of the session.
    #[serde(default)]
    pub spoke: Vec<(i64, i64)>,
}

/// A line as the coach spoke it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptLine {
    pub text: String,
    pub ms: i64,
}

/// Makes a report what is kept of it.
pub fn kept(
    report: &Report,
    score: &Score,
    plan: &Plan,
    (session, language): (&str, Language),
    began: &str,
) -> Kept {
    let rows = report.rows.iter().map(|row| KeptRow {
        place: place(row, score, plan),
        over_ms: row.over.ms(),
        spare_ms: row.spare.ms(),
        silent: row.silent().count(),
        spoke: row.spoke.iter().map(spoke).collect(),
    });
    Kept {
        format: FORMAT.to_owned(),
        session: session.to_owned(),
        began: began.to_owned(),
        language: language.tag().to_owned(),
        rows: rows.collect(),
        lines: report
            .rows
            .iter()
            .flat_map(|row| lines(row, score))
            .collect(),
    }
}

fn spoke(spoke: &Spoke) -> (i64, i64) {
    ((spoke.from - RUN_UP).ms(), (spoke.to - RUN_UP).ms())
}

/// Reads what was kept; nothing where it is of another kind.
pub fn read(text: &str) -> Option<Kept> {
    let kept: Kept = serde_json::from_str(text).ok()?;
    (kept.format == FORMAT).then_some(kept)
}

/// Says what became of the places that were over or silent the last time: how many are as they should be
/// now, and how many that were are no more.
pub fn since(before: &Kept, now: &Kept) -> String {
    let bad = |row: &KeptRow| row.over_ms > 0 || row.silent > 0;
    let pairs = now.rows.iter().filter_map(|row| {
        let then = before.rows.iter().find(|other| other.place == row.place)?;
        Some((then, row))
    });
    let pairs: Vec<_> = pairs.collect();
    if pairs.is_empty() {
        return "Nothing of it was rehearsed the last time.".to_owned();
    }
    let better = pairs.iter().filter(|(then, row)| bad(then) && !bad(row));
    let worse = pairs.iter().filter(|(then, row)| !bad(then) && bad(row));
    let over = |rows: &dyn Fn(&(&KeptRow, &KeptRow)) -> i64| {
        let sum: i64 = pairs.iter().map(rows).sum();
        Millis::from_ms(sum).secs()
    };
    format!(
        "Since the last time: {} put right, {} worse; {:.1} s over in all, {:.1} s then.",
        better.count(),
        worse.count(),
        over(&|(_, row)| row.over_ms),
        over(&|(then, _)| then.over_ms),
    )
}

fn place(row: &Row, score: &Score, plan: &Plan) -> String {
    let passage = score.passages[row.passage];
    let work = passage.work.and_then(|at| plan.timeline.segments[at].work);
    match (row.kind, work) {
        (kind, Some(work)) => {
            let work = &plan.timeline.works[work];
            let side = work.side.map_or("both", |side| side.id());
            format!(
                "{} {}.{}.{} {side}",
                kind.word(),
                work.block + 1,
                work.round + 1,
                work.position + 1
            )
        }
        (SegmentKind::Rest, None) => format!("rest after all, {}", row.passage + 1),
        (kind, None) => kind.word().to_owned(),
    }
}

/// The lines of a row that were spoken one by one: as many stretches of speech as lines, each after the one
/// before. Anything else says nothing of the length of one.
fn lines(row: &Row, score: &Score) -> Vec<KeptLine> {
    if row.spoke.len() != row.due.len() || row.over > Millis::ZERO {
        return Vec::new();
    }
    let pairs = row.due.iter().zip(&row.spoke);
    let spoken = pairs.map(|(due, spoke)| KeptLine {
        text: score.sounds[due.sound].text.clone(),
        ms: (spoke.to - spoke.from).ms(),
    });
    spoken.collect()
}
