//! Which music lies below which part of a class, and how loud: the join of what files say of music with the bed.

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::Path;
use std::path::PathBuf;
use std::rc::Rc;

use sha2::Digest;
use sha2::Sha256;

use crate::base::music::Music;
use crate::base::music::OnPause;
use crate::base::music::TrackOrder;
use crate::base::music::Wish;
use crate::base::music::in_folder;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Lufs;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::sound::mix::BED_BLOCK;
use crate::sound::mix::BedAim;
use crate::sound::mix::BedPlays;
use crate::sound::music;
use crate::sound::music::Order;
use crate::sound::music::Sequence;
use crate::sound::music::Shelf;
use crate::sound::out::OfflineBed;

/// Music comes and goes within this.
const COMES: Millis = Millis::from_secs(2);
/// From the level of works to that of rests and back.
const CHANGES: Millis = Millis::from_secs(1);
/// The end of a class, in which music fades away.
const LAST: Millis = Millis::from_secs(3);

/// How music is chosen for the classes of a session.
#[derive(Debug, Clone)]
pub struct Beds {
    root: PathBuf,
    /// What the configuration says.
    outside: Option<Wish>,
    seed: u64,
    kept: Option<PathBuf>,
}

/// What lies below an instant of a class.
#[derive(Debug, Clone, PartialEq)]
pub struct Below {
    pub shelf: Shelf,
    level: Db,
    plays: BedPlays,
}

/// What the bed is told.
#[derive(Debug, Clone, PartialEq)]
pub enum Tell {
    Shelf(Shelf),
    Aim(BedAim),
}

/// What the bed was told last, so that only changes are told.
#[derive(Debug, Default)]
pub struct Told {
    shelf: Option<Shelf>,
    aim: Option<BedAim>,
}

impl Beds {
    /// Makes the choice for a session by its id, in a session folder. With a day, each has an order of its own;
    /// without one, a shuffled order is always the same.
    pub fn new(root: &Path, outside: Option<Wish>, id: &str, day: Option<&str>) -> Self {
        let hash = Sha256::digest(format!("{id}\n{}", day.unwrap_or_default()));
        // Short enough for any reader of JSON (RFC 8259, section 6), in which the record keeps it.
        let seed = hash
            .iter()
            .take(6)
            .fold(0, |seed, byte| seed << 8 | u64::from(*byte));
        Self {
            root: root.to_owned(),
            outside,
            seed,
            kept: music::kept(),
        }
    }

    /// Keeps what is measured of music elsewhere, or nowhere.
    pub fn keeping(mut self, kept: Option<PathBuf>) -> Self {
        self.kept = kept;
        self
    }

    /// Returns where what is measured of music is kept.
    pub fn kept(&self) -> Option<PathBuf> {
        self.kept.clone()
    }

    /// Returns what lies below an instant of a class; `None` for no music.
    pub fn below(&self, session: &Session, timeline: &Timeline, at: At) -> Option<Below> {
        let next = timeline.segments.partition_point(|s| s.start <= at);
        let segment = timeline.segments.get(next.saturating_sub(1))?;
        if at >= timeline.end() - LAST {
            return None;
        }
        let work = segment.work.and_then(|work| timeline.works.get(work));
        let music = session
            .text
            .music(work.map(|work| work.block), self.outside.as_ref())?;
        let level = match segment.kind {
            SegmentKind::Work => music.work,
            SegmentKind::LeadIn | SegmentKind::Rest | SegmentKind::Finish => music.rest,
        };
        Some(Below {
            shelf: self.shelf(&music),
            level: Db::new(Lufs::SPEECH.lufs() + level.db().db() - music::LEVEL),
            plays: match music.pause {
                OnPause::Wait => BedPlays::WithTheClock,
                OnPause::PlayOn => BedPlays::Always,
            },
        })
    }

