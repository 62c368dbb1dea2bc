//! All integration tests.

#[cfg(test)]
mod grammar;
#[cfg(test)]
mod job;
#[cfg(test)]
mod properties;
mod published;
#[cfg(test)]
mod readings;
#[cfg(test)]
mod subprograms;
mod house;
#[cfg(test)]
mod rules;
