//! A report as it is kept for the next one, and what got better since.

use super::Report;
use super::Row;
use super::Spoke;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Language;
use crate::planning::plan::Plan;
use crate::planning::timeline::SegmentKind;
use crate::rehearse::practice::Pass;
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
    /// How fast the class went, in per cent: rests are longer below a hundred.
    #[serde(default = "whole")]
    pub pace: u32,
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

/// What else is kept of a rehearsal.
#[derive(Debug, Clone, Copy)]
pub struct Occasion<'a> {
    /// The session's id.
    pub session: &'a str,
    pub language: Language,
    /// When it began, in UTC.
    pub began: &'a str,
    /// In per cent.
    pub pace: u32,
    /// Whether nothing of ours was heard by the microphone, and so nothing of the coach lost to it.
    pub earpiece: bool,
}

const fn whole() -> u32 {
    100
}

/// Makes a report what is kept of it.
pub fn kept(report: &Report, score: &Score, plan: &Plan, occasion: Occasion) -> Kept {
    let rows = report.rows.iter().map(|row| KeptRow {
        place: place(row, score, plan),
        over_ms: row.over.ms(),
        spare_ms: row.spare.ms(),
        silent: row.silent().count(),
        spoke: row.spoke.iter().map(spoke).collect(),
    });
    Kept {
        format: FORMAT.to_owned(),
        pace: occasion.pace,
        session: occasion.session.to_owned(),
        began: occasion.began.to_owned(),
        language: occasion.language.tag().to_owned(),
        rows: rows.collect(),
        lines: report
            .rows
            .iter()
            .flat_map(|row| lines(row, score, occasion.earpiece))
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
        (kind, None) if plan.timeline.segments[row.segment].open => {
            format!("{}, waiting", kind.word())
        }
        (SegmentKind::Rest, None) => format!("rest after all, {}", row.passage + 1),
        (kind, None) => kind.word().to_owned(),
    }
}

/// A line is said when it is due, or so much sooner or later.
const DUE: Millis = Millis::from_ms(1500);
/// Before a sound of ours, and while it rings in the room, an end of speech is not found well.
const BEFORE_OURS: Millis = Millis::from_ms(200);
const AFTER_OURS: Millis = Millis::from_ms(600);

/// The lines of a row that were spoken one by one: as many stretches of speech as lines, each about when its
/// line was due. Anything else says nothing of the length of one; nor does what touches a sound of ours that
/// the microphone heard too.
fn lines(row: &Row, score: &Score, earpiece: bool) -> Vec<KeptLine> {
    if row.spoke.len() != row.due.len() || row.over > Millis::ZERO {
        return Vec::new();
    }
    let pass = Pass {
        passage: row.passage,
        help: row.help,
        shown: false,
    };
    let ours = match earpiece {
        true => Vec::new(),
        false => score.cues(pass),
    };
    let ours: Vec<_> = ours.iter().map(|cue| score.times(*cue)).collect();
    let clear = |spoke: &Spoke| {
        let touched =
            |(from, to): &(At, At)| spoke.to > *from - BEFORE_OURS && spoke.from < *to + AFTER_OURS;
        !ours.iter().any(touched)
    };
    let pairs = row.due.iter().zip(&row.spoke);
    let when_due = pairs.filter(|(due, spoke)| {
        let off = spoke.from - score.sounds[due.sound].onset;
        off >= Millis::ZERO - DUE && off <= DUE && clear(spoke)
    });
    let spoken = when_due.map(|(due, spoke)| KeptLine {
        text: score.sounds[due.sound].text.clone(),
        ms: (spoke.to - spoke.from).ms(),
    });
    spoken.collect()
}