    /// Returns all that changes what is heard of music in a session: what is said of it, and the files of its
    /// folders by name, size and time.
    pub fn heard(&self, session: &Session) -> Vec<String> {
        let blocks = (0..session.text.blocks.len()).map(Some);
        let all = std::iter::once(None).chain(blocks);
        let all = all.filter_map(|block| session.text.music(block, self.outside.as_ref()));
        all.map(|music| {
            let files = music::listing(&self.shelf(&music).folder);
            format!("{music:?} {} {files:?}", self.seed)
        })
        .collect()
    }

    /// Returns where music begins to be heard in a class, from a place on: there too, if it plays by then. Where the
    /// folder holds none, it does not begin.
    pub fn begins(&self, session: &Session, timeline: &Timeline, from: At) -> Vec<At> {
        let starts = timeline.segments.iter().map(|segment| segment.start);
        let later = starts.filter(|start| *start > from);
        let (mut plays, mut begins) = (false, Vec::new());
        // Each folder is looked into once: it may hold thousands of files.
        let mut holds_some = HashMap::new();
        for at in std::iter::once(from).chain(later) {
            let below = self.below(session, timeline, at);
            let now = below.is_some_and(|it| {
                let folder = it.shelf.folder;
                *holds_some
                    .entry(folder)
                    .or_insert_with_key(|folder| !music::listing(folder).is_empty())
            });
            if now && !plays {
                begins.push(at);
            }
            plays = now;
        }
        begins
    }

    fn shelf(&self, music: &Music) -> Shelf {
        let home = music::home();
        Shelf {
            folder: in_folder(&music.folder, &self.root, home.as_deref()),
            order: match music.order {
                TrackOrder::Named => Order::Named,
                TrackOrder::Shuffled => Order::Shuffled { seed: self.seed },
            },
        }
    }

    /// Lays the bed of a class that is written to a file, with what there will be to say of it; `None` where
    /// there is no music in it.
    pub fn offline(&self, session: &Session, timeline: &Timeline) -> Option<(OfflineBed, Notices)> {
        let starts = timeline.segments.iter().map(|s| s.start);
        let mut told = Told::default();
        let (mut aims, mut shelves) = (Vec::new(), Vec::new());
        for at in starts.chain([timeline.end() - LAST]) {
            let frame = SampleRate::OUTPUT.frame_at(at);
            for tell in told.next(self.below(session, timeline, at)) {
                match tell {
                    Tell::Aim(aim) => aims.push((frame, aim)),
                    Tell::Shelf(shelf) => shelves.push((frame, shelf)),
                }
            }
        }
        // Each block is played from its beginning on: the first one where music begins.
        let (begin, _) = *shelves.first()?;
        let block_of = |frame: FrameAt| frame.since(begin).count() / BED_BLOCK as u64;
        let shelves = shelves.into_iter().map(|(at, shelf)| (block_of(at), shelf));
        let mut bed = Sequence::open(shelves.collect(), self.kept())?;
        let notices = Notices::default();
        let told = notices.clone();
        let pull = move || {
            let pulled = bed.pull();
            told.tell(bed.notices());
            Some(pulled)
        };
        let blocks = Box::new(pull);
        Some((OfflineBed { blocks, aims }, notices))
    }
}

/// What there is to say of the music of a file that is written.
#[derive(Debug, Clone, Default)]
pub struct Notices(Rc<RefCell<Vec<String>>>);

impl Notices {
    /// Adds what came up.
    pub(super) fn tell(&self, notices: impl IntoIterator<Item = String>) {
        self.0.borrow_mut().extend(notices);
    }

    /// Returns what came up since the last time.
    pub fn take(&self) -> Vec<String> {
        self.0.take()
    }
}

