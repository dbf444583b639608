//! What sounded in a run -> the clips that make it heard once more, spoken by the same voice and cut where it was cut.

use super::beds::Notices;
use crate::base::heard::Course;
use crate::base::heard::Heard;
use crate::base::heard::Moved;
use crate::base::heard::Spoken;
use crate::base::heard::What;
use crate::base::tones::Tones;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::sound::mix;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::music;
use crate::sound::music::Sequence;
use crate::sound::out::OfflineBed;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::Take;
use std::collections::HashMap;
use std::sync::Arc;

/// A run as it can be heard again.
#[derive(Debug, Default)]
pub struct Again {
    /// The id of each is the index of what is heard of it.
    pub clips: Vec<Clip>,
    /// All that was heard, the sync tone first.
    pub spoken: Vec<Spoken>,
    /// How many texts are as long as they were, and how many are not: another voice speaks, or another version of it.
    pub same: usize,
    pub others: usize,
}

/// The words of a count as one sound: each onset on its second, the first after the longest lead, a second after the last.
pub fn counted_in(takes: &[Take]) -> Take {
    let second = SampleRate::OUTPUT.hz() as usize;
    let lead = takes.iter().map(|take| take.onset.count() as usize).max();
    let lead = lead.unwrap_or(0);
    let mut samples = vec![0.0; lead + takes.len() * second];
    let mut words: Vec<SpokenWord> = Vec::new();
    let mut end = lead;
    for (nth, take) in takes.iter().enumerate() {
        let start = lead + nth * second - take.onset.count() as usize;
        for (out, sample) in samples[start..].iter_mut().zip(take.samples.iter()) {
            *out += sample;
        }
        let moved = |at: Frames| Frames::new(start as u64 + at.count());
        words.extend(take.words.iter().map(|word| SpokenWord {
            text: word.text.clone(),
            onset: moved(word.onset),
            end: moved(word.end),
        }));
        end = start + take.end.count() as usize;
    }
    Take {
        end: Frames::new(end.min(samples.len()) as u64),
        samples: samples.into(),
        onset: Frames::new(lead as u64),
        words,
        aloud: false,
    }
}

/// Returns all texts that are spoken again, each once, in the order in which they are needed.
pub fn utterances(course: &Course) -> Vec<Utterance> {
    let mut all = Vec::new();
    for utterance in course.sounds.iter().flat_map(|(_, heard)| texts(heard)) {
        if !all.contains(&utterance) {
            all.push(utterance);
        }
    }
    all
}

fn texts(heard: &Heard) -> Vec<Utterance> {
    match heard.what {
        What::CountIn => heard.counts.iter().map(Utterance::new).collect(),
        What::Count | What::Line | What::Said => vec![Utterance {
            text: heard.text.clone(),
            rate: heard.rate.map_or(Rate::NORMAL, Rate::from_per_mille),
        }],
        What::SyncTone | What::StartTone | What::EndTone | What::FaultTone | What::Unknown => {
            Vec::new()
        }
    }
}

/// Makes the clips of what sounded from what was spoken of [`utterances`]; a text that is not among it is left out.
pub fn again(course: &Course, takes: &HashMap<Utterance, Take>) -> Again {
    let mut made = Again::default();
    made.take_up(
        FrameAt::START,
        &sync_tone(),
        Some(tone(mix::sync_tone())),
        None,
    );
    for (at, (from, heard)) in course.sounds.iter().enumerate() {
        let next = course.sounds.get(at + 1).map(|(next, _)| next.since(*from));
        let take = take_of(heard, takes);
        if let Some(take) = take.as_ref().filter(|_| !texts(heard).is_empty()) {
            let same = take.samples.len() as u64 == heard.frames;
            made.same += usize::from(same);
            made.others += usize::from(!same);
        }
        made.take_up(*from, heard, take, next);
    }
    made
}

/// Lays the music of a run below it once more, with what there will be to say of it; `None` where there was none.
pub fn bed_again(course: &Course) -> Option<(OfflineBed, Notices)> {
    let music = course.music.clone();
    let shelves = music.iter().map(|it| (it.block, it.into())).collect();
    let mut bed = Sequence::open(shelves, music::kept())?;
    let notices = Notices::default();
    let told = notices.clone();
    let mut begun = 0;
    let pull = move || {
        let pulled = bed.pull();
        told.tell(bed.notices());
        for now in bed.begun() {
            let then = music.get(begun);
            begun += 1;
            if then.is_some_and(|then| then.files != now.files) && now.folder.is_dir() {
                let shown = now.folder.display();
                told.tell([format!(
                    "in \"{shown}\" are other files than when the class ran: other music may sound"
                )]);
            }
        }
        Some(pulled)
    };
    let blocks = Box::new(pull);
    let aims = Vec::new();
    Some((OfflineBed { blocks, aims }, notices))
}

