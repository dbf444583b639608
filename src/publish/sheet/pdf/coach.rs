//! The coach's pages: title, facts, key, the timeline, and what was left out. One page, if that can be read.

use super::book::Kind;
use super::flow::Flow;
use super::flow::MARGIN_MM;
use super::flow::Paragraph;
use super::flow::balanced;
use super::letters::from_the_right;
use super::letters::printable;
use crate::base::wording::capitalised;
use crate::publish::sheet::HeardKind;
use crate::publish::sheet::Sheet;
use crate::publish::sheet::content::time;
use crate::publish::sheet::draw::Drawing;
use crate::publish::sheet::draw::Of;
use crate::publish::sheet::draw::POINT_MM;
use crate::publish::sheet::draw::Shape;
use crate::publish::sheet::draw::Told;
use crate::publish::sheet::timeline;
use crate::publish::sheet::timeline::Field;
use crate::publish::sheet::wrap;
use crate::publish::sheet::wrap::Letters;

const TITLE_PT: f32 = 15.0;
const HEADING_PT: f32 = 11.0;
/// Facts, key and what was left out.
const SMALL_PT: f32 = 9.0;
/// How many rows a title may take; the rest of a longer one is in the file's own title.
const TITLE_ROWS: usize = 2;
/// In how many columns stands what was left out.
const LISTS: usize = 3;
/// How high a row of the key is.
const KEY_MM: f32 = 4.6;

/// Writes them from the top of a page on.
pub fn write(flow: &mut Flow, sheet: &Sheet) {
    let title_mm = title(flow, sheet);
    head(flow, sheet, title_mm);
    key(flow, sheet);
    flow.y_mm += 1.0;
    let heading = Paragraph {
        air_mm: 1.0,
        ..Paragraph::of(&sheet.labels.left_out, HEADING_PT, true)
    };
    let items = left_out(sheet);
    let width_mm = flow.width_mm();
    let heading_mm = heading.height_mm(width_mm, flow.typeface);
    let heights: Vec<f32> = items.iter().map(|item| height_mm(flow, item)).collect();
    let nothing = Paragraph::of(&sheet.labels.nothing, SMALL_PT, false);
    let list_mm = match items.is_empty() {
        true => nothing.height_mm(width_mm, flow.typeface),
        false => balanced(&heights, LISTS, flow.whole_mm()),
    };
    let below_mm = heading_mm + list_mm + 2.0;
    let field = |first_mm: f32, others_mm: f32| Field {
        width_mm,
        first_mm: flow.left_mm() - 1.0 - first_mm,
        others_mm: flow.whole_mm() - 1.0 - others_mm,
    };
    // On one page with what was left out, if that can be; else with room for that below the last, if that takes no
    // page more.
    let drawn = |first_mm: f32, others_mm: f32| {
        timeline::drawings(sheet, field(first_mm, others_mm), flow.typeface)
    };
    let mut drawings = drawn(below_mm, 0.0);
    if drawings.len() > 1 {
        drawings = drawn(0.0, 0.0);
        if drawings.len() > 1 && below_mm < flow.whole_mm() / 2.0 {
            let shorter = drawn(0.0, below_mm);
            if shorter.len() == drawings.len() {
                drawings = shorter;
            }
        }
    }
    in_time(flow, sheet, &drawings);
    flow.keep(below_mm.min(flow.whole_mm() / 2.0));
    let name = sheet.labels.left_out.clone();
    flow.write(Kind::Heading(3, name), &heading);
    if items.is_empty() {
        flow.write(Kind::Paragraph, &nothing);
        return;
    }
    flow.begin_columns(LISTS, list_mm.min(flow.left_mm()));
    listed(flow, &items, &heights);
    flow.end_columns();
}

/// Writes what was left out, a list for each reason.
fn listed(flow: &mut Flow, items: &[Left], heights: &[f32]) {
    let mut open = false;
    for (item, height_mm) in items.iter().zip(heights) {
        flow.keep(*height_mm);
        if let Some(reason) = &item.reason {
            if open {
                flow.book.end();
            }
            flow.write(Kind::Paragraph, reason);
            flow.book.begin(Kind::List);
            open = true;
        }
        flow.book.begin(Kind::Item);
        flow.write(Kind::Body, &item.line);
        flow.book.end();
    }
    if open {
        flow.book.end();
    }
}

