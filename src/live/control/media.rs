//! Media keys and headset buttons, over D-Bus as the freedesktop MPRIS interface describes it
//! (version 2.2). The desktop sends them to the player that it lists; this one is a class.
#![expect(clippy::disallowed_methods, reason = "the bus has a thread of its own")]

use super::Doing;
use super::Mapping;
use super::Media;
use super::Panel;
use super::Source;
use super::Status;
use std::collections::BTreeMap;
use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::thread;
use std::time::Duration;
use zbus::blocking::Connection;
use zbus::blocking::connection::Builder;
use zbus::zvariant::ObjectPath;
use zbus::zvariant::Value;

const NAME: &str = "org.mpris.MediaPlayer2.sidevoice";
const PATH: &str = "/org/mpris/MediaPlayer2";
const CLASS: &str = "/org/sidevoice/class";
/// How often the thread looks whether it should end.
const LOOKS_EVERY: Duration = Duration::from_millis(500);

/// Serves media keys on a thread until `open` says otherwise. Without a bus there are none.
pub fn serve(mapping: &Mapping, panel: Panel, open: Arc<AtomicBool>) {
    let actions = mapping.media.clone();
    if actions.is_empty() {
        return;
    }
    thread::spawn(move || {
        let served = connect(&actions, &panel)
            .and_then(|connection| tell_changes(&connection, &panel, &open));
        if let Err(error) = served {
            tracing::debug!(%error, "no media keys: there is no session bus");
        }
    });
}

type Actions = BTreeMap<Media, super::Action>;

fn connect(actions: &Actions, panel: &Panel) -> zbus::Result<Connection> {
    let named = |name: String| {
        Builder::session()?
            .serve_at(PATH, Root::new(actions, panel))?
            .serve_at(PATH, Player::new(actions, panel))?
            .name(name)?
            .build()
    };
    match named(NAME.to_owned()) {
        // Another class runs: the interface's way to tell them apart.
        Err(zbus::Error::NameTaken) => named(format!("{NAME}.instance{}", std::process::id())),
        other => other,
    }
}

/// Tells the bus what changes; the position it asks for itself.
fn tell_changes(connection: &Connection, panel: &Panel, open: &AtomicBool) -> zbus::Result<()> {
    let player = connection.object_server().interface::<_, Player>(PATH)?;
    let board = panel.board();
    let mut seen = board.change();
    let mut last = board.now();
    while open.load(Ordering::Relaxed) {
        let Some((status, change)) = board.after(seen, LOOKS_EVERY) else {
            continue;
        };
        seen = change;
        let emitter = player.signal_emitter();
        if playback(&status) != playback(&last) {
            zbus::block_on(player.get().playback_status_changed(emitter))?;
        }
        if title(&status) != title(&last) || status.session != last.session {
            zbus::block_on(player.get().metadata_changed(emitter))?;
        }
        last = status;
    }
    Ok(())
}

fn playback(status: &Status) -> &'static str {
    match status.state {
        Doing::Building | Doing::Waiting | Doing::Running => "Playing",
        Doing::Paused => "Paused",
        Doing::Idle | Doing::Finished => "Stopped",
    }
}

/// Returns what is shown as the title: what is done now, or what comes.
fn title(status: &Status) -> String {
    let movement = status.movement.as_ref().map(|movement| {
        let side = status
            .side
            .as_ref()
            .map_or(String::new(), |side| format!(", {side}"));
        format!("{movement}{side}")
    });
    match (status.segment.as_deref(), movement) {
        (Some("work"), Some(movement)) => movement,
        (Some(other), Some(movement)) => format!("{other}, next {movement}"),
        (other, _) => other.unwrap_or("sidevoice").to_owned(),
    }
}

fn metadata(status: &Status) -> HashMap<&'static str, Value<'static>> {
    let mut all = HashMap::from([
        (
            "mpris:trackid",
            Value::from(ObjectPath::from_static_str_unchecked(CLASS)),
        ),
        ("xesam:title", Value::from(title(status))),
    ]);
    if let Some(session) = &status.session {
        all.insert("xesam:album", Value::from(session.clone()));
    }
    if let Some(length) = status.length_ms {
        all.insert("mpris:length", Value::from(length * 1000));
    }
    all
}

