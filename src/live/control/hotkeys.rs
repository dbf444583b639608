//! Hotkeys: keys that work whatever window is in front, on an X display.
#![expect(
    clippy::disallowed_methods,
    reason = "the display has a thread of its own"
)]

use super::Action;
use super::Hotkey;
use super::Key;
use super::Mapping;
use super::Panel;
use super::Source;
use rustix::event::PollFd;
use rustix::event::PollFlags;
use rustix::event::Timespec;
use std::collections::HashMap;
use std::error::Error;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::thread;
use std::time::Duration;
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::ConnectionExt;
use x11rb::protocol::xproto::GrabMode;
use x11rb::protocol::xproto::Keycode;
use x11rb::protocol::xproto::ModMask;
use x11rb::rust_connection::RustConnection;

/// How often the thread looks whether it should end.
const LOOKS_EVERY: Duration = Duration::from_millis(500);
const INSTEAD: &str = "use media keys, an input device named in the configuration, or let the \
                       desktop's own settings run `sidevoice tell VERB` on a key";

/// Serves hotkeys on a thread until `open` says otherwise; where they cannot work, says so and
/// what can be used instead.
pub fn serve(mapping: &Mapping, panel: Panel, open: Arc<AtomicBool>) {
    if mapping.hotkeys.is_empty() {
        return;
    }
    let there = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    match (there("DISPLAY"), there("WAYLAND_DISPLAY")) {
        (false, true) => {
            return panel.notice(format!(
                "hotkeys cannot work here: Wayland keeps keys from programs whose window is not \
                 in front; {INSTEAD}"
            ));
        }
        (false, false) => {
            return panel.notice(format!(
                "hotkeys cannot work here: there is no X display; {INSTEAD}"
            ));
        }
        (true, true) => panel.notice(format!(
            "under Wayland hotkeys work only while the window of an X program is in front; {INSTEAD}"
        )),
        (true, false) => {}
    }
    let hotkeys = mapping.hotkeys.clone();
    thread::spawn(move || {
        let served =
            Grabbed::new(&hotkeys, &panel).and_then(|grabbed| grabbed.watch(&panel, &open));
        if let Err(error) = served {
            panel.notice(format!("hotkeys do not work: {error}; {INSTEAD}"));
        }
    });
}

/// The keys that the display sends here.
struct Grabbed {
    display: RustConnection,
    actions: HashMap<(Keycode, u16), Action>,
}

/// Caps lock and num lock, which change nothing about a hotkey.
const LOCKS: [u16; 2] = [1 << 1, 1 << 4];

impl Grabbed {
    fn new(
        hotkeys: &std::collections::BTreeMap<Hotkey, Action>,
        panel: &Panel,
    ) -> Result<Self, Box<dyn Error>> {
        let (display, screen) = x11rb::connect(None)?;
        let root = display.setup().roots[screen].root;
        let codes = codes(&display)?;
        let mut actions = HashMap::new();
        for (hotkey, action) in hotkeys {
            let name = hotkey.text();
            let Some(code) = codes.get(&symbol(hotkey.key)) else {
                panel.notice(format!("the hotkey {name} is on no key of this keyboard"));
                continue;
            };
            let modifiers = modifiers(hotkey);
            let mut taken = false;
            for locks in [0, LOCKS[0], LOCKS[1], LOCKS[0] | LOCKS[1]] {
                let with = ModMask::from(modifiers | locks);
                let asynchronous = GrabMode::ASYNC;
                let grab =
                    display.grab_key(false, root, with, *code, asynchronous, asynchronous)?;
                taken |= grab.check().is_err();
            }
            if taken {
                panel.notice(format!(
                    "another program has the hotkey {name}: choose another one"
                ));
            }
            actions.insert((*code, modifiers), action.clone());
        }
        Ok(Self { display, actions })
    }

    fn watch(&self, panel: &Panel, open: &AtomicBool) -> Result<(), Box<dyn Error>> {
        let limit = Timespec::try_from(LOOKS_EVERY).unwrap_or_default();
        // A key held down is sent as released and pressed again at the same moment.
        let mut released = None;
        while open.load(Ordering::Relaxed) {
            while let Some(event) = self.display.poll_for_event()? {
                match event {
                    Event::KeyRelease(key) => released = Some((key.detail, key.time)),
                    Event::KeyPress(key) if released != Some((key.detail, key.time)) => {
                        let modifiers = u16::from(key.state) & ALL & !LOCKS[0] & !LOCKS[1];
                        if let Some(action) = self.actions.get(&(key.detail, modifiers)) {
                            panel.act(action, Source::Hotkey);
                        }
                    }
                    _ => {}
                }
            }
            let mut polled = [PollFd::new(self.display.stream(), PollFlags::IN)];
            // Interrupted or not, the display is asked next.
            let _ = rustix::event::poll(&mut polled, Some(&limit));
        }
        Ok(())
    }
}

/// Returns the key of each symbol of this keyboard.
fn codes(display: &RustConnection) -> Result<HashMap<u32, Keycode>, Box<dyn Error>> {
    let setup = display.setup();
    let (first, last) = (setup.min_keycode, setup.max_keycode);
    let listed = display
        .get_keyboard_mapping(first, last - first + 1)?
        .reply()?;
    let columns = usize::from(listed.keysyms_per_keycode).max(1);
    let mut codes = HashMap::new();
    // What a key gives alone comes before what it gives with shift.
    for column in 0..columns {
        for (code, symbols) in (first..=last).zip(listed.keysyms.chunks(columns)) {
            if let Some(symbol) = symbols.get(column).filter(|symbol| **symbol != 0) {
                codes.entry(*symbol).or_insert(code);
            }
        }
    }
    Ok(codes)
}

/// All modifiers of the core protocol: shift, lock, control and the five others.
const ALL: u16 = 0xff;

fn modifiers(hotkey: &Hotkey) -> u16 {
    let mut mask = 0;
    for (held, bit) in [
        (hotkey.shift, ModMask::SHIFT),
        (hotkey.control, ModMask::CONTROL),
        (hotkey.alt, ModMask::M1),
        (hotkey.logo, ModMask::M4),
    ] {
        if held {
            mask |= u16::from(bit);
        }
    }
    mask
}

/// Returns the key's symbol (X11 protocol, appendix A: Latin-1 as it is, other characters above
/// 0x01000000).
fn symbol(key: Key) -> u32 {
    match key {
        Key::Char(character) => match u32::from(character) {
            latin @ 0..=0xff => latin,
            other => 0x0100_0000 + other,
        },
        Key::Function(number) => 0xffbe + u32::from(number) - 1,
        Key::Named(name) => match name {
            "enter" => 0xff0d,
            "tab" => 0xff09,
            "escape" => 0xff1b,
            "backspace" => 0xff08,
            "delete" => 0xffff,
            "up" => 0xff52,
            "down" => 0xff54,
            "left" => 0xff51,
            "right" => 0xff53,
            "home" => 0xff50,
            "end" => 0xff57,
            "page-up" => 0xff55,
            "page-down" => 0xff56,
            // Every name of `key::NAMED` stands above.
            _ => 0,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_named_key_has_a_symbol() {
        for name in Key::names() {
            assert_ne!(symbol(Key::parse(name).unwrap()), 0, "{name}");
        }
        // X11/keysymdef.h: XK_F1, XK_F24, XK_Cyrillic_a by its Unicode value.
        assert_eq!(symbol(Key::Function(1)), 0xffbe);
        assert_eq!(symbol(Key::Function(24)), 0xffd5);
        assert_eq!(symbol(Key::Char('а')), 0x0100_0430);
    }
}
