//! Verifies a plan against the rules a listener relies on. Shares no code with the solver, the
//! windows or the marks: it reads only the finished plan and the session.

use super::Plan;
use super::Solved;
use super::Sound;
use super::SoundKind;
use super::Tone;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Wording;
use crate::planning::script::Topic;
use crate::planning::session::Limb;
use crate::planning::session::Session;
use crate::planning::session::Talk;
use crate::planning::timeline::Half;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;
use std::collections::HashMap;

/// Returns every rule that the plan breaks, as sentences; none for a sound plan.
pub fn faults(plan: &Plan, session: &Session) -> Vec<String> {
    let mut faults = Vec::new();
    segments_join(plan, &mut faults);
    sounds_are_apart(plan, &mut faults);
    counts_mean_a_change(plan, &mut faults);
    every_change_has_its_tone(plan, &mut faults);
    speech_keeps_its_guards(plan, &mut faults);
    works_are_not_crowded(plan, session, &mut faults);
    every_work_is_named(plan, session, &mut faults);
    repetitions_are_counted(plan, &mut faults);
    both_sides_hear_as_much(plan, &mut faults);
    words_are_not_repeated(plan, &mut faults);
    for solved in &plan.stretches {
        the_model_holds(solved, &mut faults);
    }
    faults
}

fn segments_join(plan: &Plan, faults: &mut Vec<String>) {
    let mut end = At::START;
    for segment in &plan.timeline.segments {
        if segment.start != end {
            faults.push(format!(
                "a segment starts at {}, not at {end}",
                segment.start
            ));
        }
        if segment.end < segment.start {
            faults.push(format!(
                "the segment at {} ends before it starts",
                segment.start
            ));
        }
        end = segment.end;
    }
}

fn sounds_are_apart(plan: &Plan, faults: &mut Vec<String>) {
    let mut last: Option<&Sound> = None;
    for sound in &plan.sounds {
        if let Some(last) = last
            && (sound.onset - last.end).ms() < 150
        {
            faults.push(format!(
                "{} at {} is less than 150 ms after {} ending at {}",
                name(sound),
                sound.onset,
                name(last),
                last.end
            ));
        }
        if sound.end > plan.timeline.end() {
            faults.push(format!("{} is cut by the end", name(sound)));
        }
        last = Some(sound);
    }
}

/// "Three, two, one" are heard only before a work starts or ends, each on its second.
fn counts_mean_a_change(plan: &Plan, faults: &mut Vec<String>) {
    let works: Vec<_> = of_kind(plan, SegmentKind::Work).collect();
    let counts = ["three", "two", "one"];
    for sound in plan.sounds.iter().filter(|s| s.kind == SoundKind::Count) {
        let Some(at) = counts.iter().position(|c| *c == sound.text) else {
            continue;
        };
        if work_at(plan, sound.segment).is_some_and(|w| w.repetitions.is_some()) {
            continue;
        }
        let change = sound.onset + Millis::from_secs(3 - at as i64);
        if works.iter().all(|w| w.start != change && w.end != change) {
            faults.push(format!(
                "\"{}\" at {} counts to nothing",
                sound.text, sound.onset
            ));
        }
    }
    for work in works {
        let rest = plan
            .timeline
            .segments
            .iter()
            .position(|s| s.end == work.start);
        // "Last one" is the word for what follows counted repetitions at once.
        let counted = rest
            .and_then(|r| work_at(plan, r))
            .filter(|w| w.repetitions.is_some());
        if counted.is_some()
            && rest.is_some_and(|r| plan.timeline.segments[r].kind == SegmentKind::Work)
        {
            continue;
        }
        let rest = rest.map(|r| &plan.timeline.segments[r]);
        let from = rest.map_or(At::START, |r| r.start + Millis::from_ms(1500));
        for n in 1..=3 {
            let at = work.start - Millis::from_secs(n);
            let heard = |s: &&Sound| s.onset == at && s.kind == SoundKind::Count;
            if at >= from && !plan.sounds.iter().any(|s| heard(&s)) {
                faults.push(format!(
                    "no count at {at} before the work at {}",
                    work.start
                ));
            }
        }
    }
}

fn every_change_has_its_tone(plan: &Plan, faults: &mut Vec<String>) {
    let mut wanted: Vec<(At, Tone)> = Vec::new();
    for work in of_kind(plan, SegmentKind::Work) {
        wanted.push((work.start, Tone::Start));
        if of_kind(plan, SegmentKind::Work).all(|w| w.start != work.end) {
            wanted.push((work.end, Tone::End));
        }
    }
    let heard: Vec<_> = plan
        .sounds
        .iter()
        .filter_map(|s| match s.kind {
            SoundKind::Tone(tone) => Some((s.onset, tone)),
            _ => None,
        })
        .collect();
    if heard != wanted {
        faults.push(format!("tones at {heard:?}, wanted at {wanted:?}"));
    }
}

