//! The script as a page of its own: no scripts, nothing fetched, headings for blocks and segments, lists for what is
//! said; black on white, or white on black where the reader's system is dark.

use super::FASTER;
use super::Item;
use super::LEGEND;
use super::Part;
use super::Plan;
use super::Session;
use super::Sound;
use super::Speaking;
use super::clock;
use super::is_faster;
use super::parts;
use super::seconds;
use super::summary;
use super::tone_words;
use crate::base::units::At;
use crate::base::wording::Language;
use crate::publish::html::escaped;
use std::fmt::Write;

/// The size of what is said, in CSS pixels, which are 0.265 mm on a screen that is set up to scale.
///
/// At two metres a letter should fill 20 minutes of arc, of which 16 are the least (ANSI/HFES 100-2007 and
/// ISO 9241-303 on the height of capitals; from memory): 2 m x tan(20') = 11.6 mm. A capital is about 0.7 of
/// the size of a sans-serif letter, so that is 16.6 mm, or 63 pixels.
const SAID_PX: u32 = 64;

/// Times and breaths, which are glanced at: 3/4 of that is 15.6 mm of size, the least for a capital at two metres
/// within half a minute of arc.
const BESIDE: &str = "0.75em";

/// On paper, which is held in the hand: large print begins at 16 points (common practice).
const PRINTED: &str = "16pt";

/// Writes the script of a plan as a page.
pub fn html(plan: &Plan, session: &Session, speaking: Option<Speaking>) -> String {
    let mut body = String::new();
    // A write into a string cannot fail.
    for chapter in parts::chapters(plan, session) {
        let _ = writeln!(body, "<section>\n<h2>{}</h2>", escaped(&chapter.title));
        for part in &chapter.parts {
            let start = time(part.segment.start);
            let _ = writeln!(body, "<h3>{start} {}</h3>", escaped(&part.title));
            body += &list(part, session.text.language);
        }
        body += "</section>\n";
    }
    let title = escaped(&plan.title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}: script</title>\n<style>\n{}</style>\n</head>\n<body>\n<main>\n\
         <h1>{title}</h1>\n<p>{}</p>\n<p class=\"beside\">{}</p>\n{body}</main>\n</body>\n</html>\n",
        style(),
        escaped(&summary(plan, speaking)),
        escaped(LEGEND),
    )
}

/// The page's one style sheet. On a narrow screen, which is held in the hand, letters are as wide as fits.
fn style() -> String {
    format!(
        ":root {{ color-scheme: light dark; color: #000; background: #fff; }}\n\
         @media (prefers-color-scheme: dark) {{ :root {{ color: #fff; background: #000; }} }}\n\
         body {{ margin: 0; font: clamp(2rem, 9vw, {SAID_PX}px)/1.3 system-ui, sans-serif; }}\n\
         main {{ max-width: 24em; margin: 0 auto; padding: 0.5em; overflow-wrap: anywhere; }}\n\
         h1 {{ font-size: 1.5em; }}\n\
         h2 {{ font-size: 1.25em; border-bottom: 0.08em solid; }}\n\
         h3 {{ font-size: 1em; margin: 1em 0 0.25em; }}\n\
         ol {{ list-style: none; margin: 0; padding: 0; }}\n\
         li {{ margin: 0 0 0.5em; break-inside: avoid; }}\n\
         li p {{ margin: 0; }}\n\
         .said {{ font-weight: 600; }}\n\
         .beside {{ font-size: {BESIDE}; }}\n\
         @media print {{ body {{ font-size: {PRINTED}; }} }}\n"
    )
}

fn list(part: &Part, language: Language) -> String {
    if part.items.is_empty() {
        return "<p class=\"beside\">Nothing is said.</p>\n".to_owned();
    }
    let rows = part.items.iter().map(|item| row(item, part, language));
    // Safari's screen reader takes a list without marks for none, unless its role says so.
    format!("<ol role=\"list\">\n{}</ol>\n", rows.collect::<String>())
}

fn row(item: &Item, part: &Part, language: Language) -> String {
    let into = |at: At| seconds(at - part.segment.start);
    let when = |at: At| format!("{}, {} s in", time(at), into(at));
    let lang = match language {
        Language::English => String::new(),
        other => format!(" lang=\"{}\"", other.tag()),
    };
    match item {
        Item::Line { sound, cue } => format!(
            "<li><p class=\"beside\">{}, {}{}</p><p class=\"said\"{lang}>{}</p></li>\n",
            when(sound.onset),
            escaped(cue),
            faster(sound),
            escaped(&sound.text)
        ),
        Item::Counts(counts) => {
            let each = counts.iter().map(|count| {
                let word = escaped(&count.text);
                format!("{} <b class=\"said\"{lang}>{word}</b>", time(count.onset))
            });
            let each: Vec<_> = each.collect();
            format!("<li><p>{}</p></li>\n", each.join(", "))
        }
        Item::Tone { at, tone } => format!(
            "<li><p class=\"beside\">{}: {}</p></li>\n",
            when(*at),
            tone_words(*tone)
        ),
        Item::Breath { at, length } => format!(
            "<li><p class=\"beside\">{}: breath, {} s</p></li>\n",
            when(*at),
            seconds(*length)
        ),
    }
}

fn faster(sound: &Sound) -> String {
    match is_faster(sound) {
        true => format!(", {FASTER}"),
        false => String::new(),
    }
}

/// Writes a time on the session's clock, for eyes and for programs (HTML, a valid duration string).
fn time(at: At) -> String {
    let since = seconds(at.since_start());
    format!("<time datetime=\"PT{since}S\">{}</time>", clock(at))
}
