//! A coach who speaks the class herself: how fast she speaks, and what is made of it. Pure.

pub mod pace;
