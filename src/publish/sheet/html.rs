//! A sheet as a page of its own: no scripts, nothing fetched, black on white, to be printed on A4 or Letter.

use super::Exercise;
use super::HeardKind;
use super::Labels;
use super::Part;
use super::Sheet;
use super::content::time;
use super::draw::Drawing;
use super::draw::POINT_MM;
use super::svg;
use super::timeline;
use super::timeline::Field;
use super::wrap;
use super::wrap::AnySans;
use crate::base::wording::capitalised;
use crate::planning::timeline::SegmentKind;
pub(super) use crate::publish::html::escaped;
use std::fmt::Write;

/// The width of what is printed: A4 and Letter have it between margins of 12 mm.
const WIDTH_MM: f32 = 186.0;
/// The height on either paper, between the same margins, with some to spare for a page's own head.
const HEIGHT_MM: f32 = 246.0;
/// What stands above the first page's timeline: a row of the title, facts and key; and a second row of the title.
const ABOVE_MM: f32 = 38.0;
const TITLE_PT: f32 = 20.0;
const TITLE_MM: f32 = 8.0;

/// Writes a sheet as HTML: the coach's part, then the participants'.
pub fn html(sheet: &Sheet) -> String {
    let title = escaped(&sheet.title);
    let language = sheet.language.tag();
    format!(
        "<!DOCTYPE html>\n<html lang=\"{language}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{}</style>\n</head>\n<body>\n<main>\n\
         <h1 dir=\"auto\">{title}</h1>\n{}{}</main>\n</body>\n</html>\n",
        style(),
        coach(sheet),
        participants(sheet),
    )
}

/// The page's one style sheet. What is for screen readers alone is there, and not drawn.
fn style() -> String {
    format!(
        "@page {{ margin: 12mm; }}\n\
         :root {{ color: #000; background: #fff; }}\n\
         body {{ margin: 0; font: 11.5pt/1.3 Arial, Helvetica, \"Liberation Sans\", sans-serif; }}\n\
         main {{ max-width: {WIDTH_MM}mm; margin: 0 auto; overflow-wrap: anywhere; }}\n\
         h1 {{ font-size: {TITLE_PT}pt; line-height: 1.1; margin: 0; max-height: 2.2em; overflow: hidden; }}\n\
         h2 {{ font-size: 15pt; line-height: 1.2; margin: 1mm 0; border-bottom: 0.6mm solid; }}\n\
         h3 {{ break-after: avoid; font-size: 13pt; line-height: 1.2; margin: 2mm 0 0.5mm; }}\n\
         p {{ margin: 0 0 1mm; }}\n\
         ul, ol {{ margin: 0; padding: 0 0 0 6mm; }}\n\
         svg {{ display: block; font-family: Arial, Helvetica, \"Liberation Sans\", sans-serif; \
         stroke: #000; stroke-width: 0.25; fill: none; }}\n\
         svg .full {{ fill: #000; }}\n\
         svg text {{ fill: #000; stroke: none; }}\n\
         .key {{ list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: 0 6mm; font-size: 10pt; }}\n\
         .key li {{ display: flex; align-items: center; gap: 1mm; }}\n\
         .time {{ margin-top: 2mm; }}\n\
         .time + .time {{ break-before: page; }}\n\
         .time svg {{ max-width: 100%; height: auto; }}\n\
         .heard {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); \
         white-space: nowrap; }}\n\
         .left {{ columns: 3; column-gap: 5mm; font-size: 10pt; }}\n\
         .left p {{ break-after: avoid; margin: 0; }}\n\
         .left ul {{ margin-bottom: 1mm; }}\n\
         .left li {{ break-inside: avoid; }}\n\
         .all {{ break-before: page; font-size: 10.5pt; line-height: 1.25; }}\n\
         .caution {{ border: 1mm solid; padding: 1mm 3mm; break-inside: avoid; }}\n\
         .caution h3 {{ margin-top: 0; }}\n\
         .exercises {{ list-style: none; padding: 0; counter-reset: number; columns: 2; column-gap: 6mm; }}\n\
         .exercises > li {{ break-inside: avoid; border-top: 0.3mm solid; padding: 1mm 0 1.5mm 12mm; \
         position: relative; counter-increment: number; }}\n\
         .exercises > li::before {{ content: counter(number); position: absolute; left: 0; top: 2mm; width: 8mm; \
         border: 0.6mm solid; text-align: center; font-weight: 700; font-size: 14pt; }}\n\
         .exercises h4 {{ font-size: 13pt; line-height: 1.2; margin: 0; }}\n\
         .exercises p {{ margin: 0; }}\n\
         @media screen {{ main {{ padding: 4mm; }} }}\n"
    )
}

