//! Cues that cannot be heard: too long for any time in which they could be said, or too many.

use super::look::Look;
use super::look::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::short;
use crate::base::units::Millis;
use crate::planning::plan::Solved;
use crate::planning::plan::Window;
use crate::planning::plan::Wordings;
use crate::planning::script::Slot;
use crate::planning::script::work_limit;
use crate::planning::session::Cue;
use crate::planning::session::CueKind;
use crate::planning::session::Talk;
use std::collections::HashMap;
use std::collections::HashSet;

/// A movement is written for many sessions, so some of its cues may stay unsaid in one; more
/// than a work can ever hold are too many (eight: common practice).
const MOST_UNSAID: usize = 8;
/// How many unsaid cues are named.
const NAMED: usize = 3;

/// The most words of a cue in the work (common practice).
const MOST_WORDS: i64 = 10;
/// Around what is said in a rest: the guard after the end tone, the count with its guard.
const AROUND_IN_REST: Millis = Millis::from_ms(450 + 3300);
/// Less than this holds hardly a word (common practice).
const A_FEW_WORDS: Millis = Millis::from_ms(1000);

/// What became of a cue in the whole plan.
#[derive(Debug, Clone, Copy)]
struct Fate {
    /// The most time that there was for it, anywhere.
    room: Millis,
    shortest: Millis,
    words: usize,
    work: bool,
    fits: bool,
}

/// A cue as it is written, with the name under which its lines stand in the plan.
struct Written<'a> {
    group: String,
    cue: &'a Cue,
}

/// Returns the advice on cues that are never heard.
pub fn advice(look: &Look) -> Vec<Diagnostic> {
    let fates = fates(&look.plan.stretches);
    let said = Heard::in_plan(look);
    let mut advice = Vec::new();
    let mut seen = HashSet::new();
    for (block, text) in look.session.text.blocks.iter().enumerate() {
        for (of, used) in text.uses.iter().enumerate() {
            let movement = look.session.movement(used);
            let talk = used.talk.unwrap_or(look.session.text.talk);
            let own = written(&used.cues, &movement.id, Some((block, of)));
            advice.extend(look_at(&own, &fates, &said, (used.place, talk), 0));
            if seen.insert(&movement.id) {
                let start = fates.get(format!("{}/start", movement.id).as_str());
                if let Some(fate) = start.filter(|fate| !fate.fits) {
                    let place = movement.start.place;
                    advice.push(too_long("start position", place, fate, talk));
                }
                let all = written(&movement.cues, &movement.id, None);
                advice.extend(look_at(
                    &all,
                    &fates,
                    &said,
                    (used.place, talk),
                    MOST_UNSAID,
                ));
            }
        }
    }
    advice
}

/// Looks at the cues of one list: those that are too long are told at their own places, those
/// never said together at the use, if they are more than may stay unsaid or are for safety.
fn look_at(
    cues: &[Written],
    fates: &HashMap<&str, Fate>,
    said: &Heard,
    (used_at, talk): (Place, Talk),
    may_stay: usize,
) -> Vec<Diagnostic> {
    let mut advice = Vec::new();
    let mut unsaid: Vec<&Cue> = Vec::new();
    for written in cues {
        let place = written.cue.said.place;
        match fates.get(written.group.as_str()) {
            // Where hardly a word fits it is the work that is at fault, not each of its cues.
            Some(fate) if !fate.fits && fate.room < A_FEW_WORDS => {
                advice.push(no_room(used_at, fate, talk));
            }
            Some(fate) if !fate.fits => advice.push(too_long("cue", place, fate, talk)),
            // A harder option that was never due is not missed.
            None if written.cue.kind == CueKind::Harder => {}
            _ if !said.heard(written) => unsaid.push(written.cue),
            _ => {}
        }
    }
    let safety = |cue: &&&Cue| cue.kind == CueKind::Safety;
    let missed: Vec<&Cue> = if unsaid.len() > may_stay {
        unsaid
    } else {
        unsaid.iter().filter(safety).copied().collect()
    };
    advice.extend(never_said(&missed, used_at, fates, cues, talk));
    advice
}

