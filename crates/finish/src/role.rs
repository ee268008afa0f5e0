//! What a frame is for.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a frame is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The picture side of a print.
    Front,
    /// The back of a print.
    Back,
    /// The bare bed under the light.
    Blank,
    /// A colour chart.
    Chart,
    /// A scale and geometry sheet.
    Ruler,
    /// The same print lit from the opposite side.
    Counter,
    /// The bed without the flash: what the room's own light does.
    Ambient,
}

impl Role {
    /// True for frames that hold a print to finish.
    pub fn holds_print(self) -> bool {
        matches!(self, Self::Front | Self::Back | Self::Counter)
    }
    /// As a person says it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Blank => "bare bed",
            Self::Chart => "colour chart",
            Self::Ruler => "ruler",
            Self::Counter => "lit from the other side",
            Self::Ambient => "flash off",
        }
    }
}
