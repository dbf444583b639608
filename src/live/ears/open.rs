//! Opens what the room and the ear are heard by: one device, one with a channel for each, or two.

use super::Ears;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::live::config::EarAt;
use crate::live::config::EarOutput;
use crate::live::config::Outputs;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Desk;
use crate::sound::mix::Mixer;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out;
use crate::sound::out::Channel;
use crate::sound::out::DeviceError;
use crate::sound::out::Following;
use crate::sound::out::Host;
use crate::sound::out::Leading;
use crate::sound::out::Loudspeaker;
use crate::sound::out::Sides;

/// Clips that only the ear hears may be under way beside those of the room.
const MORE_CLIPS: usize = 64;
/// Channels of a device that one listener has alone: each ear hears the same.
const STEREO: u16 = 2;

/// The devices of all that hear.
#[derive(Debug)]
pub struct Loudspeakers {
    room: Loudspeaker,
    /// The ear's own, if it has one; without it the ear, if there is one, is on the room's.
    ear: Option<Loudspeaker>,
    /// Why it cannot be opened now or ever.
    trouble: Option<DeviceError>,
    /// The pipe that the room is heard by, if it is one.
    pipe: Option<String>,
}

/// What happens to the devices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// Of a pipe the reason says that it is one.
    RoomLost {
        reason: String,
        pipe: bool,
    },
    RoomBack {
        device: String,
    },
    /// It is gone, and nothing brings it back.
    RoomEnded {
        reason: String,
    },
    EarLost {
        reason: String,
    },
    EarBack {
        device: String,
    },
}

/// Returns how many channels the room's mixer has.
pub fn channels(outputs: &Outputs) -> u16 {
    match outputs.ear.as_ref().map(|ear| &ear.at) {
        Some(EarAt::Left | EarAt::Right) => 1,
        Some(EarAt::Device(_)) | None => STEREO,
    }
}

/// Opens the devices and begins to play silence. The room's mixer has the [`channels`] of the outputs;
/// `ahead` is the ear's lead, at most that of the outputs.
///
/// # Errors
///
/// [`DeviceError`] of the room's device; the ear's is waited for.
pub fn open(
    (desk, mixer): (Desk, Mixer),
    outputs: &Outputs,
    ahead: Option<Millis>,
    capacity: usize,
    options: out::Options,
) -> Result<(Ears, Loudspeakers), DeviceError> {
    let pipe = options.pipe.as_ref().map(out::Pipe::name);
    let Some(ear) = &outputs.ear else {
        let room = Loudspeaker::open(mixer, options)?;
        let ears = Ears::new((desk, outputs.room_level), None);
        return Ok((ears, Loudspeakers::of(room, pipe)));
    };
    let rate = SampleRate::OUTPUT;
    let lead = ahead.map_or(ear.ahead, |ahead| ahead.min(ear.ahead));
    let (ear_desk, ear_mixer) = desk_and_mixer(rate, 1, capacity + MORE_CLIPS);
    let ear_mixer = ear_mixer.ahead_of(&desk, lead);
    let loudspeakers = match place(ear) {
        Place::On(channel) => {
            let both: Box<dyn out::Source> =
                Box::new(Sides::new(mixer.into(), ear_mixer.into(), channel));
            Loudspeakers::of(Loudspeaker::open(both, options)?, pipe)
        }
        Place::Beside(id) => on_two_devices(id, mixer, ear_mixer, options)?,
    };
    let ears = Ears::new((desk, outputs.room_level), Some((ear_desk, ear.level)));
    Ok((ears, loudspeakers))
}

/// What one of the two hears while no class runs.
#[derive(Debug)]
pub struct Alone {
    pub desk: Desk,
    pub loudspeaker: Loudspeaker,
    /// How loud this device is told to be.
    pub level: Db,
}

/// Opens what hears the news between classes: the ear, so that the room is spared it; the room where there
/// is no ear, or its device is away.
///
/// # Errors
///
/// [`DeviceError`].
pub fn open_alone(outputs: &Outputs, options: out::Options) -> Result<Alone, DeviceError> {
    let new = |channels| desk_and_mixer(SampleRate::OUTPUT, channels, CAPACITY);
    let (options, level) = match outputs.ear.as_ref().map(|ear| (place(ear), ear.level)) {
        Some((Place::On(channel), level)) => {
            let ((desk, mixer), (_, silent)) = (new(1), new(1));
            let both: Box<dyn out::Source> =
                Box::new(Sides::new(silent.into(), mixer.into(), channel));
            let loudspeaker = Loudspeaker::open(both, options)?;
            return Ok(Alone {
                desk,
                loudspeaker,
                level,
            });
        }
        Some((Place::Beside(id), level)) if is_there(id, &options) => (of_ear(id, options), level),
        Some(_) | None => (options, outputs.room_level),
    };
    let (desk, mixer) = new(STEREO);
    let loudspeaker = Loudspeaker::open(mixer, options)?;
    Ok(Alone {
        desk,
        loudspeaker,
        level,
    })
}

fn is_there(id: &str, options: &out::Options) -> bool {
    out::devices(options.host).is_ok_and(|all| all.iter().any(|it| it.id == id))
}

/// Returns the options of the ear's device beside those of the room.
fn of_ear(id: &str, room: out::Options) -> out::Options {
    out::Options {
        device: Some(id.to_owned()),
        // A pipe is the room's.
        pipe: None,
        except: None,
        ..room
    }
}

