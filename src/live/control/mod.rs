//! What a listener can tell the program, whatever the control: keys, a socket, media keys, buttons.

mod verb;

pub use verb::Unknown;
pub use verb::Verb;
