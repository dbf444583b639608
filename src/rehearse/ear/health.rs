//! What is wrong with what comes in, if anything: so that nothing is said of a coach who could not be heard.

use std::collections::VecDeque;
use std::fmt;

use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// How the input is. All but [`Health::Good`] and [`Health::Measuring`] mean that what was heard, or not
/// heard, says nothing of the coach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Health {
    /// The noise of the room is being measured.
    Measuring,
    Good,
    /// No samples come any more, for so long.
    Stopped {
        since: Millis,
    },
    /// Nothing but zeros came for so long.
    Muted {
        since: Millis,
    },
    /// So much of the last minute, from 0 to 1, is beyond full scale.
    Clipped {
        share: f32,
    },
    /// Speech cannot be told from what else is heard; `noise` is the level of the room.
    TooLoud {
        noise: Db,
    },
    /// The voice, or, where none is heard, the loudest of all that is heard, is too soft to be told.
    Quiet {
        level: Db,
    },
}

/// Samples come at least ten times a second from anything that works (common practice: every 5 to 50 ms).
const STOPPED: Millis = Millis::from_secs(1);

/// Zeros for so long are no pause: a headset that gates its noise gives zeros between words.
const MUTED: Millis = Millis::from_secs(10);

/// Where nothing else came since the start, so much is enough: as long as the room is measured.
const MUTED_AT_FIRST: Millis = Millis::from_secs(2);

/// So many samples in a row at full scale are cut off, and no peak that just reached it (common practice).
const CUT: u32 = 3;
const FULL: f32 = 0.999;

/// A voice that is cut off in more of the time than this is heard to be (common practice).
const CLIPPED: f32 = 0.01;

/// What has a voice must be so many times the room, noise and all: 9 dB. That is what speech 4 dB above pink noise
/// comes to (measured; 12 to 13 times at 6 dB, 4 at 0 dB); below, ends drown, and the network is made for 3 dB.
const ABOVE: f32 = 8.0;

/// Nobody speaks for so long without a breath (breath groups last 2 to 8 s: common practice): it is music, or
/// somebody else.
const BREATHLESS: Millis = Millis::from_secs(12);

/// A room that stands out from its own noise for more of the time than this, with nobody speaking, has music or
/// a crowd in it. Noise that only hisses comes to under 1 %.
const RESTLESS: f32 = 0.5;

/// A voice that is softer is lost in what microphones and converters make themselves, and where nobody spoke, a
/// peak that is: quiet rooms come to -60 dBFS with good ones (common practice).
const QUIET: Db = Db::new(-55.0);
const SILENT: Db = Db::new(-70.0);

/// What was counted in a second.
#[derive(Debug, Clone, Copy, Default)]
struct Second {
    /// Parts of 10 ms, and those that were cut off.
    parts: u32,
    cut: u32,
    peak: f32,
    /// Frames in which nobody spoke, and those of them that stood out.
    free: u32,
    restless: u32,
    /// Frames with a voice, and the sum of their powers.
    voiced: f32,
    power: f32,
    /// Whether something went on for longer than a breath.
    breathless: bool,
}

/// Keeps count of the last minute. Its state does not grow.
#[derive(Debug)]
pub(super) struct Gauge {
    rate: SampleRate,
    seconds: VecDeque<Second>,
    now: Second,
    /// Samples so far, and how many zeros came last.
    samples: u64,
    zeros: u64,
    lost: u64,
    /// Samples at full scale in a row, and whether the part of 10 ms was cut off.
    full: u32,
    cut: bool,
}

/// How many seconds are looked back at.
const MEMORY: usize = 60;

impl Gauge {
    pub fn new(rate: SampleRate) -> Self {
        Gauge {
            rate,
            seconds: VecDeque::with_capacity(MEMORY),
            now: Second::default(),
            samples: 0,
            zeros: 0,
            lost: 0,
            full: 0,
            cut: false,
        }
    }

    /// Takes in a sample as it came.
    pub fn sample(&mut self, sample: f32) {
        let size = sample.abs();
        self.zeros = if sample == 0.0 { self.zeros + 1 } else { 0 };
        self.full = if size >= FULL { self.full + 1 } else { 0 };
        self.cut |= self.full >= CUT;
        self.now.peak = self.now.peak.max(size);
        self.samples += 1;
        let hz = u64::from(self.rate.hz());
        if self.samples.is_multiple_of(hz / 100) {
            self.now.parts += 1;
            self.now.cut += u32::from(self.cut);
            self.cut = false;
        }
        if self.samples.is_multiple_of(hz) {
            if self.seconds.len() == MEMORY {
                self.seconds.pop_front();
            }
            self.seconds.push_back(self.now);
            self.now = Second::default();
        }
    }

