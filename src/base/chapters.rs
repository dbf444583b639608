//! Chapters of a recording: the noun that what is published and what is written as sound share.

use crate::base::units::At;

/// A part of a recording that one might want to go to; chapters lie within one another or apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chapter {
    pub start: At,
    pub end: At,
    pub title: String,
    pub parts: Vec<Chapter>,
}

/// What a recording says of itself.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Contents {
    pub title: String,
    pub chapters: Vec<Chapter>,
}

/// What stands between the titles of chapters that lie within one another, where a list has no levels.
const WITHIN: &str = " / ";

impl Chapter {
    /// Makes a chapter that holds no other.
    pub fn leaf(start: At, end: At, title: &str) -> Self {
        Self {
            start,
            end,
            title: one_line(title),
            parts: Vec::new(),
        }
    }

    /// Puts chapters under a title of their own; `None` of none.
    pub fn of(parts: Vec<Chapter>, title: &str) -> Option<Self> {
        Some(Self {
            start: parts.first()?.start,
            end: parts.last()?.end,
            title: one_line(title),
            parts,
        })
    }
}

impl Contents {
    /// Returns the chapters that hold no other, in order, each under the titles of all in which it lies: for lists
    /// that have no levels.
    pub fn leaves(&self) -> Vec<Chapter> {
        let mut all = Vec::new();
        gather(&self.chapters, "", &mut all);
        all
    }
}

fn gather(chapters: &[Chapter], within: &str, all: &mut Vec<Chapter>) {
    for chapter in chapters {
        let title = format!("{within}{}", chapter.title);
        match chapter.parts[..] {
            [] => all.push(Chapter::leaf(chapter.start, chapter.end, &title)),
            _ => gather(&chapter.parts, &format!("{title}{WITHIN}"), all),
        }
    }
}

/// Folds a title to one line without control characters: a list of chapters has a line for each, and some formats
/// end a text at the first zero.
pub fn one_line(title: &str) -> String {
    let words = title.split_whitespace().map(|word| {
        let shown = word.chars().filter(|c| !c.is_control());
        shown.collect::<String>()
    });
    let words: Vec<String> = words.filter(|word| !word.is_empty()).collect();
    words.join(" ")
}

/// Cuts chapters to what lies between two instants, in the time that begins with the first of them.
pub fn cut(chapters: &[Chapter], from: At, to: At) -> Vec<Chapter> {
    let within = chapters.iter().filter(|c| c.end > from && c.start < to);
    let cut = within.map(|chapter| Chapter {
        start: At::START + (chapter.start.max(from) - from),
        end: At::START + (chapter.end.min(to) - from),
        title: chapter.title.clone(),
        parts: cut(&chapter.parts, from, to),
    });
    cut.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaf(from: i64, to: i64, title: &str) -> Chapter {
        Chapter::leaf(At::from_ms(from), At::from_ms(to), title)
    }

    fn rounds() -> Vec<Chapter> {
        let first = Chapter::of(vec![leaf(5, 10, "a"), leaf(10, 20, "b")], "One").unwrap();
        vec![leaf(0, 5, "in"), first, leaf(20, 25, "out")]
    }

    #[test]
    fn a_list_without_levels_names_those_in_which_a_chapter_lies() {
        let contents = Contents {
            title: String::new(),
            chapters: rounds(),
        };
        let leaves = contents.leaves();
        let titles: Vec<_> = leaves.iter().map(|c| c.title.as_str()).collect();
        assert_eq!(titles, ["in", "One / a", "One / b", "out"]);
    }

    #[test]
    fn what_is_cut_begins_at_zero_and_leaves_out_what_lies_outside() {
        let made = cut(&rounds(), At::from_ms(7), At::from_ms(12));
        let parts = vec![leaf(0, 3, "a"), leaf(3, 5, "b")];
        assert_eq!(made, [Chapter::of(parts, "One").unwrap()]);
        assert!(cut(&rounds(), At::from_ms(25), At::from_ms(30)).is_empty());
    }

    #[test]
    fn a_title_is_one_line() {
        assert_eq!(
            one_line(" Out\r\nand\u{2028}back\u{0}\u{1b} \u{7} "),
            "Out and back"
        );
    }
}
