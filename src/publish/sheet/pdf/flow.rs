//! Paragraphs in columns of pages, from the top on.

use super::Paper;
use super::book::Book;
use super::book::Kind;
use super::letters::Typeface;
use super::letters::from_the_right;
use super::letters::printable;
use crate::publish::sheet::draw::POINT_MM;
use crate::publish::sheet::draw::Shape;
use crate::publish::sheet::wrap;
use crate::publish::sheet::wrap::Letters;

/// Around what is printed: printers leave 4 to 6 mm white (common practice).
pub const MARGIN_MM: f32 = 10.0;
/// Between two columns.
const GUTTER_MM: f32 = 5.0;
/// How high a row is, in heights of its letters.
const ROW: f32 = 1.2;

/// A paragraph, before anybody knows where it stands.
#[derive(Debug, Clone, Default)]
pub struct Paragraph {
    /// What stands before it, bold.
    pub label: String,
    pub text: String,
    /// What stands behind it in another language, with its tag.
    pub aside: Option<(&'static str, String)>,
    pub bold: bool,
    pub size_pt: f32,
    /// From the left of the column.
    pub indent_mm: f32,
    /// Above it.
    pub air_mm: f32,
}

/// A row: bold and regular, and in the aside's language or the page's.
type Row = Vec<(Shape, bool)>;

impl Paragraph {
    /// Makes a paragraph of one size and weight.
    pub fn of(text: &str, size_pt: f32, bold: bool) -> Self {
        Self {
            text: printable(text),
            bold,
            size_pt,
            ..Self::default()
        }
    }

    fn row_mm(&self) -> f32 {
        self.size_pt * POINT_MM * ROW
    }

    /// Returns how far up it is from below this one's last row to where another's letters stand on one line with it.
    pub fn up_to_mm(&self, other: &Paragraph) -> f32 {
        self.row_mm() * (1.0 - BASE) + other.row_mm() * BASE
    }

    /// Divides it into rows, each from its own top left.
    fn rows(&self, width_mm: f32, typeface: &Typeface) -> Vec<Row> {
        let size_mm = self.size_pt * POINT_MM;
        let width = (width_mm - self.indent_mm) / size_mm;
        let aside = self.aside.as_ref().map_or("", |(_, text)| text);
        let parts = [
            (self.label.as_str(), true, false),
            (self.text.as_str(), self.bold, false),
            (aside, self.bold, true),
        ];
        // What is read from the right begins there, if nothing else stands in its row.
        let alone = self.label.is_empty() && aside.is_empty();
        let mut rows: Vec<Row> = vec![Vec::new()];
        let mut at = 0.0;
        for (text, bold, is_aside) in parts {
            if text.is_empty() {
                continue;
            }
            let space = typeface.width(" ", bold);
            if rows.last().is_some_and(|row| !row.is_empty()) {
                at += space;
            }
            let divided = wrap::rows_after(at, text, bold, width, typeface);
            for (nth, row) in divided.into_iter().enumerate() {
                if nth > 0 {
                    rows.push(Vec::new());
                    at = 0.0;
                }
                if row.is_empty() {
                    continue;
                }
                let (_, wide) = typeface.runs(&row, bold);
                let from = match alone && from_the_right(text) {
                    true => width - wide,
                    false => at,
                };
                let shape = Shape::Text {
                    x_mm: self.indent_mm + from * size_mm,
                    base_mm: self.row_mm() * BASE,
                    size_pt: self.size_pt,
                    bold,
                    text: row,
                };
                at += wide;
                if let Some(row) = rows.last_mut() {
                    row.push((shape, is_aside));
                }
            }
        }
        rows
    }

    /// Returns how high it is in a column of this width.
    pub fn height_mm(&self, width_mm: f32, typeface: &Typeface) -> f32 {
        self.air_mm + self.rows(width_mm, typeface).len() as f32 * self.row_mm()
    }
}

/// Where the letters of a row stand, in heights of it.
const BASE: f32 = 0.78;

/// Where the next paragraph goes.
pub struct Flow<'a> {
    pub book: Book,
    pub typeface: &'a Typeface,
    pub paper: Paper,
    pub y_mm: f32,
    columns: usize,
    column: usize,
    /// Where the columns of this page begin, and end.
    top_mm: f32,
    bottom_mm: f32,
}

impl<'a> Flow<'a> {
    /// Goes on with a book, on a page of its own.
    pub fn new(book: Book, typeface: &'a Typeface, paper: Paper) -> Self {
        let mut flow = Self {
            book,
            typeface,
            paper,
            y_mm: MARGIN_MM,
            columns: 1,
            column: 0,
            top_mm: MARGIN_MM,
            bottom_mm: paper.height_mm() - MARGIN_MM,
        };
        flow.book.page();
        flow
    }

    /// Returns the page that it is at.
    pub fn page(&self) -> usize {
        self.book.pages.len() - 1
    }

    /// Returns the width of a column.
    pub fn width_mm(&self) -> f32 {
        self.width_of(self.columns)
    }

