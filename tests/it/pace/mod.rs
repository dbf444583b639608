//! A coach who speaks herself: syllables and paces against the outside, speakers that are kept, the script.

mod coaches;
mod script;
mod speaker;
mod syllables;
