//! A session in time -> slices, each to scale, that fit their pages.
//!
//! Words never stand far below their time: where they would, the page ends. What comes before and after the works is
//! mostly words, so it has a scale of its own; where a round begins the bar is interrupted for its heading.

use super::Heard;
use super::HeardKind;
use super::Part;
use super::Sheet;
use super::draw::Of;
use super::wrap;
use super::wrap::Item;
use super::wrap::Letters;
use super::wrap::Piece;
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
    /// The width that words have, and headings.
    pub words_mm: f32,
    pub headings_mm: f32,
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

/// What is written beside an instant: rows of pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Whether it opens a round.
    pub opens: bool,
    pub rows: Vec<Vec<Piece>>,
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

/// A page: a stretch of time, and what is written beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    pub from: At,
    pub to: At,
    pub labels: Vec<Placed>,
    spans: Vec<Span>,
    bar_to_mm: f32,
    words_to_mm: f32,
}

/// Where a stretch of time lies on its page.
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

impl Page {
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
        let labels = self.labels.iter().filter(|l| !l.label.opens);
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
        // A little air below each, more below what opens a round, for the line under it.
        self.row_mm() * (self.rows.len() as f32 + if self.opens { 0.32 } else { 0.05 })
    }
}

/// At arm's length (65 cm) a capital of 12 points, 3 mm, fills 16 minutes of arc, the least of ISO 9241-303 (from
/// memory); books are printed in 10 points and more (common practice), of letters whose small ones are lower: those of DejaVu
/// Sans of 9.5 points, 0.55 of their size, are as high as the small ones of Times of 11.5 points (from memory).
const SIZES_PT: [f32; 4] = [12.0, 11.0, 10.0, 9.5];
/// From what takes a page for twenty minutes to what takes one for a minute and a half.
const SCALES_MM: [f32; 27] = [
    0.2, 0.22, 0.24, 0.26, 0.28, 0.29, 0.3, 0.31, 0.32, 0.33, 0.34, 0.36, 0.38, 0.4, 0.44, 0.48,
    0.52, 0.56, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 1.9, 2.6,
];
/// How far words may stand below their time: three rows, each of which has its time (a choice).
pub const LATEST_MM: f32 = 12.0;
/// How far within what has a scale of its own.
const CLOSE_MM: f32 = 4.0;
/// The air above the heading of a round.
const OPENS_MM: f32 = 1.2;
/// What a page more costs, what it costs besides that there is a page to turn, and what a point less, in millimetres
/// by which a label is late.
const PAGE_COSTS: f32 = 40.0;
const TURNING_COSTS: f32 = 60.0;
const POINT_COSTS: f32 = 12.0;
/// What ten seconds more in one run of words cost.
const TOGETHER_COSTS: f32 = 3.0;

/// Lays a timeline out at the scale that is best to read: few pages, large letters, labels beside their time.
pub fn pages(sheet: &Sheet, room: Room, letters: &dyn Letters) -> Vec<Page> {
    let mut best: Option<(f32, Vec<Page>)> = None;
    let ways = SIZES_PT
        .iter()
        .flat_map(|size| TOGETHER.map(|together| (*size, together)));
    for (size_pt, together) in ways {
        let slices = slices(sheet, room, size_pt, together, letters);
        for mm_a_second in SCALES_MM {
            let scale = Scale {
                mm_a_second,
                size_pt,
            };
            let pages = at_scale(&slices, room, scale);
            let many = pages.len() as f32;
            let turning = if many > 1.0 { TURNING_COSTS } else { 0.0 };
            let late = pages.iter().map(Page::late_mm).fold(0.0, f32::max);
            // An hour may be late by as much as five minutes: each page has its own.
            let late = late * many.sqrt();
            let small = (SIZES_PT[0] - size_pt) * POINT_COSTS;
            let apart = together.secs() as f32 / TOGETHER[0].secs() as f32 * TOGETHER_COSTS;
            let cost = many * PAGE_COSTS + turning + late + small + apart;
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, pages));
            }
        }
    }
    best.map_or(Vec::new(), |(_, pages)| pages)
}

fn at_scale(slices: &[Slice], room: Room, scale: Scale) -> Vec<Page> {
    let height = |page: usize| match page {
        0 => room.first_mm,
        _ => room.others_mm,
    };
    let mut done: Vec<Page> = Vec::new();
    let mut page = Page::at(At::START);
    for part in slices.chunk_by(|a, b| a.part == b.part) {
        let mut whole = page.clone();
        part.iter().for_each(|slice| whole.add(slice, scale));
        if whole.fits(height(done.len())) {
            page = whole;
            continue;
        }
        // A segment that fits a page of its own is not cut.
        let mut alone = Page::at(part[0].at);
        part.iter().for_each(|slice| alone.add(slice, scale));
        if alone.fits(room.others_mm.min(height(done.len() + 1))) && page.to > page.from {
            done.push(std::mem::replace(&mut page, alone));
            continue;
        }
        // The page without the slice that was added last, where that has a heading: no page ends with one.
        let mut headless: Option<(Page, &Slice)> = None;
        for slice in part {
            let mut longer = page.clone();
            longer.add(slice, scale);
            if !longer.fits(height(done.len())) && page.to > page.from {
                let (ended, heading) = match headless.take() {
                    Some((headless, heading)) => (headless, Some(heading)),
                    None => (page, None),
                };
                done.push(ended);
                page = Page::at(heading.unwrap_or(slice).at);
                heading.into_iter().for_each(|it| page.add(it, scale));
                page.add(slice, scale);
            } else {
                let opens = slice.opens.is_some() && page.to > page.from;
                headless = opens.then(|| (page.clone(), slice));
                page = longer;
            }
        }
    }
    done.push(page);
    done.retain(|page| page.to > page.from);
    done
}

