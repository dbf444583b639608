//! `tones`: names the tones of a class and plays them.

use super::Done;
use super::Failure;
use super::aloud;
use super::load;
use super::print;
use crate::base::tones::Tones;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::base::wording::Wording;
use crate::sound::mix::Clip;
use crate::sound::mix::Tone;
use crate::sound::speech::Settings;
use clap::Args;

/// Between a name and its tone, and after a tone.
const BEFORE: Millis = Millis::from_ms(400);
const AFTER: Millis = Millis::from_ms(1000);

#[derive(Args)]
pub struct Options {
    /// The tones to play: soft or clear [default: as the configuration says].
    #[arg(value_parser = kind)]
    kind: Option<Tones>,
    /// Print what they are and play nothing.
    #[arg(long)]
    silent: bool,
}

fn kind(text: &str) -> Result<Tones, String> {
    super::word(text, &Tones::WORDS)
}

pub fn run(options: &Options) -> Done {
    let config = load::config(false);
    let kind = options.kind.unwrap_or(config.tones);
    let mut page = format!("The {} tones:\n", kind.word());
    for tone in Tone::ALL {
        page += &format!("  {:<6} {}\n", id(tone), what(tone));
    }
    print(&page)?;
    if options.silent {
        return Ok(());
    }
    let settings = Settings {
        language: Some(config.language.tag().to_owned()),
        ..load::speech_here()
    };
    let speaker = load::voice(settings, false)?;
    let wording = Wording::of(config.language);
    let names = Tone::ALL.map(|tone| {
        let id = format!("tone-{}", id(tone));
        Utterance::new(wording.say(&id, &[]))
    });
    let mut clips = Vec::new();
    let mut at = FrameAt::START;
    let frames = |length: Millis| length.frames(SampleRate::OUTPUT);
    for (tone, take) in Tone::ALL.into_iter().zip(speaker.takes(&names)) {
        let take = take.map_err(|error| Failure::Voice(error.to_string()))?;
        let name = Clip {
            id: clips.len() as u64,
            at,
            samples: take.samples,
        };
        let mark = name.end() + frames(BEFORE);
        let tone = tone.clip(kind, name.id + 1, mark);
        at = tone.end() + frames(AFTER);
        clips.extend([name, tone]);
    }
    aloud::play(clips, config.out.room)
}

fn id(tone: Tone) -> &'static str {
    match tone {
        Tone::Start => "start",
        Tone::End => "end",
        Tone::Fault => "fault",
    }
}

fn what(tone: Tone) -> &'static str {
    match tone {
        Tone::Start => "one high pulse (960 Hz, 0.15 s): a work starts",
        Tone::End => "two low pulses (600 Hz, 0.28 s in all): a work ends",
        Tone::Fault => "a high pulse and a low one (0.27 s in all): something could not be spoken",
    }
}
