//! NISTIR 6556, "The NIST RS274/NGC Interpreter, Version 3" (T. R. Kramer, F. M. Proctor, E. Messina, 2000): what the
//! report says a program does, and what the interpreter published with it printed for programs of ours.

mod calls;
mod canned_cycles;
mod conditions;
mod examples;
mod expressions;
mod runs;
mod vectors;
