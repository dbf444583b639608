//! The coach's pages: title, facts, key, the timeline, and what was left out. One page, if that can be read.

use super::book::Kind;
use super::flow::Flow;
use super::flow::MARGIN_MM;
use super::flow::Paragraph;
use super::flow::run_in_mm;
use super::letters::printable;
use crate::publish::sheet::HeardKind;
use crate::publish::sheet::LeftOut;
use crate::publish::sheet::Sheet;
use crate::publish::sheet::content::time;
use crate::publish::sheet::draw::Drawing;
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
/// How high a row of the key is.
const KEY_MM: f32 = 4.6;

/// Writes them from the top of a page on.
pub fn write(flow: &mut Flow, sheet: &Sheet) {
    title(flow, sheet);
    head(flow, sheet);
    key(flow, sheet);
    flow.y_mm += 1.0;
    let (heading, items) = left_out(sheet);
    let width_mm = flow.width_mm();
    let heading_mm = heading.height_mm(width_mm, flow.typeface);
    let below_mm = heading_mm + run_in_mm(&items, width_mm, flow.typeface);
    let field = |below_mm: f32| Field {
        width_mm,
        first_mm: flow.left_mm() - below_mm,
        others_mm: flow.whole_mm(),
    };
    // On one page with what was left out, if that can be; else that comes after, wherever there is room.
    let mut drawings = timeline::drawings(sheet, field(below_mm + 1.0), flow.typeface);
    if drawings.len() > 1 {
        drawings = timeline::drawings(sheet, field(1.0), flow.typeface);
    }
    in_time(flow, sheet, &drawings);
    flow.keep(heading_mm * 2.0);
    let name = sheet.labels.left_out.clone();
    flow.write(Kind::Heading(3, name), &heading);
    flow.run_in(&items);
}

fn title(flow: &mut Flow, sheet: &Sheet) {
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
}

/// The part's name, with the facts beside it.
fn head(flow: &mut Flow, sheet: &Sheet) {
    let name = &sheet.labels.coach;
    let heading = Paragraph::of(name, HEADING_PT, true);
    let name_mm = flow.typeface.width(name, true) * HEADING_PT * POINT_MM;
    let y_mm = flow.y_mm;
    flow.write(Kind::Heading(2, name.clone()), &heading);
    let facts = Paragraph {
        indent_mm: name_mm + 4.0,
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

fn key(flow: &mut Flow, sheet: &Sheet) {
    flow.book.begin(Kind::List);
    let mut x_mm = 0.0;
    for (shapes, meaning) in timeline::key(sheet) {
        let width_mm = flow.typeface.width(&meaning, false) * SMALL_PT * POINT_MM;
        if x_mm > 0.0 && x_mm + 8.0 + width_mm > flow.width_mm() {
            x_mm = 0.0;
            flow.y_mm += KEY_MM;
        }
        for shape in shapes {
            flow.decorate(&shape.moved(x_mm, 0.0));
        }
        flow.book.begin(Kind::Item);
        flow.book.begin(Kind::Body);
        flow.draw(&Shape::Text {
            x_mm: x_mm + 8.0,
            base_mm: 3.2,
            size_pt: SMALL_PT,
            bold: false,
            text: meaning,
        });
        flow.book.end();
        flow.book.end();
        x_mm += 8.0 + width_mm + 2.0;
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
            let (alternative, words) = match told.heard.map(|heard| &part.heard[heard]) {
                None => {
                    let heading = format!("{} {}", time(part.start), part.heading);
                    flow.book.begin(Kind::Heading(3, heading.clone()));
                    (heading, &told.words)
                }
                Some(heard) => {
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
            if told.heard.is_some() {
                flow.book.end();
            }
        }
        if listed {
            flow.book.end();
        }
    }
}

/// What was left out: its heading, and an item each.
fn left_out(sheet: &Sheet) -> (Paragraph, Vec<Paragraph>) {
    let heading = Paragraph {
        air_mm: 1.0,
        ..Paragraph::of(&sheet.labels.left_out, HEADING_PT, true)
    };
    let mut items: Vec<Paragraph> = sheet.left_out.iter().map(item).collect();
    if items.is_empty() {
        items.push(Paragraph::of(&sheet.labels.nothing, SMALL_PT, false));
    }
    (heading, items)
}

/// A line that was left out, with when and why.
fn item(left: &LeftOut) -> Paragraph {
    let times: Vec<_> = left.at.iter().map(|at| time(*at)).collect();
    Paragraph {
        label: times.join(", "),
        // The reason is the planner's own, in English whatever the class is in.
        aside: Some(("en", printable(&format!("({})", left.reason)))),
        ..Paragraph::of(&left.text, SMALL_PT, false)
    }
}
