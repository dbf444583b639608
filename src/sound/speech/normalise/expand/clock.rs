//! Times, ratios and tempo: numbers that hang together by a sign.

use crate::sound::speech::normalise::expand::Piece;
use crate::sound::speech::normalise::expand::Reader;
use crate::sound::speech::normalise::number;

impl Reader<'_> {
    /// `2-0-1-0`: the seconds of each part of a repetition; `x` is as fast as you can.
    pub fn tempo(&self, at: usize) -> Option<Piece> {
        let mut said = Vec::new();
        let mut next = at;
        loop {
            let byte = self.at(next);
            match byte {
                b'0'..=b'9' => said.push(number::spell(&self.text[next..=next], self.language)),
                b'x' | b'X' => said.push("X".to_owned()),
                _ => return None,
            }
            next += 1;
            if self.at(next) != b'-' {
                break;
            }
            next += 1;
        }
        let whole = (3..=4).contains(&said.len()) && !self.alphanumeric(next);
        whole.then(|| (said.join(" "), next))
    }

    /// `1:30` and `1:02:03` are lengths of time; `2:1` is a ratio.
    pub fn clock(&self, at: usize) -> Option<Piece> {
        let mut parts = vec![number::digits(self.bytes, at)];
        let mut next = at + parts[0].len();
        while parts.len() < 3 && self.at(next) == b':' && self.digit(next + 1) {
            let part = number::digits(self.bytes, next + 1);
            next += 1 + part.len();
            parts.push(part);
        }
        if parts.len() == 1 || parts.iter().any(|part| part.len() > 4) {
            return None;
        }
        if let Some((half, end)) = self.day(next)
            && parts.len() == 2
        {
            let l = self.language;
            let said = parts.iter().filter(|part| *part != "00").map(|part| {
                let value = part.parse().unwrap_or_default();
                (l.cardinal)(value)
            });
            let mut said: Vec<String> = said.collect();
            // "zehn Uhr dreißig", but "ten thirty AM".
            let place = if l.day_in_between { 1 } else { said.len() };
            said.insert(place.min(said.len()), half.to_owned());
            return Some((said.join(" "), end));
        }
        if self.alphanumeric(next) {
            return None;
        }
        let values: Vec<u64> = parts.iter().filter_map(|part| part.parse().ok()).collect();
        if parts[1..].iter().any(|part| part.len() != 2) {
            let said: Vec<String> = values
                .iter()
                .map(|n| (self.language.cardinal)(*n))
                .collect();
            return Some((said.join(&format!(" {} ", self.language.words.to)), next));
        }
        let l = self.language;
        let (tenths, next) = self.tenths(next);
        let units = [l.hour, l.minute, l.second];
        let said: Vec<String> = values
            .iter()
            .zip(&units[3 - values.len()..])
            .map(|(value, unit)| match &tenths {
                Some(tenths) if unit.one == l.second.one => {
                    let whole = (l.cardinal)(*value);
                    format!("{whole} {} {tenths} {}", l.words.point, unit.many)
                }
                _ if *value == 0 => String::new(),
                _ => self.counted(*value, unit),
            })
            .filter(|said| !said.is_empty())
            .collect();
        // "2:00 min" says its unit twice.
        let gap = usize::from(self.at(next) == b' ');
        let next = match self.unit(next + gap) {
            Some((unit, end)) if units.iter().any(|time| time.one == unit.one) => {
                self.past_dot(end)
            }
            _ => next,
        };
        if said.is_empty() {
            return Some((self.counted(0, &l.second), next));
        }
        Some((said.join(" "), next))
    }

    /// The tenths of a split, `2:05.3`, at `at`, and where they end.
    fn tenths(&self, at: usize) -> (Option<String>, usize) {
        let l = self.language;
        let digits = number::digits(self.bytes, at + 1);
        let end = at + 1 + digits.len();
        let point = self.at(at) == b'.' || self.at(at) == b',';
        let are_tenths = point && (1..=3).contains(&digits.len()) && self.at(end) != b':';
        match are_tenths && !self.alphanumeric(end) {
            true => (Some(number::spell(&digits, l)), end),
            false => (None, at),
        }
    }

    /// `am` or `pm` at `at`, perhaps after a space.
    pub fn day(&self, at: usize) -> Option<(&'static str, usize)> {
        let at = at + usize::from(self.at(at) == b' ');
        let rest = self.text.get(at..)?;
        self.language.day.iter().find_map(|(sign, said)| {
            let end = at + sign.len();
            let same = rest.get(..sign.len())?.eq_ignore_ascii_case(sign);
            (same && !self.alphanumeric(end)).then_some((*said, end))
        })
    }

    /// `1m30s`, `1h 5m`, `2m`: an `m` between hours and seconds, or a bare one after `h`, is
    /// minutes; alone it is metres and left to `amount`.
    pub fn span(&self, at: usize) -> Option<Piece> {
        let l = self.language;
        let mut said = Vec::new();
        let mut next = at;
        loop {
            let digits = number::digits(self.bytes, next);
            let value = digits.parse().ok()?;
            let sign = next + digits.len();
            let length = self.letters(sign);
            let unit = match &self.text[sign..sign + length] {
                "m" => l.minute,
                name if l.hour.signs.contains(&name) => l.hour,
                name if l.minute.signs.contains(&name) => l.minute,
                name if l.second.signs.contains(&name) => l.second,
                _ => break,
            };
            said.push(self.counted(value, &unit));
            next = sign + length;
            // `5m30` and `1h30`: what comes last needs no sign.
            let rest = number::digits(self.bytes, next);
            let smaller = match unit.one {
                one if one == l.minute.one => Some(l.second),
                one if one == l.hour.one => Some(l.minute),
                _ => None,
            };
            if let Some(smaller) = smaller
                && rest.len() == 2
                && !self.alphanumeric(next + 2)
            {
                said.push(self.counted(rest.parse().ok()?, &smaller));
                next += 2;
                break;
            }
            let gap = usize::from(self.at(next) == b' ');
            if !self.digit(next + gap) {
                break;
            }
            // Only go on where the next one is a time too: "20s 8 reps" are two things.
            let more = number::digits(self.bytes, next + gap);
            let sign = next + gap + more.len();
            let name = &self.text[sign..sign + self.letters(sign)];
            let times = [l.minute.signs, l.second.signs];
            if name != "m" && !times.iter().any(|signs| signs.contains(&name)) {
                break;
            }
            next += gap;
        }
        (said.len() > 1).then(|| (said.join(" "), next))
    }
}
