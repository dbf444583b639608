//! Numbers, units, signs and abbreviations in a cleaned text -> words.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::number;
use crate::sound::speech::normalise::number::Written;

/// Spells out everything that is not a word yet. Takes printable ASCII and the letters of the
/// language.
pub fn expand(text: &str, language: &Language) -> String {
    let reader = Reader {
        text,
        bytes: text.as_bytes(),
        language,
    };
    let mut out = String::with_capacity(text.len() * 2);
    let mut at = 0;
    while at < text.len() {
        let (said, next) = reader.piece(at);
        out.push_str(&said);
        at = next;
    }
    out
}

struct Reader<'a> {
    text: &'a str,
    bytes: &'a [u8],
    language: &'a Language,
}

/// What is said, and where the reading goes on.
type Piece = (String, usize);

impl Reader<'_> {
    fn piece(&self, at: usize) -> Piece {
        let byte = self.bytes[at];
        if byte.is_ascii_digit() || (byte == b'.' && self.digit(at + 1) && !self.word_before(at)) {
            let (said, next) = self.number(at);
            // Letters and digits that touch are two words: `zone2`, `3D`.
            let before = if self.word_before(at) { " " } else { "" };
            let after = if self.letter(next) { " " } else { "" };
            return (format!("{before}{said}{after}"), next);
        }
        if byte.is_ascii_alphabetic() || !byte.is_ascii() {
            return self.word(at);
        }
        let words = &self.language.words;
        let spaced = |word: &str| (format!(" {word} "), at + 1);
        match byte {
            b'-' if !self.word_before(at)
                && !self.closing_before(at)
                && (self.digit(at + 1) || (self.at(at + 1) == b'.' && self.digit(at + 2))) =>
            {
                spaced(words.minus)
            }
            b'&' => spaced(words.and),
            b'@' => spaced(words.at),
            b'+' => spaced(words.plus),
            b'=' => spaced(words.equals),
            b'~' if self.number_follows(at + 1) => spaced(words.about),
            b'<' if self.number_follows(at + 1) => spaced(words.less_than),
            b'>' if self.number_follows(at + 1) => spaced(words.more_than),
            b'#' if self.digit(at + 1) => spaced(words.number),
            b'%' => match self.unit(at) {
                Some((unit, next)) => (format!(" {} ", unit.many), next),
                None => (" ".to_owned(), at + 1),
            },
            b'/' if self.word_before(at) && self.letter(at + 1) => {
                let after = &self.text[at + 1..at + 1 + self.letters(at + 1)];
                let part = self.language.parts.contains(&after);
                spaced(if part { words.per } else { words.or })
            }
            b'/' => (", ".to_owned(), at + 1),
            // Feet and inches, minutes of an arc: only between letters is it part of a word.
            b'\'' if at > 0 && self.digit(at - 1) => (" ".to_owned(), at + 1),
            b'~' | b'<' | b'>' | b'#' | b'$' => (" ".to_owned(), at + 1),
            _ => (char::from(byte).to_string(), at + 1),
        }
    }

    fn number(&self, at: usize) -> Piece {
        self.tempo(at)
            .or_else(|| self.clock(at))
            .or_else(|| self.span(at))
            .or_else(|| self.fraction(at))
            .unwrap_or_else(|| self.amount(at))
    }

    /// `2-0-1-0`: the seconds of each part of a repetition; `x` is as fast as you can.
    fn tempo(&self, at: usize) -> Option<Piece> {
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
    fn clock(&self, at: usize) -> Option<Piece> {
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
        let units = [l.hour, l.minute, l.second];
        let said: Vec<String> = values
            .iter()
            .zip(&units[3 - values.len()..])
            .filter(|(value, _)| **value > 0)
            .map(|(value, unit)| self.counted(*value, unit))
            .collect();
        // "2:00 min" says its unit twice.
        let gap = usize::from(self.at(next) == b' ');
        let next = match self.unit(next + gap) {
            Some((unit, end)) if units.iter().any(|time| time.one == unit.one) => end,
            _ => next,
        };
        if said.is_empty() {
            return Some((self.counted(0, &l.second), next));
        }
        Some((said.join(" "), next))
    }

    /// `am` or `pm` at `at`, perhaps after a space.
    fn day(&self, at: usize) -> Option<(&'static str, usize)> {
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
    fn span(&self, at: usize) -> Option<Piece> {
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

    /// `3/4`, `1 1/2`, `8/10`.
    fn fraction(&self, at: usize) -> Option<Piece> {
        let l = self.language;
        let (first, next) = Written::read(self.bytes, at, self.language)?;
        let whole = first.value()?;
        if self.at(next) == b' ' && self.digit(next + 1) {
            let (said, end) = self.part(next + 1, true)?;
            let whole = (l.cardinal)(whole);
            return Some(self.measured(format!("{whole} {} {said}", l.words.and), false, end));
        }
        let (said, end) = self.part(at, false)?;
        Some(self.measured(said, false, end))
    }

    /// `a/b` at `at`, without what follows; `strictly` a part of one.
    fn part(&self, at: usize, strictly: bool) -> Option<Piece> {
        let l = self.language;
        let above = number::digits(self.bytes, at);
        let slash = at + above.len();
        if self.at(slash) != b'/' || !self.digit(slash + 1) {
            return None;
        }
        let below = number::digits(self.bytes, slash + 1);
        let next = slash + 1 + below.len();
        if matches!(self.at(next), b'/' | b'.') && self.digit(next + 1) {
            return None;
        }
        let (above, below): (u64, u64) = (above.parse().ok()?, below.parse().ok()?);
        if above.max(below) > 999_999 {
            return None;
        }
        let before = self.text[..at].trim_end();
        let before = &before[before.rfind(' ').map_or(0, |at| at + 1)..];
        let place = l.counted.contains(&before.to_ascii_lowercase().as_str());
        if let Some(said) = (l.fraction)(above, below).filter(|_| !place) {
            return Some((said, next));
        }
        if strictly {
            return None;
        }
        // "20/10" and "24/7" are two numbers, "7/10" and "10/10" are scores.
        let score = above < below || (above == below && below <= 10);
        let (above, below) = ((l.cardinal)(above), (l.cardinal)(below));
        let said = match score {
            true => format!("{above} {} {below}", l.words.out_of),
            false => format!("{above} {below}"),
        };
        Some((said, next))
    }

    /// A number with its ordinal ending, unit, `x` or range.
    fn amount(&self, at: usize) -> Piece {
        let l = self.language;
        let Some((written, next)) = Written::read(self.bytes, at, self.language) else {
            return (" ".to_owned(), at + 1);
        };
        let letters = &self.text[next..next + self.letters(next)];
        if l.ordinal_endings.contains(&letters)
            && let Some(value) = written.value()
        {
            return ((l.ordinal)(value, letters), next + letters.len());
        }
        let said = written.say_before(self.gender_after(next), l);
        if let Some((half, end)) = self.day(next) {
            return (format!("{said} {half}"), end);
        }
        // `3x12`, `3 x 12`, `3x`.
        let gap = usize::from(self.at(next) == b' ');
        if matches!(self.at(next + gap), b'x' | b'X') {
            let after = next + gap + 1;
            let spaces = usize::from(self.at(after) == b' ');
            if self.digit(after + spaces) {
                return (format!("{said} {} ", l.words.times), after + spaces);
            }
            if gap == 0 && !self.alphanumeric(after) {
                return (format!("{said} {}", l.words.times_alone), after);
            }
        }
        self.measured(said, written.is_one(), next)
    }

    /// Tells the gender of what a number that ends at `next` counts.
    fn gender_after(&self, next: usize) -> Option<Gender> {
        let gap = usize::from(matches!(self.at(next), b' ' | b'-'));
        if let Some((unit, _)) = self.unit(next + gap) {
            return Some(unit.gender);
        }
        let word = &self.text[next + gap..next + gap + self.letters(next + gap)];
        (self.language.gender_of)(&word.to_lowercase()).filter(|_| self.at(next) == b' ')
    }

    /// Adds the unit and the range that may follow a number which ends at `next`.
    fn measured(&self, said: String, one: bool, next: usize) -> Piece {
        let gap = usize::from(matches!(self.at(next), b' ' | b'-'));
        let adjective = self.at(next) == b'-';
        let (said, next) = match self.unit(next + gap) {
            Some((unit, end)) => {
                let rest = self.text[end..].trim_start();
                let noun = &rest[..rest.bytes().take_while(is_letter).count()];
                let noun = noun.to_ascii_lowercase();
                let describes = adjective || self.language.measured.contains(&noun.as_str());
                let name = if one || describes {
                    unit.one
                } else {
                    unit.many
                };
                (format!("{said} {name}"), end)
            }
            None => (said, next),
        };
        // A range: `8-12`, `8 - 12`, `8kg-12kg`.
        let spaces = usize::from(self.at(next) == b' ');
        if self.at(next + spaces) == b'-' {
            let after = next + spaces + 1;
            let more = usize::from(spaces == 1 && self.at(after) == b' ');
            if self.digit(after + more) && (spaces == 0 || more == 1) {
                return (format!("{said} {} ", self.language.words.to), after + more);
            }
            // `20-second`: the number is a word of its own.
            if spaces == 0 && self.letter(after) {
                return (format!("{said} "), after);
            }
        }
        (said, next)
    }

    /// A unit's sign at `at` that ends there.
    fn unit(&self, at: usize) -> Option<(&'static Unit, usize)> {
        let rest = self.text.get(at..)?;
        let mut found: Option<(&'static Unit, usize)> = None;
        for unit in self.language.units {
            for sign in unit.signs {
                let exact = rest.starts_with(sign);
                // `KG` and `Kg` too, but a single letter only as it is written.
                let same = sign.len() > 1
                    && rest
                        .get(..sign.len())
                        .is_some_and(|start| start.eq_ignore_ascii_case(sign));
                let end = at + sign.len();
                let ends = *sign == "%" || (!self.alphanumeric(end) && self.at(end) != b'\'');
                if (exact || same) && ends && found.is_none_or(|(_, longest)| end > longest) {
                    found = Some((unit, end));
                }
            }
        }
        found
    }

    fn word(&self, at: usize) -> Piece {
        let l = self.language;
        let next = at + self.letters(at);
        let word = &self.text[at..next];
        if self.word_before(at) {
            return (format!(" {word}"), next);
        }
        let dotted = l.dotted.iter().find(|(short, _)| {
            let start = self.text.get(at..at + short.len());
            start.is_some_and(|start| start.eq_ignore_ascii_case(short))
        });
        if let Some((short, long)) = dotted {
            return ((*long).to_owned(), at + short.len());
        }
        // `x 10`, `x3`.
        let gap = usize::from(self.at(next) == b' ');
        if matches!(word, "x" | "X") && self.digit(next + gap) && at > 0 {
            return (format!("{} ", l.words.times), next + gap);
        }
        if let Some((said, end)) = self.side(at, next) {
            return (said, end);
        }
        let possessive = self.text[next..].starts_with("'s");
        let touched =
            (self.at(next) == b'\'' && !possessive) || (at > 0 && self.at(at - 1) == b'\'');
        match l.abbreviations.iter().find(|(short, _)| *short == word) {
            Some((_, long)) if !touched => {
                // The dot of an abbreviation is not a stop, unless the sentence ends there.
                let dot = self.at(next) == b'.' && self.at(next + 1) == b' ' && {
                    self.at(next + 2).is_ascii_lowercase()
                };
                ((*long).to_owned(), next + usize::from(dot))
            }
            _ => (word.to_owned(), next),
        }
    }

    /// A letter that stands for a side: before a part of the body, or alone between marks.
    fn side(&self, at: usize, next: usize) -> Option<Piece> {
        let l = self.language;
        let name = |from: usize, to: usize| {
            let word = self.text.get(from..to)?;
            l.sides.iter().find(|(short, _)| *short == word)
        };
        let (_, side) = name(at, next)?;
        if self.at(next) == b'/'
            && let end = next + 1 + self.letters(next + 1)
            && let Some((_, other)) = name(next + 1, end)
        {
            return Some((format!("{side} {} {other}", l.words.and), end));
        }
        let rest = self.text[next..].trim_start();
        let following = &rest[..rest.bytes().take_while(is_letter).count()];
        let before = self.text[..at].trim_end().bytes().next_back();
        let alone = before.is_none_or(|byte| b"(,:;-.".contains(&byte))
            && rest
                .bytes()
                .next()
                .is_none_or(|byte| b"),.;:!?".contains(&byte));
        let part = l.parts.contains(&following.to_ascii_lowercase().as_str());
        (alone || part).then(|| ((*side).to_owned(), next))
    }

    fn counted(&self, value: u64, unit: &Unit) -> String {
        let name = if value == 1 { unit.one } else { unit.many };
        format!("{} {name}", (self.language.before)(value, unit.gender))
    }

    fn at(&self, at: usize) -> u8 {
        self.bytes.get(at).copied().unwrap_or(0)
    }

    fn digit(&self, at: usize) -> bool {
        self.at(at).is_ascii_digit()
    }

    fn letter(&self, at: usize) -> bool {
        is_letter(&self.at(at))
    }

    fn alphanumeric(&self, at: usize) -> bool {
        self.digit(at) || self.letter(at)
    }

    fn letters(&self, at: usize) -> usize {
        (at..self.bytes.len())
            .take_while(|index| self.letter(*index))
            .count()
    }

    fn word_before(&self, at: usize) -> bool {
        at > 0 && self.alphanumeric(at - 1)
    }

    fn closing_before(&self, at: usize) -> bool {
        at > 0 && matches!(self.at(at - 1), b')' | b'%')
    }

    fn number_follows(&self, at: usize) -> bool {
        self.digit(at + usize::from(self.at(at) == b' '))
    }
}

fn is_letter(byte: &u8) -> bool {
    byte.is_ascii_alphabetic() || !byte.is_ascii()
}
