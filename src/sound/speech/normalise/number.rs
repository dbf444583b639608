//! Written numbers: reading one from a text, and saying it.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;

/// Above this a number is read digit by digit: nobody follows it as words.
const LARGEST: u64 = 999_999_999_999;

/// A number as it was written, without what sets off thousands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    whole: String,
    decimals: Option<String>,
}

impl Written {
    /// Reads a number at `at`: digits, thousands set off, decimals. Returns it and
    /// where it ends.
    pub fn read(bytes: &[u8], at: usize, language: &Language) -> Option<(Written, usize)> {
        let mut whole = digits(bytes, at);
        let mut end = at + whole.len();
        if (1..=3).contains(&whole.len()) {
            let sign = match bytes.get(end) {
                Some(b' ') if language.spaced_thousands => b' ',
                _ => language.thousands,
            };
            while bytes.get(end) == Some(&sign) {
                let group = digits(bytes, end + 1);
                if group.len() != 3 || (sign == b' ' && !goes_on(&whole, &group)) {
                    break;
                }
                whole.push_str(&group);
                end += 4;
            }
        }
        let decimals = match bytes.get(end) {
            // A point is read as one where a comma is usual, too: many write it.
            Some(b'.') => digits(bytes, end + 1),
            Some(sign) if *sign == language.decimal => digits(bytes, end + 1),
            _ => String::new(),
        };
        if whole.is_empty() && decimals.is_empty() {
            return None;
        }
        if decimals.is_empty() {
            return Some((
                Written {
                    whole,
                    decimals: None,
                },
                end,
            ));
        }
        end += 1 + decimals.len();
        let decimals = Some(decimals);
        Some((Written { whole, decimals }, end))
    }

    /// Returns the value of a whole number that is said as one; `None` for decimals, leading
    /// zeros and very long ones.
    pub fn value(&self) -> Option<u64> {
        if self.decimals.is_some() || (self.whole.len() > 1 && self.whole.starts_with('0')) {
            return None;
        }
        self.whole.parse().ok().filter(|value| *value <= LARGEST)
    }

    /// Tells whether the unit after it is singular.
    pub fn is_one(&self) -> bool {
        self.decimals.is_none() && self.whole == "1"
    }

    /// Says the number before a noun of a gender.
    pub fn say_before(&self, gender: Option<Gender>, language: &Language) -> String {
        match (gender, self.value()) {
            (Some(gender), Some(value)) => (language.before)(value, gender),
            _ => self.say(language),
        }
    }

    /// Says the number.
    pub fn say(&self, language: &Language) -> String {
        let whole = match (&self.decimals, self.whole.as_str()) {
            (Some(_), "") => (language.cardinal)(0),
            (Some(_), whole) => Written {
                whole: whole.to_owned(),
                decimals: None,
            }
            .say(language),
            (None, whole) => match self.value() {
                Some(value) => (language.cardinal)(value),
                None => spell(whole, language),
            },
        };
        match &self.decimals {
            Some(decimals) => {
                let decimals = spell(decimals, language);
                format!("{whole} {} {decimals}", language.words.point)
            }
            None => whole,
        }
    }
}

/// Whether a group after a space belongs to the number before it: `100 200` is a row of two.
fn goes_on(before: &str, group: &str) -> bool {
    !before.starts_with('0') && (before.len() != 3 || group.starts_with('0'))
}

/// Says each digit.
pub fn spell(digits: &str, language: &Language) -> String {
    let names: Vec<&str> = digits
        .bytes()
        .filter(u8::is_ascii_digit)
        .map(|digit| language.digits[usize::from(digit - b'0')])
        .collect();
    names.join(" ")
}

/// The digits at `at`, perhaps none.
pub fn digits(bytes: &[u8], at: usize) -> String {
    bytes
        .iter()
        .skip(at)
        .take_while(|byte| byte.is_ascii_digit())
        .map(|byte| char::from(*byte))
        .collect()
}
