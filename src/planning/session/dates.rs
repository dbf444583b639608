//! When a session takes place, as its file says: a date and a time of day in a zone, once or again and again.
//!
//! Dates are read as the calendar has them; which instant that is, a zone knows, and no zone is read here.

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::short;
use jiff::civil::Date;
use jiff::civil::DateTime;
use jiff::civil::Weekday;

/// The key of a session that says so.
const KEY: &str = "when";
/// The most times that a session is repeated, and the most days on which it is not.
const MOST_TIMES: i64 = 1000;
const MOST_EXCEPT: usize = 100;

/// When a session takes place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dates {
    /// The first time, by the clocks of the zone.
    pub first: DateTime,
    /// The zone by its name in the IANA database: `Europe/Lisbon`.
    pub zone: Located<String>,
    pub repeats: Option<Repeats>,
    /// On weekly ones, the days; none for that of the first time.
    pub on: Vec<Weekday>,
    pub ends: Option<Ends>,
    /// The days on which it is left out.
    pub except: Vec<Date>,
}

impl Dates {
    /// Returns whether a day is one of those on which it comes again, left out or not; of what ends after so many
    /// times, as if it went on.
    fn comes_on(&self, day: Date) -> bool {
        let first = self.first.date();
        if day < first || matches!(self.ends, Some(Ends::Until(last)) if day > last) {
            return false;
        }
        let of_the_week = || match self.on[..] {
            [] => day.weekday() == first.weekday(),
            _ => self.on.contains(&day.weekday()),
        };
        match self.repeats {
            None => day == first,
            Some(Repeats::Daily) => true,
            Some(Repeats::Weekly) => of_the_week(),
            Some(Repeats::Fortnightly) => of_the_week() && (week(day) - week(first)) % 2 == 0,
            Some(Repeats::Monthly) => day.day() == first.day(),
        }
    }
}

/// The number of a week, which begins on a Monday (ISO 8601; the usual one of RFC 5545, 3.3.10).
fn week(day: Date) -> i64 {
    let days = day.duration_since(Date::constant(1970, 1, 5)).as_hours() / 24;
    days.div_euclid(7)
}

/// How often a session comes again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Repeats {
    Daily,
    Weekly,
    /// Every other week.
    Fortnightly,
    /// On the same day of each month.
    Monthly,
}

/// Where repetitions end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// The last day on which it may take place.
    Until(Date),
    /// After so many times in all.
    Times(i64),
}

const REPEATS: [(&str, Repeats); 4] = [
    ("daily", Repeats::Daily),
    ("weekly", Repeats::Weekly),
    ("fortnightly", Repeats::Fortnightly),
    ("monthly", Repeats::Monthly),
];

const DAYS: [(&str, Weekday); 7] = [
    ("monday", Weekday::Monday),
    ("tuesday", Weekday::Tuesday),
    ("wednesday", Weekday::Wednesday),
    ("thursday", Weekday::Thursday),
    ("friday", Weekday::Friday),
    ("saturday", Weekday::Saturday),
    ("sunday", Weekday::Sunday),
];

/// Reads when a session takes place, if it says; its faults are told.
pub(super) fn read(top: &mut Table) -> Option<Dates> {
    let mut table = top.get(KEY)?.table("table of dates")?;
    let first = table.need("first", "\"2026-12-01 18:30\"");
    let zone = table.need("zone", "\"Europe/Lisbon\"").and_then(zone);
    // A word that is at fault is told, and not that there is none.
    let once = !table.has("repeats");
    let repeats = table.word("repeats", &REPEATS).map(|r| r.value);
    let on = table.get("on");
    let until = table.get("until");
    let count = table.get("times");
    let times = table.number("times", 1..=MOST_TIMES);
    let except = table.get("except");
    table.finish();
    let first = first.and_then(|item| date_time(item).map(|first| (item, first)));
    let days = on.map_or(Vec::new(), days);
    let last = until.and_then(|item| date(item).map(|date| (item, date)));
    let days_off = except.map_or(Vec::new(), days_off);
    let again = [on, until, count, except].into_iter().flatten().next();
    if let (Some(item), true) = (again, once) {
        let message = "expected `repeats` beside it, found none";
        contradicts(
            item,
            message,
            "write `repeats = \"weekly\"`, or take it out",
        );
    }
    if let (Some(on), Some(repeats)) = (on, repeats)
        && !matches!(repeats, Repeats::Weekly | Repeats::Fortnightly)
    {
        let message = "expected no days: they are for what comes weekly or fortnightly";
        contradicts(
            on,
            message,
            "take `on` out, or write `repeats = \"weekly\"`",
        );
    }
    let (item, first) = first?;
    if !days.is_empty() && !days.contains(&first.weekday()) {
        let message = format!(
            "expected the first time on one of the days of `on`, found a {}",
            name(first.weekday())
        );
        contradicts(
            item,
            &message,
            "begin on one of those days, or add this one",
        );
    }
    if let Some((until, last)) = last {
        if times.is_some() {
            let message = "expected one of `until` and `times`, found both";
            contradicts(until, message, "take one of the two out");
        }
        if last < first.date() {
            let message = "expected the last day after the first time, found it before";
            contradicts(until, message, "is it the year?");
        }
    }
    if repeats == Some(Repeats::Monthly) && first.day() > 28 {
        let message = format!(
            "expected a day that each month has, found the {}, which shorter months leave out",
            match first.day() {
                31 => "31st",
                30 => "30th",
                _ => "29th",
            }
        );
        let help =
            "calendars leave these months out: begin on the 28th or before, if each month is meant";
        item.push(Diagnostic::warning(Code::WhenInvalid, item.place, message).help(help));
    }
    let until = last.map(|(_, last)| Ends::Until(last));
    let dates = Dates {
        first,
        zone: zone?,
        repeats,
        on: days,
        ends: until.or(times
            .filter(|_| repeats.is_some())
            .map(|t| Ends::Times(t.value))),
        except: days_off.iter().map(|(_, day)| *day).collect(),
    };
    for (item, day) in &days_off {
        if repeats.is_some() && !dates.comes_on(*day) {
            let message = format!(
                "expected a day on which it takes place, found {day}, a {}",
                name(day.weekday())
            );
            let help =
                "it is not left out, for it is none of the days: is it the month, or the year?";
            item.push(Diagnostic::warning(Code::WhenInvalid, item.place, message).help(help));
        }
    }
    Some(dates)
}

