//! A plan -> its chapters: opening, blocks, rounds, movements, finish; and the track that shows them (WebVTT).

use super::write::webvtt_text;
use super::write::webvtt_time;
use crate::base::units::At;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;
use crate::planning::plan::Plan;
use crate::planning::session::Session;
use crate::planning::session::SideWords;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;
use std::fmt::Write;

/// A part of a session that one might want to go to; chapters lie within one another or apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chapter {
    pub start: At,
    pub end: At,
    pub title: String,
    pub parts: Vec<Chapter>,
}

impl Chapter {
    fn leaf(start: At, end: At, title: String) -> Self {
        let parts = Vec::new();
        Self {
            start,
            end,
            title,
            parts,
        }
    }

    /// Puts chapters under a title of their own.
    fn of(parts: Vec<Chapter>, title: String) -> Option<Self> {
        Some(Self {
            start: parts.first()?.start,
            end: parts.last()?.end,
            title,
            parts,
        })
    }
}

/// Divides a plan into chapters. That of a movement begins with the rest in which it is named.
pub fn of_plan(plan: &Plan, session: &Session, wording: &Wording) -> Vec<Chapter> {
    let segments = &plan.timeline.segments;
    let works: Vec<usize> = (0..segments.len())
        .filter(|at| segments[*at].kind == SegmentKind::Work)
        .collect();
    let (Some(first), Some(last)) = (works.first(), works.last()) else {
        return Vec::new();
    };
    let opens = segments[*first].start;
    let closes = segments[*last].end;
    let mut leaves: Vec<(&Work, Chapter)> = Vec::new();
    let mut since = opens;
    for at in works {
        let work = &plan.timeline.works[segments[at].work.unwrap_or(0)];
        let chapter = Chapter::leaf(since, segments[at].end, name(work, session, wording));
        since = segments[at].end;
        leaves.push((work, chapter));
    }
    let mut all = vec![Chapter::leaf(
        At::START,
        opens,
        wording.say("chapter-opening", &[]),
    )];
    all.extend(blocks(leaves, session, wording));
    let end = plan.timeline.end();
    all.push(Chapter::leaf(
        closes,
        end,
        wording.say("chapter-finish", &[]),
    ));
    all.retain(|chapter| chapter.end > chapter.start);
    all
}

fn blocks(leaves: Vec<(&Work, Chapter)>, session: &Session, wording: &Wording) -> Vec<Chapter> {
    let several = session.text.blocks.len() > 1;
    let mut all = Vec::new();
    for block in by(leaves, |work| work.block) {
        let index = block.first().map_or(0, |(work, _)| work.block);
        let of = &session.text.blocks[index];
        let rounds = rounds(block, of.rounds, wording);
        let title = match (&of.title, several) {
            (Some(title), _) => title.clone(),
            (None, true) => numbered("chapter-block", index + 1, None, wording),
            (None, false) => {
                all.extend(rounds);
                continue;
            }
        };
        all.extend(Chapter::of(rounds, title));
    }
    all
}

fn rounds(block: Vec<(&Work, Chapter)>, rounds: usize, wording: &Wording) -> Vec<Chapter> {
    if rounds == 1 {
        return block.into_iter().map(|(_, chapter)| chapter).collect();
    }
    let each = by(block, |work| work.round).into_iter();
    let each = each.filter_map(|round| {
        let number = round.first().map_or(0, |(work, _)| work.round) + 1;
        let title = numbered("chapter-round", number, Some(rounds), wording);
        Chapter::of(
            round.into_iter().map(|(_, chapter)| chapter).collect(),
            title,
        )
    });
    each.collect()
}

/// Divides chapters where a figure of their works changes.
fn by<'a>(
    all: Vec<(&'a Work, Chapter)>,
    key: impl Fn(&Work) -> usize,
) -> Vec<Vec<(&'a Work, Chapter)>> {
    let mut groups: Vec<Vec<(&Work, Chapter)>> = Vec::new();
    for one in all {
        match groups.last_mut() {
            Some(group) if group.last().is_some_and(|(w, _)| key(w) == key(one.0)) => {
                group.push(one);
            }
            _ => groups.push(vec![one]),
        }
    }
    groups
}

fn numbered(id: &str, number: usize, of: Option<usize>, wording: &Wording) -> String {
    let (number, of) = (number.to_string(), of.map(|of| of.to_string()));
    let mut args = vec![("number", Arg::Text(&number))];
    if let Some(of) = &of {
        args.push(("of", Arg::Text(of)));
    }
    wording.say(id, &args)
}

/// Names a work as a list does: the movement, with its side.
fn name(work: &Work, session: &Session, wording: &Wording) -> String {
    if work.stations {
        return wording.say("chapter-stations", &[]);
    }
    let movement = session.movement(work.movement_use(session));
    let name = capitalised(&movement.name);
    match work.side {
        None => name,
        Some(side) => format!(
            "{name}, {}",
            SideWords::of_limb(wording, movement.limb).of(side)
        ),
    }
}

/// Writes chapters as a track of WebVTT: a chapter comes before those that lie within it.
pub fn chapters(plan: &Plan, session: &Session, wording: &Wording) -> String {
    let mut out = String::from("WEBVTT\n");
    write(&mut out, &of_plan(plan, session, wording));
    out
}

fn write(out: &mut String, chapters: &[Chapter]) {
    for chapter in chapters {
        let (start, end) = (webvtt_time(chapter.start), webvtt_time(chapter.end));
        let title: String = chapter
            .title
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        let title = webvtt_text(&title);
        // A write into a string cannot fail.
        let _ = writeln!(out, "\n{start} --> {end}\n{title}");
        write(out, &chapter.parts);
    }
}
