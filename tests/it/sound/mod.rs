//! The sound wing from outside: the mixer under random commands, files, a real sound server.

mod bed;
mod bed_commands;
mod bed_recorded;
mod file;
mod laid_over;
mod loudspeaker;
mod mixer;
mod music;
pub mod pipe;
mod player;
pub mod pulse;
mod real_time;
mod recorded;
mod tones;

use sidevoice::base::units::FrameAt;
use sidevoice::sound::mix::Clip;

/// Makes a clip of one value.
fn clip(id: u64, at: u64, length: usize, value: f32) -> Clip {
    Clip {
        id,
        at: FrameAt::new(at),
        samples: vec![value; length].into(),
    }
}