fn coach(sheet: &Sheet) -> String {
    let labels = &sheet.labels;
    let mut out = format!(
        "<section>\n<h2>{}</h2>\n<p>{}</p>\n<ul class=\"key\">\n",
        escaped(&labels.coach),
        escaped(&sheet.facts)
    );
    for key in timeline::key(sheet) {
        let drawing = Drawing {
            height_mm: 4.4,
            shapes: key.shapes,
            told: Vec::new(),
        };
        // A write into a string cannot fail.
        let _ = writeln!(
            out,
            "<li>{}{}</li>",
            svg::svg(&drawing, key.width_mm),
            escaped(&key.meaning)
        );
    }
    out += "</ul>\n";
    for drawing in drawings(sheet) {
        let _ = writeln!(
            out,
            "<div class=\"time\">{}</div>",
            svg::svg(&drawing, WIDTH_MM)
        );
    }
    out += &heard(sheet);
    let _ = writeln!(out, "<h3>{}</h3>", escaped(&labels.left_out));
    if sheet.left_out.is_empty() {
        let _ = writeln!(out, "<p>{}</p>", escaped(&labels.nothing));
    } else {
        out += "<div class=\"left\">\n";
        for group in &sheet.left_out {
            // The reason is the planner's own, in English whatever the class is in.
            let reason = escaped(&capitalised(&group.reason));
            let _ = writeln!(out, "<p lang=\"en\">{reason}:</p>\n<ul>");
            for (at, text) in &group.lines {
                let times: Vec<_> = at.iter().map(|at| time(*at)).collect();
                let (times, text) = (times.join(", "), escaped(text));
                let _ = writeln!(
                    out,
                    "<li><b>{times}</b> <span dir=\"auto\">{text}</span></li>"
                );
            }
            out += "</ul>\n";
        }
        out += "</div>\n";
    }
    out + "</section>\n"
}

/// The timeline's drawings: with room below the last for what was left out, if that takes no page more.
fn drawings(sheet: &Sheet) -> Vec<Drawing> {
    let title_width = WIDTH_MM / (TITLE_PT * POINT_MM);
    let title = wrap::rows(&sheet.title, true, title_width, &AnySans);
    let above_mm = ABOVE_MM + if title.len() > 1 { TITLE_MM } else { 0.0 };
    let with_mm = |below_mm: f32| {
        let field = Field {
            width_mm: WIDTH_MM,
            first_mm: HEIGHT_MM - above_mm,
            others_mm: HEIGHT_MM - below_mm,
        };
        timeline::drawings(sheet, field, &AnySans)
    };
    let whole = with_mm(0.0);
    // Two rows of an item in one of three columns, and the heading.
    let lines = sheet.left_out.iter().map(|group| group.lines.len() + 1);
    let below_mm = 10.0 + 3.1 * lines.sum::<usize>() as f32;
    if below_mm > HEIGHT_MM / 2.0 {
        return whole;
    }
    let shorter = with_mm(below_mm);
    if shorter.len() == whole.len() {
        shorter
    } else {
        whole
    }
}