/// Writes the title; returns how wide it is if it is one row.
fn title(flow: &mut Flow, sheet: &Sheet) -> Option<f32> {
    let text = printable(&sheet.title);
    let width = flow.width_mm() / (TITLE_PT * POINT_MM);
    let mut rows = wrap::rows(&text, true, width, flow.typeface);
    if rows.len() > TITLE_ROWS {
        rows.truncate(TITLE_ROWS);
        if let Some(last) = rows.last_mut() {
            while flow.typeface.width(&format!("{last}\u{2026}"), true) > width {
                last.pop();
            }
            last.push('\u{2026}');
        }
    }
    let shown = Paragraph::of(&rows.join(" "), TITLE_PT, true);
    flow.write(Kind::Heading(1, text), &shown);
    match &rows[..] {
        // One that is read from the right stands there.
        [row] if !from_the_right(row) => Some(flow.typeface.width(row, true) * TITLE_PT * POINT_MM),
        _ => None,
    }
}

/// Between the title, the part's name and the facts, where they stand on one line.
const BESIDE_MM: f32 = 4.0;

/// The part's name, with the facts beside it: beside the title too, if there is room.
fn head(flow: &mut Flow, sheet: &Sheet, title_mm: Option<f32>) {
    let name = &sheet.labels.coach;
    let name_mm = flow.typeface.width(name, true) * HEADING_PT * POINT_MM;
    let facts_mm = flow.typeface.width(&sheet.facts, false) * SMALL_PT * POINT_MM;
    let all_mm = |title_mm: f32| title_mm + name_mm + facts_mm + 2.5 * BESIDE_MM;
    let beside = title_mm.filter(|title_mm| all_mm(*title_mm) <= flow.width_mm());
    let from_mm = beside.map_or(0.0, |title_mm| title_mm + 1.5 * BESIDE_MM);
    let heading = Paragraph {
        indent_mm: from_mm,
        ..Paragraph::of(name, HEADING_PT, true)
    };
    if beside.is_some() {
        flow.y_mm -= Paragraph::of("", TITLE_PT, true).up_to_mm(&heading);
    }
    let y_mm = flow.y_mm;
    flow.write(Kind::Heading(2, name.clone()), &heading);
    let facts = Paragraph {
        indent_mm: from_mm + name_mm + BESIDE_MM,
        ..Paragraph::of(&sheet.facts, SMALL_PT, false)
    };
    // On one line with the heading: its letters are smaller.
    flow.y_mm = y_mm + (HEADING_PT - SMALL_PT) * POINT_MM * 0.9;
    flow.write(Kind::Paragraph, &facts);
    flow.y_mm += 1.2;
    let width_mm = flow.width_mm();
    flow.decorate(&Shape::Box {
        x_mm: 0.0,
        y_mm: 0.0,
        width_mm,
        height_mm: 0.4,
        filled: true,
    });
    flow.y_mm += 1.2;
}

/// Between a sign and its word, and between that and the next sign.
const WORD_MM: f32 = 0.8;
const APART_MM: f32 = 3.4;

/// The key: a word stands close to its sign and far from the next. In one row, or in two that are as long.
fn key(flow: &mut Flow, sheet: &Sheet) {
    let keys = timeline::key(sheet);
    let word_mm = |meaning: &str| flow.typeface.width(meaning, false) * SMALL_PT * POINT_MM;
    let widths = keys
        .iter()
        .map(|key| key.width_mm + WORD_MM + word_mm(&key.meaning) + APART_MM);
    let widths: Vec<f32> = widths.collect();
    let all_mm: f32 = widths.iter().sum::<f32>() - APART_MM;
    let rows = (all_mm / flow.width_mm()).ceil();
    flow.book.begin(Kind::List);
    let mut x_mm = 0.0;
    for (key, width_mm) in keys.into_iter().zip(widths) {
        let over = x_mm + width_mm - APART_MM > flow.width_mm();
        if x_mm > 0.0 && (over || x_mm > all_mm / rows) {
            x_mm = 0.0;
            flow.y_mm += KEY_MM;
        }
        for shape in key.shapes {
            flow.decorate(&shape.moved(x_mm, 0.0));
        }
        flow.book.begin(Kind::Item);
        flow.book.begin(Kind::Body);
        flow.draw(&Shape::Text {
            x_mm: x_mm + key.width_mm + WORD_MM,
            base_mm: 3.2,
            size_pt: SMALL_PT,
            bold: false,
            text: key.meaning,
        });
        flow.book.end();
        flow.book.end();
        x_mm += width_mm;
    }
    flow.book.end();
    flow.y_mm += KEY_MM;
}