fn never_said(
    missed: &[&Cue],
    place: Place,
    fates: &HashMap<&str, Fate>,
    cues: &[Written],
    talk: Talk,
) -> Option<Diagnostic> {
    if missed.is_empty() {
        return None;
    }
    let named = missed.iter().take(NAMED);
    let named: Vec<_> = named
        .map(|cue| format!("\"{}\"", short(&words(&cue.said))))
        .collect();
    let more = match missed.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let many = match missed.len() {
        1 => "one that is".to_owned(),
        n => format!("{n} that are"),
    };
    let message = format!(
        "expected cues that the session can say, found {many} never heard: {}{more}",
        named.join(", ")
    );
    // What keeps safe is not taken out: the time for it is named.
    if let Some(safety) = missed.iter().find(|cue| cue.kind == CueKind::Safety) {
        let group = cues.iter().find(|w| std::ptr::eq(w.cue, *safety));
        let fate = group.and_then(|w| fates.get(w.group.as_str()));
        let work = fate.and_then(|fate| smallest_work(fate.shortest, talk));
        let help = match work {
            Some(work) => format!(
                "give the work at least {work}, say it with `when = \"before\"`, or give it a shorter \
                 `brief`: what keeps safe has to be heard (common practice)"
            ),
            None => "say it with `when = \"before\"`, or give it a shorter `brief`: what keeps safe has \
                     to be heard (common practice)"
                .to_owned(),
        };
        return Some(Diagnostic::warning(Code::CuesNeverSaid, place, message).help(help));
    }
    let help = format!(
        "take {} out, make the works longer, or add rounds: a work holds one cue and one more for \
         each 15 s, never more than 8 (common practice)",
        match missed.len() {
            1 => "it".to_owned(),
            n => format!("{n} of them"),
        }
    );
    Some(Diagnostic::advice(Code::CuesNeverSaid, place, message).help(help))
}

/// Tells once of a use that its works have no room for cues.
fn no_room(place: Place, fate: &Fate, talk: Talk) -> Diagnostic {
    let message = format!(
        "expected time for a cue of {:.1} s, found {:.1} s: this work is too short for its cues",
        fate.shortest.secs(),
        fate.room.secs()
    );
    let help = match smallest_work(fate.shortest, talk).filter(|_| fate.work) {
        Some(work) => format!("a work of at least {work} would hold this one"),
        None => "make the work or the rest before it longer".to_owned(),
    };
    Diagnostic::advice(Code::CueTooLong, place, message).help(help)
}

fn too_long(what: &str, place: Place, fate: &Fate, talk: Talk) -> Diagnostic {
    let lacks = fate.shortest - fate.room;
    let message = format!(
        "expected a {what} of at most {:.1} s, found one of {:.1} s: it lacks {:.1} s wherever it \
         could be said",
        fate.room.secs(),
        fate.shortest.secs(),
        lacks.secs()
    );
    let words = fate.words as i64 * fate.room.ms().max(0) / fate.shortest.ms().max(1);
    // In the work ten are too many already.
    let words = if fate.work {
        words.min(MOST_WORDS)
    } else {
        words
    };
    let longer = if fate.work {
        smallest_work(fate.shortest, talk).map(|work| format!("a work of at least {work}"))
    } else {
        let rest = (AROUND_IN_REST + fate.shortest).ceil_secs();
        Some(format!("a rest of at least {rest} before it"))
    };
    let shorter = (words > 0).then(|| match words {
        1 => "one word".to_owned(),
        n => format!("at most {n} words"),
    });
    let help = match (shorter, longer) {
        (Some(shorter), Some(longer)) => {
            format!("say it in {shorter}, also as `brief`, or give it {longer}")
        }
        (Some(shorter), None) => format!("say it in {shorter}, also as `brief`"),
        (None, Some(longer)) => format!("give it {longer}"),
        (None, None) => "say it in fewer words, also as `brief`".to_owned(),
    };
    Diagnostic::advice(Code::CueTooLong, place, message).help(help)
}

