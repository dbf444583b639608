//! A session in time -> columns of slices, each to scale, that fit their pages.

use super::Heard;
use super::HeardKind;
use super::Sheet;
use super::wrap;
use super::wrap::Letters;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::script::Topic;
use crate::planning::timeline::SegmentKind;

/// How a timeline is laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    pub mm_a_second: f32,
    pub size_pt: f32,
}

/// The room that a timeline has, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// On the first page, below what stands above it, and on each other.
    pub first_mm: f32,
    pub others_mm: f32,
    /// The width that words have in a column.
    pub words_mm: f32,
    pub columns: usize,
}

/// A slice of time with what is written beside its start.
#[derive(Debug, Clone, PartialEq)]
struct Slice {
    at: At,
    to: At,
    part: usize,
    label: Option<Label>,
}

/// What is written beside an instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Which sound of its part; none for the heading of the part.
    pub heard: Option<usize>,
    pub rows: Vec<String>,
    pub bold: bool,
    pub size_pt: f32,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    pub at: At,
    pub part: usize,
    pub y_mm: f32,
    pub label: Label,
}

/// A column: a stretch of time, and what is written beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    pub from: At,
    pub to: At,
    pub labels: Vec<Placed>,
    words_to_mm: f32,
}

impl Column {
    fn at(from: At) -> Self {
        let labels = Vec::new();
        Self {
            from,
            to: from,
            labels,
            words_to_mm: 0.0,
        }
    }

    /// Returns how high an instant is in it.
    pub fn y_mm(&self, at: At, scale: Scale) -> f32 {
        (at - self.from).secs() as f32 * scale.mm_a_second
    }

    /// Returns how high it is.
    pub fn height_mm(&self, scale: Scale) -> f32 {
        self.words_to_mm.max(self.y_mm(self.to, scale))
    }

    fn add(&mut self, slice: &Slice, scale: Scale) {
        if let Some(label) = &slice.label {
            let y_mm = self.y_mm(slice.at, scale).max(self.words_to_mm);
            self.words_to_mm = y_mm + label.height_mm();
            self.labels.push(Placed {
                at: slice.at,
                part: slice.part,
                y_mm,
                label: label.clone(),
            });
        }
        self.to = slice.to;
    }

    /// Returns how far a label stands below its instant, at most.
    fn late_mm(&self, scale: Scale) -> f32 {
        let late = self.labels.iter().map(|l| l.y_mm - self.y_mm(l.at, scale));
        late.fold(0.0, f32::max)
    }
}

/// How high a row is, in heights of its letters.
const ROW: f32 = 1.14;

impl Label {
    /// Returns how high a row of it is.
    pub fn row_mm(&self) -> f32 {
        self.size_pt * super::draw::POINT_MM * ROW
    }

    fn height_mm(&self) -> f32 {
        // A little air below each, a little more above a heading, which is part of its own height.
        self.row_mm() * (self.rows.len() as f32 + if self.heard.is_none() { 0.2 } else { 0.04 })
    }
}

/// At arm's length (65 cm) a capital of 12 points, 3 mm, fills 16 minutes of arc, the least of ISO 9241-303 (from
/// memory); 10 points are what books are printed in, 9 what newspapers are (common practice).
const SIZES_PT: [f32; 5] = [12.0, 11.0, 10.0, 9.5, 9.0];
/// From what takes a page for eight minutes to what takes one for a minute and a half.
const SCALES_MM: [f32; 16] = [
    0.55, 0.7, 0.75, 0.8, 0.85, 0.92, 1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.3, 2.7, 3.2,
];
/// What a page more costs, what it costs besides that there is a page to turn, and what a point less, in millimetres
/// by which a label is late.
const PAGE_COSTS: f32 = 40.0;
const TURNING_COSTS: f32 = 60.0;
const POINT_COSTS: f32 = 12.0;

/// Lays a timeline out at the scale that is best to read: few pages, large letters, labels beside their time.
pub fn columns(sheet: &Sheet, room: Room, letters: &dyn Letters) -> (Scale, Vec<Column>) {
    let mut best: Option<(f32, Scale, Vec<Column>)> = None;
    for size_pt in SIZES_PT {
        let slices = slices(sheet, room, size_pt, letters);
        for mm_a_second in SCALES_MM {
            let scale = Scale {
                mm_a_second,
                size_pt,
            };
            let columns = at_scale(&slices, room, scale);
            let pages = columns.len().div_ceil(room.columns) as f32;
            let turning = if pages > 1.0 { TURNING_COSTS } else { 0.0 };
            let late = columns.iter().map(|c| c.late_mm(scale)).fold(0.0, f32::max);
            // An hour may be late by as much as five minutes: each page has its own.
            let late = late * pages.sqrt();
            let small = (SIZES_PT[0] - size_pt) * POINT_COSTS;
            let cost = pages * PAGE_COSTS + turning + late + small;
            if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                best = Some((cost, scale, columns));
            }
        }
    }
    let none = Scale {
        mm_a_second: SCALES_MM[0],
        size_pt: SIZES_PT[0],
    };
    best.map_or((none, Vec::new()), |(_, scale, columns)| (scale, columns))
}

