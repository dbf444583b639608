//! What a PDF is made of: pages of pieces in their places, and a tree that says what each of them is.

use crate::publish::sheet::draw::Shape;

/// What an element is to somebody who has the page read out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    Section,
    /// Its level, and its text.
    Heading(u16, String),
    Paragraph,
    List,
    Item,
    /// What counts an item.
    Number,
    Body,
    /// Something drawn, with the words that stand for it.
    Figure(String),
    /// Words in another language than the page's, by its tag.
    Tongue(&'static str),
}

#[derive(Debug, Clone)]
pub enum Child {
    Element(usize),
    Piece(usize),
}

#[derive(Debug, Clone)]
pub struct Element {
    pub kind: Kind,
    pub children: Vec<Child>,
}

/// A piece of an element: a row of text, or a shape.
#[derive(Debug, Clone)]
pub struct Piece {
    pub id: usize,
    pub shape: Shape,
}

#[derive(Debug, Clone, Default)]
pub struct Page {
    /// What is there to be seen and says nothing.
    pub decoration: Vec<Shape>,
    pub pieces: Vec<Piece>,
}

/// Pages, and the tree of what stands on them, in the order in which it is read.
#[derive(Debug, Clone, Default)]
pub struct Book {
    pub pages: Vec<Page>,
    pub elements: Vec<Element>,
    /// The elements that lie in no other.
    pub roots: Vec<usize>,
    /// How many pieces there are on all pages.
    pub pieces: usize,
    open: Vec<usize>,
}

impl Book {
    /// Begins a page.
    pub fn page(&mut self) {
        self.pages.push(Page::default());
    }

    /// Makes an element of what `fill` adds.
    pub fn within<T>(&mut self, kind: Kind, fill: impl FnOnce(&mut Self) -> T) -> T {
        self.begin(kind);
        let filled = fill(self);
        self.end();
        filled
    }

    /// Begins an element within the one that is open.
    pub fn begin(&mut self, kind: Kind) {
        let id = self.elements.len();
        match self.open.last() {
            Some(outer) => self.elements[*outer].children.push(Child::Element(id)),
            None => self.roots.push(id),
        }
        let children = Vec::new();
        self.elements.push(Element { kind, children });
        self.open.push(id);
    }

    /// Ends the element that was begun last.
    pub fn end(&mut self) {
        self.open.pop();
    }

    /// Adds a piece to the element that is open, on a page; without one it only decorates.
    pub fn piece(&mut self, page: usize, shape: Shape) {
        let Some(of) = self.open.last() else {
            return self.decorate(page, shape);
        };
        let id = self.pieces;
        self.pieces += 1;
        self.elements[*of].children.push(Child::Piece(id));
        self.pages[page].pieces.push(Piece { id, shape });
    }

    /// Adds what says nothing.
    pub fn decorate(&mut self, page: usize, shape: Shape) {
        self.pages[page].decoration.push(shape);
    }
}
