//! Finding a named input device, opening it, and keeping its presses from everything else.
#![expect(
    clippy::disallowed_methods,
    reason = "looks for devices and opens them"
)]

use super::super::DeviceAt;
use super::event::Buttons;
use super::event::Events;
use rustix::event::PollFd;
use rustix::event::PollFlags;
use rustix::event::Timespec;
use rustix::io::Errno;
use rustix::ioctl;
use std::fs;
use std::fs::File;
use std::io;
use std::os::unix::fs::FileTypeExt;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::path::PathBuf;
use std::time::Duration;

/// Where the kernel lists input devices, and where they can be opened.
const LISTED: &str = "/sys/class/input";
const OPENED: &str = "/dev/input";

/// `EVIOCGRAB` of linux/input.h: `_IOW('E', 0x90, int)`.
const GRAB: ioctl::Opcode = ioctl::opcode::write::<i32>(b'E', 0x90);

/// An input device of this machine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    pub path: PathBuf,
    pub name: String,
}

/// An open device that only this program reads.
pub struct Node(Events<File>);

/// Lists the input devices of this machine.
pub fn list() -> Vec<Found> {
    list_in(Path::new(LISTED), Path::new(OPENED))
}

fn list_in(listed: &Path, opened: &Path) -> Vec<Found> {
    let entries = fs::read_dir(listed).into_iter().flatten().flatten();
    let mut found: Vec<_> = entries
        .filter(|entry| entry.file_name().to_string_lossy().starts_with("event"))
        .filter_map(|entry| {
            let name = fs::read_to_string(entry.path().join("device/name")).ok()?;
            Some(Found {
                path: opened.join(entry.file_name()),
                name: name.trim_end().to_owned(),
            })
        })
        .collect();
    found.sort();
    found
}

/// Opens a device.
///
/// # Errors
///
/// Where it is not there, may not be read, or another program keeps it for itself.
pub fn open(at: &DeviceAt) -> io::Result<Node> {
    let path = match at {
        DeviceAt::Path(path) => path.clone(),
        DeviceAt::Name(name) => {
            let found = list().into_iter().find(|device| device.name == *name);
            found.ok_or(io::ErrorKind::NotFound)?.path
        }
    };
    let file = File::options()
        .read(true)
        .custom_flags(rustix::fs::OFlags::NONBLOCK.bits().cast_signed())
        .open(path)?;
    // A pipe that stands in for a device has nobody else who reads it.
    if file.metadata()?.file_type().is_char_device() {
        // SAFETY: EVIOCGRAB takes an integer, 1 to keep the device and 0 to let it go, and no
        // pointer (linux/input.h); the file is open.
        unsafe { ioctl::ioctl(&file, ioctl::IntegerSetter::<GRAB>::new_usize(1)) }?;
    }
    Ok(Node(Events::new(file)))
}

impl Node {
    /// Waits at most so long for a press and returns the button's code.
    ///
    /// # Errors
    ///
    /// Where the device is gone.
    pub fn wait(&mut self, at_most: Duration) -> io::Result<Option<u16>> {
        // Polled before it is read: a pipe into which nobody writes yet would seem to have ended.
        let file = self.0.from();
        let mut polled = [PollFd::new(file, PollFlags::IN)];
        let limit = Timespec::try_from(at_most).unwrap_or_default();
        match rustix::event::poll(&mut polled, Some(&limit)) {
            Ok(0) | Err(Errno::INTR) => return Ok(None),
            Ok(_) => {}
            Err(error) => return Err(error.into()),
        }
        self.0.pressed()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_are_listed_by_the_name_that_they_tell() {
        let listed = tempfile::tempdir().unwrap();
        for (event, name) in [("event1", "Foot pedal"), ("event0", "Power Button")] {
            let folder = listed.path().join(event).join("device");
            fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join("name"), format!("{name}\n")).unwrap();
        }
        fs::create_dir_all(listed.path().join("mouse0/device")).unwrap();
        let found = list_in(listed.path(), Path::new("/dev/input"));
        let found: Vec<_> = found
            .iter()
            .map(|f| (f.path.to_str().unwrap(), f.name.as_str()))
            .collect();
        assert_eq!(
            found,
            [
                ("/dev/input/event0", "Power Button"),
                ("/dev/input/event1", "Foot pedal")
            ]
        );
    }
}
