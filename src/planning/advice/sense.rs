//! Whether a session makes sense as training: what comes before and after, what follows what,
//! how work and rest share the time, what care it asks for.

use super::look::Done;
use super::look::Look;
use super::look::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::session::Part;
use crate::planning::session::Pattern;

/// A warm-up and a cool-down take 5 to 10 minutes each (common practice).
const LEAST_WARM_UP: Millis = Millis::from_secs(300);
/// A pattern may come this often running (common practice).
const MOST_RUNNING: usize = 3;
/// A rest of this length makes sets of what would be a run (common practice).
const LONG_REST: Millis = Millis::from_secs(60);
/// Work to rest in published interval protocols: 30 s to 3.5 min (Hov et al. 2022, doi
/// 10.1111/sms.14251) is the least, 30 s to 10 s (Klika & Jordan 2013, ACSM's Health & Fitness J
/// 17(3):8-13) the most.
const LEAST_RATIO: (i64, i64) = (1, 7);
const MOST_RATIO: (i64, i64) = (3, 1);
/// Without rests, one work a minute is every minute on the minute (Smith et al. 2025, Front
/// Physiol 15:1511961): the rest is inside it.
const ON_THE_MINUTE: Millis = Millis::from_secs(60);

/// Returns the advice on what a session is made of.
pub fn advice(look: &Look) -> Vec<Diagnostic> {
    let mut advice = before_and_after(look);
    advice.extend(runs(look));
    advice.extend(late_jumps(look));
    advice.extend(holds(look));
    advice.extend(ratios(look));
    advice.extend(unused(look));
    advice
}

/// Returns what is worth knowing and no fault.
pub fn notes(look: &Look) -> Vec<String> {
    let mut notes = Vec::new();
    for movement in &look.session.movements {
        let fast = movement
            .tempo
            .filter(|tempo| tempo.any_as_fast_as_possible());
        if let Some(tempo) = fast {
            notes.push(format!(
                "in the tempo of {}, X counts as 1 s: a repetition takes {}",
                movement.name,
                tempo.length()
            ));
        }
    }
    if let Some(open) = look.works.iter().find(|d| d.work.open) {
        notes.push(format!(
            "a work that goes on until a key counts as {} here",
            open.work.length
        ));
    }
    let added = |d: &Done| d.rest - d.work.rest.unwrap_or(d.rest);
    let added: Millis = look.works.iter().map(added).sum();
    if added > Millis::ZERO {
        notes.push(format!("by ear, the rests grow by {added} in all"));
    }
    for (part, name) in [(Part::WarmUp, "warm-up"), (Part::CoolDown, "cool-down")] {
        let inside = look.works.iter().filter(|d| look.part(d) == part);
        let takes: Millis = inside.map(|d| d.end - d.start + d.rest).sum();
        let main = look.main().next().is_some();
        if main && takes > Millis::ZERO && takes < LEAST_WARM_UP {
            notes.push(format!(
                "the {name} takes {takes}; 5 to 10 minutes are usual (common practice)"
            ));
        }
    }
    notes.extend(hearing(look.plan.timeline.end() - At::START));
    notes
}

/// Says what level over the length of a session is the whole of a day's share: the formula of NIOSH
/// (publication 98-126, 1998) is 480 / 2^((L - 85) / 3) minutes at L dB(A). Nothing is known of the room.
fn hearing(lasts: Millis) -> Option<String> {
    let minutes = lasts.ms() as f64 / 60_000.0;
    if minutes <= 0.0 {
        return None;
    }
    // No level above 100 is named: a quarter of an hour of that is a day's share.
    let level = (85.0 + 3.0 * (480.0 / minutes).log2()).floor().min(100.0);
    Some(format!(
        "hearing: {lasts} at {level} dB(A) are up to a whole day's share (NIOSH: 8 hours at 85, half for each 3 more); \
         how loud it is where you are this program does not know"
    ))
}

fn before_and_after(look: &Look) -> Vec<Diagnostic> {
    let blocks = &look.session.text.blocks;
    let mains = || {
        blocks
            .iter()
            .enumerate()
            .filter(|(_, b)| b.part == Part::Main)
    };
    let (Some((first, at_first)), Some((last, at_last))) = (mains().next(), mains().next_back())
    else {
        return Vec::new();
    };
    let mut advice = Vec::new();
    let mut miss = |code, place, which: &str, help: &str| {
        let message = format!("expected a {which} the main part, found none");
        advice.push(Diagnostic::advice(code, place, message).help(help));
    };
    if blocks[..first].iter().all(|b| b.part != Part::WarmUp) {
        let help = "begin with a block of `part = \"warm-up\"`, 5 to 10 minutes (common practice); \
                    until then the opening says that there is none";
        miss(Code::NoWarmUp, at_first.place, "warm-up before", help);
    }
    if blocks[last..].iter().all(|b| b.part != Part::CoolDown) {
        let help = "end with a block of `part = \"cool-down\"`, 5 to 10 minutes (common practice)";
        miss(Code::NoCoolDown, at_last.place, "cool-down after", help);
    }
    advice
}

