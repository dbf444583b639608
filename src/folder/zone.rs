//! Looks at the time zone that a session names: whether there is one of this name, and its time there.

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::short;
use crate::planning::session::SessionText;
use jiff::tz::AmbiguousOffset;
use jiff::tz::TimeZone;

/// A zone that each list of zones has.
const KNOWN: &str = "Europe/Lisbon";

/// Returns what there is to say of the zone of a session, and of its time there. A class is never kept by it: this
/// is a warning, and none where this machine knows no zones.
pub(super) fn look(text: &SessionText) -> Option<Diagnostic> {
    let dates = text.dates.as_ref()?;
    let zone = &dates.zone;
    if let Ok(known) = TimeZone::get(&zone.value) {
        let message = match known.to_ambiguous_timestamp(dates.first).offset() {
            AmbiguousOffset::Unambiguous { .. } => return None,
            AmbiguousOffset::Gap { .. } => "does not exist",
            AmbiguousOffset::Fold { .. } => "comes twice",
        };
        let message = format!(
            "expected a time that there is once, found {}, which {message} in {}: the clocks are changed then",
            dates.first.strftime("%Y-%m-%d %H:%M"),
            zone.value
        );
        return Some(
            Diagnostic::warning(Code::WhenInvalid, zone.place, message)
                .help("take an hour earlier or later: calendars do not agree on what is meant"),
        );
    }
    if TimeZone::get(KNOWN).is_err() {
        return None;
    }
    let message = format!(
        "expected the name of a time zone, found \"{}\"",
        short(&zone.value)
    );
    let all: Vec<String> = jiff::tz::db()
        .available()
        .map(|name| name.to_string())
        .collect();
    let help = match nearest(&zone.value, all.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!("write its name in the IANA database, such as \"{KNOWN}\""),
    };
    Some(Diagnostic::warning(Code::ZoneUnknown, zone.place, message).help(help))
}
