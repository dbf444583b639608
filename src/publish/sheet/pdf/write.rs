//! A book -> the bytes of a PDF, checked against PDF/UA-1 by the library that writes it.

use super::Paper;
use super::book::Book;
use super::book::Child;
use super::book::Kind;
use super::flow::MARGIN_MM;
use super::letters::Typeface;
use super::letters::from_the_right;
use super::letters::printable;
use crate::publish::sheet::Sheet;
use crate::publish::sheet::draw::POINT_MM;
use crate::publish::sheet::draw::Shape;
use krilla::Document;
use krilla::SerializeSettings;
use krilla::configure::Accessibility;
use krilla::configure::ConfigurationBuilder;
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::PathBuilder;
use krilla::geom::Point;
use krilla::geom::Rect;
use krilla::metadata::Metadata;
use krilla::outline::Outline;
use krilla::outline::OutlineNode;
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::paint::Stroke;
use krilla::surface::Surface;
use krilla::tagging::Artifact;
use krilla::tagging::ArtifactType;
use krilla::tagging::BBox;
use krilla::tagging::ContentTag;
use krilla::tagging::Identifier;
use krilla::tagging::ListNumbering;
use krilla::tagging::SpanTag;
use krilla::tagging::Tag;
use krilla::tagging::TagGroup;
use krilla::tagging::TagKind;
use krilla::tagging::TagTree;
use std::num::NonZeroU16;

/// A PDF counts in points, from the top left as the library has it.
const POINTS: f32 = 1.0 / POINT_MM;
/// How broad lines are.
const STROKE_MM: f32 = 0.25;

/// Writes a book; the participants' part begins on the page `second`.
///
/// # Errors
/// Says what the library found.
pub fn bytes(
    book: &Book,
    sheet: &Sheet,
    second: usize,
    typeface: &Typeface,
    paper: Paper,
) -> Result<Vec<u8>, String> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| format!("{error:?}"))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    let (width, height) = (paper.width_mm() * POINTS, paper.height_mm() * POINTS);
    let mut places: Vec<Option<Place>> = vec![None; book.pieces];
    for (number, of) in book.pages.iter().enumerate() {
        let settings = PageSettings::from_wh(width, height).ok_or("its paper has no size")?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
            ArtifactType::Layout,
        )));
        for shape in &of.decoration {
            draw(&mut surface, shape, typeface);
        }
        surface.end_tagged();
        for piece in &of.pieces {
            let id = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            draw(&mut surface, &piece.shape, typeface);
            surface.end_tagged();
            let around = around(&piece.shape).map(|rect| BBox::new(number, rect));
            places[piece.id] = Some(Place { id, around });
        }
        surface.finish();
        page.finish();
    }
    let tag = sheet.language.tag();
    let mut tree = TagTree::new().with_lang(Some(tag.to_owned()));
    for root in &book.roots {
        tree.push(group(book, *root, &places));
    }
    document.set_tag_tree(tree);
    let title = printable(&sheet.title);
    let title = match title.trim() {
        "" => sheet.labels.coach.clone(),
        title => title.to_owned(),
    };
    document.set_metadata(Metadata::new().title(title).language(tag.to_owned()));
    let mut outline = Outline::new();
    let top = Point::from_xy(0.0, MARGIN_MM * POINTS);
    for (name, page) in [
        (&sheet.labels.coach, 0),
        (&sheet.labels.participants, second),
    ] {
        let place = XyzDestination::new(page, top);
        outline.push_child(OutlineNode::new(name.clone(), place));
    }
    document.set_outline(outline);
    document.finish().map_err(|error| match error {
        KrillaError::Validation(found) => format!("{found:?}"),
        error => error.to_string(),
    })
}

/// Where a piece was written.
#[derive(Debug, Clone)]
struct Place {
    id: Identifier,
    around: Option<BBox>,
}

fn group(book: &Book, element: usize, places: &[Option<Place>]) -> TagGroup {
    let of = &book.elements[element];
    let pieces = of.children.iter().filter_map(|child| match child {
        Child::Piece(id) => places[*id].as_ref(),
        Child::Element(_) => None,
    });
    let around = pieces.clone().find_map(|place| place.around);
    let mut group = TagGroup::new(kind(&of.kind, around));
    for child in &of.children {
        match child {
            Child::Element(inner) => group.push(self::group(book, *inner, places)),
            Child::Piece(id) => {
                if let Some(place) = &places[*id] {
                    group.push(place.id);
                }
            }
        }
    }
    group
}

