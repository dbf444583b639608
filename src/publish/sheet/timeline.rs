//! Columns of a session in time -> drawings, a page each.
//!
//! Down the left of a column runs the time: a work is a broad black bar, a rest a narrow white one, what comes before
//! and after is hatched. Beside it stand tones (a triangle, a square), counts (ticks) and lines (a frame as long as the
//! line is heard), from which a thread leads to the words.

use super::Heard;
use super::HeardKind;
use super::Sheet;
use super::draw::Drawing;
use super::draw::POINT_MM;
use super::draw::Shape;
use super::pages;
use super::pages::Column;
use super::pages::Room;
use super::pages::Scale;
use super::wrap::Letters;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Tone;
use crate::planning::timeline::SegmentKind;

/// The width of what is printed: A4 and Letter have it between margins of 12 mm.
pub const WIDTH_MM: f32 = 186.0;
/// The height on either paper, between the same margins, with some to spare for a page's own head.
pub const HEIGHT_MM: f32 = 246.0;

const COLUMNS: usize = 2;
const GUTTER_MM: f32 = 6.0;
const COLUMN_MM: f32 = (WIDTH_MM - GUTTER_MM) / COLUMNS as f32;
/// Where the bar begins, right of the ticks of each ten seconds.
const BAR_MM: f32 = 1.5;
const WORK_MM: f32 = 5.0;
const REST_MM: f32 = 2.0;
/// Where marks, lines and words begin, from the left of the bar.
const MARKS_MM: f32 = 6.0;
const LINES_MM: f32 = 9.5;
const LINE_MM: f32 = 2.2;
const WORDS_MM: f32 = 15.5;

/// Draws the timeline of a sheet; the first page has `above_mm` less room than the others.
pub fn drawings(sheet: &Sheet, above_mm: f32, letters: &dyn Letters) -> Vec<Drawing> {
    let room = Room {
        first_mm: HEIGHT_MM - above_mm,
        others_mm: HEIGHT_MM,
        words_mm: COLUMN_MM - BAR_MM - WORDS_MM - 0.5,
        columns: COLUMNS,
    };
    let (scale, columns) = pages::columns(sheet, room, letters);
    let pages = columns.chunks(COLUMNS).map(|page| {
        let heights = page.iter().map(|column| column.height_mm(scale));
        let mut drawing = Drawing {
            height_mm: heights.fold(0.0, f32::max) + 1.0,
            shapes: Vec::new(),
        };
        for (nth, column) in page.iter().enumerate() {
            let x_mm = nth as f32 * (COLUMN_MM + GUTTER_MM) + BAR_MM;
            column_of(sheet, column, scale, x_mm, &mut drawing.shapes);
        }
        drawing
    });
    pages.collect()
}

fn column_of(sheet: &Sheet, column: &Column, scale: Scale, x_mm: f32, shapes: &mut Vec<Shape>) {
    for part in &sheet.parts {
        let (from, to) = (part.start.max(column.from), part.end.min(column.to));
        if from >= to {
            continue;
        }
        let (top, bottom) = (column.y_mm(from, scale), column.y_mm(to, scale));
        bar(part.kind, x_mm, top, bottom, shapes);
        let inside = |heard: &&Heard| heard.onset >= column.from && heard.onset < column.to;
        for heard in part.heard.iter().filter(inside) {
            let y_mm = column.y_mm(heard.onset, scale);
            let end_mm = column.y_mm(heard.end.min(column.to), scale);
            mark(heard.kind, x_mm, y_mm, end_mm, shapes);
        }
    }
    tens(column, scale, x_mm, shapes);
    for placed in &column.labels {
        let label = &placed.label;
        let row_mm = label.row_mm();
        // A heading has its air above, so that it stands with what follows.
        let first = placed.y_mm + row_mm * if label.heading { 1.0 } else { 0.78 };
        if !label.heading {
            let y_mm = column.y_mm(placed.at, scale) + 0.4;
            let to_mm = (x_mm + WORDS_MM - 0.7, placed.y_mm + row_mm * 0.5);
            let from_mm = (x_mm + LINES_MM + LINE_MM, y_mm);
            shapes.push(Shape::Line { from_mm, to_mm });
        }
        for (nth, row) in label.rows.iter().enumerate() {
            shapes.push(Shape::Text {
                x_mm: x_mm + WORDS_MM,
                base_mm: first + nth as f32 * row_mm,
                size_pt: label.size_pt,
                bold: label.bold,
                text: row.clone(),
            });
        }
    }
}

