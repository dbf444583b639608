//! When sessions take place, as a calendar that other programs read (iCalendar, RFC 5545).

mod text;
mod zone;

use crate::base::units::Millis;
use crate::planning::session::Dates;
use crate::planning::session::Ends;
use crate::planning::session::Repeats;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::civil::Time;
use jiff::civil::Weekday;
use jiff::tz::TimeZone;
use sha2::Digest;
use sha2::Sha256;
use std::collections::BTreeMap;
use text::Lines;

/// A session that has a place in the calendar.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// What it is known by, and the folder it lies in: together they make it the same one when it is read again.
    pub id: &'a str,
    pub folder: &'a str,
    pub title: &'a str,
    /// What it consists of and what to have ready, a sentence each.
    pub about: Vec<String>,
    pub length: Millis,
    pub dates: &'a Dates,
    pub zone: TimeZone,
    /// When its file was last changed.
    pub changed: Timestamp,
}

impl Entry<'_> {
    /// Returns the name of its zone as the list of zones spells it.
    fn zone_name(&self) -> &str {
        let listed = self.zone.iana_name();
        listed.unwrap_or(&self.dates.zone.value)
    }
}

/// Writes sessions as a calendar. RFC 5545 asks for at least one.
pub fn agenda(entries: &[Entry]) -> String {
    let mut out = Lines::default();
    out.add("BEGIN", "VCALENDAR");
    out.add("VERSION", "2.0");
    out.add("PRODID", "-//sidevoice//agenda//EN");
    // The zones, each once, from the first time that it is needed for.
    let mut zones: BTreeMap<&str, (&TimeZone, DateTime)> = BTreeMap::new();
    for entry in entries {
        let (name, first) = (entry.zone_name(), entry.dates.first);
        let known = zones.entry(name).or_insert((&entry.zone, first));
        known.1 = known.1.min(first);
    }
    for (name, (zone, since)) in zones {
        zone::write(name, zone, since, &mut out);
    }
    for entry in entries {
        event(entry, &mut out);
    }
    out.add("END", "VCALENDAR");
    out.finish()
}

fn event(entry: &Entry, out: &mut Lines) {
    let dates = entry.dates;
    let zone = format!(";TZID={}", entry.zone_name());
    out.add("BEGIN", "VEVENT");
    out.add("UID", &uid(entry));
    out.add("DTSTAMP", &in_utc(entry.changed));
    out.add(&format!("DTSTART{zone}"), &local(dates.first));
    // Whole minutes, rounded up: nobody leaves before the end.
    let minutes = (entry.length.ms() + 59_999) / 60_000;
    out.add("DURATION", &format!("PT{}M", minutes.max(1)));
    out.add_text("SUMMARY", entry.title);
    if !entry.about.is_empty() {
        out.add_text("DESCRIPTION", &entry.about.join("\n"));
    }
    if let Some(repeats) = dates.repeats {
        out.add("RRULE", &rule(dates, repeats, &entry.zone));
        let time = dates.first.time();
        for day in &dates.except {
            out.add(&format!("EXDATE{zone}"), &local(day.to_datetime(time)));
        }
    }
    out.add("END", "VEVENT");
}

/// The same session is the same event, whenever and wherever the calendar is written.
fn uid(entry: &Entry) -> String {
    let digest = Sha256::digest(format!("{}\n{}", entry.folder, entry.id));
    let hex: Vec<_> = digest
        .iter()
        .take(16)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    format!("{}@sidevoice", hex.concat())
}

fn rule(dates: &Dates, repeats: Repeats, zone: &TimeZone) -> String {
    let mut rule = match repeats {
        Repeats::Daily => "FREQ=DAILY".to_owned(),
        Repeats::Weekly => "FREQ=WEEKLY".to_owned(),
        Repeats::Fortnightly => "FREQ=WEEKLY;INTERVAL=2".to_owned(),
        Repeats::Monthly => "FREQ=MONTHLY".to_owned(),
    };
    if !dates.on.is_empty() {
        let days: Vec<_> = dates.on.iter().map(|day| day_code(*day)).collect();
        rule += &format!(";BYDAY={}", days.join(","));
    }
    match dates.ends {
        None => {}
        Some(Ends::Times(times)) => rule += &format!(";COUNT={times}"),
        Some(Ends::Until(last)) => {
            // In UTC where the start has a zone (RFC 5545, 3.3.10): the end of that day there.
            let end = last.to_datetime(Time::constant(23, 59, 59, 0));
            // A day that a zone leaves out or has twice still ends.
            let end = zone.to_ambiguous_timestamp(end).compatible();
            if let Ok(end) = end {
                rule += &format!(";UNTIL={}", in_utc(end));
            }
        }
    }
    rule
}

fn day_code(day: Weekday) -> &'static str {
    match day {
        Weekday::Monday => "MO",
        Weekday::Tuesday => "TU",
        Weekday::Wednesday => "WE",
        Weekday::Thursday => "TH",
        Weekday::Friday => "FR",
        Weekday::Saturday => "SA",
        Weekday::Sunday => "SU",
    }
}

fn local(at: DateTime) -> String {
    at.strftime("%Y%m%dT%H%M%S").to_string()
}

fn in_utc(at: Timestamp) -> String {
    format!("{}Z", local(TimeZone::UTC.to_datetime(at)))
}
