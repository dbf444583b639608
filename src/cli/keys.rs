//! The keys of the terminal: read on a thread of their own, each pressed key an action.
#![expect(
    clippy::disallowed_methods,
    reason = "keys are read on a thread of their own"
)]

use crate::base::units::Millis;
use crate::live::control::Action;
use crate::live::control::Held;
use crate::live::control::Key;
use crate::live::control::Meaning;
use crate::live::control::Panel;
use crate::live::control::Source;
use crate::live::control::Stroke;
use crossterm::event;
use crossterm::event::KeyCode;
use crossterm::event::KeyEventKind;
use crossterm::event::KeyModifiers;
use crossterm::event::KeyboardEnhancementFlags;
use crossterm::event::PopKeyboardEnhancementFlags;
use crossterm::event::PushKeyboardEnhancementFlags;
use crossterm::execute;
use crossterm::terminal;
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::io::stdout;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::time::Duration;
use std::time::Instant;

/// The keys of the terminal, read until this is dropped.
pub struct Keys {
    reports: Arc<Mutex<Reports>>,
}

/// Whether the terminal was asked to tell when keys are let go.
#[derive(PartialEq, Eq)]
enum Reports {
    NotAsked,
    Asked,
    /// The terminal is given back: nothing is asked of it any more.
    Over,
}

impl Keys {
    /// Reads keys on a thread; `None` where there is no terminal to read them from.
    pub fn read_by(actions: BTreeMap<Key, Action>, panel: Panel) -> Option<Self> {
        if !std::io::stdin().is_terminal() || terminal::enable_raw_mode().is_err() {
            return None;
        }
        let reports = Arc::new(Mutex::new(Reports::NotAsked));
        let asked = Arc::clone(&reports);
        std::thread::spawn(move || {
            ask_for_reports(&asked);
            let reader = Reader {
                actions,
                panel,
                begun: Instant::now(),
            };
            reader.read();
        });
        Some(Keys { reports })
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        let mut reports = self.reports.lock().unwrap_or_else(PoisonError::into_inner);
        // A terminal that is gone needs no restoring.
        if std::mem::replace(&mut *reports, Reports::Over) == Reports::Asked {
            let _ = execute!(stdout(), PopKeyboardEnhancementFlags);
        }
        let _ = terminal::disable_raw_mode();
    }
}

/// Asks the terminal to tell when keys are let go, if it can: then a key held down is no guess. One that
/// does not answer at all is waited for two seconds; keys pressed until then are taken after.
fn ask_for_reports(reports: &Mutex<Reports>) {
    // The question goes to standard output.
    if !stdout().is_terminal() || !terminal::supports_keyboard_enhancement().unwrap_or(false) {
        return;
    }
    let mut reports = reports.lock().unwrap_or_else(PoisonError::into_inner);
    let flags = KeyboardEnhancementFlags::REPORT_EVENT_TYPES;
    if *reports == Reports::NotAsked
        && execute!(stdout(), PushKeyboardEnhancementFlags(flags)).is_ok()
    {
        *reports = Reports::Asked;
    }
}

/// What is done with the keys.
struct Reader {
    actions: BTreeMap<Key, Action>,
    panel: Panel,
    begun: Instant,
}

impl Reader {
    /// Reads until the terminal is gone, or nobody listens any more.
    fn read(&self) {
        let mut held = Held::default();
        loop {
            let heard = match held.due() {
                Some(due) => event::poll(self.until(due)),
                None => Ok(true),
            };
            let meant = match heard {
                Ok(true) => match event::read() {
                    Ok(read) => self.stroke(&mut held, &read),
                    Err(_) => return,
                },
                Ok(false) => held.tick(self.now()).into_iter().collect(),
                Err(_) => return,
            };
            if !meant.into_iter().all(|meaning| self.act(meaning)) {
                return;
            }
        }
    }

    fn stroke(&self, held: &mut Held, read: &event::Event) -> Vec<Meaning> {
        let Some((key, stroke)) = key_of(read) else {
            return Vec::new();
        };
        let action = self.actions.get(&key);
        held.step(
            self.now(),
            key,
            stroke,
            action.is_some_and(Action::may_repeat),
        )
    }

    /// Does what a key means; returns whether anybody still listens.
    fn act(&self, meaning: Meaning) -> bool {
        let (Meaning::Pressed(key, at) | Meaning::Perhaps(key, at)) = meaning;
        let Some(action) = self.actions.get(&key) else {
            return true;
        };
        let at = self.begun + Duration::from_millis(u64::try_from(at.ms()).unwrap_or(0));
        match meaning {
            Meaning::Pressed(..) => self.panel.act_at(at, action, Source::Keys),
            Meaning::Perhaps(..) => {
                self.panel.perhaps(at, action);
                true
            }
        }
    }

    fn now(&self) -> Millis {
        let ms = self.begun.elapsed().as_millis();
        Millis::from_ms(i64::try_from(ms).unwrap_or(i64::MAX))
    }

    fn until(&self, due: Millis) -> Duration {
        Duration::from_millis(u64::try_from((due - self.now()).ms()).unwrap_or(0))
    }
}

fn key_of(read: &event::Event) -> Option<(Key, Stroke)> {
    let key = read.as_key_event()?;
    let stroke = match key.kind {
        KeyEventKind::Press => Stroke::Down,
        KeyEventKind::Repeat => Stroke::Repeat,
        KeyEventKind::Release => Stroke::Up,
    };
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        if key.code == KeyCode::Char('c') && stroke == Stroke::Down {
            // In raw mode the terminal does not send it.
            let _ = signal_hook::low_level::raise(signal_hook::consts::SIGINT);
        }
        return None;
    }
    let named = match key.code {
        KeyCode::Char(character) => return Some((Key::of(character), stroke)),
        KeyCode::F(number) => return Some((Key::Function(number), stroke)),
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
    Key::parse(named).map(|key| (key, stroke))
}
