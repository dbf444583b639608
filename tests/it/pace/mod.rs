//! A coach who speaks herself: syllables and paces against the outside, speakers that are kept.

mod coaches;
mod speaker;
mod syllables;