/// The guards in a work: its first repetition is quiet, and before a mark; the count, from the
/// length on from which there is one; the marks of the clock.
const FIRST: i64 = 1500;
const BEFORE_MARK: i64 = 300;
const COUNT: i64 = 3000;
const COUNT_FROM: i64 = 15;
const TEN_TO_GO_FROM: i64 = 30;
const HALFWAY_FROM: i64 = 40;
/// Longer works have a mark each minute, and hold no longer line.
const LONGEST_S: i64 = 120;

/// Returns the shortest work, in whole seconds, that could hold a line of a length; `None`
/// where even a long one could not.
fn smallest_work(line: Millis, talk: Talk) -> Option<Millis> {
    let holds = |work: &Millis| {
        let secs = work.ms() / 1000;
        let ends = match secs {
            HALFWAY_FROM.. => work.ms() / 2,
            TEN_TO_GO_FROM.. => work.ms() - 10_000,
            COUNT_FROM.. => work.ms() - COUNT,
            _ => work.ms(),
        };
        let window = ends - BEFORE_MARK - FIRST;
        line.ms() <= window && line <= work_limit(*work, 0, talk).talk
    };
    (1..=LONGEST_S).map(Millis::from_secs).find(holds)
}

/// Follows each line through the plan.
fn fates(stretches: &[Solved]) -> HashMap<&str, Fate> {
    let mut fates: HashMap<&str, Fate> = HashMap::new();
    for solved in stretches {
        for line in &solved.wordings {
            let room = room(solved, line);
            let fate = fates.entry(&line.group).or_insert(Fate {
                room,
                shortest: line.shortest,
                words: line.words,
                work: line.work,
                fits: false,
            });
            fate.fits |= line.shortest <= room;
            fate.room = fate.room.max(room);
            if line.shortest < fate.shortest {
                (fate.shortest, fate.words) = (line.shortest, line.words);
            }
        }
    }
    fates
}

/// Returns the most time that a stretch has for a line.
fn room(solved: &Solved, line: &Wordings) -> Millis {
    let windows = &solved.problem.windows;
    let early = windows.iter().any(|w| w.slot == Slot::Early);
    let talk = solved.problem.limits.iter().map(|limit| limit.talk).min();
    let of = |window: &Window| match window.slot {
        Slot::Work if line.work => Some(talk.map_or(window.length(), |t| t.min(window.length()))),
        Slot::Early if line.early => Some(window.length()),
        Slot::Late if line.late || (line.early && !early) => Some(window.length()),
        _ => None,
    };
    windows.iter().filter_map(of).max().unwrap_or(Millis::ZERO)
}

/// Names cues as the lines of the plan are named: of a movement, or of the use in a block.
fn written<'a>(cues: &'a [Cue], movement: &str, of: Option<(usize, usize)>) -> Vec<Written<'a>> {
    let mut counts: HashMap<CueKind, usize> = HashMap::new();
    cues.iter()
        .map(|cue| {
            let nth = counts.entry(cue.kind).or_default();
            *nth += 1;
            let kind = match cue.kind {
                CueKind::Safety => "safety",
                CueKind::Form => "form",
                CueKind::Breathing => "breathing",
                CueKind::Easier => "easier",
                CueKind::Harder => "harder",
            };
            let group = match of {
                None => format!("{movement}/{kind}-{nth}"),
                Some((block, of)) => {
                    format!("{movement}/{kind}-{nth}-of-use-{}-{}", block + 1, of + 1)
                }
            };
            Written { group, cue }
        })
        .collect()
}

/// What was said in a plan: under which names, and in which words.
struct Heard<'a> {
    groups: HashSet<&'a str>,
    texts: HashSet<&'a str>,
}

impl<'a> Heard<'a> {
    fn in_plan(look: &Look<'a>) -> Self {
        let chosen = look.plan.stretches.iter().flat_map(|solved| {
            let chosen = solved.solution.chosen.iter();
            chosen.map(|c| solved.problem.lines[c.line].group.as_str())
        });
        Self {
            groups: chosen.collect(),
            texts: look.plan.sounds.iter().map(|s| s.text.as_str()).collect(),
        }
    }

    /// Returns whether a cue was said, under its own name or as the same words of another.
    fn heard(&self, written: &Written) -> bool {
        self.groups.contains(written.group.as_str())
            || self.texts.contains(words(&written.cue.said).as_str())
    }
}
