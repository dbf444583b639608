//! Who hears: the room alone, or the room and a coach's ear that is ahead of it. Both have a desk; to
//! whoever conducts a class they are one, and the room's clock is the clock of the class.
//!
//! The ear is never waited for and never asked: what becomes of it changes nothing for the room.

mod open;

pub use open::Alone;
pub use open::Heard;
pub use open::Loudspeakers;
pub use open::channels;
pub use open::open;
pub use open::open_alone;

use crate::base::heard::Moved;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::sound::mix::Clear;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Desk;
use crate::sound::mix::Finished;
use crate::sound::mix::Full;
use crate::sound::mix::Noted;
use crate::sound::mix::State;
use crate::sound::mix::Status;
use std::collections::BTreeMap;

/// An ear that was away begins so far ahead of the room: what is on its way takes a few buffers.
const REJOIN: Millis = Millis::from_ms(150);
/// The two are apart if so many looks find them so: at 20 ms each, longer than any buffer.
const LOOKS: u32 = 10;

/// The desks of all that hear.
#[derive(Debug)]
pub struct Ears {
    room: Desk,
    room_level: Db,
    ear: Option<Ear>,
}

/// The ear's desk, and what is needed to bring it where the room is.
#[derive(Debug)]
struct Ear {
    desk: Desk,
    level: Db,
    /// What was handed over and the room has not heard the end of.
    out: BTreeMap<u64, Clip>,
    /// Whether it is to go where the room is as soon as that stands still.
    joins: bool,
    /// Whether its device is gone.
    away: bool,
    /// Looks that found one of the two playing alone.
    apart: u32,
}

impl Ears {
    /// Makes the ears of desks with their levels.
    pub fn new(room: (Desk, Db), ear: Option<(Desk, Db)>) -> Self {
        let mut ears = Ears {
            room: room.0,
            room_level: room.1,
            ear: ear.map(|(desk, level)| Ear {
                desk,
                level,
                out: BTreeMap::new(),
                joins: false,
                away: false,
                apart: 0,
            }),
        };
        let unity = Db::default();
        if ears.room_level != unity || ears.ear.as_ref().is_some_and(|ear| ear.level != unity) {
            // The rings are new: there is room.
            let _ = ears.tell(Command::Volume(unity));
        }
        ears
    }

    /// Makes the ears of a room alone.
    pub fn room_alone(desk: Desk) -> Self {
        Self::new((desk, Db::default()), None)
    }

    /// Returns whether there is an ear beside the room.
    pub fn has_ear(&self) -> bool {
        self.ear.is_some()
    }

    /// Returns whether there is an ear, and its device.
    pub fn ear_hears(&self) -> bool {
        self.ear.as_ref().is_some_and(|ear| !ear.away)
    }

    /// Reads the room's gauges.
    pub fn status(&self) -> Status {
        self.room.status()
    }

    /// Hands a clip over to all; see [`Desk::feed`].
    ///
    /// # Errors
    ///
    /// With the clip, where the room has no place for it.
    pub fn feed(&mut self, clip: Clip) -> Result<(), Full<Clip>> {
        let copy = self.ear.is_some().then(|| clip.clone());
        self.room.feed(clip)?;
        if let (Some(ear), Some(clip)) = (&mut self.ear, copy) {
            ear.feed(clip);
        }
        Ok(())
    }

    /// Hands a clip to the ear alone; without one it is dropped.
    pub fn feed_ear(&mut self, clip: Clip) {
        if let Some(ear) = &mut self.ear {
            ear.feed(clip);
        }
    }

    /// Hands a clip over to be spoken over the session; see [`Desk::speak_over`].
    ///
    /// # Errors
    ///
    /// As [`Ears::feed`].
    pub fn speak_over(&mut self, clip: Clip) -> Result<(), Full<Clip>> {
        if let Some(ear) = &mut self.ear
            && !ear.away
            && ear.desk.speak_over(clip.clone()).is_err()
        {
            tracing::warn!("no room for it in the ear");
        }
        self.room.speak_over(clip)
    }

    /// Sends a command to all; see [`Desk::tell`].
    ///
    /// # Errors
    ///
    /// With the command, where the room does not take it.
    pub fn tell(&mut self, command: Command) -> Result<(), Full<Command>> {
        let room = self.room.status();
        if let Some(ear) = &mut self.ear {
            ear.told(command, room);
        }
        self.room.tell(match command {
            Command::Volume(volume) => Command::Volume(louder(volume, self.room_level)),
            other => other,
        })
    }

    /// Takes back the next clip that the room is done with.
    pub fn finished(&mut self) -> Option<Finished> {
        if let Some(ear) = &mut self.ear {
            while ear.desk.finished().is_some() {}
        }
        let finished = self.room.finished()?;
        if let Some(ear) = &mut self.ear
            && !finished.over
        {
            ear.is_done(&finished.clip);
        }
        Some(finished)
    }