/// Where the ear is, seen from the room's device.
enum Place<'a> {
    On(Channel),
    Beside(&'a str),
}

fn place(ear: &EarOutput) -> Place<'_> {
    match &ear.at {
        EarAt::Left => Place::On(Channel::Left),
        EarAt::Right => Place::On(Channel::Right),
        EarAt::Device(id) => Place::Beside(id),
    }
}

fn on_two_devices(
    id: &str,
    room: Mixer,
    ear_mixer: Mixer,
    options: out::Options,
) -> Result<Loudspeakers, DeviceError> {
    if options.pipe.is_none() && room_is(id, &options) {
        return Err(DeviceError::Shared(id.to_owned()));
    }
    let ear_options = out::Options {
        wait: true,
        alone: true,
        ..of_ear(id, options.clone())
    };
    // Whatever becomes of the room's device, the room is never heard by the ear.
    let options = out::Options {
        alone: true,
        except: Some(id.to_owned()),
        ..options
    };
    let pipe = options.pipe.as_ref().map(out::Pipe::name);
    let room = Leading::new(room);
    let following = Following::new(ear_mixer.into(), room.clock(), STEREO);
    let following =
        following.ok_or_else(|| DeviceError::Failed("its clock cannot be followed".to_owned()));
    let room: Box<dyn out::Source> = Box::new(room);
    let room = Loudspeaker::open(room, options)?;
    // Whatever the ear lacks, the room goes on.
    let ear = following.and_then(|following| {
        let ear: Box<dyn out::Source> = Box::new(following);
        Loudspeaker::open(ear, ear_options)
    });
    let (ear, trouble) = match ear {
        Ok(ear) => (Some(ear), None),
        Err(trouble) => (None, Some(trouble)),
    };
    Ok(Loudspeakers {
        room,
        ear,
        trouble,
        pipe,
    })
}

/// Whether the room is heard by a device: the one that was asked for, or else the system's.
fn room_is(id: &str, options: &out::Options) -> bool {
    match &options.device {
        Some(room) => room == id,
        None => out::devices(options.host)
            .is_ok_and(|all| all.iter().any(|it| it.default && it.id == id)),
    }
}

impl Loudspeakers {
    fn of(room: Loudspeaker, pipe: Option<String>) -> Self {
        Loudspeakers {
            room,
            ear: None,
            trouble: None,
            pipe,
        }
    }

    /// Returns what is to be told of the devices as they were found.
    pub fn found(&self, ears: &mut Ears) -> Vec<String> {
        let mut notices = Vec::new();
        if self.room.device().is_none() {
            notices.push(match &self.pipe {
                Some(pipe) => format!("nobody reads {pipe}: the class waits until somebody does"),
                None => "there is no loudspeaker: the class waits for one".to_owned(),
            });
        }
        if let Some(trouble) = &self.trouble {
            ears.ear_is_away(true);
            notices.push(format!(
                "the room alone hears the class, the ear cannot: {trouble}"
            ));
        }
        if self.ear.as_ref().is_some_and(|ear| ear.device().is_none()) {
            ears.ear_is_away(true);
            notices.push(format!(
                "the ear's device is not there: the room alone hears the class until it is. {}",
                those_there_are()
            ));
        }
        notices
    }

    /// Returns what has happened to the devices; the ear that is away or back is brought back by itself.
    pub fn events(&self, ears: &mut Ears) -> Vec<Heard> {
        let mut heard = Vec::new();
        for event in self.room.events().try_iter() {
            heard.push(match event {
                out::Event::Lost { reason, .. } => {
                    ears.room_lost();
                    let pipe = self.pipe.is_some();
                    Heard::RoomLost { reason, pipe }
                }
                out::Event::Back { device } => Heard::RoomBack { device },
                out::Event::Ended { reason } => {
                    ears.room_lost();
                    Heard::RoomEnded { reason }
                }
            });
        }
        for event in self.ear.iter().flat_map(|ear| ear.events().try_iter()) {
            heard.push(match event {
                out::Event::Lost { reason, .. } | out::Event::Ended { reason } => {
                    ears.ear_is_away(true);
                    Heard::EarLost { reason }
                }
                out::Event::Back { device } => {
                    ears.ear_is_away(false);
                    Heard::EarBack { device }
                }
            });
        }
        heard
    }

    /// Closes them all.
    pub fn close(self) {
        if let Some(ear) = self.ear {
            ear.close();
        }
        self.room.close();
    }
}

/// Names the devices that can be asked for.
fn those_there_are() -> String {
    let found = out::devices(Host::Best).unwrap_or_default();
    let ids: Vec<_> = found.into_iter().map(|device| device.id).collect();
    out::named(&ids)
}

impl Heard {
    /// Says it in a sentence.
    pub fn notice(&self) -> String {
        match self {
            Heard::RoomLost { reason, pipe: true } => {
                format!("the class waits for a reader: {reason}")
            }
            Heard::RoomLost { reason, .. } => format!("the loudspeaker is gone: {reason}"),
            Heard::RoomEnded { reason } => format!("the class ends: {reason}"),
            Heard::RoomBack { device } => format!("the sound is back: {device}"),
            Heard::EarLost { reason } => {
                format!("the ear is gone, the room hears the class: {reason}")
            }
            Heard::EarBack { device } => format!("the ear is back: {device}"),
        }
    }
}
