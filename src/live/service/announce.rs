//! Speaks the news: opens a loudspeaker for a sentence or two, and closes it. Where there is none,
//! that is told once and the news stays printed.

use super::Voices;
use crate::base::tones::Tones;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Rate;
use crate::live::config::Outputs;
use crate::live::core::Wishes;
use crate::live::daemon::Event;
use crate::live::ears;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Tone;
use crate::sound::out;
use crate::sound::speech::Speaker;
use crate::sound::speech::Utterance;
use std::io;
use std::sync::Arc;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::Sender;
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
    texts: Sender<Text>,
    /// The number of what is to be said now; 0 for nothing.
    now: Arc<AtomicU64>,
    thread: JoinHandle<()>,
}

/// A text, the how manieth it is, and how it is to be heard.
struct Text {
    nth: u64,
    text: String,
    wishes: Wishes,
}

struct Mouth {
    voices: Arc<Voices>,
    outputs: Outputs,
    options: out::Options,
    lead: Millis,
    to: SyncSender<Event>,
    now: Arc<AtomicU64>,
    /// Whether it was told that nothing can be heard.
    unheard: bool,
}

impl Announcer {
    /// Starts the thread; it answers each text that was not replaced by another with [`Event::Spoken`].
    /// `wake` is the silence that wakes the loudspeaker.
    pub fn start(
        voices: Arc<Voices>,
        outputs: Outputs,
        options: out::Options,
        wake: Millis,
        to: SyncSender<Event>,
    ) -> io::Result<Self> {
        let (texts, from) = mpsc::channel();
        let now = Arc::new(AtomicU64::new(0));
        let mouth = Mouth {
            voices,
            outputs,
            options,
            lead: wake.max(LEAD),
            to,
            now: Arc::clone(&now),
            unheard: false,
        };
        let thread = thread::Builder::new()
            .name("announce".to_owned())
            .spawn(move || mouth.speak_all(&from))?;
        Ok(Self { texts, now, thread })
    }

    /// Has a text said in place of what is being said; returns at once.
    pub fn say(&self, nth: u64, text: String, wishes: Wishes) {
        self.now.store(nth, Ordering::Release);
        if self.texts.send(Text { nth, text, wishes }).is_err() {
            tracing::error!("the news was not said");
        }
    }

    /// Falls silent.
    pub fn hush(&self) {
        self.now.store(0, Ordering::Release);
    }

    /// Falls silent and ends.
    pub fn stop(self) {
        self.hush();
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
    fn speak_all(mut self, texts: &Receiver<Text>) {
        while let Ok(text) = texts.recv() {
            if !self.wanted(&text) {
                continue;
            }
            let failed = self.speak(&text).err();
            let was = std::mem::replace(&mut self.unheard, failed.is_some());
            let notice = failed.filter(|_| !was).map(|why| {
                Event::Notice(format!("the news is printed and cannot be spoken: {why}"))
            });
            let told = notice.into_iter().chain([Event::Spoken(text.nth)]);
            for event in told {
                if self.to.send(event).is_err() {
                    return;
                }
            }
        }
    }

    /// Returns whether nothing else is to be said by now.
    fn wanted(&self, text: &Text) -> bool {
        self.now.load(Ordering::Acquire) == text.nth
    }

    fn notice(&self, text: String) {
        // Nobody listens at the end of the process only.
        let _ = self.to.send(Event::Notice(text));
    }

    fn speak(&self, text: &Text) -> Result<(), String> {
        let speaker = self.voices.get(None, &mut |text| self.notice(text));
        let clips = self.clips(text, &speaker);
        if !self.wanted(text) {
            return Ok(());
        }
        speaker
            .notices()
            .into_iter()
            .for_each(|n| self.notice(n.message));
        let hz = u64::from(SampleRate::OUTPUT.hz());
        let frames: u64 = clips
            .iter()
            .map(|clip| clip.at.index() + clip.samples.len() as u64)
            .sum();
        let most = Millis::from_ms((frames * 1000 / hz) as i64) + PATIENCE;
        let mut left = clips.len();
        let ears::Alone {
            mut desk,
            loudspeaker,
            level,
        } = ears::open_alone(&self.outputs, self.options.clone())
            .map_err(|error| error.to_string())?;
        // A desk just made takes it.
        let volume = ears::louder(Db::new(text.wishes.volume_db), level);
        let _ = desk.tell(Command::Volume(volume));
        for clip in clips {
            if desk.speak_over(clip).is_err() {
                left -= 1;
            }
        }
        let looks = most.ms() / LOOK.as_millis() as i64;
        for _ in 0..looks {
            while desk.finished().is_some() {
                left -= 1;
            }
            if left == 0 || !self.wanted(text) {
                break;
            }
            match loudspeaker.events().recv_timeout(LOOK) {
                Ok(out::Event::Lost { reason, .. } | out::Event::Ended { reason }) => {
                    return Err(reason);
                }
                Ok(out::Event::Back { .. }) | Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        if !self.wanted(text) {
            // The fade is what ends it without a click.
            let _ = desk.tell(Command::Hush);
            let _ = loudspeaker.events().recv_timeout(LOOK * 3);
        } else {
            let _ = loudspeaker.events().recv_timeout(ON_ITS_WAY);
        }
        loudspeaker.close();
        Ok(())
    }

    /// Makes the clips of a text, a sentence each; what cannot be spoken is sounded as a fault.
    fn clips(&self, text: &Text, speaker: &Speaker) -> Vec<Clip> {
        let rate = Rate::NORMAL.at_speed(1000, text.wishes.speed);
        let sentences: Vec<_> = text
            .text
            .split_inclusive(". ")
            .map(|sentence| Utterance {
                text: sentence.to_owned(),
                rate,
            })
            .collect();
        let takes = speaker.takes(&sentences);
        let silence = |length: Millis| FrameAt::new(length.frames(SampleRate::OUTPUT).count());
        let made = takes.into_iter().zip(0..);
        made.map(|(take, id)| Clip {
            id,
            at: silence(if id == 0 { self.lead } else { GAP }),
            samples: match take {
                Ok(take) => take.samples,
                Err(error) => {
                    tracing::warn!(%error, "a sentence of the news was not spoken");
                    Tone::Fault.samples(Tones::default())
                }
            },
        })
        .collect()
    }
}
