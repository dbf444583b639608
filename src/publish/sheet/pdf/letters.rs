//! The letters of a PDF: two weights of one typeface, which the file carries with it as far as it uses them.
//!
//! A text is divided by direction (Unicode, annex 9), and each piece is shaped, so that Hebrew and Arabic read as they
//! should. What the typeface lacks is drawn as an empty box; whoever searches or copies finds the letter itself.

use crate::publish::sheet::wrap::Letters;
use krilla::text::Font;
use krilla::text::GlyphId;
use krilla::text::KrillaGlyph;
use rustybuzz::Direction;
use rustybuzz::Face;
use rustybuzz::UnicodeBuffer;
use std::ops::Range;
use unicode_bidi::BidiInfo;

/// What is drawn for a letter that the typeface lacks.
const LACKING: char = '\u{25a1}';

/// A typeface in two weights: DejaVu Sans Condensed. It has all letters of the program's languages, Greek, Cyrillic,
/// Hebrew and Arabic, and small letters that are large for their size.
pub struct Typeface {
    regular: Weight,
    bold: Weight,
}

struct Weight {
    face: Face<'static>,
    font: Font,
    lacking: u16,
}

/// Letters of one direction, in their places.
pub struct Run<'a> {
    /// Where it begins, from the left, in units of the size.
    pub from: f32,
    pub text: &'a str,
    pub glyphs: Vec<KrillaGlyph>,
}

impl Typeface {
    /// Reads the typeface; `None` if it cannot be read.
    pub fn read() -> Option<Self> {
        Some(Self {
            regular: Weight::read(dejavu::sans_condensed::regular())?,
            bold: Weight::read(dejavu::sans_condensed::bold())?,
        })
    }

    fn weight(&self, bold: bool) -> &Weight {
        if bold { &self.bold } else { &self.regular }
    }

    /// Returns a weight as it is embedded.
    pub fn font(&self, bold: bool) -> Font {
        self.weight(bold).font.clone()
    }

    /// Lays out a row from the left on; returns its pieces, and how wide it is in units of its size.
    pub fn runs<'a>(&self, row: &'a str, bold: bool) -> (Vec<Run<'a>>, f32) {
        let weight = self.weight(bold);
        let mut runs = Vec::new();
        let mut from = 0.0;
        for (range, direction) in directions(row) {
            let text = &row[range];
            let glyphs = weight.shape(text, direction);
            let width: f32 = glyphs.iter().map(|glyph| glyph.x_advance).sum();
            runs.push(Run { from, text, glyphs });
            from += width;
        }
        (runs, from)
    }
}

/// Divides a row into pieces of one direction, in the order in which they stand from the left.
fn directions(row: &str) -> Vec<(Range<usize>, Direction)> {
    let info = BidiInfo::new(row, None);
    let pieces = info.paragraphs.iter().flat_map(|paragraph| {
        let (levels, runs) = info.visual_runs(paragraph, paragraph.range.clone());
        let runs = runs.into_iter().map(move |run| {
            let direction = match levels[run.start].is_rtl() {
                true => Direction::RightToLeft,
                false => Direction::LeftToRight,
            };
            (run, direction)
        });
        runs.collect::<Vec<_>>()
    });
    pieces.collect()
}

/// Whether a text is read from the right: by its first letter that has a direction.
pub fn from_the_right(text: &str) -> bool {
    let info = BidiInfo::new(text, None);
    info.paragraphs.first().is_some_and(|p| p.level.is_rtl())
}

/// Leaves out what no PDF may hold: controls, marks of byte order, noncharacters.
pub fn printable(text: &str) -> String {
    let held = |c: &char| {
        let code = u32::from(*c);
        !c.is_control() && *c != '\u{feff}' && code & 0xfffe != 0xfffe
    };
    text.chars().filter(held).collect()
}

impl Weight {
    fn read(file: &'static [u8]) -> Option<Self> {
        let face = Face::from_slice(file, 0)?;
        let lacking = face.glyph_index(LACKING)?.0;
        Some(Self {
            face,
            font: Font::new(file.into(), 0)?,
            lacking,
        })
    }

