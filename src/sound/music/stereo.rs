//! Any number of channels -> two, as ITU-R BS.775 mixes down.

/// The most channels that have places: 7.1.
pub(super) const MOST: usize = 8;

/// The half of the power: what centre and surround give to each side (BS.775-4, table 2).
const HALF: f32 = std::f32::consts::FRAC_1_SQRT_2;

/// Where a channel stands.
#[derive(Debug, Clone, Copy)]
enum Place {
    Left,
    Right,
    Centre,
    /// Deep sound without a place, which BS.775 leaves out.
    Low,
    BackLeft,
    BackRight,
    BackCentre,
}

use Place::BackCentre as Bc;
use Place::BackLeft as Bl;
use Place::BackRight as Br;
use Place::Centre as C;
use Place::Left as L;
use Place::Low;
use Place::Right as R;

/// The places of so many channels, in the order that WAV and FLAC have (RFC 9639, section 9.1.3; WAV's
/// default mask).
fn places(channels: usize) -> &'static [Place] {
    match channels {
        1 => &[C],
        2 => &[L, R],
        3 => &[L, R, C],
        4 => &[L, R, Bl, Br],
        5 => &[L, R, C, Bl, Br],
        6 => &[L, R, C, Low, Bl, Br],
        7 => &[L, R, C, Low, Bc, Bl, Br],
        _ => &[L, R, C, Low, Bl, Br, Bl, Br],
    }
}

/// What each channel gives to left and right.
#[derive(Debug)]
pub(super) struct Stereo(Vec<[f32; 2]>);

impl Stereo {
    /// Gets ready for so many channels; `None` for more than have places.
    pub(super) fn of(channels: usize) -> Option<Self> {
        if channels == 0 || channels > MOST {
            return None;
        }
        let gain = |place: &Place| match place {
            Place::Left => [1.0, 0.0],
            Place::Right => [0.0, 1.0],
            // One channel alone is heard from both, as loud as a pair.
            Place::Centre if channels == 1 => [1.0, 1.0],
            Place::Centre => [HALF, HALF],
            Place::Low => [0.0, 0.0],
            Place::BackLeft => [HALF, 0.0],
            Place::BackRight => [0.0, HALF],
            Place::BackCentre => [HALF * HALF, HALF * HALF],
        };
        Some(Self(places(channels).iter().map(gain).collect()))
    }

    /// Mixes one frame.
    pub(super) fn mix(&self, frame: &[f32]) -> [f32; 2] {
        let mut mixed = [0.0; 2];
        for (sample, gain) in frame.iter().zip(&self.0) {
            mixed[0] += sample * gain[0];
            mixed[1] += sample * gain[1];
        }
        mixed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_channel_goes_where_it_is_meant_to_be() {
        let alone = |channels: usize, at: usize| {
            let mut frame = vec![0.0; channels];
            frame[at] = 1.0;
            Stereo::of(channels).unwrap().mix(&frame)
        };
        assert_eq!(alone(1, 0), [1.0, 1.0]);
        assert_eq!((alone(2, 0), alone(2, 1)), ([1.0, 0.0], [0.0, 1.0]));
        assert_eq!(alone(6, 2), [HALF, HALF]);
        assert_eq!(alone(6, 3), [0.0, 0.0]);
        assert_eq!((alone(6, 4), alone(6, 5)), ([HALF, 0.0], [0.0, HALF]));
        assert!(Stereo::of(0).is_none() && Stereo::of(9).is_none());
    }
}