    /// Returns the width of a column where there are so many.
    pub fn width_of(&self, columns: usize) -> f32 {
        (self.paper.width_mm() - 2.0 * MARGIN_MM + GUTTER_MM) / columns as f32 - GUTTER_MM
    }

    /// Returns where the column begins from the left.
    pub fn x_mm(&self) -> f32 {
        MARGIN_MM + self.column as f32 * (self.width_mm() + GUTTER_MM)
    }

    /// Returns what is left of the column.
    pub fn left_mm(&self) -> f32 {
        self.bottom_mm - self.y_mm
    }

    /// Returns how high a column of a whole page is.
    pub fn whole_mm(&self) -> f32 {
        self.paper.height_mm() - 2.0 * MARGIN_MM
    }

    /// Begins columns, of which each on this page is at most so high.
    pub fn begin_columns(&mut self, columns: usize, height_mm: f32) {
        (self.columns, self.column, self.top_mm) = (columns, 0, self.y_mm);
        self.bottom_mm = self.bottom_mm.min(self.y_mm + height_mm);
    }

    /// Goes on below columns, in the whole width.
    pub fn end_columns(&mut self) {
        let to_mm = if self.column > 0 {
            self.bottom_mm
        } else {
            self.y_mm
        };
        (self.columns, self.column, self.y_mm) = (1, 0, to_mm);
        self.bottom_mm = self.paper.height_mm() - MARGIN_MM;
    }

    /// Goes on at the top of the next column, on the next page if there is none.
    pub fn next(&mut self) {
        if self.column + 1 < self.columns {
            self.column += 1;
            self.y_mm = self.top_mm;
            return;
        }
        self.book.page();
        (self.column, self.top_mm, self.y_mm) = (0, MARGIN_MM, MARGIN_MM);
        self.bottom_mm = self.paper.height_mm() - MARGIN_MM;
    }

    /// Sees to it that so much fits here, if it fits anywhere.
    pub fn keep(&mut self, height_mm: f32) {
        if height_mm > self.left_mm() + 0.01 && self.y_mm > self.top_mm {
            self.next();
        }
    }

    /// Places a shape, from the top left of what comes next.
    pub fn draw(&mut self, shape: &Shape) {
        let (x_mm, y_mm, page) = (self.x_mm(), self.y_mm, self.page());
        self.book.piece(page, shape.moved(x_mm, y_mm));
    }

    /// Places a shape that says nothing.
    pub fn decorate(&mut self, shape: &Shape) {
        let (x_mm, y_mm, page) = (self.x_mm(), self.y_mm, self.page());
        self.book.decorate(page, shape.moved(x_mm, y_mm));
    }

    /// Writes a paragraph as an element of a kind.
    pub fn write(&mut self, kind: Kind, paragraph: &Paragraph) {
        self.book.begin(kind);
        self.rows(paragraph);
        self.book.end();
    }

    /// Writes the rows of a paragraph into the element that is open.
    fn rows(&mut self, paragraph: &Paragraph) {
        self.y_mm += paragraph.air_mm;
        for row in paragraph.rows(self.width_mm(), self.typeface) {
            self.keep(paragraph.row_mm());
            self.row(&row, paragraph);
            self.y_mm += paragraph.row_mm();
        }
    }

    fn row(&mut self, row: &Row, paragraph: &Paragraph) {
        let tongue = paragraph.aside.as_ref().map(|(tag, _)| *tag);
        for (shape, is_aside) in row {
            match tongue.filter(|_| *is_aside) {
                Some(tag) => {
                    self.book.begin(Kind::Tongue(tag));
                    self.draw(shape);
                    self.book.end();
                }
                None => self.draw(shape),
            }
        }
    }

    /// Writes a list, each item behind a dot.
    pub fn list(&mut self, items: &[String], size_pt: f32) {
        self.book.begin(Kind::List);
        for item in items {
            let mut paragraph = Paragraph::of(item, size_pt, false);
            paragraph.indent_mm = 4.0;
            self.keep(paragraph.row_mm());
            self.decorate(&Shape::Text {
                x_mm: 1.0,
                base_mm: paragraph.row_mm() * BASE,
                size_pt,
                bold: false,
                text: "\u{2022}".to_owned(),
            });
            self.book.begin(Kind::Item);
            self.write(Kind::Body, &paragraph);
            self.book.end();
        }
        self.book.end();
    }
}

/// By how much a balanced column grows until all fits.
const STEP_MM: f32 = 1.0;

/// Returns how high columns must be at least to hold what is so high, in order; at most a height.
pub fn balanced(heights_mm: &[f32], columns: usize, most_mm: f32) -> f32 {
    let holds = |height_mm: f32| {
        let (mut full, mut used) = (1, 0.0);
        for next in heights_mm {
            if used > 0.0 && used + next > height_mm {
                (full, used) = (full + 1, 0.0);
            }
            used += next;
        }
        full <= columns && heights_mm.iter().all(|next| *next <= height_mm)
    };
    let mut height_mm = STEP_MM;
    while height_mm < most_mm && !holds(height_mm) {
        height_mm += STEP_MM;
    }
    height_mm.min(most_mm)
}
