//! Captions as WebVTT (W3C) and as SubRip.

use super::Caption;
use super::Word;
use crate::base::units::At;
use std::fmt::Write;

/// Writes captions as WebVTT. A word whose time the voice has told has it before it, so that a player can show how
/// far the speech is.
pub fn webvtt(captions: &[Caption]) -> String {
    let mut out = String::from("WEBVTT\n");
    for caption in captions {
        let (start, end) = (webvtt_time(caption.start), webvtt_time(caption.end));
        // A write into a string cannot fail.
        let _ = writeln!(out, "\n{start} --> {end}");
        let mut shown = caption.start;
        for row in &caption.rows {
            for (at, word) in row.iter().enumerate() {
                if at > 0 && !word.glued {
                    out.push(' ');
                }
                if word.told && word.onset > shown && word.onset < caption.end {
                    let _ = write!(out, "<{}>", webvtt_time(word.onset));
                    shown = word.onset;
                }
                out += &webvtt_text(&word.text);
            }
            out.push('\n');
        }
    }
    out
}

/// Writes captions as SubRip, which has no way to write `<` and `>` as such: marks that look like them stand in.
pub fn subrip(captions: &[Caption]) -> String {
    let mut out = String::new();
    for (index, caption) in captions.iter().enumerate() {
        let (start, end) = (subrip_time(caption.start), subrip_time(caption.end));
        let _ = writeln!(out, "{}\n{start} --> {end}", index + 1);
        for row in &caption.rows {
            let _ = writeln!(out, "{}", subrip_text(row));
        }
        out.push('\n');
    }
    out
}

fn subrip_text(row: &[Word]) -> String {
    let row = Caption::row(row);
    row.replace('<', "\u{2039}").replace('>', "\u{203a}")
}

/// Writes a text so that it is one in WebVTT; with `>` written out, it cannot hold an arrow.
pub fn webvtt_text(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

pub fn webvtt_time(at: At) -> String {
    time(at, '.')
}

fn subrip_time(at: At) -> String {
    time(at, ',')
}

/// Writes a time with hours, which both formats take; WebVTT takes more than 99 of them.
fn time(at: At, point: char) -> String {
    let ms = at.ms().max(0);
    let (seconds, rest) = (ms / 1000, ms % 1000);
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    format!("{hours:02}:{minutes:02}:{seconds:02}{point}{rest:03}")
}
