//! Speaks the news: opens the loudspeaker for a sentence or two, and closes it. Where there is none,
//! that is told once and the news stays printed.

use super::Voices;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::live::daemon::Event;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Tone;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out;
use crate::sound::out::Loudspeaker;
use crate::sound::speech::Speaker;
use crate::sound::speech::Utterance;
use std::io;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::thread::JoinHandle;
use std::time::Duration;

/// Before the first word, since a new stream loses its first milliseconds; and between sentences.
const LEAD: Millis = Millis::from_ms(150);
const GAP: Millis = Millis::from_ms(250);
/// How often is looked whether all was heard.
const LOOK: Duration = Duration::from_millis(20);
/// A device that takes so much longer than the news lasts is taken as gone.
const PATIENCE: Millis = Millis::from_secs(5);
/// What was rendered last is on its way to the ear for this long.
const ON_ITS_WAY: Duration = Duration::from_millis(200);

/// The thread that speaks the news.
pub struct Announcer {
    texts: SyncSender<String>,
    stopped: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

struct Mouth {
    voices: Arc<Voices>,
    options: out::Options,
    to: SyncSender<Event>,
    stopped: Arc<AtomicBool>,
    /// Whether it was told that nothing can be heard.
    unheard: bool,
}

impl Announcer {
    /// Starts the thread; it answers each text with [`Event::Spoken`].
    pub fn start(
        voices: Arc<Voices>,
        options: out::Options,
        to: SyncSender<Event>,
    ) -> io::Result<Self> {
        // The core has one thing said at a time.
        let (texts, from) = mpsc::sync_channel(1);
        let stopped = Arc::new(AtomicBool::new(false));
        let mouth = Mouth {
            voices,
            options,
            to,
            stopped: Arc::clone(&stopped),
            unheard: false,
        };
        let thread = thread::Builder::new()
            .name("announce".to_owned())
            .spawn(move || mouth.speak_all(&from))?;
        Ok(Self {
            texts,
            stopped,
            thread,
        })
    }

    /// Has a text said; returns at once.
    pub fn say(&self, text: String) {
        if let Err(error) = self.texts.try_send(text) {
            tracing::error!(%error, "the news was not said");
        }
    }

    /// Falls silent and ends.
    pub fn stop(self) {
        self.stopped.store(true, Ordering::Release);
        drop(self.texts);
        // A voice that is at work is not waited for.
        for _ in 0..10 {
            if self.thread.is_finished() {
                return;
            }
            let (_never, wait) = mpsc::channel::<()>();
            let _ = wait.recv_timeout(LOOK);
        }
    }
}

impl Mouth {
    fn speak_all(mut self, texts: &Receiver<String>) {
        while let Ok(text) = texts.recv() {
            let failed = self.speak(&text).err();
            let was = std::mem::replace(&mut self.unheard, failed.is_some());
            let notice = failed.filter(|_| !was).map(|why| {
                Event::Notice(format!("the news is printed and cannot be spoken: {why}"))
            });
            let told = notice.into_iter().chain([Event::Spoken]);
            for event in told {
                if self.to.send(event).is_err() {
                    return;
                }
            }
        }
    }

    fn notice(&self, text: String) {
        // Nobody listens at the end of the process only.
        let _ = self.to.send(Event::Notice(text));
    }

    fn speak(&self, text: &str) -> Result<(), String> {
        let speaker = self.voices.get(None, &mut |text| self.notice(text));
        let clips = clips(text, &speaker);
        speaker
            .notices()
            .into_iter()
            .for_each(|n| self.notice(n.message));
        let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
        let hz = u64::from(SampleRate::OUTPUT.hz());
        let frames: u64 = clips
            .iter()
            .map(|clip| clip.at.index() + clip.samples.len() as u64)
            .sum();
        let most = Millis::from_ms((frames * 1000 / hz) as i64) + PATIENCE;
        let mut left = clips.len();
        for clip in clips {
            if desk.speak_over(clip).is_err() {
                left -= 1;
            }
        }
        let loudspeaker =
            Loudspeaker::open(mixer, self.options.clone()).map_err(|error| error.to_string())?;
        let looks = most.ms() / LOOK.as_millis() as i64;
        for _ in 0..looks {
            while desk.finished().is_some() {
                left -= 1;
            }
            if left == 0 || self.stopped.load(Ordering::Acquire) {
                break;
            }
            match loudspeaker.events().recv_timeout(LOOK) {
                Ok(out::Event::Lost { reason, .. }) => return Err(reason),
                Ok(out::Event::Back { .. }) | Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        if self.stopped.load(Ordering::Acquire) {
            // The fade is what ends it without a click.
            let _ = desk.tell(Command::Hush);
            let _ = loudspeaker.events().recv_timeout(LOOK * 3);
        } else {
            let _ = loudspeaker.events().recv_timeout(ON_ITS_WAY);
        }
        loudspeaker.close();
        Ok(())
    }
}

/// Makes the clips of a text, a sentence each; what cannot be spoken is sounded as a fault.
fn clips(text: &str, speaker: &Speaker) -> Vec<Clip> {
    let sentences: Vec<_> = text.split_inclusive(". ").map(Utterance::new).collect();
    let takes = speaker.takes(&sentences);
    let silence = |length: Millis| FrameAt::new(length.frames(SampleRate::OUTPUT).count());
    let made = takes.into_iter().zip(0..);
    made.map(|(take, id)| Clip {
        id,
        at: silence(if id == 0 { LEAD } else { GAP }),
        samples: match take {
            Ok(take) => take.samples,
            Err(error) => {
                tracing::warn!(%error, "a sentence of the news was not spoken");
                Tone::Fault.samples()
            }
        },
    })
    .collect()
}
