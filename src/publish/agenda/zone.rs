//! A time zone as a calendar carries it: when its clocks change, by a rule where there is one.

use super::Lines;
use super::day_code;
use super::local;
use jiff::civil::DateTime;
use jiff::tz::Offset;
use jiff::tz::TimeZone;

/// How many years of changes are looked at; those of a zone without a rule are listed for so long.
const YEARS: i16 = 20;

/// A change of the clocks.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Change {
    /// What the clocks show when they are changed.
    at: DateTime,
    from: Offset,
    to: Offset,
    summer: bool,
    name: String,
}

/// Writes the zone of this name as it is from a time on.
pub fn write(name: &str, zone: &TimeZone, since: DateTime, out: &mut Lines) {
    out.add("BEGIN", "VTIMEZONE");
    out.add("TZID", name);
    let changes = changes(zone, since);
    let of = |summer: bool| -> Vec<&Change> {
        let all = changes.iter().filter(|change| change.summer == summer);
        all.collect()
    };
    let (summer, winter) = (of(true), of(false));
    match (rule(&summer), rule(&winter)) {
        (Some(to_summer), Some(to_winter)) => {
            observance(summer[0], Some(&to_summer), out);
            observance(winter[0], Some(&to_winter), out);
        }
        _ => changes
            .iter()
            .for_each(|change| observance(change, None, out)),
    }
    out.add("END", "VTIMEZONE");
}

/// Lists what changes from a year before a time on, with what holds until then.
fn changes(zone: &TimeZone, since: DateTime) -> Vec<Change> {
    let year = since.date().year();
    let start = jiff::civil::date(year - 1, 1, 1).at(0, 0, 0, 0);
    let Ok(start) = zone.to_ambiguous_timestamp(start).compatible() else {
        return Vec::new();
    };
    let before = zone.to_offset_info(start);
    let mut all = vec![Change {
        at: zone.to_datetime(start),
        from: before.offset(),
        to: before.offset(),
        summer: before.dst().is_dst(),
        name: before.abbreviation().to_owned(),
    }];
    let mut from = before.offset();
    for change in zone.following(start) {
        let at = from.to_datetime(change.timestamp());
        if at.date().year() >= year + YEARS {
            break;
        }
        // A database may end its list with a change that changes nothing.
        if all.last().is_some_and(|before| {
            before.to == change.offset()
                && before.summer == change.dst().is_dst()
                && before.name == change.abbreviation()
        }) {
            continue;
        }
        all.push(Change {
            at,
            from,
            to: change.offset(),
            summer: change.dst().is_dst(),
            name: change.abbreviation().to_owned(),
        });
        from = change.offset();
    }
    // What holds at first is only needed where nothing changes in the year before.
    if all.get(1).is_some_and(|next| next.at.date().year() < year) {
        all.remove(0);
    }
    all
}

/// Returns the rule by which changes come, if there is one in all the years: a weekday of a month, counted from the
/// month's beginning or its end.
fn rule(changes: &[&Change]) -> Option<String> {
    let first = changes.first()?;
    let date = first.at.date();
    let years = changes.iter().map(|c| c.at.date().year());
    let each_year = years.zip(date.year()..).all(|(found, year)| found == year);
    let same = changes.iter().all(|change| {
        let at = change.at;
        at.time() == first.at.time()
            && at.date().month() == date.month()
            && at.date().weekday() == date.weekday()
            && (change.from, change.to) == (first.from, first.to)
    });
    if !each_year || !same || changes.len() < usize::from(YEARS.unsigned_abs()) {
        return None;
    }
    let from_start = |c: &&Change| (c.at.date().day() - 1) / 7 + 1;
    let is_last = |c: &&Change| c.at.date().day() + 7 > c.at.date().days_in_month();
    let nth = match changes.iter().all(is_last) {
        true => -1,
        false => {
            let nth = from_start(first);
            changes
                .iter()
                .all(|c| from_start(c) == nth)
                .then_some(nth)?
        }
    };
    let (month, day) = (date.month(), day_code(date.weekday()));
    Some(format!("FREQ=YEARLY;BYMONTH={month};BYDAY={nth}{day}"))
}

fn observance(change: &Change, rule: Option<&str>, out: &mut Lines) {
    let kind = if change.summer {
        "DAYLIGHT"
    } else {
        "STANDARD"
    };
    out.add("BEGIN", kind);
    out.add("DTSTART", &local(change.at));
    out.add("TZOFFSETFROM", &offset(change.from));
    out.add("TZOFFSETTO", &offset(change.to));
    out.add_text("TZNAME", &change.name);
    if let Some(rule) = rule {
        out.add("RRULE", rule);
    }
    out.add("END", kind);
}

/// Writes what the clocks are ahead of UTC; seconds only where there are any.
fn offset(offset: Offset) -> String {
    let seconds = offset.seconds();
    let sign = if seconds < 0 { '-' } else { '+' };
    let all = seconds.unsigned_abs();
    let (hours, minutes, rest) = (all / 3600, all / 60 % 60, all % 60);
    match rest {
        0 => format!("{sign}{hours:02}{minutes:02}"),
        _ => format!("{sign}{hours:02}{minutes:02}{rest:02}"),
    }
}