fn name(weekday: Weekday) -> &'static str {
    let found = DAYS.iter().find(|(_, day)| *day == weekday);
    found.map_or("", |(word, _)| word)
}

fn contradicts(item: Item, message: &str, help: &str) {
    item.fault(Code::WhenInvalid, message.to_owned(), help);
}

/// Reads the name of a zone; whether there is such a zone is seen where zones are read.
fn zone(item: Item) -> Option<Located<String>> {
    let text = item.text()?;
    let plain = |c: char| c.is_ascii_alphanumeric() || "/_+-".contains(c);
    if text.value.is_empty() || text.value.len() > 60 || !text.value.chars().all(plain) {
        item.fault(
            Code::ZoneUnknown,
            format!("expected a time zone such as \"Europe/Lisbon\", found \"{}\"", short(&text.value)),
            "write its name in the IANA database: a continent and a city, as most systems list them",
        );
        return None;
    }
    Some(text)
}

fn date_time(item: Item) -> Option<DateTime> {
    let text = item.text()?.value;
    let (date, time) = text.split_once([' ', 'T']).unwrap_or((&text, ""));
    // Hours and minutes; seconds are read too, for those who write them.
    let read = DateTime::strptime("%Y-%m-%d %H:%M", format!("{date} {time}"))
        .or_else(|_| DateTime::strptime("%Y-%m-%d %H:%M:%S", format!("{date} {time}")));
    let read = read.ok().filter(|at| is_near(at.date()));
    if read.is_none() {
        invalid(
            item,
            "a date and a time of day such as \"2026-12-01 18:30\"",
            &text,
        );
    }
    read
}

fn date(item: Item) -> Option<Date> {
    let text = item.text()?.value;
    let read = Date::strptime("%Y-%m-%d", &text).ok();
    let read = read.filter(|date| is_near(*date));
    if read.is_none() {
        invalid(item, "a date such as \"2027-03-30\"", &text);
    }
    read
}

/// Whether a date may be meant: what lies outside is a slip, and what zones do there nobody knows.
fn is_near(date: Date) -> bool {
    (1970..=2199).contains(&date.year())
}

fn invalid(item: Item, expected: &str, found: &str) {
    let message = format!("expected {expected}, found \"{}\"", short(found));
    let help = "write year, month and day with hyphens, and hours and minutes of a day of 24 hours";
    item.fault(Code::DateInvalid, message, help);
}

fn days(item: Item) -> Vec<Weekday> {
    let words = item.items();
    let days = words.iter().filter_map(|word| word.word(&DAYS));
    let mut days: Vec<_> = days.map(|day| day.value).collect();
    if words.is_empty() && item.is_list() {
        let message = "expected at least one day, found none".to_owned();
        item.fault(
            Code::ListEmpty,
            message,
            "take `on` out: it is the day of the first time then",
        );
    }
    days.sort_by_key(|day| day.to_monday_zero_offset());
    days.dedup();
    days
}

fn days_off(item: Item<'_>) -> Vec<(Item<'_>, Date)> {
    let dates = item.items();
    if dates.len() > MOST_EXCEPT {
        let message = format!("expected at most {MOST_EXCEPT} days, found {}", dates.len());
        item.fault(
            Code::ListTooLong,
            message,
            "end it by `until`, and begin it anew",
        );
    }
    let read = dates.into_iter().filter_map(|one| Some((one, date(one)?)));
    read.collect()
}
