//! A sheet as PDF, tagged for screen readers: black on white, one typeface, nothing that depends on when or where.

mod book;
mod coach;
mod flow;
mod letters;
mod participants;
mod write;

use super::Sheet;
use book::Book;
use book::Kind;
use flow::Flow;
use letters::Typeface;

/// The paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    #[default]
    A4,
    Letter,
}

impl Paper {
    fn width_mm(self) -> f32 {
        match self {
            Paper::A4 => 210.0,
            Paper::Letter => 215.9,
        }
    }

    fn height_mm(self) -> f32 {
        match self {
            Paper::A4 => 297.0,
            Paper::Letter => 279.4,
        }
    }
}

/// The sizes of what is not drawn to scale, in points, the one that is best to read first.
const SIZES_PT: [f32; 6] = [12.0, 11.5, 11.0, 10.5, 10.0, 9.5];
/// The size where no size saves a page.
const USUAL_PT: f32 = 11.0;

/// Writes a sheet as PDF: the coach's part, then the participants'.
///
/// # Errors
/// Says why the library that writes it would not.
pub fn pdf(sheet: &Sheet, paper: Paper) -> Result<Vec<u8>, String> {
    let typeface = Typeface::read().ok_or("its typeface cannot be read")?;
    let mut flow = Flow::new(Book::default(), &typeface, paper);
    flow.book.begin(Kind::Section);
    coach::write(&mut flow, sheet);
    flow.book.end();
    let before = flow.book.pages.len();
    let written = |size_pt: f32| {
        let mut flow = Flow::new(flow.book.clone(), &typeface, paper);
        flow.book.begin(Kind::Section);
        participants::write(&mut flow, sheet, size_pt);
        flow.book.end();
        flow.book
    };
    let mut sizes = SIZES_PT.iter().map(|size_pt| written(*size_pt));
    let on_one = sizes.find(|book| book.pages.len() == before + 1);
    let mut book = on_one.unwrap_or_else(|| written(USUAL_PT));
    numbered(&mut book, paper);
    write::bytes(&book, sheet, before, &typeface, paper)
}

/// Numbers the pages at their feet, so that a sheet that fell down is soon in order.
fn numbered(book: &mut Book, paper: Paper) {
    let all = book.pages.len();
    for (nth, page) in book.pages.iter_mut().enumerate() {
        page.decoration.push(super::draw::Shape::Text {
            x_mm: paper.width_mm() - flow::MARGIN_MM - 8.0,
            base_mm: paper.height_mm() - 5.0,
            size_pt: 8.0,
            bold: false,
            text: format!("{} / {all}", nth + 1),
        });
    }
}