/// Places the drawings, a page each; what they tell is headings and lists.
fn in_time(flow: &mut Flow, sheet: &Sheet, drawings: &[Drawing]) {
    let mut told: Vec<(usize, f32, &Told)> = Vec::new();
    for (nth, drawing) in drawings.iter().enumerate() {
        if nth > 0 {
            flow.next();
        }
        drawing.shapes.iter().for_each(|shape| flow.decorate(shape));
        let (page, y_mm) = (flow.page(), flow.y_mm);
        told.extend(drawing.told.iter().map(|told| (page, y_mm, told)));
        flow.y_mm += drawing.height_mm;
    }
    for of_part in told.chunk_by(|a, b| a.2.part == b.2.part) {
        let part = &sheet.parts[of_part[0].2.part];
        let mut listed = false;
        for (page, y_mm, told) in of_part {
            let place = |shape: &Shape| (*page, shape.moved(MARGIN_MM, *y_mm));
            let (alternative, words) = match told.of {
                Of::Opens => {
                    let heading = part.opens.clone().unwrap_or_default();
                    flow.book.begin(Kind::Heading(3, heading.clone()));
                    (heading, &told.words)
                }
                Of::Part => {
                    let heading = format!("{} {}", time(part.start), part.heading);
                    flow.book.begin(Kind::Heading(3, heading.clone()));
                    (heading, &told.words)
                }
                Of::Heard(heard) => {
                    let heard = &part.heard[heard];
                    if !listed {
                        flow.book.begin(Kind::List);
                        listed = true;
                    }
                    flow.book.begin(Kind::Item);
                    flow.book.begin(Kind::Body);
                    let at = time(heard.onset);
                    match heard.kind {
                        HeardKind::Line(_) => (at, &told.words),
                        _ => (format!("{at} {}", heard.text), &told.words),
                    }
                }
            };
            if let Some((page, shape)) = told.mark.as_ref().map(place) {
                let figure = Kind::Figure(alternative);
                flow.book.within(figure, |book| book.piece(page, shape));
            }
            for (page, shape) in words.iter().map(place) {
                flow.book.piece(page, shape);
            }
            flow.book.end();
            if matches!(told.of, Of::Heard(_)) {
                flow.book.end();
            }
        }
        if listed {
            flow.book.end();
        }
    }
}

/// A line that was left out; the first one of a reason says it.
struct Left {
    reason: Option<Paragraph>,
    line: Paragraph,
}

fn left_out(sheet: &Sheet) -> Vec<Left> {
    let mut all = Vec::new();
    for group in &sheet.left_out {
        let reason = capitalised(&group.reason);
        let mut reason = Some(Paragraph {
            air_mm: 0.8,
            // The reason is the planner's own, in English whatever the class is in.
            aside: Some(("en", printable(&format!("{reason}:")))),
            ..Paragraph::of("", SMALL_PT, false)
        });
        for (at, text) in &group.lines {
            let times: Vec<_> = at.iter().map(|at| time(*at)).collect();
            let line = Paragraph {
                label: times.join(", "),
                indent_mm: 3.0,
                ..Paragraph::of(text, SMALL_PT, false)
            };
            let reason = reason.take();
            all.push(Left { reason, line });
        }
    }
    all
}

/// Returns how high a line is in one of the columns, with its reason above it.
fn height_mm(flow: &Flow, left: &Left) -> f32 {
    let paragraphs = left.reason.iter().chain([&left.line]);
    let heights = paragraphs.map(|p| p.height_mm(flow.width_of(LISTS), flow.typeface));
    heights.sum()
}