fn at_scale(slices: &[Slice], room: Room, scale: Scale) -> Vec<Column> {
    let height = |column: usize| match column / room.columns {
        0 => room.first_mm,
        _ => room.others_mm,
    };
    let mut done: Vec<Column> = Vec::new();
    let mut column = Column::at(At::START);
    for part in slices.chunk_by(|a, b| a.part == b.part) {
        let mut whole = column.clone();
        part.iter().for_each(|slice| whole.add(slice, scale));
        if whole.height_mm(scale) <= height(done.len()) {
            column = whole;
            continue;
        }
        // A segment that fits a column of its own is not cut.
        let mut alone = Column::at(part[0].at);
        part.iter().for_each(|slice| alone.add(slice, scale));
        if alone.height_mm(scale) <= room.others_mm.min(height(done.len() + 1)) {
            done.push(std::mem::replace(&mut column, alone));
            continue;
        }
        for slice in part {
            let mut longer = column.clone();
            longer.add(slice, scale);
            if longer.height_mm(scale) > height(done.len()) && column.to > column.from {
                done.push(std::mem::replace(&mut column, Column::at(slice.at)));
                column.add(slice, scale);
            } else {
                column = longer;
            }
        }
    }
    done.push(column);
    done.retain(|column| column.to > column.from);
    done
}

/// A stretch in which nothing is said is cut after so long, where a column ends.
const LONGEST: Millis = Millis::from_secs(20);

/// What is said so soon after a rest began carries the time of both.
const AT_ONCE: Millis = Millis::from_secs(2);

fn slices(sheet: &Sheet, room: Room, size_pt: f32, letters: &dyn Letters) -> Vec<Slice> {
    let write = |text: &str, bold: bool, heard: Option<usize>| {
        let size_pt = size_pt + if heard.is_none() { 0.5 } else { 0.0 };
        let width = room.words_mm / (size_pt * super::draw::POINT_MM);
        Label {
            heard,
            rows: wrap::rows(text, bold, width, letters),
            bold,
            size_pt,
        }
    };
    let mut slices = Vec::new();
    for (index, part) in sheet.parts.iter().enumerate() {
        let time = super::content::time(part.start);
        let mut labels = Vec::new();
        for (nth, heard) in part.heard.iter().enumerate() {
            let Some((text, bold)) = words(heard) else {
                continue;
            };
            let rest = part.kind == SegmentKind::Rest;
            if labels.is_empty() && rest && heard.onset - part.start <= AT_ONCE {
                // The bar shows that it is a rest, and how long: its heading would take a row from what is said.
                let text = format!("{time}  {text}");
                labels.push((part.start, write(&text, bold, Some(nth))));
                continue;
            }
            if labels.is_empty() {
                let heading = format!("{time}  {}", part.heading);
                labels.push((part.start, write(&heading, true, None)));
            }
            labels.push((heard.onset, write(&text, bold, Some(nth))));
        }
        if labels.is_empty() {
            let heading = format!("{time}  {}", part.heading);
            labels.push((part.start, write(&heading, true, None)));
        }
        for at in 0..labels.len() {
            let (from, label) = &labels[at];
            let end = labels.get(at + 1).map_or(part.end, |(next, _)| *next);
            let mut from = *from;
            let mut label = Some(label.clone());
            loop {
                let to = if end - from > LONGEST {
                    from + LONGEST
                } else {
                    end
                };
                slices.push(Slice {
                    at: from,
                    to,
                    part: index,
                    label: label.take(),
                });
                from = to;
                if from >= end {
                    break;
                }
            }
        }
    }
    slices
}

/// What stands before a line that keeps somebody safe.
pub const SAFETY: &str = "! ";

/// Returns what is written of a sound, and whether it is a name.
fn words(heard: &Heard) -> Option<(String, bool)> {
    match heard.kind {
        HeardKind::Tone(_) | HeardKind::Count => None,
        HeardKind::Line(Topic::Safety | Topic::Caution) => {
            Some((format!("{SAFETY}{}", heard.text), false))
        }
        HeardKind::Line(topic) => Some((heard.text.clone(), topic == Topic::Name)),
    }
}
