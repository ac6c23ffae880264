//! Files of rulesets as text, and where they come from.

use std::borrow::Cow;

/// Where a ruleset comes from.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Origin {
    /// From the binary.
    Shipped,
    /// From a folder, under the name by which the user knows it.
    Folder(String),
}

impl Origin {
    /// Returns the name under which a file of this origin is shown.
    pub(super) fn file_name(&self, path: &str) -> String {
        match self {
            Origin::Shipped => format!("ruleset:{path}"),
            Origin::Folder(folder) => format!("{}/{path}", folder.trim_end_matches('/')),
        }
    }
}

impl std::fmt::Display for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Origin::Shipped => f.write_str("the shipped rulesets"),
            Origin::Folder(folder) => f.write_str(folder),
        }
    }
}

/// One text file of some ruleset.
#[derive(Clone, Debug)]
pub struct RulesetText {
    /// Where it comes from.
    pub origin: Origin,
    /// Its path below the folder of rulesets, with `/`: `us/model-2020/code/nm.toml`.
    pub path: String,
    /// Its text.
    pub text: Cow<'static, str>,
}

impl RulesetText {
    /// Returns a file that the binary carries.
    pub fn shipped(path: impl Into<String>, text: &'static str) -> RulesetText {
        RulesetText { origin: Origin::Shipped, path: path.into(), text: Cow::Borrowed(text) }
    }

    /// Returns a file of a folder of rulesets, or of a single ruleset's own folder.
    pub fn in_folder(folder: impl Into<String>, path: impl Into<String>, text: impl Into<String>) -> RulesetText {
        let path = path.into().replace('\\', "/");
        RulesetText { origin: Origin::Folder(folder.into()), path, text: Cow::Owned(text.into()) }
    }
}
