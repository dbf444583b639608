//! How it sounds: samples, from text or tone to the loudspeaker or a file, and from a microphone.
//!
//! This wing knows nothing of sessions: it is handed texts and positions.

pub mod dsp;
pub mod microphone;
pub mod mix;
pub mod music;
pub mod out;
pub mod speech;
