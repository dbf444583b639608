//! What `check` tells of a session: its figures against published ones, the rests that it proposes
//! against plans made with them, and each piece of advice where it is due and nowhere else.

mod fit;
mod given;
mod report;

use crate::common::Tabled;
use crate::common::read_text;
use crate::common::root;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Sources;
use sidevoice::base::wording::Wording;
use sidevoice::compile::settings;
use sidevoice::planning::advice::Kilograms;
use sidevoice::planning::advice::Report;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::read_movement;
use sidevoice::planning::session::read_session;
use sidevoice::planning::session::resolve;
use std::sync::Arc;

/// Reads a session beside movements of the starter folder and others, each an id and a text.
///
/// # Panics
///
/// If a text is at fault.
fn session(text: &str, movements: &[(&str, &str)]) -> (Session, Sources) {
    let mut sources = Sources::default();
    let mut library = Library::new();
    let mut read = |id: &str, text: &str| {
        let source = sources.add(format!("movements/{id}.toml"), text);
        let (movement, faults) = read_movement(id, &sources, source);
        assert_eq!(faults, [], "{id}");
        library.insert(id.to_owned(), movement.map(Arc::new));
    };
    for id in [
        "bench-squat",
        "goblet-squat",
        "march",
        "one-arm-row",
        "plank",
        "press-up",
        "reverse-lunge",
        "shoulder-roll",
        "squat",
        "squat-jump",
        "wall-sit",
        "wide-squat",
    ] {
        let path = format!("src/starter/movements/{id}.toml");
        read(id, &read_text(&root().join(path)));
    }
    for (id, text) in movements {
        read(id, text);
    }
    let source = sources.add("sessions/outing.toml", text);
    let (read, faults) = read_session(&sources, source);
    assert_eq!(faults, [], "\n{text}");
    let (session, faults) = resolve(read.unwrap(), &library);
    assert_eq!(faults, [], "\n{text}");
    (session.unwrap(), sources)
}

fn plan(session: &Session) -> Plan {
    let wording = Wording::english();
    let settings = settings("tabled", CautionLength::Brief);
    Planner::new(session, &wording, settings, &mut Tabled).finish(&mut Tabled)
}

fn report(session: &Session) -> Report {
    let plan = plan(session);
    sidevoice::planning::advice::report(session, &plan, Kilograms::USUAL)
}

/// Returns the codes of the advice, each with its file, its line and its words.
fn told(text: &str, movements: &[(&str, &str)]) -> Vec<(Code, String, usize, String)> {
    let (session, sources) = session(text, movements);
    let advice = report(&session).advice;
    let line = |d: &sidevoice::base::diagnostic::Diagnostic| {
        assert!(!d.message.is_empty() && !d.help.is_empty(), "{d:?}");
        let file = sources.path(d.place.source).to_owned();
        let line = sources.position(d.place).line;
        (d.code, file, line, format!("{} / {}", d.message, d.help))
    };
    advice.iter().map(line).collect()
}
