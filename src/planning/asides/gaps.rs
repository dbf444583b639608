//! Where a segment is quiet.

use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;

/// Between any two sounds, as in a plan.
const APART: Millis = Millis::from_ms(150);
/// Before a count, as in a plan.
const BEFORE_COUNT: Millis = Millis::from_ms(300);
/// Before a work starts: three, two, one and what is free before them, also where no count stands.
const BEFORE_START: Millis = Millis::from_ms(3300);

/// The quiet times of a segment, in order.
pub struct Gaps(Vec<(At, At)>);

impl Gaps {
    /// Finds what a segment's sounds leave.
    pub fn of(timeline: &Timeline, sounds: &[Sound], segment: &Segment) -> Self {
        let mut gaps = Self(vec![(segment.start + APART, segment.end - APART)]);
        let near =
            |s: &&Sound| s.end + APART > segment.start && s.onset - BEFORE_COUNT < segment.end;
        for sound in sounds.iter().filter(near) {
            let before = match sound.kind {
                SoundKind::Count => BEFORE_COUNT,
                SoundKind::Tone(_) | SoundKind::Line { .. } => APART,
            };
            gaps.cut(sound.onset - before, sound.end + APART);
        }
        let works = timeline.segments.iter();
        for work in works.filter(|s| s.kind == SegmentKind::Work) {
            gaps.cut(work.start - BEFORE_START, work.start + APART);
        }
        gaps
    }

    /// Takes a time for a sound.
    pub fn take(&mut self, onset: At, end: At) {
        self.cut(onset - APART, end + APART);
    }

    /// Returns the last place for what lasts so long, between two instants.
    pub fn latest(&self, from: At, to: At, lasts: Millis) -> Option<(At, At)> {
        let mut within = self.within(from, to, lasts);
        within.next_back().map(|(_, end)| (end - lasts, end))
    }

    /// Returns the first place for what lasts so long, between two instants.
    pub fn earliest(&self, from: At, to: At, lasts: Millis) -> Option<(At, At)> {
        let mut within = self.within(from, to, lasts);
        within.next().map(|(start, _)| (start, start + lasts))
    }

    fn within(
        &self,
        from: At,
        to: At,
        lasts: Millis,
    ) -> impl DoubleEndedIterator<Item = (At, At)> + '_ {
        let gaps = self.0.iter();
        gaps.map(move |(start, end)| ((*start).max(from), (*end).min(to)))
            .filter(move |(start, end)| *start + lasts <= *end)
    }

    fn cut(&mut self, from: At, to: At) {
        let parts = self.0.iter().flat_map(|&(start, end)| {
            let before = (start, end.min(from));
            let after = (start.max(to), end);
            // Where nothing is cut the two are one.
            match end <= from || to <= start {
                true => [Some((start, end)), None],
                false => [Some(before), Some(after)],
            }
        });
        let parts = parts.flatten().filter(|(start, end)| start < end);
        self.0 = parts.collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_is_cut_by_what_sounds_and_found_from_both_ends() {
        let at = At::from_ms;
        let ms = Millis::from_ms;
        let mut gaps = Gaps(vec![(at(0), at(10_000))]);
        gaps.take(at(4_000), at(5_000));
        assert_eq!(gaps.0, [(at(0), at(3_850)), (at(5_150), at(10_000))]);
        let first = gaps.earliest(at(1_000), at(10_000), ms(3_000));
        assert_eq!(first, Some((at(5_150), at(8_150))));
        let last = gaps.latest(at(0), at(8_000), ms(2_900));
        assert_eq!(last, Some((at(950), at(3_850))));
        assert_eq!(gaps.latest(at(0), at(10_000), ms(5_000)), None);
        gaps.take(at(0), at(10_000));
        assert_eq!(gaps.earliest(at(0), at(10_000), ms(1)), None);
    }
}
