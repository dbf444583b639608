//! A plan -> captions: all that is heard, word by word, in rows that can be read in passing.
//!
//! Each follows the one before and never lies over it, so none is ever in the way of a count.

pub(super) mod fold;
mod write;

pub use write::subrip;
pub use write::webvtt;
pub(super) use write::webvtt_text;
pub(super) use write::webvtt_time;

use super::json::Words;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Wording;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;

/// The most characters in a row: what television of Latin letters holds to (37 to 42; common practice).
pub const ROW: usize = 37;
/// The most rows at once.
pub const ROWS: usize = 2;
/// The least time on screen where nothing follows sooner.
pub const LEAST: Millis = Millis::from_secs(1);
/// Characters that are read in a second (15 to 20; common practice): a longer caption stays longer, where
/// nothing follows.
const READ_A_SECOND: i64 = 17;

/// What is on screen at a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caption {
    pub start: At,
    pub end: At,
    pub rows: Vec<Row>,
}

/// A row of a caption.
pub type Row = Vec<Word>;

/// A word, or a piece of one that is longer than a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    pub text: String,
    pub onset: At,
    /// Whether the voice has told when it is heard; else the time is reckoned by letters.
    pub told: bool,
    /// Whether it goes on with the word before, without a space.
    pub glued: bool,
}

impl Caption {
    /// Returns what a row says.
    pub fn row(row: &[Word]) -> String {
        let mut text = String::new();
        for word in row {
            if !text.is_empty() && !word.glued {
                text.push(' ');
            }
            text += &word.text;
        }
        text
    }

    /// Tells whether it shows what is said, in more than a word: not a count, nor a sound in brackets.
    fn is_speech(&self) -> bool {
        let words = self.rows.iter().flatten();
        words.clone().count() > 1 && !words.clone().any(|word| word.text.starts_with('['))
    }

    /// Returns where its last row begins to be heard, if it can be shown apart: both for as long as any.
    fn divides_at(&self) -> Option<At> {
        let last = self.rows.get(1)?.first()?.onset;
        (last - self.start >= LEAST && self.end - last >= LEAST).then_some(last)
    }

    fn letters(&self) -> i64 {
        let rows = self.rows.iter().map(|row| Self::row(row).chars().count());
        rows.sum::<usize>() as i64
    }
}

/// Makes the captions of a plan, in order. `words` gives the words of a sound, where the voice knows them.
pub fn captions(plan: &Plan, wording: &Wording, words: impl Fn(&Sound) -> Words) -> Vec<Caption> {
    of_sounds(&plan.sounds, wording, words)
}

/// Makes the captions of some sounds of a plan.
pub fn of_sounds(
    sounds: &[Sound],
    wording: &Wording,
    words: impl Fn(&Sound) -> Words,
) -> Vec<Caption> {
    let mut all: Vec<Caption> = Vec::new();
    for sound in sounds {
        match &sound.kind {
            SoundKind::Tone(tone) => all.push(of_tone(sound, *tone, wording)),
            SoundKind::Count | SoundKind::Line { .. } => {
                let mut told = fold::told(&sound.text, &words(sound), sound.onset, sound.end);
                // Whatever a voice tells of its first word, that is where a sound begins: a count on its second.
                if let Some(first) = told.first_mut() {
                    first.onset = sound.onset;
                }
                all.extend(fold::captions(told, sound.end));
            }
        }
    }
    stay_long_enough(&mut all);
    all
}

/// Lets captions stay until they are read, where nothing follows sooner.
pub(super) fn stay_long_enough(all: &mut [Caption]) {
    let starts: Vec<At> = all.iter().map(|caption| caption.start).collect();
    for (at, caption) in all.iter_mut().enumerate() {
        let reading = Millis::from_ms(caption.letters() * 1000 / READ_A_SECOND);
        let wished = caption.end.max(caption.start + reading.max(LEAST));
        caption.end = starts
            .get(at + 1)
            .map_or(wished, |next| wished.min(*next))
            .max(caption.start + Millis::from_ms(1));
    }
}

/// How long music is named, and how long it is waited for room for that.
const MUSIC: Millis = Millis::from_secs(3);
const ROOM_WITHIN: Millis = Millis::from_secs(30);

/// Ends all captions at a time: what begins later is not shown.
pub fn end_at(all: &mut Vec<Caption>, end: At) {
    all.retain(|caption| caption.start < end);
    for caption in all {
        caption.end = caption.end.min(end);
    }
}

/// Tells where music begins: by itself where nothing else is shown for a second, or in a row above what is said.
pub fn tell_music(all: &mut Vec<Caption>, begins: &[At], wording: &Wording) {
    let name = wording.say("caption-music", &[]);
    for begins in begins {
        let mut at = *begins;
        let mut next = all.partition_point(|caption| caption.end <= at);
        while let Some(caption) = all.get(next) {
            if caption.start >= at + LEAST || at > *begins + ROOM_WITHIN {
                break;
            }
            if caption.is_speech() && (caption.rows.len() < ROWS || caption.divides_at().is_some())
            {
                break;
            }
            at = caption.end;
            next += 1;
        }
        let following = all.get_mut(next);
        match following {
            _ if at > *begins + ROOM_WITHIN => {}
            Some(caption) if caption.start < at + LEAST => {
                let row = in_brackets(caption.start, caption.end, &name).rows;
                let rest = caption.divides_at().filter(|_| caption.rows.len() == ROWS);
                let rest = rest.map(|divides| Caption {
                    start: divides,
                    end: std::mem::replace(&mut caption.end, divides),
                    rows: caption.rows.split_off(1),
                });
                caption.rows.splice(0..0, row);
                all.splice(next + 1..next + 1, rest);
            }
            following => {
                let end = following.map_or(at + MUSIC, |it| it.start.min(at + MUSIC));
                all.insert(next, in_brackets(at, end, &name));
            }
        }
    }
}

/// Names a tone for those who cannot hear it.
fn of_tone(sound: &Sound, tone: Tone, wording: &Wording) -> Caption {
    let name = wording.say(
        match tone {
            Tone::Start => "caption-start-tone",
            Tone::End => "caption-end-tone",
        },
        &[],
    );
    in_brackets(sound.onset, sound.end, &name)
}

/// Says what is no speech.
pub(super) fn in_brackets(start: At, end: At, name: &str) -> Caption {
    Caption {
        start,
        end,
        rows: vec![vec![Word {
            text: format!("[{name}]"),
            onset: start,
            told: false,
            glued: false,
        }]],
    }
}
