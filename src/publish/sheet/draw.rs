//! What a timeline is drawn of: shapes and rows of text, in millimetres from the top left.

/// A drawing of one page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    pub height_mm: f32,
    pub shapes: Vec<Shape>,
}

/// A shape; all are black on white.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Box {
        x_mm: f32,
        y_mm: f32,
        width_mm: f32,
        height_mm: f32,
        filled: bool,
    },
    /// A thin line; dashes for what is only about so long.
    Line {
        from_mm: (f32, f32),
        to_mm: (f32, f32),
    },
    /// A filled area between points.
    Area(Vec<(f32, f32)>),
    Text {
        x_mm: f32,
        /// The line on which the letters stand.
        base_mm: f32,
        size_pt: f32,
        bold: bool,
        text: String,
    },
}

/// A point of letters in millimetres.
pub const POINT_MM: f32 = 25.4 / 72.0;