    /// Takes the next change in how the room's mixer sounds, the level of its device left aside.
    pub fn noted(&mut self) -> Option<Noted> {
        let noted = self.room.noted()?;
        let what = match noted.what {
            Moved::Volume(volume) => Moved::Volume(Db::new(volume.db() - self.room_level.db())),
            moved => moved,
        };
        Some(Noted { what, ..noted })
    }

    /// Looks whether both do the same, and brings the ear back to the room where they do not; to be called
    /// every 20 ms or so.
    pub fn keep_together(&mut self) {
        let room = self.room.status();
        if let Some(ear) = &mut self.ear {
            ear.look(room);
        }
    }

    /// The room's device is gone: the ear does not go on alone.
    pub fn room_lost(&mut self) {
        if let Some(ear) = &mut self.ear {
            let room = self.room.status();
            ear.told(Command::Hold, room);
        }
    }

    /// The ear's device is gone, or back.
    pub fn ear_is_away(&mut self, away: bool) {
        if let Some(ear) = &mut self.ear {
            ear.away = away;
            ear.joins |= !away;
            ear.apart = 0;
        }
    }
}

impl Ear {
    fn feed(&mut self, clip: Clip) {
        self.out.insert(clip.id, clip.clone());
        // It is handed over when the ear is back, if it is still to come.
        if !self.away && self.desk.feed(clip).is_err() {
            tracing::warn!("no room for a sound in the ear");
        }
    }

    fn tell(&mut self, command: Command) {
        if self.desk.tell(command).is_err() {
            tracing::warn!(?command, "the ear takes no commands");
        }
    }

    /// Hears what the room is about to be told, and does the same.
    fn told(&mut self, command: Command, room: Status) {
        match command {
            Command::Volume(volume) => {
                return self.tell(Command::Volume(louder(volume, self.level)));
            }
            // Music is for the room.
            Command::Bed(_) | Command::BedMove(_) => return,
            Command::Hold => self.joins = true,
            Command::Play | Command::PlayWhenSaid
                if self.joins && !self.away && room.state == State::Held =>
            {
                self.join(room, false);
            }
            Command::Jump(_) => {
                self.joins = false;
                self.out.clear();
            }
            Command::Clear(which) => self.out.retain(|id, clip| match which {
                Clear::All => false,
                Clear::From(at) => clip.at < at,
                Clear::Ids(first) => *id < first,
                Clear::Id(one) => *id != one,
            }),
            _ => {}
        }
        // An ear that is away stands, and joins when it is back.
        if !self.away || command == Command::Stop {
            self.tell(command);
        }
    }

    /// The room is done with a clip.
    fn is_done(&mut self, clip: &Clip) {
        // It may have been fed again since, at another place.
        if self.out.get(&clip.id).is_some_and(|out| out.at == clip.at) {
            self.out.remove(&clip.id);
        }
    }

    fn look(&mut self, room: Status) {
        while self.desk.finished().is_some() {}
        if room.settled {
            // What the ear alone heard is done when the room's clock has passed it.
            self.out.retain(|_, clip| clip.end() >= room.position);
        }
        if self.away {
            return;
        }
        if self.joins {
            self.join(room, room.state == State::Playing);
        }
        let ear = self.desk.status();
        let alone = room.settled
            && ear.settled
            && matches!(
                (room.state, ear.state),
                (State::Playing, State::Held) | (State::Held, State::Playing)
            );
        self.apart = if alone { self.apart + 1 } else { 0 };
        if self.apart >= LOOKS {
            self.apart = 0;
            self.join(room, true);
        }
    }

    /// Goes where the room is, once that stands or plays, with all that the room has not heard. With `hold`
    /// it stops for that, which also ends what is spoken over the class.
    fn join(&mut self, room: Status, hold: bool) {
        let plays = match room.state {
            _ if !room.settled => return,
            State::Held => false,
            State::Playing => true,
            State::Fading | State::Stopped => return,
        };
        self.joins = false;
        let hz = SampleRate::OUTPUT;
        let place = match plays {
            true => room.position + REJOIN.frames(hz),
            false => room.position,
        };
        if hold {
            self.tell(Command::Hold);
        }
        self.tell(Command::Place(place));
        let again: Vec<Clip> = self.out.values().cloned().collect();
        for clip in again.into_iter().filter(|clip| clip.at >= place) {
            if self.desk.feed(clip).is_err() {
                tracing::warn!("no room for a sound in the ear");
            }
        }
        if plays {
            self.tell(Command::Play);
        }
    }
}

/// Adds the level of a device to a volume.
pub fn louder(volume: Db, level: Db) -> Db {
    Db::new(volume.db() + level.db())
}
