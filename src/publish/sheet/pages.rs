//! A session in time -> columns of slices, each to scale, that fit their pages.
//!
//! Words never stand far below their time: where they would, the column ends. What comes before and after the works is
//! mostly words, so it has a scale of its own; where a round begins the bar is interrupted for its heading.

use super::Heard;
use super::HeardKind;
use super::Sheet;
use super::draw::Of;
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
    /// The width that words have in a column, and headings.
    pub words_mm: f32,
    pub headings_mm: f32,
    pub columns: usize,
}

/// A slice of time with what is written beside its start.
#[derive(Debug, Clone, PartialEq)]
struct Slice {
    at: At,
    to: At,
    part: usize,
    /// What begins here.
    opens: Option<Label>,
    label: Option<Label>,
    /// Its own scale, if it is not that of the works.
    mm_a_second: Option<f32>,
}

/// What is written beside an instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    pub of: Of,
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
    spans: Vec<Span>,
    bar_to_mm: f32,
    words_to_mm: f32,
}

/// Where a stretch of time lies in its column.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    from: At,
    to: At,
    y_mm: f32,
    mm_a_second: f32,
}

impl Span {
    fn y_mm(&self, at: At) -> f32 {
        self.y_mm + (at.clamp(self.from, self.to) - self.from).secs() as f32 * self.mm_a_second
    }
}

impl Column {
    fn at(from: At) -> Self {
        Self {
            from,
            to: from,
            labels: Vec::new(),
            spans: Vec::new(),
            bar_to_mm: 0.0,
            words_to_mm: 0.0,
        }
    }

    /// Returns how high an instant is in it.
    pub fn y_mm(&self, at: At) -> f32 {
        let span = self.spans.iter().rfind(|span| span.from <= at);
        span.map_or(0.0, |span| span.y_mm(at))
    }

    /// Returns where ends what ends at an instant: above a heading that stands there.
    pub fn end_mm(&self, at: At) -> f32 {
        let span = self.spans.iter().find(|span| at <= span.to);
        span.map_or(self.bar_to_mm, |span| span.y_mm(at))
    }

    /// Returns how high it is.
    pub fn height_mm(&self) -> f32 {
        self.words_to_mm.max(self.bar_to_mm)
    }

    fn add(&mut self, slice: &Slice, scale: Scale) {
        if let Some(opens) = &slice.opens {
            let air_mm = if self.spans.is_empty() { 0.0 } else { OPENS_MM };
            self.place(slice, opens, self.height_mm() + air_mm);
            self.bar_to_mm = self.words_to_mm;
        }
        if let Some(label) = &slice.label {
            self.place(slice, label, self.height_mm());
        }
        let span = Span {
            from: slice.at,
            to: slice.to,
            y_mm: self.bar_to_mm,
            mm_a_second: slice.mm_a_second.unwrap_or(scale.mm_a_second),
        };
        self.bar_to_mm = span.y_mm(slice.to);
        self.spans.push(span);
        self.to = slice.to;
    }

    fn place(&mut self, slice: &Slice, label: &Label, y_mm: f32) {
        self.words_to_mm = y_mm + label.height_mm();
        self.labels.push(Placed {
            at: slice.at,
            part: slice.part,
            y_mm,
            label: label.clone(),
        });
    }

    /// Returns how far a label stands below its instant, at most.
    fn late_mm(&self) -> f32 {
        let labels = self.labels.iter().filter(|l| l.label.of != Of::Opens);
        let late = labels.map(|l| l.y_mm - self.y_mm(l.at));
        late.fold(0.0, f32::max)
    }

    fn fits(&self, height_mm: f32) -> bool {
        self.height_mm() <= height_mm && self.late_mm() <= LATEST_MM
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
        self.row_mm()
            * (self.rows.len() as f32
                + match self.of {
                    Of::Opens => 0.4,
                    Of::Part => 0.2,
                    Of::Heard(_) => 0.04,
                })
    }
}

/// At arm's length (65 cm) a capital of 12 points, 3 mm, fills 16 minutes of arc, the least of ISO 9241-303 (from
/// memory); 10 points are what books are printed in (common practice).
const SIZES_PT: [f32; 3] = [12.0, 11.0, 10.0];
/// From what takes a page for eight minutes to what takes one for a minute and a half.
const SCALES_MM: [f32; 17] = [
    0.55, 0.7, 0.75, 0.8, 0.85, 0.92, 1.0, 1.1, 1.2, 1.3, 1.4, 1.6, 1.8, 2.0, 2.3, 2.7, 3.2,
];
/// How far words may stand below their time: so far that the thread to them is still followed at a glance (a choice).
pub const LATEST_MM: f32 = 6.0;
/// How far within what has a scale of its own.
const CLOSE_MM: f32 = 2.0;
/// The air above the heading of a round.
const OPENS_MM: f32 = 2.0;
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
            let late = columns.iter().map(Column::late_mm).fold(0.0, f32::max);
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
    let (scale, columns) = best.map_or((none, Vec::new()), |(_, scale, columns)| (scale, columns));
    let slices = slices(sheet, room, scale.size_pt, letters);
    (scale, balanced(&slices, room, scale, columns))
}

/// Makes the columns of the last page as even as they can be.
fn balanced(slices: &[Slice], room: Room, scale: Scale, columns: Vec<Column>) -> Vec<Column> {
    let pages = |columns: &[Column]| columns.len().div_ceil(room.columns);
    let (mut best, all, mut room) = (columns, room.columns, room);
    let wanted = best.len().div_ceil(all);
    while room.others_mm.min(room.first_mm) > SHORTEST_MM {
        match wanted {
            0 | 1 => room.first_mm -= 1.0,
            _ => room.others_mm -= 1.0,
        }
        let shorter = at_scale(slices, room, scale);
        if pages(&shorter) > wanted {
            break;
        }
        best = shorter;
    }
    best
}

