//! Sinks: what a mixer's samples go to, be it a loudspeaker, a file or a test's hand.
//!
//! Every sink drives the same [`Mixer`](crate::sound::mix::Mixer), so what is heard and what is
//! written is one thing. This room knows samples only: when something is said is decided elsewhere.

mod devices;
mod drift;
mod encode;
mod file;
mod following;
mod loudspeaker;
mod offline;
mod pipe;
mod pump;
mod sides;
mod source;
mod target;
mod watchdog;

pub(super) use devices::ANSWER;
pub use devices::Device;
pub use devices::DeviceError;
pub use devices::Host;
pub use devices::devices;
pub(super) use devices::name_of;
pub use devices::named;
pub(super) use devices::open_host;
pub(super) use devices::quiet;
pub use drift::Drift;
pub use file::Bits;
pub use file::Format;
pub use file::SoundFile;
pub use file::write_sound;
pub use following::Following;
pub use loudspeaker::Event;
pub use loudspeaker::Loudspeaker;
pub use loudspeaker::Options;
pub(super) use loudspeaker::end;
pub use offline::Offline;
pub use offline::OfflineBed;
pub use offline::Progress;
pub use pipe::Pipe;
pub use pump::Pump;
pub use sides::Channel;
pub use sides::Sides;
pub use source::DeviceClock;
pub use source::Leading;
pub use source::Source;
pub use target::FileError;
pub use target::Target;
