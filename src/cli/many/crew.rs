//! Threads that make the classes of a folder, and what is told of them meanwhile.

use super::job::Job;
use super::job::Order;
use super::job::Outcome;
use super::note::Note;
use crate::cli::complain;
use indicatif::ProgressBar;
use indicatif::ProgressStyle;
use std::collections::VecDeque;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::thread;
use std::time::Duration;

/// How often is looked whether somebody else is done with a class.
const LOOK: Duration = Duration::from_millis(200);

/// How all of it came out.
#[derive(Default)]
pub struct Told {
    pub all: usize,
    pub made: usize,
    /// What was made and what was there, in the order of the names.
    pub notes: Vec<(Job, Note)>,
    /// With the reasons, in the order of the names.
    pub failed: Vec<(String, Vec<String>)>,
    pub interrupted: bool,
}

/// Those who make the classes.
pub struct Crew<'a> {
    order: &'a Order,
    state: Mutex<State>,
    bar: Option<ProgressBar>,
}

struct State {
    jobs: VecDeque<Job>,
    /// What others make: looked at again when nothing else is left.
    elsewhere: VecDeque<Job>,
    told: Told,
}

impl<'a> Crew<'a> {
    /// Gets ready to make classes.
    pub fn new(order: &'a Order, jobs: VecDeque<Job>) -> Self {
        let all = jobs.len();
        let bar = (!order.plain).then(|| {
            let bar = ProgressBar::new(all as u64);
            // The template is a constant that indicatif reads.
            let style = "rendering {wide_bar} {pos} of {len}, {eta} left";
            if let Ok(style) = ProgressStyle::with_template(style) {
                bar.set_style(style);
            }
            bar.enable_steady_tick(LOOK);
            bar
        });
        let told = Told {
            all,
            ..Told::default()
        };
        Self {
            order,
            state: Mutex::new(State {
                jobs,
                elsewhere: VecDeque::new(),
                told,
            }),
            bar,
        }
    }

    /// Makes them, so many at a time, and waits for all.
    pub fn work(self, at_a_time: usize) -> Told {
        thread::scope(|scope| {
            for _ in 1..at_a_time {
                scope.spawn(|| self.work_alone());
            }
            self.work_alone();
        });
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
        let state = self.state.into_inner();
        let mut told = state.unwrap_or_else(PoisonError::into_inner).told;
        told.notes.sort_by_key(|(job, _)| job.name());
        told.failed.sort();
        told.interrupted |= self.order.interrupt.asked();
        told
    }

    fn work_alone(&self) {
        while let Some((job, again)) = self.next() {
            let outcome = job.make(self.order);
            if again && matches!(outcome, Outcome::Elsewhere) {
                thread::sleep(LOOK);
            }
            self.take_in(job, outcome);
        }
    }

    /// The next class to be made, and whether others had it when it was looked at last.
    fn next(&self) -> Option<(Job, bool)> {
        let mut state = self.lock();
        if state.told.interrupted || self.order.interrupt.asked() {
            return None;
        }
        if let Some(job) = state.jobs.pop_front() {
            return Some((job, false));
        }
        state.elsewhere.pop_front().map(|job| (job, true))
    }

    fn take_in(&self, job: Job, outcome: Outcome) {
        let name = job.name();
        let mut state = self.lock();
        let told = &mut state.told;
        let what = match outcome {
            Outcome::Elsewhere => {
                state.elsewhere.push_back(job);
                return;
            }
            Outcome::Interrupted => {
                told.interrupted = true;
                return;
            }
            Outcome::Made(note) => {
                told.made += 1;
                told.notes.push((job, note));
                "rendered"
            }
            Outcome::Same(note) => {
                told.notes.push((job, note));
                "unchanged"
            }
            Outcome::Failed(reasons) => {
                told.failed.push((name.clone(), reasons));
                "failed"
            }
        };
        let (done, all) = (told.notes.len() + told.failed.len(), told.all);
        drop(state);
        match &self.bar {
            Some(bar) => bar.set_position(done as u64),
            None => complain(&format!("{done} of {all}: {name} {what}\n")),
        }
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
