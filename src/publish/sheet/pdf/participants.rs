//! The participants' pages: cautions, what to have ready, and each movement with its start, its way and what is easier.

use super::book::Kind;
use super::flow::Flow;
use super::flow::Paragraph;
use super::flow::balanced;
use crate::publish::sheet::Exercise;
use crate::publish::sheet::Labels;
use crate::publish::sheet::Sheet;
use crate::publish::sheet::draw::POINT_MM;
use crate::publish::sheet::draw::Shape;
use crate::publish::sheet::wrap::Letters;

/// Where an exercise's words begin, right of its number.
const NUMBER_MM: f32 = 10.0;
/// Within the frame of the cautions.
const PADDING_MM: f32 = 2.5;

/// Writes them from the top of a page on.
pub fn write(flow: &mut Flow, sheet: &Sheet, size_pt: f32) {
    let labels = &sheet.labels;
    let heading = |text: &str| Paragraph {
        air_mm: 1.5,
        ..Paragraph::of(text, size_pt + 2.0, true)
    };
    let name = &labels.participants;
    flow.write(Kind::Heading(2, name.clone()), &heading(name));
    let title = Paragraph::of(&sheet.title, size_pt + 1.0, true);
    flow.write(Kind::Paragraph, &title);
    for line in &sheet.outline {
        flow.write(Kind::Paragraph, &Paragraph::of(line, size_pt, false));
    }
    cautions(flow, sheet, size_pt);
    if !sheet.ready.is_empty() {
        let name = &labels.ready;
        flow.write(Kind::Heading(3, name.clone()), &heading(name));
        flow.list(&sheet.ready, size_pt);
    }
    let name = &labels.exercises;
    flow.write(Kind::Heading(3, name.clone()), &heading(name));
    if sheet.exercises.iter().any(|one| one.sides.is_some()) {
        let mirrored = Paragraph::of(&labels.mirrored, size_pt, false);
        flow.write(Kind::Paragraph, &mirrored);
    }
    flow.y_mm += 1.5;
    exercises(flow, sheet, size_pt);
}

/// The cautions in a frame, as far as they fit a page together.
fn cautions(flow: &mut Flow, sheet: &Sheet, size_pt: f32) {
    let name = format!("! {}", sheet.labels.cautions);
    let heading = Paragraph {
        indent_mm: PADDING_MM,
        ..Paragraph::of(&name, size_pt + 2.0, true)
    };
    let items = sheet.cautions.iter().map(|caution| Paragraph {
        indent_mm: PADDING_MM,
        air_mm: 0.5,
        ..Paragraph::of(caution, size_pt, false)
    });
    let items: Vec<Paragraph> = items.collect();
    let width_mm = flow.width_mm();
    let heights = std::iter::once(&heading).chain(&items);
    let heights = heights.map(|p| p.height_mm(width_mm, flow.typeface));
    let height_mm = heights.sum::<f32>() + 2.0 * PADDING_MM;
    flow.y_mm += 2.0;
    flow.keep(height_mm);
    if height_mm <= flow.left_mm() {
        // A broad frame is four bars: a stroke would lie half outside.
        let bar = |x_mm, y_mm, width_mm, height_mm| Shape::Box {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            filled: true,
        };
        flow.decorate(&bar(0.0, 0.0, width_mm, 0.9));
        flow.decorate(&bar(0.0, height_mm - 0.9, width_mm, 0.9));
        flow.decorate(&bar(0.0, 0.0, 0.9, height_mm));
        flow.decorate(&bar(width_mm - 0.9, 0.0, 0.9, height_mm));
    }
    flow.y_mm += PADDING_MM;
    flow.write(Kind::Heading(3, name), &heading);
    flow.book.begin(Kind::List);
    for item in &items {
        flow.book.begin(Kind::Item);
        flow.write(Kind::Body, item);
        flow.book.end();
    }
    flow.book.end();
    flow.y_mm += PADDING_MM;
}

/// An exercise: its name, then what there is to know of it.
fn paragraphs(exercise: &Exercise, labels: &Labels, size_pt: f32) -> Vec<Paragraph> {
    let name = match &exercise.sides {
        Some(sides) => format!("{} ({sides})", exercise.name),
        None => exercise.name.clone(),
    };
    let mut all = vec![Paragraph {
        indent_mm: NUMBER_MM,
        air_mm: 1.2,
        ..Paragraph::of(&name, size_pt + 1.5, true)
    }];
    let one = std::slice::from_ref(&exercise.start);
    for (label, texts) in [
        (&labels.start, one),
        (&labels.how, &exercise.how[..]),
        (&labels.care, &exercise.care),
        (&labels.easier, &exercise.easier),
    ] {
        if !texts.is_empty() {
            all.push(Paragraph {
                label: format!("{label}:"),
                indent_mm: NUMBER_MM,
                ..Paragraph::of(&texts.join(" "), size_pt, false)
            });
        }
    }
    all
}

/// The exercises in two columns, as even as they can be.
fn exercises(flow: &mut Flow, sheet: &Sheet, size_pt: f32) {
    let all = sheet.exercises.iter();
    let all: Vec<_> = all
        .map(|one| paragraphs(one, &sheet.labels, size_pt))
        .collect();
    let heights: Vec<f32> = all.iter().map(|one| height(flow, one)).collect();
    let height_mm = balanced(&heights, 2, flow.left_mm());
    flow.begin_columns(2, height_mm);
    flow.book.begin(Kind::List);
    for (nth, (paragraphs, height_mm)) in all.iter().zip(heights).enumerate() {
        flow.keep(height_mm);
        card(flow, nth + 1, paragraphs, size_pt);
    }
    flow.book.end();
    flow.end_columns();
}

/// Returns how high an exercise is, in a column of two.
fn height(flow: &Flow, paragraphs: &[Paragraph]) -> f32 {
    let heights = paragraphs.iter();
    let heights = heights.map(|p| p.height_mm(flow.width_of(2), flow.typeface));
    heights.sum::<f32>() + 1.5
}

fn card(flow: &mut Flow, number: usize, paragraphs: &[Paragraph], size_pt: f32) {
    let width_mm = flow.width_mm();
    let (digits, size_pt) = (number.to_string(), size_pt + 2.0);
    let wide_mm = flow.typeface.width(&digits, true) * size_pt * POINT_MM;
    flow.decorate(&Shape::Box {
        x_mm: 0.0,
        y_mm: 0.0,
        width_mm,
        height_mm: 0.3,
        filled: true,
    });
    flow.decorate(&Shape::Box {
        x_mm: 0.3,
        y_mm: 1.4,
        width_mm: 7.5,
        height_mm: 6.5,
        filled: false,
    });
    flow.book.begin(Kind::Item);
    let digits = Shape::Text {
        x_mm: 0.3 + (7.5 - wide_mm) / 2.0,
        base_mm: 1.4 + 3.25 + size_pt * POINT_MM * 0.36,
        size_pt,
        bold: true,
        text: digits,
    };
    flow.book.begin(Kind::Number);
    flow.draw(&digits);
    flow.book.end();
    flow.book.begin(Kind::Body);
    for (nth, paragraph) in paragraphs.iter().enumerate() {
        let kind = match nth {
            0 => Kind::Heading(4, paragraph.text.clone()),
            _ => Kind::Paragraph,
        };
        flow.write(kind, paragraph);
    }
    flow.book.end();
    flow.book.end();
    flow.y_mm += 1.5;
}
