//! Is there anything to hear with? The hosts, their devices by name, and what can go wrong.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use cpal::ErrorKind;
use cpal::traits::DeviceTrait;
use cpal::traits::HostTrait;

/// The sound system that is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Host {
    /// The sound server (PulseAudio, or PipeWire in its place) where one runs, else the system's own.
    #[default]
    Best,
    /// The sound server or nothing.
    Server,
    /// The system's own, past any server.
    System,
}

/// A device of the sound system.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Names it to the sound system; to be given as [`super::Options::device`].
    pub id: String,
    /// Names it to a person.
    pub name: String,
    /// Whether it is taken when no device is asked for.
    pub default: bool,
}

/// Why there is no sound; named by what there is to be done.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DeviceError {
    /// Start a sound system.
    #[error("no sound system answers: {0}")]
    NoHost(String),
    /// Connect a loudspeaker.
    #[error("there is no loudspeaker")]
    NoDevice,
    /// Choose another.
    #[error("there is no loudspeaker called \"{id}\". {}", named(there))]
    Unknown {
        id: String,
        /// The ids of those that are there.
        there: Vec<String>,
    },
    /// Choose another device, or let a sound server convert.
    #[error("the loudspeaker cannot play 48 kHz in stereo: {0}")]
    Unfit(String),
    /// Wait, or end what uses it.
    #[error("the loudspeaker is in use: {0}")]
    Busy(String),
    /// Give the ear another.
    #[error(
        "the room and the ear would both be heard by {0}: give the ear another device, or left or right of this one"
    )]
    Shared(String),
    /// As it says.
    #[error("{0}")]
    Pipe(String),
    /// Try again.
    #[error("the loudspeaker does not play: {0}")]
    Failed(String),
}

/// How long a sound system may take to answer: as three of its steps may.
pub(in super::super) const ANSWER: Duration = Duration::from_secs(6);

/// Lists the output devices of a host; none is an empty list.
///
/// Of the system's own devices on Linux, those that convert what they are given: not its many plug-ins, which
/// are there without any loudspeaker.
///
/// # Errors
///
/// [`DeviceError::NoHost`] or [`DeviceError::Failed`] where it cannot be asked.
pub fn devices(host: Host) -> Result<Vec<Device>, DeviceError> {
    let (tell, told) = mpsc::channel();
    let asking = thread::Builder::new().spawn(move || {
        // The one who asked may have given up.
        let _ = tell.send(ask(host));
    });
    asking.map_err(|it| DeviceError::Failed(it.to_string()))?;
    told.recv_timeout(ANSWER)
        .unwrap_or_else(|_| Err(DeviceError::silent()))
}

fn ask(host: Host) -> Result<Vec<Device>, DeviceError> {
    quiet();
    let (host, which) = open_host(host)?;
    let default = host.default_output_device();
    let default_id = default.as_ref().and_then(id_of);
    let mut found = Vec::new();
    for device in host.output_devices()? {
        let Some(id) = id_of(&device) else { continue };
        let default = default_id.as_ref() == Some(&id);
        let converts = which == Host::Server || id.starts_with("plughw:");
        if converts || default || !cfg!(target_os = "linux") {
            let name = name_of(&device);
            found.push(Device { id, name, default });
        }
    }
    Ok(found)
}

/// Keeps the system's sound library from writing to the terminal what goes wrong on this thread:
/// twice a second while a device is away, and not in words for a listener.
pub(in super::super) fn quiet() {
    #[cfg(target_os = "linux")]
    {
        // What was kept from the last time is forgotten with it.
        let _ = alsa::Output::local_error_handler();
    }
}

/// Opens the host and says which it is: [`Host::Best`] is one of the others.
pub(in super::super) fn open_host(host: Host) -> Result<(cpal::Host, Host), DeviceError> {
    let server = || open_server().map(|it| (it, Host::Server));
    let system = || open_system().map(|it| (it, Host::System));
    let opened = match host {
        Host::Best => server().or_else(|_| system()),
        Host::Server => server(),
        Host::System => system(),
    };
    opened.map_err(|it| DeviceError::NoHost(it.to_string()))
}

#[cfg(target_os = "linux")]
fn open_server() -> Result<cpal::Host, cpal::Error> {
    cpal::host_from_id(cpal::HostId::PulseAudio)
}

#[cfg(target_os = "linux")]
fn open_system() -> Result<cpal::Host, cpal::Error> {
    cpal::host_from_id(cpal::HostId::Alsa)
}

/// Elsewhere the system's own is all there is.
#[cfg(not(target_os = "linux"))]
fn open_server() -> Result<cpal::Host, cpal::Error> {
    Err(cpal::Error::new(ErrorKind::HostUnavailable))
}

#[cfg(not(target_os = "linux"))]
fn open_system() -> Result<cpal::Host, cpal::Error> {
    Ok(cpal::default_host())
}

/// Finds the device with this id, or the default one.
pub(super) fn find(host: &cpal::Host, id: Option<&str>) -> Result<cpal::Device, DeviceError> {
    match id {
        None => host.default_output_device().ok_or(DeviceError::NoDevice),
        Some(id) => {
            let mut there = Vec::new();
            for device in host.output_devices()? {
                match id_of(&device) {
                    Some(other) if other == id => return Ok(device),
                    other => there.extend(other),
                }
            }
            let id = id.to_owned();
            Err(DeviceError::Unknown { id, there })
        }
    }
}

/// Names the devices that can be asked for.
pub fn named(ids: &[String]) -> String {
    match ids {
        [] => "There is none".to_owned(),
        [one] => format!("The only one is {one}"),
        ids => format!("The devices are: {}", ids.join(", ")),
    }
}

/// Names a device to a person.
pub(in super::super) fn name_of(device: &cpal::Device) -> String {
    match device.description() {
        Ok(description) => description.name().to_owned(),
        Err(_) => device.to_string(),
    }
}

pub(super) fn id_of(device: &cpal::Device) -> Option<String> {
    device.id().ok().map(|it| it.id().to_owned())
}

impl DeviceError {
    /// The sound system hangs.
    pub(super) fn silent() -> Self {
        DeviceError::NoHost("not within 6 s".into())
    }
}

impl From<cpal::Error> for DeviceError {
    fn from(error: cpal::Error) -> Self {
        let text = error.to_string();
        match error.kind() {
            ErrorKind::DeviceNotAvailable => DeviceError::NoDevice,
            ErrorKind::HostUnavailable => DeviceError::NoHost(text),
            ErrorKind::UnsupportedConfig | ErrorKind::UnsupportedOperation => {
                DeviceError::Unfit(text)
            }
            ErrorKind::DeviceBusy | ErrorKind::PermissionDenied => DeviceError::Busy(text),
            _ => DeviceError::Failed(text),
        }
    }
}
