//! The keys of the terminal: read on a thread of their own, each pressed key an action.
#![expect(
    clippy::disallowed_methods,
    reason = "keys are read on a thread of their own"
)]

use crate::live::control::Action;
use crate::live::control::Key;
use crate::live::control::Panel;
use crate::live::control::Source;
use crossterm::event;
use crossterm::event::KeyCode;
use crossterm::event::KeyEventKind;
use crossterm::event::KeyModifiers;
use crossterm::terminal;
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::time::Duration;
use std::time::Instant;

/// The same key again so soon is the key held down: terminals repeat it some thirty times a second.
const HELD: Duration = Duration::from_millis(150);

/// The keys of the terminal, read until this is dropped.
pub struct Keys;

impl Keys {
    /// Reads keys on a thread; `None` where there is no terminal to read them from.
    pub fn read_by(actions: BTreeMap<Key, Action>, panel: Panel) -> Option<Self> {
        if !std::io::stdin().is_terminal() || terminal::enable_raw_mode().is_err() {
            return None;
        }
        std::thread::spawn(move || {
            let mut last = None;
            while let Ok(read) = event::read() {
                let Some(key) = key_of(&read) else {
                    continue;
                };
                let now = Instant::now();
                let held = last.is_some_and(|(k, at)| k == key && now - at < HELD);
                last = Some((key, now));
                if !held
                    && let Some(action) = actions.get(&key)
                    && !panel.act(action, Source::Keys)
                {
                    break;
                }
            }
        });
        Some(Keys)
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        // A terminal that is gone needs no restoring.
        let _ = terminal::disable_raw_mode();
    }
}

fn key_of(read: &event::Event) -> Option<Key> {
    // A key held down repeats; only its press counts.
    let key = read
        .as_key_event()
        .filter(|k| k.kind == KeyEventKind::Press)?;
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        if key.code == KeyCode::Char('c') {
            // In raw mode the terminal does not send it.
            let _ = signal_hook::low_level::raise(signal_hook::consts::SIGINT);
        }
        return None;
    }
    let named = match key.code {
        KeyCode::Char(character) => return Some(Key::of(character)),
        KeyCode::F(number) => return Some(Key::Function(number)),
        KeyCode::Enter => "enter",
        KeyCode::Tab => "tab",
        KeyCode::Esc => "escape",
        KeyCode::Backspace => "backspace",
        KeyCode::Delete => "delete",
        KeyCode::Up => "up",
        KeyCode::Down => "down",
        KeyCode::Left => "left",
        KeyCode::Right => "right",
        KeyCode::Home => "home",
        KeyCode::End => "end",
        KeyCode::PageUp => "page-up",
        KeyCode::PageDown => "page-down",
        _ => return None,
    };
    Key::parse(named)
}
