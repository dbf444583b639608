//! What a coach should think about before a session is led: advice, never a fault.

pub mod texts;