fn bar(kind: SegmentKind, x_mm: f32, top: f32, bottom: f32, shapes: &mut Vec<Shape>) {
    let (width_mm, filled) = match kind {
        SegmentKind::Work => (WORK_MM, true),
        SegmentKind::Rest => (REST_MM, false),
        SegmentKind::LeadIn | SegmentKind::Finish => (WORK_MM, false),
    };
    shapes.push(Shape::Box {
        x_mm,
        y_mm: top,
        width_mm,
        height_mm: bottom - top,
        filled,
    });
    if matches!(kind, SegmentKind::LeadIn | SegmentKind::Finish) {
        hatch(x_mm, top, bottom, width_mm, shapes);
    }
}

/// Draws slanted lines within a box, 3 mm apart.
fn hatch(x_mm: f32, top: f32, bottom: f32, width_mm: f32, shapes: &mut Vec<Shape>) {
    let mut y = top;
    while y < bottom {
        let rise = width_mm.min(y - top);
        if rise > 0.0 {
            let (from_mm, to_mm) = ((x_mm, y), (x_mm + rise, y - rise));
            shapes.push(Shape::Line { from_mm, to_mm });
        }
        y += 3.0;
    }
}

/// Draws what falls on the clock beside the bar, and a line as a frame.
fn mark(kind: HeardKind, x_mm: f32, y_mm: f32, end_mm: f32, shapes: &mut Vec<Shape>) {
    let x = x_mm + MARKS_MM;
    match kind {
        HeardKind::Tone(Tone::Start) => {
            shapes.push(Shape::Area(vec![
                (x, y_mm),
                (x + 2.6, y_mm + 1.3),
                (x, y_mm + 2.6),
            ]));
        }
        HeardKind::Tone(Tone::End) => shapes.push(Shape::Area(vec![
            (x, y_mm),
            (x + 2.2, y_mm),
            (x + 2.2, y_mm + 2.2),
            (x, y_mm + 2.2),
        ])),
        HeardKind::Count => shapes.push(Shape::Line {
            from_mm: (x, y_mm),
            to_mm: (x + 2.6, y_mm),
        }),
        HeardKind::Line(_) => shapes.push(Shape::Box {
            x_mm: x_mm + LINES_MM,
            y_mm,
            width_mm: LINE_MM,
            height_mm: (end_mm - y_mm).max(0.3),
            filled: false,
        }),
    }
}

/// Draws a tick on the left of the bar at each ten seconds.
fn tens(column: &Column, scale: Scale, x_mm: f32, shapes: &mut Vec<Shape>) {
    let ten = Millis::from_secs(10);
    let mut at = At::from_ms(column.from.ms().div_euclid(ten.ms()) * ten.ms());
    while at <= column.to {
        if at >= column.from {
            let y = column.y_mm(at, scale);
            let from_mm = (x_mm - BAR_MM, y);
            let to_mm = (x_mm, y);
            shapes.push(Shape::Line { from_mm, to_mm });
        }
        at += ten;
    }
}

/// What is drawn for something, with what it means.
pub type Key = (Vec<Shape>, String);

/// Draws the key: each shape once, within 12 mm by 4 mm, with its meaning.
pub fn key(sheet: &Sheet) -> Vec<Key> {
    let labels = &sheet.labels;
    let drawn = |draw: &dyn Fn(&mut Vec<Shape>)| {
        let mut shapes = Vec::new();
        draw(&mut shapes);
        shapes
    };
    let lying = |kind| move |shapes: &mut Vec<Shape>| bar(kind, 1.0, 0.0, 4.0, shapes);
    let sound = |kind| move |shapes: &mut Vec<Shape>| mark(kind, -5.0, 1.0, 3.5, shapes);
    let line = |shapes: &mut Vec<Shape>| {
        mark(
            HeardKind::Line(crate::planning::script::Topic::Form),
            -8.0,
            0.3,
            3.7,
            shapes,
        );
    };
    let safety = vec![Shape::Text {
        x_mm: 2.0,
        base_mm: 3.4,
        size_pt: 4.0 / POINT_MM * 0.9,
        bold: true,
        text: pages::SAFETY.trim_end().to_owned(),
    }];
    vec![
        (drawn(&lying(SegmentKind::Work)), labels.work.clone()),
        (drawn(&lying(SegmentKind::Rest)), labels.rest.clone()),
        (drawn(&lying(SegmentKind::LeadIn)), labels.around.clone()),
        (
            drawn(&sound(HeardKind::Tone(Tone::Start))),
            labels.start_tone.clone(),
        ),
        (
            drawn(&sound(HeardKind::Tone(Tone::End))),
            labels.end_tone.clone(),
        ),
        (drawn(&sound(HeardKind::Count)), labels.count.clone()),
        (drawn(&line), labels.line.clone()),
        (safety, labels.safety.clone()),
    ]
}