fn speech_keeps_its_guards(plan: &Plan, faults: &mut Vec<String>) {
    for sound in lines(plan) {
        let segment = &plan.timeline.segments[sound.segment];
        let opens = match segment.kind {
            SegmentKind::Work => Millis::from_ms(1500),
            _ => Millis::from_ms(400),
        };
        if sound.onset < segment.start + opens {
            faults.push(format!(
                "{} at {} starts too soon",
                name(sound),
                sound.onset
            ));
        }
        if sound.end > segment.end {
            faults.push(format!("{} at {} runs over", name(sound), sound.onset));
        }
        let next = plan
            .sounds
            .iter()
            .find(|s| s.onset > sound.onset && !matches!(s.kind, SoundKind::Line { .. }));
        if let Some(next) = next
            && next.kind == SoundKind::Count
            && (next.onset - sound.end).ms() < 300
        {
            faults.push(format!(
                "{} at {} crowds the count",
                name(sound),
                sound.onset
            ));
        }
    }
}

/// At most 1 + floor(work / 15 s) cues and never more than 8 (common practice), one more where
/// much talk is asked for. What the next movement needs at the end of a work is not counted.
fn works_are_not_crowded(plan: &Plan, session: &Session, faults: &mut Vec<String>) {
    for (index, segment) in plan.timeline.segments.iter().enumerate() {
        if segment.kind != SegmentKind::Work {
            continue;
        }
        let said = lines(plan)
            .filter(|s| s.segment == index)
            .filter(|s| !matches!(topic(s), Some(Topic::Name | Topic::Equipment)))
            .count() as i64;
        let used = segment.work.map(|work| &plan.timeline.works[work]);
        let own = used.filter(|work| !work.stations);
        let own = own.and_then(|work| work.movement_use(session).talk);
        let more = i64::from(own.unwrap_or(session.text.talk) == Talk::Full);
        let most = (1 + segment.length().ms() / 15_000 + more).min(8);
        if said > most {
            faults.push(format!("{said} cues in the work at {}", segment.start));
        }
    }
}

/// Between the start of the work before and its own start, each work's name is heard.
fn every_work_is_named(plan: &Plan, session: &Session, faults: &mut Vec<String>) {
    if !plan.diagnostics.is_empty() {
        // A must that did not fit was reported.
        return;
    }
    let mut from = At::START;
    for segment in of_kind(plan, SegmentKind::Work) {
        let work = &plan.timeline.works[segment.work.unwrap_or(0)];
        let movement = session.movement(work.movement_use(session));
        let wanted = match (work.stations, work.half, work.side) {
            (true, ..) => String::new(),
            // "The left arm", as the language of the session has it.
            (_, Some(Half::Second), Some(side)) => {
                let wording = Wording::of(session.text.language);
                let limb = movement.limb.and_then(Limb::named);
                wording.limb(side.id(), limb).to_lowercase()
            }
            _ => movement.name.to_lowercase(),
        };
        let named = lines(plan).any(|s| {
            topic(s) == Some(Topic::Name)
                && (from..segment.start).contains(&s.onset)
                && s.text.to_lowercase().contains(&wanted)
        });
        if !named {
            faults.push(format!(
                "{} at {} is not named",
                movement.name, segment.start
            ));
        }
        from = segment.start;
    }
}

/// Each number of counted repetitions has its onset on the start of its repetition.
fn repetitions_are_counted(plan: &Plan, faults: &mut Vec<String>) {
    for (index, segment) in plan.timeline.segments.iter().enumerate() {
        let work = work_at(plan, index).filter(|_| segment.kind == SegmentKind::Work);
        let Some(repetitions) = work.and_then(|w| w.repetitions) else {
            continue;
        };
        let counts = |s: &&Sound| s.kind == SoundKind::Count && s.segment == index;
        let heard: Vec<_> = plan.sounds.iter().filter(counts).map(|s| s.onset).collect();
        let wanted: Vec<_> = (1..repetitions.count as i64)
            .map(|n| segment.start + Millis::from_ms(repetitions.each.ms() * n))
            .collect();
        if heard != wanted {
            faults.push(format!("repetitions at {heard:?}, wanted at {wanted:?}"));
        }
    }
}

