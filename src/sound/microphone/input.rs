//! Which microphones there are, and a stream from one.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use cpal::BufferSize;
use cpal::FromSample;
use cpal::InputCallbackInfo;
use cpal::SampleFormat;
use cpal::SizedSample;
use cpal::StreamConfig;
use cpal::traits::DeviceTrait;
use cpal::traits::HostTrait;
use cpal::traits::StreamTrait;

use super::Device;
use super::MicrophoneError;
use super::Options;
use super::capture::Ring;
use crate::base::units::SampleRate;
use crate::sound::out::ANSWER;
use crate::sound::out::Host;
use crate::sound::out::end;
use crate::sound::out::name_of;
use crate::sound::out::open_host;
use crate::sound::out::quiet;

/// Callbacks a second. Times come from the count of frames, so that fewer lose nothing, and each costs several
/// messages to the sound server; left to itself, that sends 2 s at a time.
const CALLBACKS: u32 = 25;

/// How long opening a stream may take.
const OPENING: Duration = Duration::from_secs(2);

/// A microphone as it was found.
pub(super) struct Input {
    device: cpal::Device,
    format: SampleFormat,
    channels: u16,
    pub rate: SampleRate,
    pub name: String,
}

/// Lists the microphones of a host; none is an empty list.
///
/// # Errors
///
/// [`MicrophoneError::NoHost`] or [`MicrophoneError::Failed`] where it cannot be asked.
pub fn microphones(host: Host) -> Result<Vec<Device>, MicrophoneError> {
    let (tell, told) = mpsc::channel();
    let asking = thread::Builder::new().spawn(move || {
        // The one who asked may have given up.
        let _ = tell.send(ask(host));
    });
    asking.map_err(|it| MicrophoneError::Failed(it.to_string()))?;
    told.recv_timeout(ANSWER)
        .unwrap_or_else(|_| Err(MicrophoneError::NoHost("not within 6 s".into())))
}

fn ask(host: Host) -> Result<Vec<Device>, MicrophoneError> {
    let host = open(host)?;
    let default = host.default_input_device().as_ref().and_then(id_of);
    let device = |it: cpal::Device| {
        let id = id_of(&it)?;
        let default = default.as_ref() == Some(&id);
        let name = name_of(&it);
        Some(Device { id, name, default })
    };
    Ok(host.input_devices()?.filter_map(device).collect())
}

fn open(host: Host) -> Result<cpal::Host, MicrophoneError> {
    quiet();
    let opened = open_host(host).map_err(|it| MicrophoneError::NoHost(it.to_string()))?;
    Ok(opened.0)
}

fn id_of(device: &cpal::Device) -> Option<String> {
    device.id().ok().map(|it| it.id().to_owned())
}

/// Finds the microphone that is wanted and what it captures.
pub(super) fn find(options: &Options) -> Result<Input, MicrophoneError> {
    let host = open(options.host)?;
    let device = match &options.device {
        None => host.default_input_device().ok_or(MicrophoneError::NoDevice),
        Some(id) => host
            .input_devices()?
            .find(|it| id_of(it).as_ref() == Some(id))
            .ok_or_else(|| unknown(&host, id)),
    }?;
    let config = device.default_input_config()?;
    if config.channels() == 0 || config.sample_rate() == 0 {
        return Err(MicrophoneError::Unfit("it has no channels".into()));
    }
    Ok(Input {
        format: config.sample_format(),
        channels: config.channels(),
        rate: SampleRate::from_hz(config.sample_rate()),
        name: name_of(&device),
        device,
    })
}

fn unknown(host: &cpal::Host, wanted: &str) -> MicrophoneError {
    let ids = host
        .input_devices()
        .map(|all| all.filter_map(|it| id_of(&it)));
    let found = ids.map(|it| it.collect::<Vec<_>>().join(", "));
    MicrophoneError::Unknown {
        wanted: wanted.to_owned(),
        found: match found {
            Ok(found) if !found.is_empty() => found,
            _ => "none at all".into(),
        },
    }
}

impl Input {
    /// Opens a stream into a ring and lets it run.
    pub fn stream(
        &self,
        ring: Ring,
        opened: Instant,
        failed: impl FnMut(cpal::Error) + Send + 'static,
    ) -> Result<cpal::Stream, MicrophoneError> {
        let stream = match self.format {
            SampleFormat::I8 => self.build::<i8>(ring, opened, failed),
            SampleFormat::I16 => self.build::<i16>(ring, opened, failed),
            SampleFormat::I24 => self.build::<cpal::I24>(ring, opened, failed),
            SampleFormat::I32 => self.build::<i32>(ring, opened, failed),
            SampleFormat::I64 => self.build::<i64>(ring, opened, failed),
            SampleFormat::U8 => self.build::<u8>(ring, opened, failed),
            SampleFormat::U16 => self.build::<u16>(ring, opened, failed),
            SampleFormat::U24 => self.build::<cpal::U24>(ring, opened, failed),
            SampleFormat::U32 => self.build::<u32>(ring, opened, failed),
            SampleFormat::U64 => self.build::<u64>(ring, opened, failed),
            SampleFormat::F32 => self.build::<f32>(ring, opened, failed),
            SampleFormat::F64 => self.build::<f64>(ring, opened, failed),
            other => return Err(MicrophoneError::Unfit(format!("samples of {other}"))),
        }?;
        if let Err(error) = stream.play() {
            end(stream);
            return Err(error.into());
        }
        Ok(stream)
    }

    fn build<T>(
        &self,
        mut ring: Ring,
        opened: Instant,
        failed: impl FnMut(cpal::Error) + Send + 'static,
    ) -> Result<cpal::Stream, cpal::Error>
    where
        T: SizedSample,
        f32: FromSample<T>,
    {
        let channels = usize::from(self.channels);
        let config = StreamConfig {
            channels: self.channels,
            sample_rate: self.rate.hz(),
            buffer_size: BufferSize::Fixed((self.rate.hz() / CALLBACKS).max(1)),
        };
        let take = move |data: &[T], info: &InputCallbackInfo| {
            let arrived = opened.elapsed();
            let times = info.timestamp();
            let latency = times.callback.duration_since(times.capture);
            ring.put(mono(data, channels), arrived, latency);
        };
        self.device
            .build_input_stream::<T, _, _>(config, take, failed, Some(OPENING))
    }
}

/// Mixes the channels of each frame: their mean, so that full scale stays full scale.
fn mono<T>(data: &[T], channels: usize) -> impl ExactSizeIterator<Item = f32>
where
    T: Copy,
    f32: FromSample<T>,
{
    data.chunks_exact(channels).map(move |frame| {
        let sum: f32 = frame.iter().map(|it| f32::from_sample_(*it)).sum();
        sum / channels as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_are_mixed_to_their_mean_from_any_format() {
        let mixed = |it: &[i16]| mono(it, 2).collect::<Vec<_>>();
        assert_eq!(mixed(&[16_384, 0, i16::MIN, i16::MIN]), [0.25, -1.0]);
        assert_eq!(mono(&[128u8, 255, 0], 1).len(), 3);
        assert_eq!(mono(&[128u8], 1).next(), Some(0.0));
    }
}
