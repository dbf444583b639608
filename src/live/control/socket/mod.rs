//! A socket in the user's runtime folder, for other programs and for `tell` and `status`.
//!
//! A line asks, a line of JSON answers. Asked is a verb, as plain words (`pause`, `rate 7`) or as
//! JSON (`{"verb":"pause"}`); the answer is `{"ok":true}` or `{"ok":false,"error":"..."}`. Asked
//! for `status` (or `{"verb":"status"}`), the answer is the status; for `status --follow` (or
//! `{"verb":"status","follow":true}`), a status now and at each change until the class ends. Only
//! the same user is answered.

mod client;
mod lines;
mod place;
mod server;
mod wire;

pub use client::Client;
pub use client::NotReached;
pub use lines::LONGEST;
pub use place::folder;
pub use server::CLIENTS;
pub use server::NotOpened;
pub use server::Socket;
pub use wire::Answer;
pub use wire::Request;

/// The names of the socket and of the lock that belongs to it, in the runtime folder.
const SOCKET: &str = "control.sock";
const LOCK: &str = "control.lock";
