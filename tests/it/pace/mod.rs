//! A coach who speaks herself: syllables and paces against the outside.

mod coaches;
mod syllables;