    fn advance(&self, glyph: u16) -> f32 {
        let advance = self
            .face
            .glyph_hor_advance(rustybuzz::ttf_parser::GlyphId(glyph));
        f32::from(advance.unwrap_or(0)) / self.face.units_per_em() as f32
    }

    fn shape(&self, text: &str, direction: Direction) -> Vec<KrillaGlyph> {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        buffer.set_direction(direction);
        let shaped = rustybuzz::shape(&self.face, &[], buffer);
        let infos = shaped.glyph_infos();
        let mut starts: Vec<usize> = infos.iter().map(|info| info.cluster as usize).collect();
        starts.push(text.len());
        starts.sort_unstable();
        starts.dedup();
        let em = |units: i32| units as f32 / self.face.units_per_em() as f32;
        let glyphs = infos.iter().zip(shaped.glyph_positions());
        let glyphs = glyphs.map(|(info, at)| {
            let start = info.cluster as usize;
            let next = starts.iter().find(|other| **other > start);
            let range = start..next.copied().unwrap_or(text.len());
            let direction = matches!(text[start..].chars().next(), Some('\u{2066}'..='\u{2069}'));
            let (id, advance) = match info.glyph_id {
                id if direction => (id, 0.0),
                0 => (u32::from(self.lacking), self.advance(self.lacking)),
                id => (id, em(at.x_advance)),
            };
            KrillaGlyph::new(
                GlyphId::new(id),
                advance,
                em(at.x_offset),
                em(at.y_offset),
                em(at.y_advance),
                range,
                None,
            )
        });
        glyphs.collect()
    }
}

impl Letters for Typeface {
    /// Adds the letters up as they stand alone: what is shaped is as wide, or less.
    fn width(&self, text: &str, bold: bool) -> f32 {
        let weight = self.weight(bold);
        let advance = |c| {
            if matches!(c, '\u{2066}'..='\u{2069}') {
                return 0.0;
            }
            let glyph = weight.face.glyph_index(c).map_or(weight.lacking, |id| id.0);
            weight.advance(glyph)
        };
        text.chars().map(advance).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_both_directions_is_laid_out_from_the_left() {
        let typeface = Typeface::read().unwrap();
        // Hebrew first: its paragraph runs from the right, so what comes last stands leftmost.
        let (runs, width) = typeface.runs("\u{5d0}\u{5d1} out (2)", false);
        let texts: Vec<&str> = runs.iter().map(|run| run.text).collect();
        assert_eq!(texts.concat().chars().count(), 10);
        assert!(texts.last().unwrap().starts_with('\u{5d0}'), "{texts:?}");
        assert!(from_the_right("\u{5d0}\u{5d1} out") && !from_the_right("out \u{5d0}"));
        // A title that is kept apart leaves its sentence to run from the left.
        let sentence = "\u{2068}\u{5d0}\u{5d1}\u{2069}: one round";
        assert!(!from_the_right(sentence));
        let first = typeface.runs(sentence, false).0;
        assert!(first.last().unwrap().text.ends_with("round"));
        let last = runs.last().unwrap();
        let end: f32 = last.from + last.glyphs.iter().map(|g| g.x_advance).sum::<f32>();
        assert!((end - width).abs() < 1e-4);
    }

    #[test]
    fn letters_of_all_languages_are_there_and_others_are_boxes() {
        let typeface = Typeface::read().unwrap();
        for weight in [&typeface.regular, &typeface.bold] {
            for c in "äöüÄÖÜßàâçéèêëîïôùûüÿœæÀÇÉÊáíóúñ¿¡ãõÃÕ×–—’“”„«»…°·•!"
                .chars()
                .chain("\u{5d0}\u{5ea}\u{627}\u{64a}\u{431}\u{3b1}".chars())
            {
                assert!(weight.face.glyph_index(c).is_some(), "{c}");
            }
            let glyphs = weight.shape("\u{4e2d}", Direction::LeftToRight);
            assert_eq!(glyphs[0].glyph_id, GlyphId::new(u32::from(weight.lacking)));
        }
    }
}
