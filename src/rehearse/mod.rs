//! A class practised by the one who will speak it: what was said when, and whether it fits.

pub mod ear;
