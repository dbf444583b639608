//! Decides which files are settled and have to be read, from looks at the folder and from what the
//! system tells of writers. Pure: times are handed in.
//!
//! A file is settled when its writer has closed it or it was moved into place. Where nobody tells
//! of that (no such events, a file that was there before, a lost event), it is settled when it looks
//! the same for [`STABLE`], or was last written [`OLD`] ago. A parse error is no guard: 17 of 98
//! prefixes of a session were valid TOML.
//!
//! The next writer may come between a close and the reading, and what the system tells of it may
//! still be on its way when the file is looked at. So what was read [`holds`](Known::holds) only if
//! nothing was told of its file between the look and the end of the reading.

use super::Name;
use crate::base::units::Millis;
use std::collections::BTreeMap;
use std::collections::HashMap;
use std::collections::HashSet;

/// So long a file must look the same; longer than writers usually rest between two writes.
pub const STABLE: Millis = Millis::from_ms(400);

/// What was written longer ago is taken as whole; the coarsest clocks of file systems count in
/// steps of two seconds (FAT).
pub const OLD: Millis = Millis::from_ms(2_500);

/// A writer that neither writes nor closes for this long is taken to have forgotten the file.
pub const FORGOTTEN: Millis = Millis::from_secs(60);

/// How a file looks from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stamp {
    /// Milliseconds since 1970 by the clock of the file system.
    pub modified: i64,
    /// The rest of what the system tells of it: nanoseconds, length, number, time of change.
    pub rest: (u32, u64, u64, i64),
}

impl Stamp {
    fn is_empty(self) -> bool {
        self.rest.1 == 0
    }
}

/// What the system told of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seen {
    /// Somebody writes to it.
    Writing(Name),
    /// Whoever wrote to it has closed it, or it was moved into place.
    Closed(Name),
    /// Some of what happened may still be to come.
    Late,
    /// Some of what happened was not told: nothing is known of writers.
    Lost,
}

/// What a look at the folder led to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changes {
    /// To be read, movements first.
    pub read: Vec<Name>,
    pub gone: Vec<Name>,
    /// After this, look again.
    pub look_again: Option<Millis>,
    /// Whether there are files that were not read because they are not settled.
    pub unsettled: bool,
}

#[derive(Debug, Clone)]
struct Entry {
    seen: Stamp,
    since: i64,
    read: Option<Stamp>,
    /// Read so soon after it was written that a later write may leave the same stamp.
    young: bool,
    /// Read so long after it was written that no writer can be at it of whom was not told.
    old: bool,
}

/// The files as they were seen and read last.
#[derive(Debug, Default)]
pub struct Known {
    files: BTreeMap<Name, Entry>,
    /// Being written, with the time of the last write.
    writing: HashMap<Name, i64>,
    closed: HashSet<Name>,
    /// Written to since the last look, closed again or not.
    stirred: HashSet<Name>,
    /// Whether there may be others, because not all was told since the last look.
    in_doubt: bool,
}

impl Known {
    /// Notes what the system told at a time, in milliseconds since 1970.
    pub fn saw(&mut self, seen: Seen, now: i64) {
        match &seen {
            Seen::Writing(name) | Seen::Closed(name) => drop(self.stirred.insert(name.clone())),
            Seen::Late | Seen::Lost => self.in_doubt = true,
        }
        match seen {
            Seen::Writing(name) => {
                self.closed.remove(&name);
                self.writing.insert(name, now);
            }
            Seen::Closed(name) => {
                self.writing.remove(&name);
                self.closed.insert(name);
            }
            Seen::Late => {}
            Seen::Lost => {
                self.writing.clear();
                self.closed.clear();
            }
        }
    }

    /// Returns how many files were written to since the last look.
    pub fn stirred(&self) -> usize {
        self.stirred.len()
    }

    /// Forgets what was read, so that the next look reads all that is settled.
    pub fn read_all_again(&mut self) {
        for entry in self.files.values_mut() {
            entry.read = None;
        }
    }

    /// Returns whether a file was read as it looked last, and nobody writes to it.
    pub fn is_read(&self, name: &Name) -> bool {
        let read = |entry: &Entry| entry.read == Some(entry.seen);
        self.files.get(name).is_some_and(read) && !self.writing.contains_key(name)
    }