/// Returns what the mixer of a file of a run is told, so that it sounds as the room's did.
pub fn moves(course: &Course) -> impl Iterator<Item = (FrameAt, Command)> {
    course.moves.iter().map(|(at, moved)| {
        let command = match *moved {
            Moved::Bed(moved) => Command::BedMove(moved),
            Moved::Volume(volume) => Command::Volume(volume),
        };
        (*at, command)
    })
}

fn sync_tone() -> Heard {
    Heard {
        what: What::SyncTone,
        text: String::new(),
        counts: Vec::new(),
        rate: None,
        soft: false,
        from_frame: 0,
        frames: mix::sync_tone().len() as u64,
        heard_frames: None,
        fade_frame: None,
    }
}

/// Returns what a sound is made of; `None` of a text that was not spoken.
fn take_of(heard: &Heard, takes: &HashMap<Utterance, Take>) -> Option<Take> {
    let kind = match heard.soft {
        true => Tones::Soft,
        false => Tones::Clear,
    };
    match heard.what {
        What::SyncTone => Some(tone(mix::sync_tone())),
        What::StartTone => Some(tone(mix::Tone::Start.samples(kind))),
        What::EndTone => Some(tone(mix::Tone::End.samples(kind))),
        What::FaultTone => Some(tone(mix::Tone::Fault.samples(kind))),
        What::Count | What::Line | What::Said => takes.get(texts(heard).first()?).cloned(),
        What::CountIn => {
            let all = texts(heard)
                .into_iter()
                .map(|text| takes.get(&text).cloned());
            Some(counted_in(&all.collect::<Option<Vec<_>>>()?))
        }
        What::Unknown => None,
    }
}

fn tone(samples: Arc<[f32]>) -> Take {
    let audible = mix::audible(&samples);
    Take {
        onset: Frames::new(audible.start as u64),
        end: Frames::new(audible.end as u64),
        samples,
        words: Vec::new(),
        aloud: false,
    }
}

impl Again {
    fn take_up(&mut self, from: FrameAt, heard: &Heard, take: Option<Take>, next: Option<Frames>) {
        let at = |frames: u64| (from + Frames::new(frames)).at(SampleRate::OUTPUT);
        let text = match heard.what {
            What::CountIn => heard.counts.join(" "),
            _ => heard.text.clone(),
        };
        let Some(take) = take else {
            self.spoken.push(Spoken {
                what: heard.what,
                text,
                onset: at(0),
                end: at(heard.played().count()),
                cut: None,
                words: Vec::new(),
                sounds: false,
            });
            return;
        };
        let (played, faded) = heard_of(&take, heard, next);
        let samples = match (played == take.samples.len() as u64, faded) {
            (true, None) => Arc::clone(&take.samples),
            _ => mix::cut(&take.samples, Frames::new(played), faded.map(Frames::new)),
        };
        let audible = faded.unwrap_or(played);
        let words = take.words.iter().map(|word| {
            let ms = |frames: Frames| at(frames.count()).ms();
            (word.text.clone(), ms(word.onset), ms(word.end))
        });
        self.clips.push(Clip {
            id: self.spoken.len() as u64,
            at: from,
            samples,
        });
        self.spoken.push(Spoken {
            what: heard.what,
            text,
            onset: at(take.onset.count()),
            end: at(take.end.count()),
            cut: (audible < take.end.count()).then(|| At::max(at(audible), at(take.onset.count()))),
            words: words.collect(),
            sounds: true,
        });
    }
}

/// Returns how many samples of a take are heard, and after how many it begins to fade. One that is not as long as the
/// sound was gives way to the next one.
fn heard_of(take: &Take, heard: &Heard, next: Option<Frames>) -> (u64, Option<u64>) {
    let all = take.samples.len() as u64;
    if all == heard.frames {
        return (heard.played().count(), heard.fade_frame);
    }
    let most = match heard.heard_frames {
        Some(cut) => cut,
        None => next.map_or(all, Frames::count).max(heard.frames),
    };
    let fade = mix::FADE.frames(SampleRate::OUTPUT).count();
    match most < all {
        true => (most, Some(most.saturating_sub(fade))),
        false => (all, None),
    }
}
