//! The account of a hand-off: what was asked for and what came of it.

use super::request::ExportRequest;
use handoff::share::Shared;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Name and version of the account's form.
const SCHEMA: &str = "fallside.hand-off/1";

/// What was asked for and what came of it, written beside the folder that is handed on and not into it.
#[derive(Clone, Debug, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Account {
    /// `fallside.hand-off/1`.
    pub schema: String,
    /// When, UTC.
    pub at: String,
    /// What was asked for.
    #[serde(flatten)]
    pub wish: ExportRequest,
    /// False while it is being made, and for ever where that was cut short.
    #[serde(default = "yes")]
    pub whole: bool,
    /// Prints handed on.
    pub count: usize,
    /// How it went, a sentence each.
    pub says: Vec<String>,
    /// What a person should look at, a sentence each.
    pub problems: Vec<String>,
    /// Prints left out because they are private.
    pub private: Vec<String>,
    /// The difference between what is known and what went out, in sentences.
    pub difference: Vec<String>,
    /// Prints of which nobody has written what is seen.
    pub alt_missing: Vec<String>,
    /// Files to open, the first one first.
    pub files: Vec<String>,
    /// The shares, in order.
    pub shares: Vec<Shared>,
    /// How an archive was found when it was read last, after it was packed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<Checked>,
}

/// How an archive and its second copy were found.
#[derive(Clone, Debug, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Checked {
    /// How each was found, and when, a sentence each.
    pub says: Vec<String>,
    /// What is damaged and what to do, a sentence each.
    pub problems: Vec<String>,
}

impl Account {
    /// Where it lies: an archive elsewhere, everything else in the project.
    pub(crate) fn lies(&self, folder: &Path, name: &str) -> PathBuf {
        match &self.wish {
            ExportRequest::Pack { place, .. } => place.clone(),
            _ => folder.join(super::HANDED_ON).join(name),
        }
    }

    /// One of which nothing is known yet.
    pub(crate) fn begun(wish: ExportRequest) -> Self {
        Self {
            schema: SCHEMA.into(),
            at: base::clock::now_utc(),
            wish,
            whole: false,
            count: 0,
            says: vec![],
            problems: vec![],
            private: vec![],
            difference: vec![],
            alt_missing: vec![],
            files: vec![],
            shares: vec![],
            checked: None,
        }
    }
}

/// The account's JSON Schema.
pub fn json_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Account)).unwrap_or_default() + "\n"
}

/// Accounts of an earlier version are of what is whole.
fn yes() -> bool {
    true
}
