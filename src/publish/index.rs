//! A page that leads to all files of a folder that was rendered: self-contained, without a script.

use super::html::escaped;
use crate::base::units::Millis;
use std::fmt::Write;

/// How a page of this kind is known again, so that no other one is replaced.
pub const MARK: &str = "<meta name=\"generator\" content=\"sidevoice: rendered classes\">";

/// A class that was rendered, in one voice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    pub title: String,
    /// The tag of its language.
    pub language: String,
    pub voice: String,
    pub length: Millis,
    /// The names of its files, beside the page.
    pub files: Vec<String>,
}

/// Sound that a browser can be asked to play, best first.
const PLAYED: [&str; 4] = ["opus", "mp3", "flac", "wav"];

/// Writes the page.
pub fn index(title: &str, entries: &[Entry]) -> String {
    let title = escaped(title);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n{MARK}\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
    );
    if entries.is_empty() {
        out += "<p>Nothing is rendered here yet.</p>\n";
    }
    for entry in entries {
        write(&mut out, entry);
    }
    out += "</main>\n</body>\n</html>\n";
    out
}

fn write(out: &mut String, entry: &Entry) {
    let (title, language) = (escaped(&entry.title), escaped(&entry.language));
    let seconds = (entry.length.ms() + 500) / 1000;
    // A write into a string cannot fail.
    let _ = writeln!(
        out,
        "<section>\n<h2 lang=\"{language}\" dir=\"auto\">{title}</h2>\n<p>{}:{:02}, voice {}</p>",
        seconds / 60,
        seconds % 60,
        escaped(&entry.voice)
    );
    let ends = |name: &&String, ending: &str| name.ends_with(&format!(".{ending}"));
    let find = |ending: &str| entry.files.iter().find(|name| ends(name, ending));
    let sounds = PLAYED.iter().filter_map(|ending| find(ending));
    // A browser takes the first that it can play.
    let sources = sounds.map(|sound| format!("<source src=\"{}\">", address(sound)));
    let sources: String = sources.collect();
    if !sources.is_empty() {
        let _ = writeln!(
            out,
            "<audio controls preload=\"none\" aria-label=\"{title}\">{sources}</audio>"
        );
    }
    *out += "<ul>\n";
    for name in &entry.files {
        let _ = writeln!(
            out,
            "<li><a href=\"{}\">{}</a></li>",
            address(name),
            escaped(name)
        );
    }
    *out += "</ul>\n</section>\n";
}

/// Writes a file's name as an address relative to the page (RFC 3986).
fn address(name: &str) -> String {
    let mut out = String::from("./");
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                out.push(char::from(byte));
            }
            other => {
                let _ = write!(out, "%{other:02X}");
            }
        }
    }
    out
}

const STYLE: &str = "body { font: 1.125rem/1.5 sans-serif; margin: 1rem; color: #000; background: #fff; }\n\
main { max-width: 45rem; margin: 0 auto; overflow-wrap: anywhere; }\n\
h2 { margin: 2rem 0 0; }\n\
p { margin: 0; }\n\
audio { width: 100%; margin: 0.5rem 0; }\n\
ul { padding-left: 1.5rem; }\n\
a { color: #00408a; }\n\
@media (prefers-color-scheme: dark) { body { color: #eee; background: #111; } a { color: #9cc8ff; } }\n";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_player_is_offered_all_sound_best_first_and_a_long_title_is_broken() {
        let files = ["five.mp3", "five.opus", "five.vtt"].map(str::to_owned);
        let page = index(
            "Classes",
            &[Entry {
                title: "\u{fc}".repeat(300),
                language: "en".to_owned(),
                voice: "hibari".to_owned(),
                length: Millis::from_secs(480),
                files: files.to_vec(),
            }],
        );
        let sources = "<source src=\"./five.opus\"><source src=\"./five.mp3\"></audio>";
        assert!(page.contains(sources), "{page}");
        assert!(STYLE.contains("overflow-wrap: anywhere"));
    }
}
