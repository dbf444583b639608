//! The music of a running class: what lies below the clock now, told to the bed when it changes.

use super::clips::Clips;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::compile::Beds;
use crate::compile::Tell;
use crate::compile::Told;
use crate::planning::session::Session;
use crate::planning::timeline::Timeline;
use crate::sound::mix::Command;
use crate::sound::mix::Mixer;
use crate::sound::music::BedNews;
use crate::sound::music::BedThread;

/// So far ahead of what is heard a bed is decoded, its ring being full.
const AHEAD: Millis = Millis::from_secs(3);

/// The bed, and what it was told.
pub struct Accompaniment {
    beds: Beds,
    thread: BedThread,
    told: Told,
}

impl Accompaniment {
    /// Lays a bed below a mixer; its thread waits until there is music in the class.
    pub fn lay(beds: Beds, mixer: &mut Mixer) -> Self {
        let (thread, blocks) = BedThread::start(beds.kept());
        mixer.lay(blocks);
        Self {
            beds,
            thread,
            told: Told::default(),
        }
    }

    /// Follows the clock.
    pub fn follow(&mut self, session: &Session, timeline: &Timeline, at: At, clips: &mut Clips) {
        let now = self.beds.below(session, timeline, at);
        let soon = self.beds.below(session, timeline, at + AHEAD);
        for tell in self.told.ahead(now, soon) {
            match tell {
                Tell::Shelf(shelf) => self.thread.switch(shelf),
                Tell::Aim(aim) => clips.tell(Command::Bed(aim)),
            }
        }
    }

    /// Returns what there is to say since the last time.
    pub fn news(&self) -> Vec<BedNews> {
        self.thread.news()
    }
}