/// Finds patterns that come too often running. The sides of a movement are one time; a long rest
/// or another part ends a run, and so does a block of one movement alone, which is meant so.
/// Mobility and locomotion load no one group of muscles.
fn runs(look: &Look) -> Vec<Diagnostic> {
    let mut advice = Vec::new();
    let mut running: Vec<&Done> = Vec::new();
    let mut ended = true;
    for done in &look.works {
        let pattern = done.movement.pattern;
        let alone = done.work.block(look.session).uses.len() == 1;
        let free = matches!(pattern, Pattern::Mobility | Pattern::Locomotion);
        if alone || free || look.part(done) != Part::Main {
            running.clear();
            continue;
        }
        let same_use = |d: &Done| {
            d.work.of == done.work.of
                && d.work.block == done.work.block
                && d.work.round == done.work.round
        };
        if ended
            || running
                .last()
                .is_some_and(|d| d.movement.pattern != pattern)
        {
            running.clear();
        }
        if running.last().is_none_or(|d| !same_use(d)) {
            running.push(done);
        }
        ended = done.rest >= LONG_REST;
        if running.len() == MOST_RUNNING + 1 {
            let message = format!(
                "expected at most {MOST_RUNNING} times {} running, found {} as number {} at {}",
                pattern.word(),
                done.name(),
                MOST_RUNNING + 1,
                done.start
            );
            let help = "put another pattern between, or a rest of a minute: the same muscles \
                        tire and form goes (common practice)";
            let told = Diagnostic::advice(Code::PatternRun, done.used.place, message);
            advice.push(told.help(help));
        }
    }
    advice
}

/// Finds jumps after two thirds of the time from the first main work to the last.
fn late_jumps(look: &Look) -> Vec<Diagnostic> {
    let (Some(from), Some(to)) = (
        look.main().map(|d| d.start).min(),
        look.main().map(|d| d.end).max(),
    ) else {
        return Vec::new();
    };
    let last_third = from + Millis::from_ms((to - from).ms() * 2 / 3);
    let late = |d: &&Done| d.movement.demands.impact && d.start >= last_third;
    let tell = |done: &Done| {
        let message = format!(
            "expected jumps before the last third, from {} on, found {} at {}",
            whole(last_third),
            done.movement.name,
            done.start
        );
        let help = "put it earlier, or use its easier option there: tired legs land badly \
                    (common practice)";
        Diagnostic::advice(Code::JumpsLate, done.used.place, message).help(help)
    };
    look.works.iter().filter(late).map(tell).collect()
}

fn whole(at: At) -> At {
    At::from_ms((at.ms() + 500) / 1000 * 1000)
}

/// What blood pressure is called in the languages that sessions are written in.
const BLOOD_PRESSURE: [&str; 6] = [
    "blood pressure",
    "blutdruck",
    "presión arterial",
    "tensión arterial",
    "tension artérielle",
    "pressão arterial",
];

/// Asks for a caution on blood pressure where positions are held with effort, as in wall sits and
/// planks; a stretch is held with none.
fn holds(look: &Look) -> Option<Diagnostic> {
    let held = |d: &&Done| d.movement.demands.held_still && d.movement.pattern != Pattern::Mobility;
    let first = look.works.iter().find(held)?;
    let speaks_of_it = |text: String| {
        let text = text.to_lowercase();
        BLOOD_PRESSURE.iter().any(|words| text.contains(words))
    };
    if own_texts(look).any(speaks_of_it) {
        return None;
    }
    let message = format!(
        "expected a caution on blood pressure with static holds, found none with {}",
        first.movement.name
    );
    let help = "add one to `caution`, such as \"With high blood pressure, ask a doctor before \
                you hold still\": holds raise it (Klika & Jordan 2013, ACSM's Health & Fitness J \
                17(3):8-13)";
    Some(Diagnostic::advice(Code::StaticHolds, first.used.place, message).help(help))
}