/// Right and left hear the same number of cues; a side that can hear none takes none away.
fn both_sides_hear_as_much(plan: &Plan, faults: &mut Vec<String>) {
    let works: Vec<_> = (0..plan.timeline.segments.len())
        .filter(|s| plan.timeline.segments[*s].kind == SegmentKind::Work)
        .collect();
    let cues = |segment: usize| {
        let inside = lines(plan).filter(|s| s.segment == segment);
        inside
            .filter(|s| !matches!(topic(s), Some(Topic::Name | Topic::Equipment)))
            .count()
    };
    for pair in works.windows(2) {
        let (Some(first), Some(second)) = (work_at(plan, pair[0]), work_at(plan, pair[1])) else {
            continue;
        };
        let of = |w: &Work| (w.block, w.of, w.round);
        let both = of(first) == of(second) && first.side.is_some() && first.side != second.side;
        let (one, other) = (cues(pair[0]), cues(pair[1]));
        if both && one != other && one.min(other) > 0 {
            faults.push(format!(
                "one side hears {one} cues and the other {other} in the work at {}",
                plan.timeline.segments[pair[1]].start
            ));
        }
    }
}

/// The same words never start within 8 s after they ended; names may, where a must has no other
/// words.
fn words_are_not_repeated(plan: &Plan, faults: &mut Vec<String>) {
    let mut ended: HashMap<&str, (At, usize)> = HashMap::new();
    for sound in lines(plan) {
        // In another rest, a must may have no other words.
        let must = matches!(topic(sound), Some(Topic::Name | Topic::Equipment));
        if let Some((before, segment)) = ended.get(sound.text.as_str())
            && (sound.onset - *before).ms() < 8000
            && (!must || *segment == sound.segment)
        {
            faults.push(format!("{} again at {}", name(sound), sound.onset));
        }
        ended.insert(&sound.text, (sound.end, sound.segment));
    }
}

/// The choice obeys the model that is exported, and its values are what the model says.
fn the_model_holds(solved: &Solved, faults: &mut Vec<String>) {
    let (problem, index) = (&solved.problem, solved.index);
    let mut used = vec![Millis::ZERO; problem.windows.len()];
    let mut value = 0;
    let mut times = vec![0; problem.lines.len()];
    for (chosen, start) in solved.solution.chosen.iter().zip(&solved.starts) {
        let choice = &problem.lines[chosen.line].choices[chosen.choice];
        let window = &problem.windows[choice.window];
        times[chosen.line] += 1;
        value += choice.value;
        used[choice.window] += choice.lasts + window.gap;
        if *start < window.start || *start + choice.lasts > window.end {
            faults.push(format!(
                "stretch {index}: a line at {start} leaves its window"
            ));
        }
    }
    for (line, times) in problem.lines.iter().zip(&times) {
        if *times > 1 || (line.must && *times != 1) {
            faults.push(format!("stretch {index}: {} chosen {times} times", line.id));
        }
        let fade = line.fade[line.said_before.min(line.fade.len() - 1)];
        if line.choices.iter().any(|c| c.value != c.base * fade / 1000) {
            faults.push(format!("stretch {index}: a value of {} is wrong", line.id));
        }
    }
    for (window, used) in problem.windows.iter().zip(&used) {
        if *used > window.end - window.start + window.gap {
            faults.push(format!(
                "stretch {index}: the window at {} is overfull",
                window.start
            ));
        }
    }
    for limit in &problem.limits {
        let inside = solved.solution.chosen.iter().filter_map(|c| {
            let choice = &problem.lines[c.line].choices[c.choice];
            limit
                .windows
                .contains(&choice.window)
                .then_some(choice.lasts)
        });
        let lengths: Vec<_> = inside.collect();
        let talk: Millis = lengths.iter().copied().sum();
        if lengths.len() > limit.count || talk > limit.talk {
            faults.push(format!("stretch {index}: over the limit of the work"));
        }
    }
    if value != solved.solution.value {
        faults.push(format!("stretch {index}: the value does not add up"));
    }
}

/// Returns the work that a segment is, or follows.
fn work_at(plan: &Plan, segment: usize) -> Option<&Work> {
    let work = plan.timeline.segments.get(segment)?.work?;
    plan.timeline.works.get(work)
}

fn of_kind(plan: &Plan, kind: SegmentKind) -> impl Iterator<Item = &Segment> {
    plan.timeline
        .segments
        .iter()
        .filter(move |s| s.kind == kind)
}

fn lines(plan: &Plan) -> impl Iterator<Item = &Sound> {
    let is_line = |s: &&Sound| matches!(s.kind, SoundKind::Line { .. });
    plan.sounds.iter().filter(is_line)
}

fn topic(sound: &Sound) -> Option<Topic> {
    match sound.kind {
        SoundKind::Line { topic, .. } => Some(topic),
        _ => None,
    }
}

fn name(sound: &Sound) -> String {
    match sound.kind {
        SoundKind::Tone(tone) => format!("the {} tone", tone.word()),
        _ => format!("\"{}\"", sound.text),
    }
}
