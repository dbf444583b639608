//! Texts in rows of a width that is known only about: nobody knows which letters a reader's system has.

use super::draw::Of;
use super::draw::POINT_MM;

/// Letters, as far as a layout needs to know them.
pub trait Letters {
    /// Returns how wide a text is, in units of its size.
    fn width(&self, text: &str, bold: bool) -> f32;
}

/// Sans-serif letters that might be any: widths as of the wide ones among those that systems have.
pub struct AnySans;

impl Letters for AnySans {
    fn width(&self, text: &str, bold: bool) -> f32 {
        let width: f32 = text.chars().map(about).sum();
        width * if bold { 1.1 } else { 1.0 }
    }
}

/// Widths in groups, measured on DejaVu Sans, which is wider than most, and rounded up.
fn about(c: char) -> f32 {
    match c {
        'i' | 'j' | 'l' | 'I' | '\'' | '|' | 'í' | 'ì' | 'î' | 'ï' => 0.3,
        ' ' | '.' | ',' | ':' | ';' => 0.33,
        'f' | 't' | 'r' | '(' | ')' | '-' | '!' | '/' | '[' | ']' | '"' => 0.41,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | 'æ' | 'œ' => 0.98,
        'A'..='Z' | 'Ä' | 'Ö' | 'Ü' => 0.75,
        'a'..='z' | '0'..='9' | '\u{a1}'..='\u{24f}' => 0.64,
        '\u{300}'..='\u{36f}' | '\u{200b}'..='\u{200f}' | ISOLATE | POP => 0.0,
        '\u{2e80}'.. => 1.05,
        _ => 0.8,
    }
}

/// Divides a text into rows of at most a width, in units of its size; a word that is longer is cut.
pub fn rows(text: &str, bold: bool, width: f32, letters: &dyn Letters) -> Vec<String> {
    rows_after(0.0, text, bold, width, letters)
}

/// The same, where the first row has a part of the width taken already; it is empty if nothing fits there.
pub fn rows_after(
    taken: f32,
    text: &str,
    bold: bool,
    width: f32,
    letters: &dyn Letters,
) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    let fits = |text: &str| letters.width(text, bold) <= width;
    for word in text.split_whitespace() {
        let first = rows.len() < 2;
        match rows.last_mut() {
            Some(row) => {
                let longer = match row.is_empty() {
                    true => word.to_owned(),
                    false => format!("{row} {word}"),
                };
                let room = width - if first { taken } else { 0.0 };
                if letters.width(&longer, bold) <= room {
                    *row = longer;
                    continue;
                }
            }
            None if taken > 0.0 && letters.width(word, bold) > width - taken => {
                rows.push(String::new());
            }
            None => {}
        }
        let mut piece = String::new();
        for c in word.chars() {
            piece.push(c);
            if !fits(&piece) && piece.chars().count() > 1 {
                piece.pop();
                rows.push(std::mem::take(&mut piece));
                piece.push(c);
            }
        }
        rows.push(piece);
    }
    isolate(&mut rows);
    rows
}

/// Something to be written in a run of several.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub of: Of,
    /// What stands before it, in smaller letters.
    pub time: Option<String>,
    pub text: String,
    pub bold: bool,
    pub size_pt: f32,
}

/// A piece of a row, from its left.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    pub of: Of,
    pub x_mm: f32,
    pub text: String,
    pub bold: bool,
    pub size_pt: f32,
}

/// How large a time is, of the letters that it stands before, and the air behind it.
const TIME: f32 = 0.75;
const TIME_AIR_MM: f32 = 0.7;
/// Between one item and the next, and before the rows in which one goes on.
const APART_MM: f32 = 2.4;
const HANGING_MM: f32 = 3.0;
/// Less than this of an item stays at no end of a row.
const LEAST_MM: f32 = 16.0;

/// Writes items one after another, in rows of at most a width.
pub fn run(items: &[Item], width_mm: f32, letters: &dyn Letters) -> Vec<Vec<Piece>> {
    let mut all: Vec<Vec<Piece>> = vec![Vec::new()];
    let mut x_mm = 0.0;
    for item in items {
        let unit_mm = item.size_pt * POINT_MM;
        let wide_mm = |text: &str| letters.width(text, item.bold) * unit_mm;
        let time_mm = item.time.as_ref().map_or(0.0, |time| {
            letters.width(time, false) * unit_mm * TIME + TIME_AIR_MM
        });
        let after = |taken_mm: f32| {
            // All rows but the first hang: so much less is in each, and so much less is taken of the first.
            let room = (width_mm - HANGING_MM) / unit_mm;
            rows_after(
                (taken_mm - HANGING_MM) / unit_mm,
                &item.text,
                item.bold,
                room,
                letters,
            )
        };
        let mut from_mm = if x_mm > 0.0 { x_mm + APART_MM } else { 0.0 };
        let mut rows = after(from_mm + time_mm);
        let first_mm = rows.first().map_or(0.0, |row| wide_mm(row));
        if from_mm > 0.0 && rows.len() > 1 && first_mm < LEAST_MM {
            all.push(Vec::new());
            from_mm = 0.0;
            rows = after(time_mm);
        }
        let piece = |x_mm: f32, text: &str, bold: bool, size_pt: f32| Piece {
            of: item.of,
            x_mm,
            text: text.to_owned(),
            bold,
            size_pt,
        };
        if let (Some(time), Some(row)) = (&item.time, all.last_mut()) {
            row.push(piece(from_mm, time, false, item.size_pt * TIME));
        }
        x_mm = from_mm + time_mm;
        for (nth, text) in rows.iter().enumerate() {
            if nth > 0 {
                all.push(Vec::new());
                x_mm = HANGING_MM;
            }
            if let Some(row) = all.last_mut().filter(|_| !text.is_empty()) {
                row.push(piece(x_mm, text, item.bold, item.size_pt));
            }
            x_mm += wide_mm(text);
        }
    }
    all.retain(|row| !row.is_empty());
    all
}

/// What is kept apart from the direction around it (Unicode, annex 9), from here to there.
const ISOLATE: char = '\u{2068}';
const POP: char = '\u{2069}';

/// Keeps apart in each row what is kept apart across several: each row is laid out by itself.
fn isolate(rows: &mut [String]) {
    let mut open = false;
    for row in rows {
        if open {
            row.insert(0, ISOLATE);
        }
        open = row.rfind(ISOLATE) > row.rfind(POP);
        if open {
            row.push(POP);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_apart_stays_so_in_each_row() {
        let text = "\u{2068}\u{5d0}\u{5d1}\u{5d2}\u{5d3} \u{5d0}\u{5d1}\u{5d2}\u{5d3}\u{2069}: one";
        let rows = rows(text, false, 4.0, &AnySans);
        let apart = "\u{2068}\u{5d0}\u{5d1}\u{5d2}\u{5d3}\u{2069}";
        assert_eq!(
            rows,
            [apart.to_owned(), format!("{apart}:"), "one".to_owned()]
        );
    }

    #[test]
    fn rows_are_no_wider_than_they_may_be_and_lose_nothing() {
        for text in [
            "Hips back, shoulders square to the floor.",
            &"w".repeat(300),
            "",
        ] {
            let rows = rows(text, true, 12.0, &AnySans);
            assert!(
                rows.iter().all(|row| AnySans.width(row, true) <= 12.0),
                "{rows:?}"
            );
            assert_eq!(rows.concat().replace(' ', ""), text.replace(' ', ""));
        }
    }
}
