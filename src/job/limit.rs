//! A limit cannot be built without saying where it comes from.

/// A value with its origin: job-file key, specification paragraph, published source or "house value".
#[derive(Clone, Debug, PartialEq)]
pub struct Limit<T> {
    /// The value.
    pub value: T,
    /// Where it comes from, as reports print it.
    pub origin: String,
}

impl<T> Limit<T> {
    /// A limit from its value and origin.
    #[must_use]
    pub fn new(value: T, origin: impl Into<String>) -> Self {
        Self { value, origin: origin.into() }
    }
}
