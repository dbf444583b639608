//! The script as plain text: what is said on lines of its own, at most as long as the eye takes in.

use super::FASTER;
use super::Item;
use super::LEGEND;
use super::Part;
use super::Plan;
use super::Session;
use super::Speaking;
use super::clock;
use super::is_faster;
use super::parts;
use super::seconds;
use super::summary;
use super::tone_words;
use crate::base::units::At;
use std::fmt::Write;

/// The longest line, in characters, with the times before it: 45 to 75 are read with ease (common practice in
/// typesetting).
const WIDTH: usize = 76;
/// The clock, such as `107:05`, and the seconds of the part, such as `+67.4`, stand before what is said.
const TIMES: usize = 17;

/// Writes the script of a plan as text.
pub fn text(plan: &Plan, session: &Session, speaking: Option<Speaking>) -> String {
    let mut out = plan.title.clone();
    // A write into a string cannot fail.
    let _ = writeln!(out, "\n{}", summary(plan, speaking));
    out += &wrapped(LEGEND, 0);
    for chapter in parts::chapters(plan, session) {
        let _ = writeln!(out, "\n\n== {} ==", chapter.title);
        for part in chapter.parts {
            let _ = writeln!(out, "\n{} {}", clock(part.segment.start), part.title);
            for item in &part.items {
                out += &row(item, &part);
            }
        }
    }
    out
}

fn row(item: &Item, part: &Part) -> String {
    let into = |at: At| format!("+{}", seconds(at - part.segment.start));
    let times = format!("{:>7} {:>7}", clock(item.at()), into(item.at()));
    let said = match item {
        Item::Line { sound, .. } => sound.text.clone(),
        Item::Counts(counts) => {
            let words = counts.iter().map(|count| count.text.as_str());
            words.collect::<Vec<_>>().join(", ")
        }
        Item::Tone { tone, .. } => format!("({})", tone_words(*tone)),
        Item::Breath { length, .. } => format!("(breath, {} s)", seconds(*length)),
    };
    let mut said = wrapped(&said, TIMES);
    if matches!(item, Item::Line { sound, .. } if is_faster(sound)) {
        said += &wrapped(&format!("({FASTER})"), TIMES);
    }
    // Its first line begins with as many spaces as the times may take.
    format!("{times}{}", said.get(times.len()..).unwrap_or("\n"))
}

/// Breaks a text into lines that begin after `indent` spaces and end with a line feed.
fn wrapped(text: &str, indent: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= WIDTH => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(format!("{}{word}", " ".repeat(indent))),
        }
    }
    lines.join("\n") + "\n"
}
