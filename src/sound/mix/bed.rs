//! The bed: music below the voice, as it comes to a mixer and as the mixer is told to play it.

use rtrb::Consumer;

use super::dip;
use super::dip::Dip;
use super::dip::Near;
use super::glide::Glide;
use super::transport::Clock;
use super::transport::Then;
use crate::base::heard::BedMove;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::units::Lufs;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// Frames of the bed that are handed over at a time: 10 ms.
pub const BED_BLOCK: usize = 480;

/// Frames from one look at what is near to the next; between them the gain moves in a straight line.
const STEP: u64 = 32;

/// The fade before a wait and after it.
const PAUSE: Millis = Millis::from_ms(400);

/// The fade of a stop: whoever ends a class waits for it.
const STOP: Millis = Millis::from_ms(200);

/// The fade where blocks come too slowly, shorter than what [`LOW`] of them last.
const DRY: Millis = Millis::from_ms(80);

/// Fewer blocks ready than this: whoever makes them is late, and the bed fades before they are used up.
const LOW: usize = 10;

/// So many blocks have to be ready before the bed comes back: it is not to come and go.
const READY: usize = 30;

/// A piece of the bed: 48 kHz, stereo, levelled to -23 LUFS over each track.
#[derive(Debug, Clone)]
pub struct BedBlock {
    /// Left and right, full scale 1.0.
    pub frames: [[f32; 2]; BED_BLOCK],
    /// The greatest momentary loudness, in LUFS, from 0.4 s before this block to 3 s after it; minus
    /// infinity for silence. The dip is as deep as this asks for, so it is deep enough in time.
    pub loudness: f32,
}

/// What the bed is to do; each replaces the one before. Until the first, the bed waits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedAim {
    /// The gain on what the blocks hold, before any dip; minus infinity is silence.
    pub level: Db,
    /// How long the way to this level takes.
    pub fade: Millis,
    /// When it plays.
    pub plays: BedPlays,
}

/// When the bed plays. Where it does not, it fades and waits: no block is taken, so that it goes on
/// later with the very next one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BedPlays {
    /// Never.
    #[default]
    Never,
    /// While the session clock runs.
    WithTheClock,
    /// Through a hold too.
    Always,
}

/// The bed of a mixer, while it plays and waits.
#[derive(Debug)]
pub(super) struct Bed {
    blocks: Consumer<BedBlock>,
    rate: SampleRate,
    block: BedBlock,
    /// The frame of the block that is next.
    at: usize,
    plays: BedPlays,
    /// Whether blocks come too slowly.
    dry: bool,
    /// How often they did.
    gaps: u64,
    level: Glide,
    gate: Glide,
    dip: Dip,
    /// The gain of the next frame, and what it grows by with each.
    gain: f32,
    slope: f32,
    /// Whether its moves are known to whoever writes them down.
    told: bool,
    /// Where it was last moved by what was written down once; from then on it decides nothing by itself.
    moved: Option<u64>,
}

impl Bed {
    pub fn new(blocks: Consumer<BedBlock>, rate: SampleRate) -> Self {
        Bed {
            blocks,
            rate,
            block: BedBlock {
                frames: [[0.0; 2]; BED_BLOCK],
                loudness: f32::NEG_INFINITY,
            },
            at: BED_BLOCK,
            plays: BedPlays::Never,
            dry: true,
            gaps: 0,
            level: Glide::at(0.0),
            gate: Glide::at(0.0),
            dip: Dip::new(rate),
            gain: 0.0,
            slope: 0.0,
            told: false,
            moved: None,
        }
    }

    /// Does what it is told; a level that is no number is silence. It grows no faster than the dip that it asks
    /// for gets deeper, whatever is heard just then.
    pub fn aim(&mut self, aim: BedAim) {
        self.plays = aim.plays;
        let level = aim.level.gain();
        let level = if level.is_finite() { level } else { 0.0 };
        let fade = match level > self.level.value() {
            true => aim.fade.max(dip::DOWN),
            false => aim.fade,
        };
        self.level.aim(level, fade.frames(self.rate).count());
    }

    /// Moves as it was written down once, and goes on so.
    pub fn follow(&mut self, moved: BedMove, device: u64) {
        self.moved = Some(device);
        if let Some(level) = moved.level {
            self.level = Glide::on(level);
        }
        if let Some(dip) = moved.dip {
            self.dip.goes(Glide::on(dip));
        }
        match moved.gate {
            Some(_) if moved.cuts() => {
                self.cut();
            }
            Some(gate) => self.gate = Glide::on(gate),
            None => {}
        }
    }

    /// Returns how many frames lie before the next look, none if it is now; looks are [`STEP`] frames apart.
    pub fn until_look(&self, device: u64) -> u64 {
        let since = device - self.moved.unwrap_or(0).min(device);
        (STEP - since % STEP) % STEP
    }