/// Returns the texts that a coach wrote, of the session and of the movements held still in it.
fn own_texts<'l>(look: &'l Look) -> impl Iterator<Item = String> + 'l {
    let text = &look.session.text;
    let own = [&text.opening, &text.caution, &text.closing];
    let own = own.into_iter().flatten().cloned();
    let uses = || text.blocks.iter().flat_map(|b| &b.uses);
    let notes = uses().filter_map(|u| u.note.clone());
    let said = uses().flat_map(|u| &u.cues).map(|c| words(&c.said));
    let held = look.session.movements.iter();
    let held = held.filter(|m| m.demands.held_still).flat_map(|m| &m.cues);
    own.chain(notes)
        .chain(said)
        .chain(held.map(|c| words(&c.said)))
}

/// Compares work to rest in each main block with what was published.
fn ratios(look: &Look) -> Vec<Diagnostic> {
    let blocks = look.session.text.blocks.iter().enumerate();
    let main = blocks.filter(|(_, b)| b.part == Part::Main);
    main.filter_map(|(at, block)| ratio(look, at, block.place))
        .collect()
}

fn ratio(look: &Look, block: usize, place: Place) -> Option<Diagnostic> {
    let works: Vec<_> = look.of_block(block).collect();
    // What stands between is compared: the last work with the rest after it says nothing.
    let last = works.last()?;
    // Two halves are one work.
    let same = |d: &&&Done| (d.work.of, d.work.round) == (last.work.of, last.work.round);
    let ends = works.iter().rev().take_while(same);
    let ends = match last.work.half {
        Some(_) => ends.count(),
        None => 1,
    };
    let between = &works[..works.len().checked_sub(ends).filter(|n| *n > 0)?];
    if works
        .iter()
        .all(|d| d.movement.pattern == Pattern::Mobility)
    {
        return None;
    }
    let work: Millis = between.iter().map(|d| d.end - d.start).sum();
    // As written: what was added by ear is for the words.
    let rest: Millis = between.iter().filter_map(|d| d.work.rest).sum();
    if rest == Millis::ZERO && between.iter().all(|d| d.work.length == ON_THE_MINUTE) {
        return None;
    }
    if !outside_published_ratios(work, rest) {
        return None;
    }
    let found = match rest {
        Millis::ZERO => "no rest".to_owned(),
        _ => format!(
            "{} of work to {} of rest between the works",
            work.ceil_secs(),
            rest.ceil_secs()
        ),
    };
    let message = format!(
        "expected work to rest between {} to {} and {} to {}, found {found}",
        LEAST_RATIO.0, LEAST_RATIO.1, MOST_RATIO.0, MOST_RATIO.1
    );
    let help = "published interval protocols lie between 30 s to 3.5 min (Hov et al. 2022, doi \
                10.1111/sms.14251) and 30 s to 10 s (Klika & Jordan 2013, ACSM's Health & \
                Fitness J 17(3):8-13)";
    Some(Diagnostic::advice(Code::RatioOutside, place, message).help(help))
}

/// Returns whether so much work and rest lie outside what published protocols have.
pub fn outside_published_ratios(work: Millis, rest: Millis) -> bool {
    let (least, most) = (LEAST_RATIO, MOST_RATIO);
    work * least.1 < rest * least.0 || work * most.1 > rest * most.0
}

/// Finds things to have ready that no movement uses.
fn unused(look: &Look) -> Vec<Diagnostic> {
    let used = |item: &str| {
        let mut all = look.session.movements.iter().flat_map(|m| &m.equipment);
        all.any(|e| e.item == item)
    };
    let ready = look.session.text.ready.iter();
    ready
        .filter(|ready| !used(&ready.item))
        .map(|ready| {
            let message = format!(
                "expected a thing that a movement of the session uses, found \"{}\"",
                ready.item
            );
            let help = "take it out, or name it in `equipment` of the movement that needs it: the \
                        opening asks for it";
            Diagnostic::advice(Code::ReadyUnused, ready.item_at, message).help(help)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_days_share_of_level_and_time_is_that_of_niosh() {
        // NIOSH 98-126, table 1-1 (from memory): 8 h at 85 dB(A), 1 h at 94, 30 min at 97, 15 min at 100.
        for (minutes, level) in [(480, 85), (60, 94), (30, 97), (15, 100)] {
            let note = hearing(Millis::from_secs(minutes * 60)).unwrap();
            assert!(note.contains(&format!("at {level} dB(A) are")), "{note}");
        }
        // No more is named for less.
        assert!(
            hearing(Millis::from_secs(60))
                .unwrap()
                .contains("at 100 dB(A)")
        );
        assert_eq!(hearing(Millis::ZERO), None);
    }
}
