//! Lines of iCalendar: folded at 75 bytes, texts escaped (RFC 5545, 3.1 and 3.3.11).

/// The most bytes of a line, without its end.
const LONGEST: usize = 75;

/// Lines in the making.
#[derive(Debug, Default)]
pub struct Lines {
    text: String,
}

impl Lines {
    /// Adds a property whose value is no text.
    pub fn add(&mut self, name: &str, value: &str) {
        let mut room = LONGEST;
        for c in format!("{name}:{value}").chars() {
            if c.len_utf8() > room {
                // What goes on begins with a space, which counts.
                self.text += "\r\n ";
                room = LONGEST - 1;
            }
            self.text.push(c);
            room -= c.len_utf8();
        }
        self.text += "\r\n";
    }

    /// Adds a property whose value is a text.
    pub fn add_text(&mut self, name: &str, text: &str) {
        let mut value = String::new();
        // A line ends where any system ends it.
        for c in text.replace("\r\n", "\n").chars() {
            match c {
                '\\' | ';' | ',' => value.extend(['\\', c]),
                '\n' | '\r' | '\u{2028}' | '\u{2029}' => value += "\\n",
                c if c.is_control() => value.push(' '),
                c => value.push(c),
            }
        }
        self.add(name, &value);
    }

    /// Returns the text.
    pub fn finish(self) -> String {
        self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_folded_between_characters_and_texts_are_escaped() {
        let mut lines = Lines::default();
        lines.add_text("SUMMARY", &format!("a;b,c\\d\r\ne{}", "ü".repeat(60)));
        let text = lines.finish();
        assert!(
            text.starts_with("SUMMARY:a\\;b\\,c\\\\d\\ne\u{fc}"),
            "{text}"
        );
        assert!(
            text.split("\r\n").all(|line| line.len() <= LONGEST),
            "{text}"
        );
        assert_eq!(text.replace("\r\n ", "").matches('ü').count(), 60);
    }
}
