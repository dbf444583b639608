//! The tests of the whole, in one binary: each module is one boundary of the program.

mod speech;
