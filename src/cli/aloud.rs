//! Speaks a text at once, through the loudspeaker, and waits until it was heard.

use super::Done;
use super::Failure;
use crate::base::units::FrameAt;
use crate::base::units::SampleRate;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out::Event;
use crate::sound::out::Loudspeaker;
use crate::sound::out::Options;
use crate::sound::speech::Speaker;
use crate::sound::speech::System;
use crate::sound::speech::Utterance;
use std::sync::mpsc;
use std::time::Duration;

/// Speaks a text; through the device of an id, or the system's.
pub fn speak(speaker: &Speaker, text: &str, device: Option<String>) -> Done {
    if let Some(system) = speaker.system() {
        return by_the_system(speaker, system, text);
    }
    let take = speaker
        .take(&Utterance::new(text))
        .map_err(|e| Failure::Voice(e.to_string()))?;
    play(
        vec![Clip {
            id: 0,
            at: FrameAt::START,
            samples: take.samples,
        }],
        device,
    )
}

/// Plays clips, and waits until they were heard.
pub fn play(clips: Vec<Clip>, device: Option<String>) -> Done {
    let mut left = clips.len();
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, left);
    for clip in clips {
        // A desk just made has room for them.
        let _ = desk.feed(clip);
    }
    let options = Options {
        device,
        ..Options::default()
    };
    let loudspeaker = Loudspeaker::open(mixer, options)?;
    let _ = desk.tell(Command::Play);
    while left > 0 {
        while desk.finished().is_some() {
            left -= 1;
        }
        if let Ok(Event::Lost { reason, .. } | Event::Ended { reason }) =
            loudspeaker.events().recv_timeout(Duration::from_millis(20))
        {
            return Err(Failure::Device(reason));
        }
    }
    // What was rendered last is still on its way to the loudspeaker.
    let _ = loudspeaker
        .events()
        .recv_timeout(Duration::from_millis(150));
    Ok(())
}

/// Has the system's voice speak a text, and waits until that tells that it has.
fn by_the_system(speaker: &Speaker, system: &System, text: &str) -> Done {
    let utterance = Utterance::new(text);
    let take = speaker.line(&utterance);
    let lasts = take.map_err(|e| Failure::Voice(e.to_string()))?.length();
    speaker.say_aloud(&utterance, lasts);
    let (_never, wait) = mpsc::channel::<()>();
    while system.speaks() {
        let _ = wait.recv_timeout(Duration::from_millis(20));
    }
    match system.trouble() {
        Some(why) => Err(Failure::Voice(format!(
            "the voice of the operating system fell silent: {why}"
        ))),
        None => Ok(()),
    }
}
