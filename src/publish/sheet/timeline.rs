//! Columns of a session in time -> drawings, a page each.
//!
//! Down the left of a column runs the time: a work is a broad black bar, a rest a narrow white one, what comes before
//! and after is hatched. Beside it stand tones (a triangle, a square), counts (ticks) and lines (a frame as long as the
//! line is heard), from which a thread leads to the words.

use super::HeardKind;
use super::Sheet;
use super::draw::Drawing;
use super::draw::POINT_MM;
use super::draw::Shape;
use super::draw::Told;
use super::pages;
use super::pages::Column;
use super::pages::Placed;
use super::pages::Room;
use super::pages::Scale;
use super::wrap::Letters;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Tone;
use crate::planning::script::Topic;
use crate::planning::timeline::SegmentKind;

/// The paper that a timeline has, in millimetres: its width, and its height on the first page and on each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    pub width_mm: f32,
    pub first_mm: f32,
    pub others_mm: f32,
}

const COLUMNS: usize = 2;
const GUTTER_MM: f32 = 5.0;
/// Where the bar begins, right of the ticks of each ten seconds.
const BAR_MM: f32 = 1.5;
const WORK_MM: f32 = 4.5;
const REST_MM: f32 = 2.0;
/// Where marks, lines and words begin, from the left of the bar.
const MARKS_MM: f32 = 5.3;
const LINES_MM: f32 = 8.6;
const LINE_MM: f32 = 2.0;
const WORDS_MM: f32 = 13.5;

/// Draws the timeline of a sheet.
pub fn drawings(sheet: &Sheet, field: Field, letters: &dyn Letters) -> Vec<Drawing> {
    let column_mm = (field.width_mm + GUTTER_MM) / COLUMNS as f32 - GUTTER_MM;
    let room = Room {
        first_mm: field.first_mm,
        others_mm: field.others_mm,
        words_mm: column_mm - BAR_MM - WORDS_MM,
        columns: COLUMNS,
    };
    let (scale, columns) = pages::columns(sheet, room, letters);
    let pages = columns.chunks(COLUMNS).map(|page| {
        let heights = page.iter().map(|column| column.height_mm(scale));
        let mut drawing = Drawing {
            height_mm: heights.fold(0.0, f32::max) + 1.0,
            ..Drawing::default()
        };
        for (nth, column) in page.iter().enumerate() {
            let x_mm = nth as f32 * (column_mm + GUTTER_MM) + BAR_MM;
            column_of(sheet, column, scale, x_mm, &mut drawing);
        }
        drawing
    });
    pages.collect()
}

fn column_of(sheet: &Sheet, column: &Column, scale: Scale, x_mm: f32, drawing: &mut Drawing) {
    for (index, part) in sheet.parts.iter().enumerate() {
        let (from, to) = (part.start.max(column.from), part.end.min(column.to));
        if from >= to {
            continue;
        }
        let (top, bottom) = (column.y_mm(from, scale), column.y_mm(to, scale));
        let label = |heard: Option<usize>| {
            let mut labels = column.labels.iter();
            labels.find(|l| l.part == index && l.label.heard == heard)
        };
        let words = |placed: Option<&Placed>| placed.map_or(Vec::new(), |p| rows(p, x_mm));
        let mut bars = Vec::new();
        bar(part.kind, x_mm, top, bottom, &mut bars);
        if part.start >= column.from {
            let words = words(label(None));
            // Without a heading in words the bar stands for it.
            let mark = if words.is_empty() { bars.pop() } else { None };
            drawing.told.push(Told {
                part: index,
                heard: None,
                mark,
                words,
            });
        }
        drawing.shapes.append(&mut bars);
        for (nth, heard) in part.heard.iter().enumerate() {
            if heard.onset < column.from || heard.onset >= column.to {
                continue;
            }
            let y_mm = column.y_mm(heard.onset, scale);
            let end_mm = column.y_mm(heard.end.min(column.to), scale);
            let placed = label(Some(nth));
            let threads = placed.map(|placed| thread(y_mm, placed, x_mm));
            drawing.shapes.extend(threads);
            drawing.told.push(Told {
                part: index,
                heard: Some(nth),
                mark: Some(mark(heard.kind, x_mm, y_mm, end_mm)),
                words: words(placed),
            });
        }
    }
    tens(column, scale, x_mm, &mut drawing.shapes);
}

/// Leads from a line to its words.
fn thread(y_mm: f32, placed: &Placed, x_mm: f32) -> Shape {
    Shape::Line {
        from_mm: (x_mm + LINES_MM + LINE_MM, y_mm + 0.4),
        to_mm: (
            x_mm + WORDS_MM - 0.7,
            placed.y_mm + placed.label.row_mm() * 0.5,
        ),
    }
}

fn rows(placed: &Placed, x_mm: f32) -> Vec<Shape> {
    let label = &placed.label;
    let row_mm = label.row_mm();
    // A heading has its air above, so that it stands with what follows.
    let first = placed.y_mm + row_mm * if label.heard.is_none() { 1.0 } else { 0.8 };
    let rows = label.rows.iter().enumerate();
    let rows = rows.map(|(nth, row)| Shape::Text {
        x_mm: x_mm + WORDS_MM,
        base_mm: first + nth as f32 * row_mm,
        size_pt: label.size_pt,
        bold: label.bold,
        text: row.clone(),
    });
    rows.collect()
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
fn mark(kind: HeardKind, x_mm: f32, y_mm: f32, end_mm: f32) -> Shape {
    let x = x_mm + MARKS_MM;
    match kind {
        HeardKind::Tone(Tone::Start) => {
            Shape::Area(vec![(x, y_mm), (x + 2.6, y_mm + 1.3), (x, y_mm + 2.6)])
        }
        HeardKind::Tone(Tone::End) => Shape::Area(vec![
            (x, y_mm),
            (x + 2.2, y_mm),
            (x + 2.2, y_mm + 2.2),
            (x, y_mm + 2.2),
        ]),
        HeardKind::Count => Shape::Line {
            from_mm: (x, y_mm),
            to_mm: (x + 2.6, y_mm),
        },
        HeardKind::Line(_) => Shape::Box {
            x_mm: x_mm + LINES_MM,
            y_mm,
            width_mm: LINE_MM,
            height_mm: (end_mm - y_mm).max(0.3),
            filled: false,
        },
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
    let sound = |kind| vec![mark(kind, 1.0 - MARKS_MM, 1.0, 3.5)];
    let line = HeardKind::Line(Topic::Form);
    let line = vec![mark(line, 1.0 - LINES_MM, 0.3, 3.7)];
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
            sound(HeardKind::Tone(Tone::Start)),
            labels.start_tone.clone(),
        ),
        (sound(HeardKind::Tone(Tone::End)), labels.end_tone.clone()),
        (sound(HeardKind::Count), labels.count.clone()),
        (line, labels.line.clone()),
        (safety, labels.safety.clone()),
    ]
}
