//! A plan -> its chapters: opening, blocks, rounds, movements, finish; and the files of text that list them.

mod write;

pub use write::ffmetadata;
pub use write::markers;
pub use write::webvtt;

use crate::base::chapters::Chapter;
use crate::base::chapters::Contents;
use crate::base::chapters::one_line;
use crate::base::units::At;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;
use crate::planning::plan::Plan;
use crate::planning::session::Session;
use crate::planning::session::SideWords;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;

/// Says what a recording of a plan holds.
pub fn contents(plan: &Plan, session: &Session, wording: &Wording) -> Contents {
    Contents {
        title: one_line(&plan.title),
        chapters: of_plan(plan, session, wording),
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
        let chapter = Chapter::leaf(since, segments[at].end, &name(work, session, wording));
        since = segments[at].end;
        leaves.push((work, chapter));
    }
    let mut all = vec![Chapter::leaf(
        At::START,
        opens,
        &wording.say("chapter-opening", &[]),
    )];
    all.extend(blocks(leaves, session, wording));
    let end = plan.timeline.end();
    all.push(Chapter::leaf(
        closes,
        end,
        &wording.say("chapter-finish", &[]),
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
        all.extend(Chapter::of(rounds, &title));
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
            &title,
        )
    });
    each.collect()
}

/// Divides chapters where a figure of their works changes.
pub(super) fn by<W: Copy>(
    all: Vec<(W, Chapter)>,
    key: impl Fn(W) -> usize,
) -> Vec<Vec<(W, Chapter)>> {
    let mut groups: Vec<Vec<(W, Chapter)>> = Vec::new();
    for one in all {
        match groups.last_mut() {
            Some(group) if group.last().is_some_and(|(w, _)| key(*w) == key(one.0)) => {
                group.push(one);
            }
            _ => groups.push(vec![one]),
        }
    }
    groups
}

pub(super) fn numbered(id: &str, number: usize, of: Option<usize>, wording: &Wording) -> String {
    let (number, of) = (number.to_string(), of.map(|of| of.to_string()));
    let mut args = vec![("number", Arg::Text(&number))];
    if let Some(of) = &of {
        args.push(("of", Arg::Text(of)));
    }
    wording.say(id, &args)
}

/// Names a work on stations by its number, for all have the same stations.
pub fn of_stations(work: &Work, wording: &Wording) -> String {
    turn_on_stations(work.position + 1, work.positions, wording)
}

/// The same of a turn, counted from 1, of so many.
pub(super) fn turn_on_stations(turn: usize, turns: usize, wording: &Wording) -> String {
    match turns {
        0 | 1 => wording.say("chapter-stations", &[]),
        many => numbered("chapter-stations-turn", turn, Some(many), wording),
    }
}

/// Names a work as a list does: the movement, with its side.
fn name(work: &Work, session: &Session, wording: &Wording) -> String {
    if work.stations {
        return of_stations(work, wording);
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
