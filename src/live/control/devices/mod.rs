//! Input devices that the configuration names: a clicker, a foot pedal, a keypad. No other device
//! is ever opened, and what is pressed on these reaches no other program.
#![expect(
    clippy::disallowed_methods,
    reason = "each device is read on a thread of its own"
)]

mod event;
mod node;

pub use event::Buttons;
pub use event::Events;
pub use node::Found;
pub use node::Node;
pub use node::list;
pub use node::open;

use super::Device;
use super::Panel;
use super::Source;
use std::io;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::thread;
use std::time::Duration;

/// A device that is not there is looked for this often.
const RETRY: Duration = Duration::from_millis(500);

/// Reads each device on a thread of its own until `open` says otherwise.
pub fn serve(devices: &[Device], panel: &Panel, open: &Arc<AtomicBool>) {
    for device in devices {
        let (device, panel, open) = (device.clone(), panel.clone(), Arc::clone(open));
        thread::spawn(move || keep_reading(&device, &panel, &open));
    }
}

/// Reads a device whenever it is there; says once what keeps it from being read.
fn keep_reading(device: &Device, panel: &Panel, open: &AtomicBool) {
    let mut told = None;
    while open.load(Ordering::Relaxed) {
        match node::open(&device.at) {
            Ok(mut node) => {
                if told.take().is_some() {
                    panel.notice(format!("the device {} is there", device.at.words()));
                }
                let Some(error) = read(&mut node, device, panel, open) else {
                    return;
                };
                tracing::debug!(%error, device = device.at.words(), "a device is gone");
                // A pipe ends whenever its writer does.
                if error.kind() != io::ErrorKind::UnexpectedEof {
                    told = Some(io::ErrorKind::NotFound);
                    panel.notice(format!(
                        "the device {} is gone: it is used again as soon as it is back",
                        device.at.words()
                    ));
                }
            }
            Err(error) if told != Some(error.kind()) => {
                // Just plugged in, it may not be open to the user yet: that is told if it lasts.
                told = Some(error.kind());
                panel.notice(why_not(device, &error));
            }
            Err(_) => {}
        }
        thread::sleep(RETRY);
    }
}

/// Acts on each press; returns why the device can be read no more, or nothing where it should not.
fn read(node: &mut Node, device: &Device, panel: &Panel, open: &AtomicBool) -> Option<io::Error> {
    while open.load(Ordering::Relaxed) {
        match node.wait(RETRY) {
            Ok(Some(code)) => match device.action(code) {
                Some(action) => {
                    panel.act(&action, Source::Device);
                }
                None => tracing::debug!(code, "a button without an action"),
            },
            Ok(None) => {}
            Err(error) => return Some(error),
        }
    }
    None
}

/// Returns what is told of a device that cannot be opened.
pub fn why_not(device: &Device, error: &io::Error) -> String {
    let name = device.at.words();
    match error.kind() {
        io::ErrorKind::NotFound => {
            format!("the device {name} is not there: it is used as soon as it is plugged in")
        }
        io::ErrorKind::PermissionDenied => format!(
            "the device {name} may not be read: a rule for udev gives you this one device, the \
             README shows it"
        ),
        io::ErrorKind::ResourceBusy => {
            format!("another program keeps the device {name} for itself: end that one")
        }
        _ => format!("the device {name} cannot be read: {error}"),
    }
}