/// What both interfaces do with a button.
struct Keys {
    actions: Actions,
    panel: Panel,
}

impl Keys {
    fn new(actions: &Actions, panel: &Panel) -> Self {
        let (actions, panel) = (actions.clone(), panel.clone());
        Self { actions, panel }
    }

    fn press(&self, button: Media) {
        if let Some(action) = self.actions.get(&button) {
            self.panel.act(action, Source::Media);
        }
    }

    fn has(&self, button: Media) -> bool {
        self.actions.contains_key(&button)
    }

    fn status(&self) -> Status {
        self.panel.board().now()
    }
}

struct Root(Keys);

impl Root {
    fn new(actions: &Actions, panel: &Panel) -> Self {
        Self(Keys::new(actions, panel))
    }
}

#[zbus::interface(name = "org.mpris.MediaPlayer2")]
impl Root {
    fn raise(&self) {}

    fn quit(&self) {
        self.0.press(Media::Stop);
    }

    #[zbus(property)]
    fn can_quit(&self) -> bool {
        self.0.has(Media::Stop)
    }

    #[zbus(property)]
    fn can_raise(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn has_track_list(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn identity(&self) -> &str {
        "sidevoice"
    }

    #[zbus(property)]
    fn supported_uri_schemes(&self) -> Vec<String> {
        Vec::new()
    }

    #[zbus(property)]
    fn supported_mime_types(&self) -> Vec<String> {
        Vec::new()
    }
}

struct Player(Keys);

impl Player {
    fn new(actions: &Actions, panel: &Panel) -> Self {
        Self(Keys::new(actions, panel))
    }
}

#[zbus::interface(name = "org.mpris.MediaPlayer2.Player")]
impl Player {
    fn next(&self) {
        self.0.press(Media::Next);
    }

    fn previous(&self) {
        self.0.press(Media::Previous);
    }

    fn pause(&self) {
        self.0.press(Media::Pause);
    }

    fn play_pause(&self) {
        self.0.press(Media::PlayPause);
    }

    fn stop(&self) {
        self.0.press(Media::Stop);
    }

    fn play(&self) {
        self.0.press(Media::Play);
    }

    /// A class is not sought in: `CanSeek` says so.
    fn seek(&self, _offset: i64) {}

    fn set_position(&self, _track: ObjectPath<'_>, _position: i64) {}

    fn open_uri(&self, _uri: &str) -> zbus::fdo::Result<()> {
        Err(zbus::fdo::Error::NotSupported(
            "a class is started by `sidevoice run SESSION`".to_owned(),
        ))
    }

    #[zbus(property)]
    fn playback_status(&self) -> &str {
        playback(&self.0.status())
    }

    #[zbus(property)]
    fn metadata(&self) -> HashMap<&'static str, Value<'static>> {
        metadata(&self.0.status())
    }

    /// In microseconds, as the interface has it.
    #[zbus(property(emits_changed_signal = "false"))]
    fn position(&self) -> i64 {
        self.0.status().position_ms * 1000
    }

    #[zbus(property)]
    fn rate(&self) -> f64 {
        1.0
    }

    #[zbus(property)]
    fn minimum_rate(&self) -> f64 {
        1.0
    }

    #[zbus(property)]
    fn maximum_rate(&self) -> f64 {
        1.0
    }

    #[zbus(property)]
    fn volume(&self) -> f64 {
        1.0
    }

    #[zbus(property)]
    fn can_go_next(&self) -> bool {
        self.0.has(Media::Next)
    }

    #[zbus(property)]
    fn can_go_previous(&self) -> bool {
        self.0.has(Media::Previous)
    }

    #[zbus(property)]
    fn can_play(&self) -> bool {
        self.0.has(Media::Play)
    }

    #[zbus(property)]
    fn can_pause(&self) -> bool {
        self.0.has(Media::Pause)
    }

    #[zbus(property)]
    fn can_seek(&self) -> bool {
        false
    }

    #[zbus(property(emits_changed_signal = "const"))]
    fn can_control(&self) -> bool {
        true
    }
}