/// Columns are not made shorter than so, however little is in them.
const SHORTEST_MM: f32 = 60.0;

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
        if whole.fits(height(done.len())) {
            column = whole;
            continue;
        }
        // A segment that fits a column of its own is not cut.
        let mut alone = Column::at(part[0].at);
        part.iter().for_each(|slice| alone.add(slice, scale));
        if alone.fits(room.others_mm.min(height(done.len() + 1))) && column.to > column.from {
            done.push(std::mem::replace(&mut column, alone));
            continue;
        }
        // The column without the slice that was added last, where that has a heading: no column ends with one.
        let mut headless: Option<(Column, &Slice)> = None;
        for slice in part {
            let mut longer = column.clone();
            longer.add(slice, scale);
            if !longer.fits(height(done.len())) && column.to > column.from {
                let (ended, heading) = match headless.take() {
                    Some((headless, heading)) => (headless, Some(heading)),
                    None => (column, None),
                };
                done.push(ended);
                column = Column::at(heading.unwrap_or(slice).at);
                heading.into_iter().for_each(|it| column.add(it, scale));
                column.add(slice, scale);
            } else {
                let opens = slice.opens.is_some() && column.to > column.from;
                headless = opens.then(|| (column.clone(), slice));
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
    let write = |text: &str, bold: bool, of: Of| {
        let (larger_pt, width_mm) = match of {
            Of::Opens => (1.0, room.headings_mm),
            Of::Part => (0.5, room.words_mm),
            Of::Heard(_) => (0.0, room.words_mm),
        };
        let size_pt = size_pt + larger_pt;
        let width = width_mm / (size_pt * super::draw::POINT_MM);
        Label {
            of,
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
                labels.push((part.start, write(&text, bold, Of::Heard(nth))));
                continue;
            }
            if labels.is_empty() {
                let heading = format!("{time}  {}", part.heading);
                labels.push((part.start, write(&heading, true, Of::Part)));
            }
            labels.push((heard.onset, write(&text, bold, Of::Heard(nth))));
        }
        if labels.is_empty() {
            let heading = format!("{time}  {}", part.heading);
            labels.push((part.start, write(&heading, true, Of::Part)));
        }
        let around = matches!(part.kind, SegmentKind::LeadIn | SegmentKind::Finish);
        let mm_a_second = around.then(|| own_scale(&labels, part.end));
        let opens = part.opens.as_ref();
        let mut opens = opens.map(|title| write(title, true, Of::Opens));
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
                    opens: opens.take(),
                    label: label.take(),
                    mm_a_second,
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

/// Returns the least scale at which words stand beside their time.
fn own_scale(labels: &[(At, Label)], end: At) -> f32 {
    let from = labels.first().map_or(end, |(at, _)| *at);
    let close = |mm_a_second: f32| {
        let y_mm = |at: At| (at - from).secs() as f32 * mm_a_second;
        let mut words_to_mm: f32 = 0.0;
        let beside = labels.iter().all(|(at, label)| {
            let late_mm = words_to_mm - y_mm(*at);
            words_to_mm = words_to_mm.max(y_mm(*at)) + label.height_mm();
            late_mm <= CLOSE_MM
        });
        beside && words_to_mm - y_mm(end) <= CLOSE_MM
    };
    // From what shows ten seconds as a few millimetres on.
    let scales = (5..=40).map(|tenths| tenths as f32 / 10.0);
    let mut last = SCALES_MM[0];
    for scale in scales {
        last = scale;
        if close(scale) {
            break;
        }
    }
    last
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Segments of a minute with a line each five seconds, of which each opens a round.
    fn rounds() -> Vec<Slice> {
        let label = |of| Label {
            of,
            rows: vec!["Walk.".to_owned()],
            bold: false,
            size_pt: 10.0,
        };
        let slice = |nth: i64| Slice {
            at: At::from_ms(nth * 5000),
            to: At::from_ms((nth + 1) * 5000),
            part: nth as usize / 12,
            opens: (nth % 12 == 0).then(|| label(Of::Opens)),
            label: Some(label(Of::Heard(0))),
            mm_a_second: None,
        };
        (0..60).map(slice).collect()
    }

    #[test]
    fn no_column_ends_with_the_heading_of_a_round() {
        let (slices, mut cut) = (rounds(), 0);
        for height in 20..120 {
            let room = Room {
                first_mm: height as f32,
                others_mm: height as f32,
                words_mm: 60.0,
                headings_mm: 60.0,
                columns: 2,
            };
            let scale = Scale {
                mm_a_second: 1.0,
                size_pt: 10.0,
            };
            let columns = at_scale(&slices, room, scale);
            assert_eq!(columns[0].from, At::START);
            assert_eq!(columns.last().unwrap().to, At::from_ms(300_000));
            for pair in columns.windows(2) {
                assert_eq!(pair[0].to, pair[1].from, "{height} mm");
                let last = pair[0].labels.last().unwrap().at;
                cut += usize::from(last.ms() % 60_000 != 55_000);
                let opens = |label: &&Placed| label.at == last && label.label.of == Of::Opens;
                assert_eq!(pair[0].labels.iter().find(opens), None, "{height} mm");
            }
        }
        // Some columns end within a segment.
        assert!(cut > 20, "{cut}");
    }
}
