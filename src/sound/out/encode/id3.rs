//! Title and chapters as a tag of ID3v2 (id3.org, "ID3v2 Chapter Frame Addendum"): tables of contents lie within one
//! another as chapters do.

use std::io;

use id3::Content;
use id3::Frame;
use id3::Tag;
use id3::TagLike;
use id3::Version;
use id3::frame;

use super::failed;
use crate::base::chapters::Chapter;
use crate::base::chapters::Contents;

/// The most entries of a table of contents: their number is one byte.
const MOST: usize = 255;

/// What stands for a place in the file where only times are told.
const NO_OFFSET: u32 = u32::MAX;

/// Writes a tag.
pub fn tag(contents: &Contents) -> io::Result<Vec<u8>> {
    let mut made = Tags::default();
    if !contents.title.is_empty() {
        made.tag.set_title(&contents.title);
    }
    if !contents.chapters.is_empty() {
        let elements = made.chapters(&contents.chapters);
        made.table(elements, &contents.title, true);
    }
    let mut bytes = Vec::new();
    let encoder = id3::Encoder::new().version(Version::Id3v24);
    encoder.encode(&made.tag, &mut bytes).map_err(failed)?;
    Ok(bytes)
}

/// A tag in the making.
#[derive(Default)]
struct Tags {
    tag: Tag,
    chapters: usize,
    tables: usize,
}

impl Tags {
    /// Adds chapters and the tables of those that hold others; returns how they are called.
    fn chapters(&mut self, chapters: &[Chapter]) -> Vec<String> {
        let each = chapters.iter().map(|chapter| match chapter.parts[..] {
            [] => self.chapter(chapter),
            _ => {
                let elements = self.chapters(&chapter.parts);
                self.table(elements, &chapter.title, false)
            }
        });
        each.collect()
    }

    fn chapter(&mut self, chapter: &Chapter) -> String {
        self.chapters += 1;
        let id = format!("chp{}", self.chapters);
        // Times of more than 49 days do not fit, and no session has them.
        let ms = |ms: i64| u32::try_from(ms).unwrap_or(u32::MAX);
        self.tag.add_frame(frame::Chapter {
            element_id: id.clone(),
            start_time: ms(chapter.start.ms()),
            end_time: ms(chapter.end.ms()),
            start_offset: NO_OFFSET,
            end_offset: NO_OFFSET,
            frames: titled(&chapter.title),
        });
        id
    }

    /// Adds a table of contents; one that is too long is divided into tables without a title.
    fn table(&mut self, mut elements: Vec<String>, title: &str, top_level: bool) -> String {
        while elements.len() > MOST {
            let parts = elements.chunks(MOST).map(<[String]>::to_vec);
            let parts: Vec<_> = parts.collect();
            let tables = parts
                .into_iter()
                .map(|part| self.add_table(part, "", false));
            elements = tables.collect();
        }
        self.add_table(elements, title, top_level)
    }

    fn add_table(&mut self, elements: Vec<String>, title: &str, top_level: bool) -> String {
        self.tables += 1;
        let id = match top_level {
            true => "toc".to_owned(),
            false => format!("toc{}", self.tables),
        };
        self.tag.add_frame(frame::TableOfContents {
            element_id: id.clone(),
            top_level,
            ordered: true,
            elements,
            frames: titled(title),
        });
        id
    }
}

fn titled(title: &str) -> Vec<Frame> {
    match title {
        "" => Vec::new(),
        title => vec![Frame::with_content("TIT2", Content::Text(title.to_owned()))],
    }
}
