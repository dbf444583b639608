//! A session in time -> drawings, a page each.
//!
//! Down the left runs the time: a work is a broad black bar, a rest a narrow white one, what comes before and after is
//! hatched. Beside it stand tones (a triangle, a square), counts (ticks) and lines (a frame as long as the line is
//! heard); the words of each follow its time in the rows beside them.

use super::HeardKind;
use super::Sheet;
use super::content::time;
use super::draw::Drawing;
use super::draw::Of;
use super::draw::POINT_MM;
use super::draw::Shape;
use super::draw::Told;
use super::pages;
use super::pages::Page;
use super::pages::Placed;
use super::pages::Room;
use super::wrap::Letters;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::capitalised;
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

/// How long the ticks of each ten seconds are, left of the bar; of each thirty they carry the time.
const TICK_MM: f32 = 1.5;
const TIMES_PT: f32 = 7.0;
const WORK_MM: f32 = 4.5;
const REST_MM: f32 = 2.0;
/// Where marks, lines and words begin, from the left of the bar.
const MARKS_MM: f32 = 5.3;
const LINES_MM: f32 = 8.6;
const LINE_MM: f32 = 2.0;
const WORDS_MM: f32 = 11.6;

/// Draws the timeline of a sheet.
pub fn drawings(sheet: &Sheet, field: Field, letters: &dyn Letters) -> Vec<Drawing> {
    // The last time is the longest.
    let last = sheet.parts.last().map_or(At::START, |part| part.end);
    let x_mm = time_mm(last, letters) + 0.5 + TICK_MM;
    let room = Room {
        first_mm: field.first_mm,
        others_mm: field.others_mm,
        words_mm: field.width_mm - x_mm - WORDS_MM,
        headings_mm: field.width_mm - x_mm,
    };
    let pages = pages::pages(sheet, room, letters);
    let pages = pages.iter().map(|page| {
        let mut drawing = Drawing {
            height_mm: page.height_mm() + 1.0,
            ..Drawing::default()
        };
        write(sheet, page, x_mm, &mut drawing);
        let headings = page.labels.iter().filter(|label| label.label.opens);
        let lines = headings.map(|heading| under(heading, x_mm, room.headings_mm));
        drawing.shapes.extend(lines);
        times(page, x_mm, letters, &mut drawing.shapes);
        drawing
    });
    pages.collect()
}

fn write(sheet: &Sheet, page: &Page, x_mm: f32, drawing: &mut Drawing) {
    for (index, part) in sheet.parts.iter().enumerate() {
        let (from, to) = (part.start.max(page.from), part.end.min(page.to));
        if from >= to {
            continue;
        }
        let words = |of: Of| words(page, index, of, x_mm);
        let mut bars = Vec::new();
        bar(part.kind, x_mm, page.y_mm(from), page.end_mm(to), &mut bars);
        let opens = words(Of::Opens);
        if !opens.is_empty() {
            drawing.told.push(Told {
                part: index,
                of: Of::Opens,
                mark: None,
                words: opens,
            });
        }
        if part.start >= page.from {
            let words = words(Of::Part);
            // Without a heading in words the bar stands for it.
            let mark = if words.is_empty() { bars.pop() } else { None };
            drawing.told.push(Told {
                part: index,
                of: Of::Part,
                mark,
                words,
            });
        }
        drawing.shapes.append(&mut bars);
        for (nth, heard) in part.heard.iter().enumerate() {
            if heard.onset < page.from || heard.onset >= page.to {
                continue;
            }
            let y_mm = page.y_mm(heard.onset);
            let end_mm = page.end_mm(heard.end.min(page.to));
            drawing.told.push(Told {
                part: index,
                of: Of::Heard(nth),
                mark: Some(mark(heard.kind, x_mm, y_mm, end_mm)),
                words: words(Of::Heard(nth)),
            });
        }
    }
}

