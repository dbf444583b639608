//! A drawing as SVG, within a page of HTML.

use super::draw::Drawing;
use super::draw::POINT_MM;
use super::draw::Shape;
use super::html::escaped;
use std::fmt::Write;

/// Writes a drawing of a width, hidden from screen readers: the page says the same in words.
pub fn svg(drawing: &Drawing, width_mm: f32) -> String {
    let height_mm = drawing.height_mm;
    let mut out = format!(
        "<svg aria-hidden=\"true\" focusable=\"false\" width=\"{width_mm:.1}mm\" height=\"{height_mm:.1}mm\" \
         viewBox=\"0 0 {width_mm:.1} {height_mm:.1}\">\n"
    );
    for shape in drawing.all() {
        out += &element(shape);
        out.push('\n');
    }
    out + "</svg>\n"
}

fn element(shape: &Shape) -> String {
    match shape {
        Shape::Box {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            filled,
        } => {
            let class = if *filled { "full" } else { "open" };
            format!(
                "<rect class=\"{class}\" x=\"{x_mm:.2}\" y=\"{y_mm:.2}\" width=\"{width_mm:.2}\" height=\"{height_mm:.2}\"/>"
            )
        }
        Shape::Line { from_mm, to_mm } => format!(
            "<line x1=\"{:.2}\" y1=\"{:.2}\" x2=\"{:.2}\" y2=\"{:.2}\"/>",
            from_mm.0, from_mm.1, to_mm.0, to_mm.1
        ),
        Shape::Area(points) => {
            let mut all = String::new();
            for (x, y) in points {
                // A write into a string cannot fail.
                let _ = write!(all, "{x:.2},{y:.2} ");
            }
            format!("<polygon class=\"full\" points=\"{}\"/>", all.trim_end())
        }
        Shape::Text {
            x_mm,
            base_mm,
            size_pt,
            bold,
            text,
        } => {
            let weight = if *bold { " font-weight=\"700\"" } else { "" };
            format!(
                "<text x=\"{x_mm:.2}\" y=\"{base_mm:.2}\" font-size=\"{:.2}\"{weight}>{}</text>",
                size_pt * POINT_MM,
                escaped(text)
            )
        }
    }
}
