//! Chapters as files of text: a track of WebVTT, and for film editors FFmetadata and a table of markers.

use super::super::captions::webvtt_text;
use super::super::captions::webvtt_time;
use crate::base::chapters::Chapter;
use crate::base::chapters::Contents;
use std::fmt::Write;

/// Writes chapters as a track of WebVTT: a chapter comes before those that lie within it.
pub fn webvtt(contents: &Contents) -> String {
    let mut out = String::from("WEBVTT\n");
    for (_, chapter) in outline(&contents.chapters) {
        let (start, end) = (webvtt_time(chapter.start), webvtt_time(chapter.end));
        let title = webvtt_text(&chapter.title);
        // A write into a string cannot fail.
        let _ = writeln!(out, "\n{start} --> {end}\n{title}");
    }
    out
}

/// Writes title and chapters as FFmetadata (ffmpeg's documentation, "Metadata"), which has no levels: the chapters
/// that hold no other.
pub fn ffmetadata(contents: &Contents) -> String {
    let mut out = format!(";FFMETADATA1\ntitle={}\n", escaped(&contents.title));
    for chapter in contents.leaves() {
        let (start, end) = (chapter.start.ms(), chapter.end.ms());
        let _ = writeln!(
            out,
            "\n[CHAPTER]\nTIMEBASE=1/1000\nSTART={start}\nEND={end}\ntitle={}",
            escaped(&chapter.title)
        );
    }
    out
}

/// Marks what FFmetadata would read as its own.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if matches!(c, '=' | ';' | '#' | '\\' | '\n') {
            out.push('\\');
        }
        out.push(c);
    }
    // Its reader takes a line end for the text's own after a backslash, even after one that is marked.
    if text.ends_with('\\') {
        out.push(' ');
    }
    out
}

/// The first line of a table of markers.
const COLUMNS: &str = "start_s,end_s,start,end,level,title";

/// Writes chapters as a table (CSV, RFC 4180): all of them, a chapter before those that lie within it, with the level
/// at which it lies, 1 for the outermost.
pub fn markers(contents: &Contents) -> String {
    let mut out = format!("{COLUMNS}\r\n");
    for (level, chapter) in outline(&contents.chapters) {
        let (start, end) = (chapter.start, chapter.end);
        let seconds = |ms: i64| format!("{}.{:03}", ms / 1000, ms % 1000);
        let _ = write!(
            out,
            "{},{},{},{},{level},\"{}\"\r\n",
            seconds(start.ms()),
            seconds(end.ms()),
            webvtt_time(start),
            webvtt_time(end),
            chapter.title.replace('"', "\"\"")
        );
    }
    out
}

/// Returns all chapters in order with the level at which they lie, from 1 on.
fn outline(chapters: &[Chapter]) -> Vec<(usize, &Chapter)> {
    let mut all = Vec::new();
    descend(chapters, 1, &mut all);
    all
}

fn descend<'a>(chapters: &'a [Chapter], level: usize, all: &mut Vec<(usize, &'a Chapter)>) {
    for chapter in chapters {
        all.push((level, chapter));
        descend(&chapter.parts, level + 1, all);
    }
}
