//! The end of the way: what is mixed goes through the limiter, and then to a sink.

use super::Mixer;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::sound::dsp::CEILING;
use crate::sound::dsp::limiter::Stream;

/// A mixer and the limiter behind it: what every sink drives.
#[derive(Debug)]
pub struct Master {
    mixer: Mixer,
    limiter: Stream,
}

impl Master {
    /// Puts the limiter behind a mixer.
    pub fn new(mixer: Mixer) -> Self {
        let limiter = Stream::new(mixer.rate(), mixer.channels(), CEILING);
        Master { mixer, limiter }
    }

    /// Returns the number of channels of what [`Master::fill`] fills.
    pub fn channels(&self) -> u16 {
        self.mixer.channels()
    }

    /// Returns the session frame that is mixed next.
    pub fn position(&self) -> FrameAt {
        self.mixer.position()
    }

    /// Returns how many frames later than it is mixed a sample comes out.
    pub fn latency(&self) -> Frames {
        self.limiter.latency()
    }

    /// Renders the next frames: interleaved, with a true peak of at most -1 dBTP. What is below that comes
    /// out as it was mixed, [`Master::latency`] frames later.
    ///
    /// A part of a frame at the end is filled with zeros. An empty buffer only heeds commands.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.mixer.fill(out);
        self.limiter.process(out);
    }

    /// Tells it that its device is gone; see [`Mixer::device_lost`]. What was on its way is lost too.
    pub fn device_lost(&mut self) {
        self.mixer.device_lost();
        self.limiter.clear();
    }
}

impl From<Mixer> for Master {
    fn from(mixer: Mixer) -> Self {
        Master::new(mixer)
    }
}

#[cfg(test)]
mod tests {
    use super::super::Clip;
    use super::super::Command;
    use super::super::Desk;
    use super::super::desk_and_mixer;
    use super::*;
    use crate::base::units::SampleRate;
    use crate::sound::dsp::meter;

    fn playing(samples: Vec<f32>) -> (Desk, Master) {
        let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 1, 4);
        let samples = samples.into();
        let at = FrameAt::START;
        desk.feed(Clip { id: 1, at, samples }).unwrap();
        desk.tell(Command::Play).unwrap();
        (desk, Master::new(mixer))
    }

    fn wave(amplitude: f32) -> Vec<f32> {
        (0..48_000)
            .map(|n| amplitude * (n as f32 * 0.1).sin())
            .collect()
    }

    #[test]
    fn what_is_not_too_loud_comes_out_as_it_is_5_ms_later() {
        let (_desk, mut master) = playing(wave(0.8));
        let mut out = vec![f32::NAN; 48_240];
        master.fill(&mut out);
        assert_eq!(master.latency(), Frames::new(240));
        assert!(out[..240].iter().all(|it| *it == 0.0));
        assert!(out[240..] == wave(0.8));
        assert_eq!(master.position(), FrameAt::new(48_240));
    }

    #[test]
    fn what_the_volume_makes_too_loud_is_limited_and_not_clipped() {
        let (mut desk, mut master) = playing(wave(0.8));
        desk.tell(Command::Volume(Desk::LOUDEST)).unwrap();
        let mut out = vec![f32::NAN; 48_240];
        master.fill(&mut out);
        let peak = meter::true_peak(&out, SampleRate::OUTPUT).db();
        assert!((-1.5..=-1.0).contains(&peak), "{peak} dBTP");
        // A sine still: all of it is in its own frequency, to a hundredth and less.
        let steady = &out[20_000..40_000];
        let part = |f: fn(f32) -> f32| -> f32 {
            let sum = steady.iter().zip(0..).map(|(it, n)| it * f(n as f32 * 0.1));
            sum.sum::<f32>() * 2.0 / steady.len() as f32
        };
        let own = part(f32::sin).hypot(part(f32::cos));
        let all = (steady.iter().map(|it| it * it).sum::<f32>() * 2.0 / steady.len() as f32).sqrt();
        assert!(own / all > 0.9999, "{own} of {all}");
    }

    #[test]
    fn with_its_device_it_loses_what_was_on_its_way() {
        let (mut desk, mut master) = playing(wave(0.8));
        master.fill(&mut [0.0; 300]);
        master.device_lost();
        desk.tell(Command::Play).unwrap();
        let mut out = [f32::NAN; 1000];
        master.fill(&mut out);
        assert_eq!(out, [0.0; 1000]);
    }
}