    /// Lets time pass for samples that were lost.
    pub fn lost(&mut self, samples: u64) {
        self.lost += samples;
    }

    /// Takes in a frame in which nobody spoke, and whether it stood out.
    pub fn free(&mut self, sounds: bool) {
        self.now.free += 1;
        self.now.restless += u32::from(sounds);
    }

    /// Takes in a span of speech by its mean square.
    pub fn speech(&mut self, length: Millis, power: f32) {
        let weight = length.secs() as f32;
        self.now.voiced += weight;
        self.now.power += power * weight;
        self.now.breathless |= length > BREATHLESS;
    }

    /// Says how the input is: `now` on its own clock, `noise` the mean square of the room once it is known,
    /// `open` how long somebody speaks by now.
    pub fn health(&self, now: At, noise: Option<f32>, open: Option<Millis>) -> Health {
        let heard = self.length(self.samples);
        let since = now.since_start() - self.length(self.samples + self.lost);
        if since >= STOPPED {
            return Health::Stopped { since };
        }
        let zeros = self.length(self.zeros);
        if zeros >= MUTED || (zeros == heard && zeros >= MUTED_AT_FIRST) {
            return Health::Muted { since: zeros };
        }
        let Some(noise) = noise else {
            return Health::Measuring;
        };
        let minute = self.minute();
        let share = |part: u32, of: u32| part as f32 / of.max(1) as f32;
        let clipped = share(minute.cut, minute.parts);
        let voice = (minute.voiced > 0.0).then(|| minute.power / minute.voiced);
        let (level, least) = match voice {
            Some(power) => (Db::from_gain(power.sqrt()), QUIET),
            None => (Db::from_gain(minute.peak), SILENT),
        };
        if clipped > CLIPPED {
            Health::Clipped { share: clipped }
        } else if level < least {
            Health::Quiet { level }
        } else if minute.breathless
            || open.is_some_and(|it| it > BREATHLESS)
            || voice.is_some_and(|it| it < noise * ABOVE)
            || share(minute.restless, minute.free) > RESTLESS
        {
            Health::TooLoud {
                noise: Db::from_gain(noise.sqrt()),
            }
        } else {
            Health::Good
        }
    }

    fn length(&self, samples: u64) -> Millis {
        Frames::new(samples).millis(self.rate)
    }

    fn minute(&self) -> Second {
        let all = self.seconds.iter().chain([&self.now]);
        all.fold(Second::default(), |sum, it| Second {
            parts: sum.parts + it.parts,
            cut: sum.cut + it.cut,
            peak: sum.peak.max(it.peak),
            free: sum.free + it.free,
            restless: sum.restless + it.restless,
            voiced: sum.voiced + it.voiced,
            power: sum.power + it.power,
            breathless: sum.breathless || it.breathless,
        })
    }
}

/// Says it to whoever rehearses, with what to do.
impl fmt::Display for Health {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Health::Measuring => write!(f, "the noise of the room is being measured"),
            Health::Good => write!(f, "you can be heard"),
            Health::Stopped { since } => {
                let secs = since.secs();
                write!(
                    f,
                    "the microphone has sent nothing for {secs:.0} s: is it still plugged in?"
                )
            }
            Health::Muted { since } => {
                let secs = since.secs();
                write!(
                    f,
                    "the microphone has sent pure silence for {secs:.0} s: is it muted?"
                )
            }
            Health::Clipped { share } => {
                let percent = share * 100.0;
                write!(
                    f,
                    "the microphone is too loud, cut off {percent:.0} % of the time: turn it down"
                )
            }
            Health::TooLoud { noise } => {
                let db = noise.db();
                write!(
                    f,
                    "the room is too loud to tell when you speak ({db:.0} dBFS): come closer, or turn the music down"
                )
            }
            Health::Quiet { level } => {
                let db = level.db();
                write!(
                    f,
                    "the microphone hears very little ({db:.0} dBFS): turn it up, or come closer"
                )
            }
        }
    }
}
