//! Which sounds each pass over a passage has.

use super::Help;
use super::Pass;
use super::Prompt;
use super::RUN_UP;
use super::first_words;
use super::prompts::Taken;
use super::prompts::place;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::timeline::Timeline;

/// What follows a passage on its beat: the tone that ends its work.
const AFTER: Millis = Millis::from_ms(400);

/// A rest and the work after it, or what there is of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passage {
    pub start: At,
    pub end: At,
    /// Indices of its segments.
    pub rest: Option<usize>,
    pub work: Option<usize>,
}

/// A sound of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cue {
    /// A sound of the plan, by its place in it.
    Planned(usize),
    /// A prompt for a line, by its place among the prompts of its step.
    Prompt(Help, usize),
}

/// The passages of a plan, and all that can be heard in them, on the clock of the rehearsal.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    pub passages: Vec<Passage>,
    /// The sounds of the plan.
    pub sounds: Vec<Sound>,
    first_words: Vec<Prompt>,
    names: Vec<Prompt>,
}

impl Score {
    /// Makes the score of a plan; `length` tells how long some words are spoken.
    pub fn new(plan: &Plan, length: &mut dyn FnMut(&str) -> Millis) -> Score {
        let mut sounds = plan.sounds.clone();
        for sound in &mut sounds {
            sound.onset += RUN_UP;
            sound.end += RUN_UP;
        }
        let mut score = Score {
            passages: passages(&plan.timeline),
            sounds,
            first_words: Vec::new(),
            names: Vec::new(),
        };
        score.first_words = score.prompts(|_| true, length);
        score.names = score.prompts(|topic| topic == Topic::Name, length);
        // A name that a rest says twice is brought back once; in a work the next one is named.
        let start = |prompt: &Prompt| {
            let line = &score.sounds[prompt.line];
            let passage = score.passage_at(line.onset)?;
            (passage.rest == Some(line.segment)).then_some(passage.start)
        };
        let starts: Vec<_> = score.names.iter().map(start).collect();
        let mut nth = 0;
        score.names.retain(|_| {
            nth += 1;
            starts[nth - 1].is_none() || !starts[..nth - 1].contains(&starts[nth - 1])
        });
        score
    }

    /// Returns the prompts of a step.
    pub fn prompts_of(&self, help: Help) -> &[Prompt] {
        match help {
            Help::FirstWords => &self.first_words,
            Help::Name => &self.names,
            Help::Whole | Help::Marks => &[],
        }
    }

    /// Returns where a sound begins and ends.
    pub fn times(&self, cue: Cue) -> (At, At) {
        match cue {
            Cue::Planned(at) => (self.sounds[at].onset, self.sounds[at].end),
            Cue::Prompt(help, at) => {
                let prompt = &self.prompts_of(help)[at];
                (prompt.onset, prompt.end)
            }
        }
    }

    /// Returns where the clock begins for a pass that does not follow the one before.
    pub fn begins(&self, passage: usize) -> At {
        self.passages[passage].start - RUN_UP
    }

    /// Returns the sounds of a pass in order: those of its passage with the run-up to it, and what its end
    /// sounds with.
    pub fn cues(&self, pass: Pass) -> Vec<Cue> {
        let passage = self.passages[pass.passage];
        let (from, to) = (passage.start - RUN_UP, passage.end + AFTER);
        let planned = self.sounds.iter().enumerate().filter(|(_, sound)| {
            let here = sound.onset >= passage.start && sound.onset < passage.end;
            let mark = is_mark(sound) && sound.onset >= from && sound.onset < to;
            mark || (here && pass.shown)
        });
        let planned = planned.map(|(at, _)| Cue::Planned(at));
        let prompts = self.prompts_of(pass.help).iter().enumerate();
        let own = prompts.filter(|(_, prompt)| {
            let due = self.sounds[prompt.line].onset;
            !pass.shown && due >= passage.start && due < passage.end
        });
        let own = own.map(|(at, _)| Cue::Prompt(pass.help, at));
        let mut cues: Vec<_> = planned.chain(own).collect();
        cues.sort_by_key(|cue| self.times(*cue).0);
        cues
    }

    /// The prompts for the lines of some topics, each in the run-up to its passage or later.
    fn prompts(
        &self,
        wanted: impl Fn(Topic) -> bool,
        length: &mut dyn FnMut(&str) -> Millis,
    ) -> Vec<Prompt> {
        let marks = self.sounds.iter().filter(|sound| is_mark(sound));
        let mut taken: Vec<Taken> = marks
            .map(|mark| Taken {
                from: mark.onset,
                to: mark.end,
            })
            .collect();
        let mut made = Vec::new();
        for (line, sound) in self.sounds.iter().enumerate() {
            let SoundKind::Line { topic, .. } = &sound.kind else {
                continue;
            };
            let Some(passage) = self.passage_at(sound.onset).filter(|_| wanted(*topic)) else {
                continue;
            };
            let text = first_words(&sound.text);
            let earliest = passage.start - RUN_UP;
            let Some((onset, end)) = place(length(&text), sound.onset, earliest, &taken) else {
                continue;
            };
            taken.push(Taken {
                from: onset,
                to: end,
            });
            made.push(Prompt {
                text,
                onset,
                end,
                line,
            });
        }
        made
    }

    fn passage_at(&self, at: At) -> Option<Passage> {
        let found = self.passages.iter().find(|p| p.start <= at && at < p.end);
        found.copied()
    }
}

/// Whether a sound stands on the beat whatever else is said: a tone, or a spoken mark.
pub fn is_mark(sound: &Sound) -> bool {
    !matches!(sound.kind, SoundKind::Line { .. })
}

fn passages(timeline: &Timeline) -> Vec<Passage> {
    let made = timeline.stretches.iter().filter_map(|stretch| {
        let segment = |at: Option<usize>| at.map(|at| &timeline.segments[at]);
        let (rest, work) = (segment(stretch.rest), segment(stretch.work));
        let start = rest.or(work)?.start + RUN_UP;
        let end = work.or(rest)?.end + RUN_UP;
        Some(Passage {
            start,
            end,
            rest: stretch.rest,
            work: stretch.work,
        })
    });
    made.filter(|passage| passage.start < passage.end).collect()
}