fn kind(kind: &Kind, around: Option<BBox>) -> TagKind {
    match kind {
        Kind::Section => Tag::Section.into(),
        Kind::Heading(level, text) => {
            let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(printable(text))).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List => Tag::L(ListNumbering::None).into(),
        Kind::Item => Tag::LI.into(),
        Kind::Number => Tag::Lbl.into(),
        Kind::Body => Tag::LBody.into(),
        Kind::Figure(alternative) => {
            let figure = Tag::Figure(Some(printable(alternative)));
            figure.with_bbox(around).into()
        }
        Kind::Tongue(tag) => Tag::Span.with_lang(Some((*tag).to_owned())).into(),
    }
}

/// Returns what a shape lies in; a text's is not asked for.
fn around(shape: &Shape) -> Option<Rect> {
    let points: Vec<(f32, f32)> = match shape {
        Shape::Box {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            ..
        } => vec![(*x_mm, *y_mm), (x_mm + width_mm, y_mm + height_mm)],
        Shape::Line { from_mm, to_mm } => vec![*from_mm, *to_mm],
        Shape::Area(points) => points.clone(),
        Shape::Text { .. } => return None,
    };
    let least = |values: &mut dyn Iterator<Item = f32>| values.fold(f32::INFINITY, f32::min);
    let most = |values: &mut dyn Iterator<Item = f32>| values.fold(f32::NEG_INFINITY, f32::max);
    let (xs, ys) = (points.iter().map(|p| p.0), points.iter().map(|p| p.1));
    let half = STROKE_MM / 2.0;
    Rect::from_ltrb(
        (least(&mut xs.clone()) - half) * POINTS,
        (least(&mut ys.clone()) - half) * POINTS,
        (most(&mut xs.clone()) + half) * POINTS,
        (most(&mut ys.clone()) + half) * POINTS,
    )
}

fn draw(surface: &mut Surface, shape: &Shape, typeface: &Typeface) {
    let (path, filled) = match shape {
        Shape::Text {
            x_mm,
            base_mm,
            size_pt,
            bold,
            text,
        } => {
            surface.set_stroke(None);
            surface.set_fill(Some(Fill::default()));
            // Rows are read as one: a space parts the last word of one from the first of the next.
            let text = match from_the_right(text) {
                true => text.clone(),
                false => format!("{text} "),
            };
            for run in typeface.runs(&text, *bold).0 {
                let x = x_mm * POINTS + run.from * size_pt;
                let from = Point::from_xy(x, base_mm * POINTS);
                let font = typeface.font(*bold);
                surface.draw_glyphs(from, &run.glyphs, font, run.text, *size_pt, false);
            }
            return;
        }
        Shape::Box {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            filled,
        } => {
            let (x, y) = (x_mm * POINTS, y_mm * POINTS);
            let rect = Rect::from_xywh(x, y, width_mm * POINTS, height_mm * POINTS);
            let mut path = PathBuilder::new();
            rect.into_iter().for_each(|rect| path.push_rect(rect));
            (path, *filled)
        }
        Shape::Line { from_mm, to_mm } => {
            let mut path = PathBuilder::new();
            path.move_to(from_mm.0 * POINTS, from_mm.1 * POINTS);
            path.line_to(to_mm.0 * POINTS, to_mm.1 * POINTS);
            (path, false)
        }
        Shape::Area(points) => {
            let mut path = PathBuilder::new();
            for (nth, (x, y)) in points.iter().enumerate() {
                match nth {
                    0 => path.move_to(x * POINTS, y * POINTS),
                    _ => path.line_to(x * POINTS, y * POINTS),
                }
            }
            path.close();
            (path, true)
        }
    };
    if filled {
        surface.set_stroke(None);
        surface.set_fill(Some(Fill::default()));
    } else {
        surface.set_fill(None);
        surface.set_stroke(Some(Stroke {
            width: STROKE_MM * POINTS,
            ..Stroke::default()
        }));
    }
    if let Some(path) = path.finish() {
        surface.draw_path(&path);
    }
}
