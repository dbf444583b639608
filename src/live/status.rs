//! What is told of a running class, from its timeline and its clock.

use super::control::Board;
use super::control::Doing;
use super::control::Status;
use super::core::State;
use super::shell::News;
use crate::base::units::At;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use std::sync::Arc;

/// Keeps the board up to date while a class runs.
pub struct Reporter {
    session: Arc<Session>,
    board: Board,
    state: State,
}

impl Reporter {
    /// Makes the reporter of a class that is about to be made.
    pub fn new(session: Arc<Session>, board: Board) -> Self {
        let state = State::Building;
        board.show(status(&session, state, At::START, None));
        Self {
            session,
            board,
            state,
        }
    }

    /// Takes in what the shell tells.
    pub fn hear(&mut self, news: &News) {
        match news {
            News::State(state) => {
                self.state = *state;
                // Where it stands is told by the clock.
                self.board.show(Status {
                    state: doing(*state),
                    ..self.board.now()
                });
            }
            News::Clock { at, timeline } => {
                let now = status(&self.session, self.state, *at, Some(timeline));
                self.board.show(now);
            }
            News::Changed(change) => self.session = Arc::clone(&change.session),
            News::Said(_) | News::Notice(_) | News::Step(_) | News::Heard(..) | News::Wishes(_) => {
            }
        }
    }
}

/// Returns the status of a class. In a rest, movement, side and round are those of the work that
/// comes.
pub fn status(session: &Session, state: State, at: At, timeline: Option<&Timeline>) -> Status {
    let mut status = Status {
        state: doing(state),
        session: Some(session.text.title.clone()),
        position_ms: at.ms(),
        ..Status::default()
    };
    let Some(timeline) = timeline else {
        return status;
    };
    status.length_ms = Some(timeline.end().ms());
    let Some(now) = timeline.segments.iter().position(|s| at < s.end) else {
        return status;
    };
    let segment = &timeline.segments[now];
    status.segment = Some(segment.kind.word().to_owned());
    if segment.open && status.state == Doing::Running {
        status.state = Doing::Waiting;
    }
    let is_work = |s: &&Segment| s.kind == SegmentKind::Work;
    let coming = timeline.segments[now..].iter().find(is_work);
    if let Some(work) = coming.and_then(|s| s.work).map(|w| &timeline.works[w]) {
        let movement = session.movement(work.movement_use(session));
        status.movement = Some(movement.name.clone());
        status.side = work.side.map(|side| side.id().to_owned());
        status.round = Some(work.round + 1);
    }
    status
}

fn doing(state: State) -> Doing {
    match state {
        State::Building => Doing::Building,
        // The clock stands for words of the class's own: nobody has to do anything about it.
        State::Running | State::Announcing => Doing::Running,
        State::Paused => Doing::Paused,
        State::Finished => Doing::Finished,
    }
}
