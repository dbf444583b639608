//! Two ears: what only the coach hears, how far ahead of the room, and on which device.

mod asides;
mod class;
mod pace;
