//! Durations and tempos as the files write them: `20s`, `1m30s`, `2-0-1-0`.

use super::Tempo;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::short;
use crate::base::units::Millis;
use std::ops::RangeInclusive;

/// A work lasts at least a second (a start tone and an end tone) and at most four hours.
pub const WORK: RangeInclusive<Millis> = Millis::from_secs(1)..=Millis::from_secs(4 * 3600);
/// A rest is absent, or at least a second and at most an hour.
pub const REST: RangeInclusive<Millis> = Millis::from_secs(1)..=Millis::from_secs(3600);
/// From one work to the next: a repetition and a second of rest at least, four hours at most.
pub const EVERY: RangeInclusive<Millis> = Millis::from_secs(2)..=Millis::from_secs(4 * 3600);
/// A lead-in holds at least the first name and the count; ten minutes are beyond any opening.
pub const LEAD_IN: RangeInclusive<Millis> = Millis::from_secs(10)..=Millis::from_secs(600);
/// A finish holds at least the putting down.
pub const FINISH: RangeInclusive<Millis> = Millis::from_secs(5)..=Millis::from_secs(600);

/// Reads a duration within limits.
pub fn read(item: Item, limits: &RangeInclusive<Millis>) -> Option<Located<Millis>> {
    if !item.is_text() {
        item.wrong_type("a duration such as \"20s\"");
        return None;
    }
    let text = item.text()?.value;
    match parse(&text) {
        Err(help) => {
            let message = format!(
                "expected a duration such as \"20s\", found \"{}\"",
                short(&text)
            );
            item.fault(Code::DurationInvalid, message, help);
            None
        }
        Ok(length) if limits.contains(&length) => Some(Located::new(length, item.place)),
        Ok(length) => {
            let (low, high) = (*limits.start(), *limits.end());
            let message = format!("expected a duration from {low} to {high}, found {length}");
            let help = if length < low && *limits == REST {
                format!("leave it out for no rest at all, or give it at least {low}")
            } else if length < low {
                format!("give it at least {low}")
            } else {
                format!("give it at most {high}")
            };
            item.fault(Code::DurationOutside, message, help);
            None
        }
    }
}

/// Reads a rest: a duration, or "0s" for none.
pub fn read_rest(item: Item) -> Option<Located<Millis>> {
    if item.is_text() && parse(&item.text()?.value) == Ok(Millis::ZERO) {
        return Some(Located::new(Millis::ZERO, item.place));
    }
    read(item, &REST)
}

const UNITS: [(&str, i64); 4] = [("h", 3_600_000), ("m", 60_000), ("s", 1000), ("ms", 1)];

/// Parses a duration: whole numbers with units, from the largest to the smallest.
fn parse(text: &str) -> Result<Millis, String> {
    let bare = text.trim();
    if !bare.is_empty() && bare.chars().all(|c| c.is_ascii_digit()) {
        return Err(format!(
            "say what it counts: \"{bare}s\" for seconds, \"{bare}m\" for minutes"
        ));
    }
    let general =
        || "write whole numbers with units: \"20s\", \"1m30s\", \"2m\", \"1h\"".to_owned();
    let mut total: i64 = 0;
    let mut rest = bare;
    let mut next_unit = 0;
    while !rest.is_empty() {
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (number, from) = rest.split_at(digits);
        let letters = from.len()
            - from
                .trim_start_matches(|c: char| c.is_ascii_alphabetic())
                .len();
        let (name, after) = from.split_at(letters);
        let unit = (next_unit..UNITS.len())
            .find(|at| UNITS[*at].0 == name)
            .ok_or_else(general)?;
        let number: i64 = number.parse().map_err(|_| general())?;
        total = number
            .checked_mul(UNITS[unit].1)
            .and_then(|ms| total.checked_add(ms))
            .ok_or_else(|| "that is longer than anybody's life".to_owned())?;
        next_unit = unit + 1;
        rest = after;
    }
    if bare.is_empty() {
        return Err(general());
    }
    Ok(Millis::from_ms(total))
}

/// Reads a tempo: eccentric, pause, concentric, pause, in whole seconds; `X` is as fast as
/// possible.
pub fn read_tempo(item: Item) -> Option<Tempo> {
    let text = item.text()?.value;
    let phases: Vec<_> = text
        .split(['-', '/'])
        .map(|phase| match phase.trim() {
            "X" | "x" => Some(None),
            digits => digits.parse::<u8>().ok().filter(|s| *s <= 60).map(Some),
        })
        .collect();
    let tempo = match phases[..] {
        [Some(eccentric), Some(low), Some(concentric), Some(high)] => Tempo {
            eccentric,
            pause_after_eccentric: low,
            concentric,
            pause_after_concentric: high,
        },
        _ => {
            item.fault(
                Code::TempoInvalid,
                format!(
                    "expected a tempo of four phases such as \"2-0-1-0\", found \"{}\"",
                    short(&text)
                ),
                "lowering, pause, effort, pause, each in seconds up to 60; X for as fast as possible",
            );
            return None;
        }
    };
    if tempo.length() == Millis::ZERO {
        item.fault(
            Code::TempoInvalid,
            "expected a repetition that takes time, found 0-0-0-0".to_owned(),
            "give the effort at least a second: \"0-0-1-0\"",
        );
        return None;
    }
    Some(tempo)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_are_whole_numbers_with_units_from_large_to_small() {
        assert_eq!(parse("20s"), Ok(Millis::from_secs(20)));
        assert_eq!(parse("1m30s"), Ok(Millis::from_secs(90)));
        assert_eq!(parse("1h2m3s4ms"), Ok(Millis::from_ms(3_723_004)));
        assert_eq!(parse("0s"), Ok(Millis::ZERO));
        for bad in [
            "",
            "s",
            "30s1m",
            "-5s",
            "1.5s",
            "20 s",
            "20sec",
            "9999999999999999h",
            "1m1m",
        ] {
            assert!(parse(bad).is_err(), "{bad}");
        }
        assert!(parse("90").unwrap_err().contains("\"90s\""));
    }
}