/// Returns the words of something, where they stand on a page.
fn words(page: &Page, part: usize, of: Of, x_mm: f32) -> Vec<Shape> {
    let mut words = Vec::new();
    for placed in page.labels.iter().filter(|label| label.part == part) {
        let label = &placed.label;
        let x_mm = x_mm + if label.opens { 0.0 } else { WORDS_MM };
        for (nth, row) in label.rows.iter().enumerate() {
            let base_mm = placed.y_mm + label.row_mm() * (nth as f32 + BASE);
            let pieces = row.iter().filter(|piece| piece.of == of);
            words.extend(pieces.map(|piece| Shape::Text {
                x_mm: x_mm + piece.x_mm,
                base_mm,
                size_pt: piece.size_pt,
                bold: piece.bold,
                text: piece.text.clone(),
            }));
        }
    }
    words
}

/// How far below its top the letters of a row stand, in heights of it.
const BASE: f32 = 0.85;

/// Underlines the heading of a round.
fn under(heading: &Placed, x_mm: f32, width_mm: f32) -> Shape {
    let label = &heading.label;
    let y_mm = heading.y_mm + label.row_mm() * (label.rows.len() as f32 + 0.25);
    Shape::Line {
        from_mm: (x_mm, y_mm),
        to_mm: (x_mm + width_mm, y_mm),
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

/// Returns how wide a time beside its tick is.
fn time_mm(at: At, letters: &dyn Letters) -> f32 {
    letters.width(&time(at), false) * TIMES_PT * POINT_MM
}

/// Draws a tick on the left of the bar at each ten seconds, and the time at each thirty.
fn times(page: &Page, x_mm: f32, letters: &dyn Letters, shapes: &mut Vec<Shape>) {
    let ten = Millis::from_secs(10);
    let mut at = At::from_ms(page.from.ms().div_euclid(ten.ms()) * ten.ms());
    while at <= page.to {
        if at >= page.from {
            let y_mm = page.y_mm(at);
            let from_mm = (x_mm - TICK_MM, y_mm);
            let to_mm = (x_mm, y_mm);
            shapes.push(Shape::Line { from_mm, to_mm });
            if at.ms() % 30_000 == 0 {
                let height_mm = TIMES_PT * POINT_MM * 0.72;
                shapes.push(Shape::Text {
                    x_mm: x_mm - TICK_MM - 0.5 - time_mm(at, letters),
                    base_mm: (y_mm + height_mm / 2.0).max(height_mm),
                    size_pt: TIMES_PT,
                    bold: false,
                    text: time(at),
                });
            }
        }
        at += ten;
    }
}

/// What is drawn for something: its signs, how far they reach, and what they mean.
pub struct Key {
    pub shapes: Vec<Shape>,
    pub width_mm: f32,
    pub meaning: String,
}

/// Draws the key: each sign once, 4 mm high, with its meaning.
pub fn key(sheet: &Sheet) -> Vec<Key> {
    let labels = &sheet.labels;
    let lying = |kind, width_mm: f32, meaning: &str| {
        let mut shapes = Vec::new();
        bar(kind, 0.2, 0.2, 3.8, &mut shapes);
        one(shapes, width_mm, meaning)
    };
    let sound = |kind, width_mm: f32, meaning: &str| {
        one(
            vec![mark(kind, 0.2 - MARKS_MM, 0.8, 3.3)],
            width_mm,
            meaning,
        )
    };
    let line = mark(HeardKind::Line(Topic::Form), 0.2 - LINES_MM, 0.3, 3.7);
    let safety = Shape::Text {
        x_mm: 0.2,
        base_mm: 3.4,
        size_pt: 4.0 / POINT_MM * 0.9,
        bold: true,
        text: pages::SAFETY.trim_end().to_owned(),
    };
    vec![
        lying(SegmentKind::Work, WORK_MM, &labels.work),
        lying(SegmentKind::Rest, REST_MM, &labels.rest),
        lying(SegmentKind::LeadIn, WORK_MM, &labels.around),
        sound(HeardKind::Tone(Tone::Start), 2.6, &labels.start_tone),
        sound(HeardKind::Tone(Tone::End), 2.2, &labels.end_tone),
        sound(HeardKind::Count, 2.6, &labels.count),
        one(vec![line], LINE_MM, &labels.line),
        one(vec![safety], 1.6, &labels.safety),
    ]
}

fn one(shapes: Vec<Shape>, width_mm: f32, meaning: &str) -> Key {
    Key {
        shapes,
        width_mm: width_mm + 0.4,
        meaning: capitalised(meaning),
    }
}
