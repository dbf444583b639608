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
use crate::sound::speech::Utterance;
use std::time::Duration;

/// Speaks a text.
pub fn speak(speaker: &Speaker, text: &str) -> Done {
    let take = speaker
        .take(&Utterance::new(text))
        .map_err(|e| Failure::Voice(e.to_string()))?;
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 1);
    // A desk just made has room for one clip.
    let _ = desk.feed(Clip {
        id: 0,
        at: FrameAt::START,
        samples: take.samples,
    });
    let loudspeaker = Loudspeaker::open(mixer, Options::default())?;
    let _ = desk.tell(Command::Play);
    while desk.finished().is_none() {
        if let Ok(Event::Lost { reason, .. }) =
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
