//! What a timeline is drawn of: shapes and rows of text, in millimetres from the top left.

/// A drawing of one page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    pub height_mm: f32,
    /// What says nothing by itself: bars, ticks of time, threads.
    pub shapes: Vec<Shape>,
    /// What says something, in the order in which it is heard.
    pub told: Vec<Told>,
}

impl Drawing {
    /// Goes through all shapes.
    pub fn all(&self) -> impl Iterator<Item = &Shape> {
        let told = self.told.iter();
        let told = told.flat_map(|told| told.mark.iter().chain(&told.words));
        self.shapes.iter().chain(told)
    }
}

/// What of a part is drawn, or written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// The block or round that begins with it.
    Opens,
    /// The part as such.
    Part,
    /// A sound of it.
    Heard(usize),
}

/// What is drawn of a part of the sheet, or of a sound in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    pub part: usize,
    pub of: Of,
    /// What stands for it where it has no words, or beside them.
    pub mark: Option<Shape>,
    pub words: Vec<Shape>,
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

impl Shape {
    /// Returns it moved to the right and down.
    pub fn moved(&self, right_mm: f32, down_mm: f32) -> Self {
        let to = |(x, y): (f32, f32)| (x + right_mm, y + down_mm);
        let mut moved = self.clone();
        match &mut moved {
            Shape::Box { x_mm, y_mm, .. } => (*x_mm, *y_mm) = to((*x_mm, *y_mm)),
            Shape::Line { from_mm, to_mm } => (*from_mm, *to_mm) = (to(*from_mm), to(*to_mm)),
            Shape::Area(points) => points.iter_mut().for_each(|point| *point = to(*point)),
            Shape::Text { x_mm, base_mm, .. } => (*x_mm, *base_mm) = to((*x_mm, *base_mm)),
        }
        moved
    }
}

/// A point of letters in millimetres.
pub const POINT_MM: f32 = 25.4 / 72.0;