    /// Returns whether a file is there and will be read once it is settled.
    pub fn waits(&self, name: &Name) -> bool {
        self.files.contains_key(name) && !self.is_read(name)
    }

    /// Returns whether what was read of a file since the last look is the whole of it, given how it
    /// looks now and with all noted that was told until the end of the reading. If not, it is read
    /// again once it is settled.
    pub fn holds(&mut self, name: &Name, stamp: Option<Stamp>, now: i64) -> bool {
        let Some(entry) = self.files.get_mut(name) else {
            return false;
        };
        // A writer that just cut the file leaves one stamp before and after.
        let stirred = self.stirred.contains(name) || (self.in_doubt && !entry.old);
        let holds = stamp == Some(entry.seen) && !stirred;
        if !holds {
            entry.read = None;
            entry.since = now;
        }
        holds
    }

    /// Compares a look at the folder with what is known. What it says is to be read counts as read.
    pub fn compare(&mut self, found: &BTreeMap<Name, Stamp>, now: i64) -> Changes {
        let mut changes = Changes::default();
        self.stirred.clear();
        self.in_doubt = false;
        for (name, stamp) in found {
            if let Some(wait) = self.look_at(name, *stamp, now, &mut changes) {
                let soonest = changes.look_again.map_or(wait, |other| other.min(wait));
                changes.look_again = Some(soonest);
            }
        }
        let writing = &mut self.writing;
        writing.retain(|name, _| found.contains_key(name));
        self.closed.retain(|name| found.contains_key(name));
        let gone = &mut changes.gone;
        self.files.retain(|name, _| {
            let stays = found.contains_key(name);
            if !stays {
                gone.push(name.clone());
            }
            stays
        });
        changes
    }