impl Told {
    /// Returns the same where tracks are decoded ahead: the music is that which lies below when what is decoded
    /// now is heard, the level that of now.
    pub fn ahead(&mut self, now: Option<Below>, soon: Option<Below>) -> Vec<Tell> {
        let silent = now.is_none() && self.aim.is_some();
        let shelf = soon.map(|soon| soon.shelf);
        let now = now.map(|now| Below {
            shelf: shelf.clone().unwrap_or(now.shelf),
            ..now
        });
        let mut tells = self.next(now);
        if let Some(shelf) = shelf.filter(|_| silent)
            && self.shelf.as_ref() != Some(&shelf)
        {
            tells.push(Tell::Shelf(shelf.clone()));
            self.shelf = Some(shelf);
        }
        tells
    }

    /// Returns what is to be told for what lies below now. Before there was any music nothing is told, so that it
    /// begins with a track's beginning.
    pub fn next(&mut self, below: Option<Below>) -> Vec<Tell> {
        let aim = match &below {
            None => match self.aim {
                None => return Vec::new(),
                Some(aim) => BedAim {
                    level: Db::new(f32::NEG_INFINITY),
                    fade: COMES,
                    ..aim
                },
            },
            Some(below) => {
                let heard = self.aim.is_some_and(|aim| aim.level.db().is_finite());
                BedAim {
                    level: below.level,
                    fade: if heard { CHANGES } else { COMES },
                    plays: below.plays,
                }
            }
        };
        let mut tells = Vec::new();
        if let Some(Below { shelf, .. }) = below
            && self.shelf.as_ref() != Some(&shelf)
        {
            tells.push(Tell::Shelf(shelf.clone()));
            self.shelf = Some(shelf);
        }
        let as_before = |told: BedAim| told.level == aim.level && told.plays == aim.plays;
        if !self.aim.is_some_and(as_before) {
            tells.push(Tell::Aim(aim));
            self.aim = Some(aim);
        }
        tells
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn below(folder: &str, level: f32) -> Option<Below> {
        Some(Below {
            shelf: Shelf {
                folder: folder.into(),
                order: Order::Named,
            },
            level: Db::new(level),
            plays: BedPlays::WithTheClock,
        })
    }

    fn aims(tells: &[Tell]) -> Vec<(f32, i64)> {
        let aim = |tell: &Tell| match tell {
            Tell::Aim(aim) => Some((aim.level.db(), aim.fade.ms())),
            Tell::Shelf(_) => None,
        };
        tells.iter().filter_map(aim).collect()
    }

    #[test]
    fn only_what_changes_is_told_and_nothing_before_there_is_music() {
        let mut told = Told::default();
        assert_eq!(told.next(None), []);
        let first = told.next(below("a", -7.0));
        assert!(matches!(&first[0], Tell::Shelf(shelf) if shelf.folder == Path::new("a")));
        assert_eq!(aims(&first), [(-7.0, 2000)]);
        assert_eq!(told.next(below("a", -7.0)), []);
        assert_eq!(aims(&told.next(below("a", -11.0))), [(-11.0, 1000)]);
        assert_eq!(aims(&told.next(None)), [(f32::NEG_INFINITY, 2000)]);
        assert_eq!(told.next(None), []);
        let back = told.next(below("a", -7.0));
        assert_eq!((back.len(), aims(&back)), (1, vec![(-7.0, 2000)]));
        let other = told.next(below("b", -7.0));
        assert!(matches!(&other[..], [Tell::Shelf(_)]));
    }

    #[test]
    fn each_day_has_an_order_of_its_own_and_a_file_always_the_same() {
        let seed = |id, day| Beds::new(Path::new(""), None, id, day).seed;
        assert_eq!(seed("a", None), seed("a", None));
        assert_eq!(seed("a", Some("2026-03-01")), seed("a", Some("2026-03-01")));
        let all = [
            seed("a", None),
            seed("b", None),
            seed("a", Some("2026-03-01")),
            seed("a", Some("2026-03-02")),
        ];
        let unique: std::collections::HashSet<_> = all.iter().collect();
        assert_eq!(unique.len(), 4);
    }
}
