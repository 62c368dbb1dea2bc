//! A raw value with its place in the file.

use crate::source::Span;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::ops::Range;

/// A value as the file gives it, and where; compared by value first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct At<T> {
    pub value: T,
    pub span: Span,
}

/// A byte range of the `toml` crate as our span.
pub(super) fn span_of(range: &Range<usize>) -> Span {
    let offset = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    Span::new(offset(range.start), offset(range.end))
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = toml::Spanned::<T>::deserialize(deserializer)?;
        Ok(Self { span: span_of(&spanned.span()), value: spanned.into_inner() })
    }
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}