    /// Looks at one file; returns after how long it must be looked at again, if it must.
    fn look_at(
        &mut self,
        name: &Name,
        stamp: Stamp,
        now: i64,
        changes: &mut Changes,
    ) -> Option<Millis> {
        let entry = self.files.entry(name.clone()).or_insert(Entry {
            seen: stamp,
            since: now,
            read: None,
            young: false,
            old: false,
        });
        if entry.seen != stamp {
            entry.seen = stamp;
            entry.since = now;
        }
        let closed = self.closed.contains(name);
        let old = now - stamp.modified >= OLD.ms();
        let grown_up = entry.young && old;
        if entry.read == Some(stamp) && !closed && !grown_up {
            return entry.young.then_some(OLD);
        }
        let written = self.writing.get(name);
        if written.is_some_and(|last| now - last < FORGOTTEN.ms()) {
            changes.unsettled = true;
            // Its close tells; this is for the writer that never closes.
            return Some(FORGOTTEN);
        }
        // A system shows a cut file before it tells of the cut, and it may be long between them: then
        // the close that was told of is the one before.
        let (by_close, still) = match stamp.is_empty() {
            true => (false, OLD),
            false => (closed, STABLE),
        };
        let stands = now - entry.since;
        if !by_close && !old && stands < still.ms() {
            changes.unsettled = true;
            return Some(still);
        }
        entry.young = !by_close && !old;
        entry.old = old;
        entry.read = Some(stamp);
        self.closed.remove(name);
        self.writing.remove(name);
        changes.read.push(name.clone());
        entry.young.then_some(OLD)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: i64 = 1_000_000_000;

    fn stamp(modified: i64, length: u64) -> Stamp {
        Stamp {
            modified,
            rest: (0, length, 7, modified),
        }
    }

    fn look(known: &mut Known, files: &[(&str, Stamp)], now: i64) -> (String, String, Option<i64>) {
        let found = files.iter().map(|(id, s)| (Name::session(*id), *s));
        let changes = known.compare(&found.collect(), now);
        let ids = |names: &[Name]| {
            let ids: Vec<_> = names.iter().map(|n| n.id.as_str()).collect();
            ids.join(" ")
        };
        let again = changes.look_again.map(Millis::ms);
        (ids(&changes.read), ids(&changes.gone), again)
    }

    fn of(read: &str, gone: &str, again: Option<i64>) -> (String, String, Option<i64>) {
        (read.to_owned(), gone.to_owned(), again)
    }

    #[test]
    fn what_is_old_is_read_at_once_and_once() {
        let mut known = Known::default();
        let files = [("a", stamp(START, 1)), ("b", stamp(START, 2))];
        let now = START + OLD.ms();
        assert_eq!(look(&mut known, &files, now), of("a b", "", None));
        assert_eq!(look(&mut known, &files, now + 1), of("", "", None));
        assert_eq!(look(&mut known, &files[..1], now + 2), of("", "b", None));
        assert_eq!(look(&mut known, &files, now + 3), of("b", "", None));
        known.read_all_again();
        assert_eq!(look(&mut known, &files, now + 4), of("a b", "", None));
    }

    #[test]
    fn what_is_being_written_waits_for_its_close_however_long_the_writer_rests() {
        let mut known = Known::default();
        known.saw(Seen::Writing(Name::session("a")), START);
        for rest in [0, 500, 5_000] {
            let half = [("a", stamp(START, 1))];
            let looked = look(&mut known, &half, START + rest);
            assert_eq!(looked, of("", "", Some(FORGOTTEN.ms())));
        }
        known.saw(Seen::Closed(Name::session("a")), START + 5_001);
        let whole = [("a", stamp(START + 5_000, 9))];
        assert_eq!(look(&mut known, &whole, START + 5_076), of("a", "", None));
        // Written again, within the same step of the clock and to the same length.
        known.saw(Seen::Writing(Name::session("a")), START + 5_077);
        known.saw(Seen::Closed(Name::session("a")), START + 5_077);
        assert_eq!(look(&mut known, &whole, START + 5_152), of("a", "", None));
    }

    fn closed_and_read(known: &mut Known, whole: Stamp) -> Name {
        let name = Name::session("a");
        known.saw(Seen::Writing(name.clone()), START);
        known.saw(Seen::Closed(name.clone()), START);
        assert_eq!(look(known, &[("a", whole)], START + 75).0, "a");
        name
    }

    #[test]
    fn what_a_writer_was_at_while_it_was_read_does_not_hold() {
        // Between the close and the look the next writer cut the file and wrote the first half; it
        // rests, so that the stamps before and after are the same. It is told of after the look.
        let half = stamp(START + 70, 5);
        let mut known = Known::default();
        let a = closed_and_read(&mut known, half);
        known.saw(Seen::Writing(a.clone()), START + 76);
        assert!(!known.holds(&a, Some(half), START + 77));
        assert!(!known.is_read(&a));
        let looked = look(&mut known, &[("a", half)], START + 150);
        assert_eq!(looked, of("", "", Some(FORGOTTEN.ms())));
        known.saw(Seen::Closed(a.clone()), START + 160);
        let whole = stamp(START + 155, 9);
        assert_eq!(look(&mut known, &[("a", whole)], START + 235).0, "a");
        assert!(known.holds(&a, Some(whole), START + 236) && known.is_read(&a));
        // It may as well have closed the file before what was read is weighed.
        let mut known = Known::default();
        let a = closed_and_read(&mut known, half);
        known.saw(Seen::Writing(a.clone()), START + 76);
        known.saw(Seen::Closed(a.clone()), START + 76);
        assert!(!known.holds(&a, Some(half), START + 77));
        assert_eq!(look(&mut known, &[("a", whole)], START + 151).0, "a");
        assert_eq!(known.stirred(), 0);
        // Of another file that is written to nothing follows; of another stamp it does.
        known.saw(Seen::Writing(Name::session("b")), START + 152);
        assert!(known.holds(&a, Some(whole), START + 153));
        assert!(!known.holds(&a, Some(half), START + 154));
        assert!(!known.holds(&a, None, START + 155));
    }

    #[test]
    fn where_not_all_is_told_only_what_is_old_holds() {
        let whole = stamp(START, 9);
        for doubt in [Seen::Late, Seen::Lost] {
            let mut known = Known::default();
            let a = closed_and_read(&mut known, whole);
            known.saw(doubt.clone(), START + 76);
            assert!(!known.holds(&a, Some(whole), START + 77));
            let looked = look(&mut known, &[("a", whole)], START + 77);
            assert_eq!(looked, of("", "", Some(STABLE.ms())));
            assert_eq!(look(&mut known, &[("a", whole)], START + 477).0, "a");
            known.saw(doubt.clone(), START + 478);
            assert!(!known.holds(&a, Some(whole), START + 479));
            // What is old needs nobody to tell of it.
            assert_eq!(look(&mut known, &[("a", whole)], START + 2_500).0, "a");
            known.saw(doubt, START + 2_501);
            assert!(known.holds(&a, Some(whole), START + 2_502));
        }
        // Of a writer that was told of already, what comes late takes nothing back.
        let mut known = Known::default();
        known.saw(Seen::Writing(Name::session("a")), START);
        known.saw(Seen::Late, START);
        let looked = look(&mut known, &[("a", whole)], START + 5_000);
        assert_eq!(looked, of("", "", Some(FORGOTTEN.ms())));
    }

    #[test]
    fn an_empty_file_stands_still_for_long_before_it_is_read_though_it_was_closed() {
        let mut known = Known::default();
        known.saw(Seen::Closed(Name::session("a")), START);
        let empty = [("a", stamp(START + 50, 0))];
        let looked = look(&mut known, &empty, START + 75);
        assert_eq!(looked, of("", "", Some(2_500)));
        assert_eq!(look(&mut known, &empty, START + 2_549).0, "");
        assert_eq!(look(&mut known, &empty, START + 2_550).0, "a");
        // By a clock that is ahead it never gets old.
        let empty = [("b", stamp(START + 3_600_000, 0))];
        assert_eq!(look(&mut known, &empty, START).0, "");
        assert_eq!(look(&mut known, &empty, START + 2_500).0, "b");
        // Written to meanwhile, it is read at its close.
        known.saw(Seen::Closed(Name::session("b")), START + 2_600);
        let whole = [("b", stamp(START + 2_590, 9))];
        assert_eq!(look(&mut known, &whole, START + 2_625), of("b", "", None));
    }

    #[test]
    fn another_file_that_is_closed_does_not_have_the_half_written_one_read() {
        let mut known = Known::default();
        known.saw(Seen::Writing(Name::session("a")), START);
        known.saw(Seen::Closed(Name::session("b")), START);
        let files = [("a", stamp(START, 1)), ("b", stamp(START, 1))];
        let looked = look(&mut known, &files, START + 75);
        assert_eq!(looked, of("b", "", Some(FORGOTTEN.ms())));
        // A writer that forgets the file does not keep it out for ever.
        let looked = look(&mut known, &files, START + FORGOTTEN.ms());
        assert_eq!(looked, of("a", "", None));
    }

    #[test]
    fn what_is_not_read_yet_is_known_of() {
        let mut known = Known::default();
        let found = BTreeMap::from([(Name::session("a"), stamp(START, 1))]);
        assert!(known.compare(&found, START).unsettled);
        let changes = known.compare(&found, START + 400);
        assert!(!changes.unsettled && changes.read.len() == 1);
    }

    #[test]
    fn without_news_of_writers_a_file_must_look_the_same_for_a_while() {
        let mut known = Known::default();
        let mut now = START;
        for length in 1..10 {
            let growing = [("a", stamp(now, length))];
            assert_eq!(look(&mut known, &growing, now), of("", "", Some(400)));
            now += 300;
        }
        let whole = [("a", stamp(now, 10))];
        assert_eq!(look(&mut known, &whole, now), of("", "", Some(400)));
        assert_eq!(look(&mut known, &whole, now + 399), of("", "", Some(400)));
        assert_eq!(
            look(&mut known, &whole, now + 400),
            of("a", "", Some(2_500))
        );
        // Read so young, it may have been written once more within a step of the clock.
        let looked = look(&mut known, &whole, now + 2_500);
        assert_eq!(looked, of("a", "", None));
        assert_eq!(look(&mut known, &whole, now + 9_999), of("", "", None));
    }

    #[test]
    fn a_clock_that_is_ahead_does_not_keep_a_file_out() {
        let mut known = Known::default();
        let ahead = [("a", stamp(START + 3_600_000, 1))];
        assert_eq!(look(&mut known, &ahead, START), of("", "", Some(400)));
        assert_eq!(look(&mut known, &ahead, START + 400).0, "a");
    }

    #[test]
    fn what_was_lost_is_made_up_for_by_looking() {
        let mut known = Known::default();
        known.saw(Seen::Writing(Name::session("a")), START);
        known.saw(Seen::Lost, START);
        let files = [("a", stamp(START, 1))];
        assert_eq!(look(&mut known, &files, START + 75), of("", "", Some(400)));
        assert_eq!(look(&mut known, &files, START + 475).0, "a");
    }
}