/// A stretch in which nothing is said is cut after so long, where a column ends.
const LONGEST: Millis = Millis::from_secs(20);

/// What is said within this stands together: as far apart as one or two ticks of the scale are, or more.
const TOGETHER: [Millis; 3] = [
    Millis::from_secs(10),
    Millis::from_secs(20),
    Millis::from_secs(30),
];

/// What is said so soon after a rest began stands for it: the bar shows that it is one, and how long.
const AT_ONCE: Millis = Millis::from_secs(2);

fn slices(
    sheet: &Sheet,
    room: Room,
    size_pt: f32,
    together: Millis,
    letters: &dyn Letters,
) -> Vec<Slice> {
    let mut slices = Vec::new();
    for (index, part) in sheet.parts.iter().enumerate() {
        let write = |items: &[Item]| Label {
            opens: false,
            rows: wrap::run(items, room.words_mm, letters),
            size_pt,
        };
        let mut labels: Vec<(At, Vec<Item>)> = Vec::new();
        let first = part.heard.iter().find(|heard| words(heard).is_some());
        let at_once = first.is_some_and(|first| first.onset - part.start <= AT_ONCE);
        if part.kind != SegmentKind::Rest || !at_once {
            labels.push((part.start, vec![heading(part, size_pt)]));
        }
        for (nth, heard) in part.heard.iter().enumerate() {
            let Some((text, bold)) = words(heard) else {
                continue;
            };
            let item = Item {
                of: Of::Heard(nth),
                time: Some(super::content::time(heard.onset)),
                text,
                bold,
                size_pt,
            };
            match labels.last_mut() {
                Some((from, items)) if heard.onset - *from < together => items.push(item),
                Some(_) => labels.push((heard.onset, vec![item])),
                None => labels.push((part.start, vec![item])),
            }
        }
        let labels: Vec<_> = labels
            .iter()
            .map(|(at, items)| (*at, write(items)))
            .collect();
        let around = matches!(part.kind, SegmentKind::LeadIn | SegmentKind::Finish);
        let mm_a_second = around.then(|| own_scale(&labels, part.end));
        let mut opens = part.opens.as_ref().map(|title| {
            let size_pt = size_pt + 1.0;
            let title = Item {
                of: Of::Opens,
                time: None,
                text: title.clone(),
                bold: true,
                size_pt,
            };
            Label {
                opens: true,
                rows: wrap::run(&[title], room.headings_mm, letters),
                size_pt,
            }
        });
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

/// The first words beside a part: its time, and what it is.
fn heading(part: &Part, size_pt: f32) -> Item {
    Item {
        of: Of::Part,
        time: None,
        text: format!("{}  {}", super::content::time(part.start), part.heading),
        bold: part.kind != SegmentKind::Rest,
        size_pt,
    }
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
        let label = |opens| Label {
            opens,
            rows: vec![Vec::new()],
            size_pt: 10.0,
        };
        let slice = |nth: i64| Slice {
            at: At::from_ms(nth * 5000),
            to: At::from_ms((nth + 1) * 5000),
            part: nth as usize / 12,
            opens: (nth % 12 == 0).then(|| label(true)),
            label: Some(label(false)),
            mm_a_second: None,
        };
        (0..60).map(slice).collect()
    }

    #[test]
    fn no_page_ends_with_the_heading_of_a_round() {
        let (slices, mut cut) = (rounds(), 0);
        for height in 20..120 {
            let room = Room {
                first_mm: height as f32,
                others_mm: height as f32,
                words_mm: 60.0,
                headings_mm: 60.0,
            };
            let scale = Scale {
                mm_a_second: 1.0,
                size_pt: 10.0,
            };
            let pages = at_scale(&slices, room, scale);
            assert_eq!(pages[0].from, At::START);
            assert_eq!(pages.last().unwrap().to, At::from_ms(300_000));
            for pair in pages.windows(2) {
                assert_eq!(pair[0].to, pair[1].from, "{height} mm");
                let last = pair[0].labels.last().unwrap().at;
                cut += usize::from(last.ms() % 60_000 != 55_000);
                let opens = |label: &&Placed| label.at == last && label.label.opens;
                assert_eq!(pair[0].labels.iter().find(opens), None, "{height} mm");
            }
        }
        // Some pages end within a segment.
        assert!(cut > 20, "{cut}");
    }
}