    /// Looks at what is near; to be done where a look is due. Returns how it moves from now on, where that is not
    /// known yet.
    pub fn look(&mut self, near: Near, clock: Clock) -> Option<BedMove> {
        if self.moved.is_none() {
            self.decide(near, clock);
        }
        let moves = self.moves();
        self.gain = self.whole_gain();
        self.level.pass(STEP);
        self.gate.pass(STEP);
        self.dip.pass(Frames::new(STEP));
        self.slope = (self.whole_gain() - self.gain) / STEP as f32;
        moves
    }

    /// Returns how it moves where that is not known yet: all of it where it begins to be heard.
    fn moves(&mut self) -> Option<BedMove> {
        let news = BedMove {
            level: self.level.news(),
            gate: self.gate.news(),
            dip: self.dip.glide().news(),
        };
        if self.moved.is_some() || self.gate.rests_at(0.0) {
            self.told = false;
            return None;
        }
        match std::mem::replace(&mut self.told, true) {
            true => (news != BedMove::default()).then_some(news),
            false => Some(BedMove {
                level: Some(self.level.way()),
                gate: Some(self.gate.way()),
                dip: Some(self.dip.glide().way()),
            }),
        }
    }

    /// What it told did not arrive: all of it is told with the next look.
    pub fn tell_again(&mut self) {
        self.told = false;
    }

    fn decide(&mut self, near: Near, clock: Clock) {
        self.see_supply();
        // Of a bed that has not begun, the loudness of what it begins with.
        let block = match self.at {
            BED_BLOCK => self.blocks.peek().unwrap_or(&self.block),
            _ => &self.block,
        };
        let loudness = block.loudness;
        let wanted = !self.dry && self.may_play(clock);
        let goal = f32::from(u8::from(wanted));
        let fade = match clock {
            _ if self.dry => DRY,
            Clock::Stopped
            | Clock::Fading {
                then: Then::Stop, ..
            } => STOP,
            _ => PAUSE,
        };
        let fade = fade.frames(self.rate).count();
        // A fade under way is cut short where there is less time for it.
        if self.gate.goal() != goal || self.gate.left() > fade {
            self.gate.aim(goal, fade);
        }
        let level = self.level.value().max(self.level.goal());
        let loudness = loudness + Db::from_gain(level).db();
        self.dip.see(near, Lufs::new(loudness));
    }

    /// Adds the next frames, at most up to the next look. Returns after how many of them it was cut for want of
    /// a block, if it was.
    pub fn add_to(&mut self, out: &mut [[f32; 2]]) -> Option<u64> {
        if self.is_silent() {
            return None;
        }
        for (done, out) in (0..).zip(out) {
            if self.at == BED_BLOCK && !self.take() {
                return Some(done);
            }
            let [left, right] = self.block.frames[self.at];
            out[0] += left * self.gain;
            out[1] += right * self.gain;
            self.at += 1;
            self.gain += self.slope;
        }
        None
    }

    /// Falls silent at once, where it is; it fades in when it plays on. Returns whether it was heard.
    pub fn cut(&mut self) -> bool {
        let was_heard = !self.is_silent();
        self.gate = Glide::at(0.0);
        self.gain = 0.0;
        self.slope = 0.0;
        self.told = false;
        was_heard
    }

    /// Tells whether it waits, its fade done.
    pub fn is_silent(&self) -> bool {
        self.gate.rests_at(0.0) && self.slope == 0.0
    }

    /// Returns how often blocks came too slowly.
    pub fn gaps(&self) -> u64 {
        self.gaps
    }

    /// Returns how many blocks are ready.
    pub fn ready(&self) -> usize {
        self.blocks.slots()
    }

    fn may_play(&self, clock: Clock) -> bool {
        match self.plays {
            BedPlays::Never => false,
            BedPlays::Always => !matches!(
                clock,
                Clock::Stopped
                    | Clock::Fading {
                        then: Then::Stop,
                        ..
                    }
            ),
            BedPlays::WithTheClock => {
                matches!(
                    clock,
                    Clock::Running
                        | Clock::Fading {
                            then: Then::Run,
                            ..
                        }
                )
            }
        }
    }

    /// Sees whether blocks come fast enough.
    fn see_supply(&mut self) {
        let ready = self.ready();
        let most = self.blocks.buffer().capacity();
        if self.dry {
            self.dry = ready < READY.min(most / 2).max(1);
        } else if ready < LOW.min(most / 4) {
            self.dry = true;
            // The end of all music is no gap.
            let more = !self.blocks.is_abandoned();
            self.gaps += u64::from(more && self.gate.goal() > 0.0);
        }
    }

    /// Takes the next block.
    fn take(&mut self) -> bool {
        match self.blocks.pop() {
            Ok(block) => {
                self.block = block;
                self.at = 0;
                true
            }
            Err(_) => {
                self.cut();
                false
            }
        }
    }

    fn whole_gain(&self) -> f32 {
        self.level.value() * self.gate.value() * self.dip.gain()
    }
}
