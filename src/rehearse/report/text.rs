//! A report as it is printed: what was to be said, the time there was, when the coach spoke.

use super::Edit;
use super::Length;
use super::Remedy;
use super::Report;
use super::Row;
use super::Time;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::session::Session;
use crate::planning::session::Talk;
use crate::planning::timeline::SegmentKind;
use crate::rehearse::practice::RUN_UP;
use crate::rehearse::practice::Score;
use std::fmt::Write;

/// Writes a report with its worst places.
pub fn text(
    report: &Report,
    remedies: &[Remedy],
    score: &Score,
    plan: &Plan,
    session: &Session,
) -> String {
    let page = Page {
        score,
        plan,
        session,
    };
    let mut out = String::new();
    for row in &report.rows {
        page.row(&mut out, row);
    }
    let good = report.rows.iter().filter(|row| row.is_good()).count();
    let _ = writeln!(
        out,
        "{good} of {} rests and works as they should be.",
        report.rows.len()
    );
    if !remedies.is_empty() {
        out.push_str("\nWhat would help most:\n");
    }
    for (nth, remedy) in (1..).zip(remedies) {
        page.remedy(&mut out, nth, remedy, &report.rows[remedy.row]);
    }
    out
}

struct Page<'a> {
    score: &'a Score,
    plan: &'a Plan,
    session: &'a Session,
}

impl Page<'_> {
    fn row(&self, out: &mut String, row: &Row) {
        let segment = &self.plan.timeline.segments[row.segment];
        let _ = writeln!(out, "{}  {}", segment.start, self.name(row));
        let words: usize = row.due.iter().map(|due| self.words(due.sound)).sum();
        let lasts: Millis = row.due.iter().map(|due| due.lasts).sum();
        let _ = writeln!(
            out,
            "    to say   {}, {} by the voice of the plan; room for {}",
            counted(words, "word"),
            seconds(lasts),
            seconds(row.room),
        );
        let spoke: Vec<String> = row.spoke.iter().map(|s| self.span(s.from, s.to)).collect();
        let said = match spoke.is_empty() {
            true => "nothing".to_owned(),
            false => format!("{}: {}", seconds(row.spoken()), spoke.join(", ")),
        };
        let _ = writeln!(out, "    spoken   {said}");
        let verdict = match row.over > Millis::ZERO {
            true => format!("{} over {}", seconds(row.over), self.marks(row)),
            false => format!("{} to spare", seconds(row.spare)),
        };
        let _ = writeln!(out, "    verdict  {verdict}");
        for due in row.silent() {
            let sound = &self.score.sounds[due.sound];
            let at = At::from_ms((sound.onset - RUN_UP).ms());
            let _ = writeln!(
                out,
                "    silence  at {at}, where \"{}\" was due",
                sound.text
            );
        }
    }

    /// Times from the start of the session, in tenths.
    fn span(&self, from: At, to: At) -> String {
        format!("{} to {}", from - RUN_UP, to - RUN_UP)
    }

    fn words(&self, sound: usize) -> usize {
        self.score.sounds[sound].text.split_whitespace().count()
    }

    fn name(&self, row: &Row) -> String {
        let segment = &self.plan.timeline.segments[row.segment];
        let stretch = self.score.passages[row.passage];
        let work = stretch
            .work
            .and_then(|at| self.plan.timeline.segments[at].work);
        let of = work.map(|work| {
            let work = &self.plan.timeline.works[work];
            if work.stations {
                return "all stations".to_owned();
            }
            let movement = self.session.movement(work.movement_use(self.session));
            match work.side {
                Some(side) => format!("{}, {}", movement.name, side.id()),
                None => movement.name.clone(),
            }
        });
        let length = segment.length();
        match (row.kind, of) {
            (SegmentKind::Work, Some(of)) => format!("{of}, {length}"),
            (kind, Some(of)) => format!("{} of {length} before {of}", kind.word()),
            (kind, None) => format!("{} of {length}", kind.word()),
        }
    }

    fn marks(&self, row: &Row) -> String {
        let name = |at: &usize| match &self.score.sounds[*at].kind {
            SoundKind::Tone(Tone::Start) => "the start tone".to_owned(),
            SoundKind::Tone(Tone::End) => "the end tone".to_owned(),
            _ => format!("\"{}\"", self.score.sounds[*at].text),
        };
        let names: Vec<_> = row.over_marks.iter().map(name).collect();
        names.join(", ")
    }

    fn remedy(&self, out: &mut String, nth: usize, remedy: &Remedy, row: &Row) {
        let _ = writeln!(out, "  {nth}. {}", self.name(row));
        if let Some(edit) = &remedy.edit {
            let _ = writeln!(out, "     {}", self.edit(edit));
        }
        if remedy.edit.is_none() && row.late > Millis::ZERO && row.kind != SegmentKind::Work {
            let _ = writeln!(out, "     {} more here", row.late.ceil_secs());
        }
        if row.late == Millis::ZERO && row.over > Millis::ZERO {
            let _ = writeln!(out, "     begin after {}", self.marks(row));
        }
        for (sound, saves) in &remedy.shorter {
            let _ = writeln!(
                out,
                "     or its brief wording for \"{}\": {} less",
                self.score.sounds[*sound].text,
                seconds(*saves)
            );
        }
        if remedy.fewer {
            let _ = writeln!(out, "     or one cue fewer in this work");
        }
        if remedy.edit.is_none() && remedy.shorter.is_empty() && !remedy.fewer {
            let lines: Vec<_> = row.silent().map(|due| due.sound).collect();
            for line in lines {
                let text = &self.score.sounds[line].text;
                let _ = writeln!(out, "     say \"{text}\"");
            }
        }
    }

    fn edit(&self, edit: &Edit) -> String {
        match edit {
            Edit::Length { what, to } => self.length(*what, *to),
            Edit::Talk { to } => format!("talk = \"{}\", for the whole session", talk(*to)),
            Edit::TalkAt { block, of, to } => format!(
                "talk = \"{}\" at {} in block {}, in each round",
                talk(*to),
                self.used(*block, *of),
                block + 1
            ),
        }
    }

    fn length(&self, what: Length, to: Millis) -> String {
        match what {
            Length::LeadIn => format!("lead_in = \"{to}\""),
            Length::Finish => format!("finish = \"{to}\""),
            Length::RestAfter { block, of } => format!(
                "rest = \"{to}\" after {} in block {}, in each round",
                self.used(block, of),
                block + 1
            ),
            Length::Of { block, time, round } => {
                let rounds = match (round, time) {
                    (Some(round), _) => format!(", in round {} alone", round + 1),
                    (None, Time::Every) => ", for each work".to_owned(),
                    (None, Time::Rest) => ", for each rest".to_owned(),
                    (None, Time::BetweenRounds) => String::new(),
                };
                format!("{} = \"{to}\" in block {}{rounds}", time.key(), block + 1)
            }
        }
    }

    fn used(&self, block: usize, of: usize) -> &str {
        let used = &self.session.text.blocks[block].uses[of];
        &self.session.movement(used).name
    }
}

/// The word for it in the files.
pub fn talk(talk: Talk) -> &'static str {
    match talk {
        Talk::Quiet => "quiet",
        Talk::Normal => "normal",
        Talk::Full => "full",
    }
}

fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

/// Tenths of seconds: what was measured is no better.
fn seconds(length: Millis) -> String {
    format!("{:.1} s", length.secs())
}
