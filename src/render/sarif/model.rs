//! The parts of SARIF 2.1.0 (OASIS Standard, 27 March 2020) that a report fills, under the names of the standard.

use serde::Serialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Further facts, under names of our own.
pub(super) type Properties = Map<String, Value>;

/// 3.13: the whole file.
#[derive(Debug, Serialize)]
pub(super) struct Log {
    #[serde(rename = "$schema")]
    pub schema: &'static str,
    pub version: &'static str,
    pub runs: [Run; 1],
}

/// 3.14.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Run {
    pub tool: Tool,
    pub invocations: [Invocation; 1],
    pub artifacts: Vec<Artifact>,
    pub results: Vec<SarifResult>,
    pub newline_sequences: [&'static str; 3],
    pub column_kind: &'static str,
    pub properties: Properties,
}

/// 3.18.
#[derive(Debug, Serialize)]
pub(super) struct Tool {
    pub driver: Driver,
}

/// 3.19.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Driver {
    pub name: &'static str,
    pub version: &'static str,
    pub semantic_version: &'static str,
    pub short_description: Message,
    pub rules: Vec<Descriptor>,
    pub notifications: Vec<Descriptor>,
}

/// 3.49.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Descriptor {
    pub id: &'static str,
    pub short_description: Message,
    pub default_configuration: Configuration,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<Message>,
}

/// 3.50.
#[derive(Debug, Serialize)]
pub(super) struct Configuration {
    pub level: &'static str,
}

/// 3.11 and 3.12.
#[derive(Debug, Serialize)]
pub(super) struct Message {
    pub text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub markdown: Option<String>,
}

impl Message {
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), markdown: None }
    }
}

/// 3.20.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Invocation {
    pub execution_successful: bool,
    pub exit_code: u8,
    pub exit_code_description: &'static str,
    pub tool_execution_notifications: Vec<Notification>,
}

/// 3.58.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Notification {
    pub descriptor: Reference,
    pub level: &'static str,
    pub message: Message,
    pub locations: Vec<Location>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub associated_rule: Option<Reference>,
    pub properties: Properties,
}

/// 3.52.
#[derive(Debug, Serialize)]
pub(super) struct Reference {
    pub id: String,
    pub index: usize,
}

/// 3.24.
#[derive(Debug, Serialize)]
pub(super) struct Artifact {
    pub location: ArtifactLocation,
    pub length: usize,
    pub roles: [&'static str; 1],
    pub encoding: &'static str,
    pub hashes: BTreeMap<&'static str, String>,
}

/// 3.4.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct ArtifactLocation {
    pub uri: String,
}

/// 3.27.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct SarifResult {
    pub rule_id: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule_index: Option<usize>,
    pub kind: &'static str,
    pub level: &'static str,
    pub message: Message,
    pub locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related_locations: Vec<Location>,
    pub partial_fingerprints: BTreeMap<&'static str, String>,
    /// Empty says that none was accepted, absence would say that nobody looked (3.27.23).
    pub suppressions: Vec<Suppression>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fixes: Vec<Fix>,
    pub properties: Properties,
}

/// 3.28.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Location {
    pub physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub logical_locations: Vec<LogicalLocation>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub message: Option<Message>,
}

/// 3.29.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct PhysicalLocation {
    pub artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<Region>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub context_region: Option<Region>,
}

/// 3.30.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    pub start_line: u32,
    pub start_column: u32,
    pub end_line: u32,
    pub end_column: u32,
    pub byte_offset: u32,
    pub byte_length: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub snippet: Option<Message>,
}

/// 3.33.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct LogicalLocation {
    pub name: String,
    pub fully_qualified_name: String,
    pub kind: &'static str,
}

/// 3.35.
#[derive(Debug, Serialize)]
pub(super) struct Suppression {
    pub kind: &'static str,
    pub status: &'static str,
    pub justification: String,
    pub properties: Properties,
}

/// 3.55.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fix {
    pub description: Message,
    pub artifact_changes: Vec<ArtifactChange>,
}

/// 3.56.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactChange {
    pub artifact_location: ArtifactLocation,
    pub replacements: Vec<Replacement>,
}

/// 3.57.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Replacement {
    pub deleted_region: Region,
    pub inserted_content: Message,
}
