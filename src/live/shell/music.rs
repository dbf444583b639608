//! The music of a running class: what lies below the clock now, told to the bed when it changes.

use super::clips::Clips;
use crate::base::units::At;
use crate::compile::Beds;
use crate::compile::Tell;
use crate::compile::Told;
use crate::planning::session::Session;
use crate::planning::timeline::Timeline;
use crate::sound::mix::Command;
use crate::sound::mix::Mixer;
use crate::sound::music::BedThread;

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
        for tell in self.told.next(self.beds.below(session, timeline, at)) {
            match tell {
                Tell::Shelf(shelf) => self.thread.switch(shelf),
                Tell::Aim(aim) => clips.tell(Command::Bed(aim)),
            }
        }
    }

    /// Returns what there is to say since the last time.
    pub fn notices(&self) -> Vec<String> {
        let notices = self.thread.notices().into_iter();
        notices.map(|notice| format!("music: {notice}")).collect()
    }
}