/// The timeline in words, for those who do not see it.
fn heard(sheet: &Sheet) -> String {
    let mut out = format!(
        "<div class=\"heard\">\n<h3>{}</h3>\n",
        escaped(&sheet.labels.timeline)
    );
    for part in &sheet.parts {
        if let Some(opens) = &part.opens {
            let _ = writeln!(out, "<h4>{}</h4>", escaped(opens));
        }
        let _ = writeln!(
            out,
            "<h4 dir=\"auto\">{} {}</h4>",
            time(part.start),
            escaped(&worded(part, &sheet.labels))
        );
        if part.heard.is_empty() {
            continue;
        }
        out += "<ol>\n";
        for heard in &part.heard {
            let class = match heard.kind {
                HeardKind::Tone(_) => "tone",
                HeardKind::Count | HeardKind::Line(_) => "said",
            };
            let text = escaped(&heard.text);
            let _ = writeln!(
                out,
                "<li>{} <span class=\"{class}\">{text}</span></li>",
                time(heard.onset)
            );
        }
        out += "</ol>\n";
    }
    out + "</div>\n"
}

/// What a bar shows by its shape is said in words.
fn worded(part: &Part, labels: &Labels) -> String {
    match part.kind {
        SegmentKind::Work => format!("{} ({})", part.heading, labels.work),
        _ => part.heading.clone(),
    }
}

fn participants(sheet: &Sheet) -> String {
    let labels = &sheet.labels;
    let mut out = format!(
        "<section class=\"all\">\n<h2>{}</h2>\n<p class=\"title\" dir=\"auto\"><b>{}</b></p>\n",
        escaped(&labels.participants),
        escaped(&sheet.title)
    );
    for line in &sheet.outline {
        // A page finds the direction of a paragraph past an element only, not past the marks of a text.
        let line = escaped(line).replace('\u{2068}', "<bdi>");
        let line = line.replace('\u{2069}', "</bdi>");
        let _ = writeln!(out, "<p dir=\"auto\">{line}</p>");
    }
    let _ = writeln!(
        out,
        "<div class=\"caution\">\n<h3>! {}</h3>",
        escaped(&labels.cautions)
    );
    out += &list(&sheet.cautions);
    out += "</div>\n";
    if !sheet.ready.is_empty() {
        let _ = writeln!(out, "<h3>{}</h3>", escaped(&labels.ready));
        out += &list(&sheet.ready);
    }
    let _ = writeln!(out, "<h3>{}</h3>", escaped(&labels.exercises));
    if sheet
        .exercises
        .iter()
        .any(|exercise| exercise.sides.is_some())
    {
        let _ = writeln!(out, "<p>{}</p>", escaped(&labels.mirrored));
    }
    out += "<ol class=\"exercises\" role=\"list\">\n";
    for exercise in &sheet.exercises {
        out += &of_exercise(exercise, labels);
    }
    out + "</ol>\n</section>\n"
}

fn list(items: &[String]) -> String {
    let items = items
        .iter()
        .map(|item| format!("<li dir=\"auto\">{}</li>\n", escaped(item)));
    format!("<ul>\n{}</ul>\n", items.collect::<String>())
}

fn of_exercise(exercise: &Exercise, labels: &Labels) -> String {
    let sides = exercise
        .sides
        .as_ref()
        .map_or(String::new(), |sides| format!(" ({sides})"));
    let mut out = format!(
        "<li>\n<h4 dir=\"auto\">{}{}</h4>\n",
        escaped(&exercise.name),
        escaped(&sides)
    );
    let one = std::slice::from_ref(&exercise.start);
    for (label, texts) in [
        (&labels.start, one),
        (&labels.how, &exercise.how[..]),
        (&labels.care, &exercise.care),
        (&labels.easier, &exercise.easier),
    ] {
        if !texts.is_empty() {
            let text = escaped(&texts.join(" "));
            let _ = writeln!(out, "<p dir=\"auto\"><b>{}:</b> {text}</p>", escaped(label));
        }
    }
    out + "</li>\n"
}
