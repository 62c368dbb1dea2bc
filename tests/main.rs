//! All integration tests.

#[cfg(test)]
mod any_program;
#[cfg(test)]
mod cli;
#[cfg(test)]
mod compare;
#[cfg(test)]
mod demo_numbers;
#[cfg(test)]
mod editor;
#[cfg(test)]
mod exit_schedule;
#[cfg(test)]
mod fit;
#[cfg(test)]
mod fleet;
#[cfg(test)]
mod grammar;
#[cfg(test)]
mod job;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod published;
#[cfg(test)]
mod readings;
#[cfg(test)]
mod readme;
#[cfg(test)]
mod subprograms;
#[cfg(test)]
mod hostile_edges;
#[cfg(test)]
mod house;
#[cfg(test)]
mod rules;
#[cfg(test)]
mod sheet;
#[cfg(test)]
mod shifted_origin;
#[cfg(test)]
mod simulated_plan;
#[cfg(test)]
mod programs;
#[cfg(test)]
mod measured;
#[cfg(test)]
mod patch;
#[cfg(test)]
mod record;
#[cfg(test)]
mod sarif;
#[cfg(test)]
mod tune;
