//! What every value of a ruleset carries: citation, source, and how it was checked.

use super::entry::Checked;
use super::fields::Fields;

/// What a ruleset's manifest says for all its values that do not say it themselves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Defaults {
    /// The ruleset's source.
    pub(super) source: String,
    /// How its values were checked; none when each must say so itself.
    pub(super) checked: Option<Checked>,
}

/// Citation, source, and how a value was checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Evidence {
    pub(super) cites: String,
    pub(super) source: String,
    pub(super) checked: Checked,
    pub(super) note: Option<String>,
}

/// Reads `cites`, `source`, `checked` and `note`.
pub(super) fn evidence(fields: &mut Fields<'_, '_>, defaults: &Defaults) -> Option<Evidence> {
    let cites = fields.need_text("cites", "write which requirement says so, such as `cites = \"334.30\"`");
    let source = fields.text("source").map_or_else(|| defaults.source.clone(), |written| written.text);
    let checked = checked(fields, defaults);
    let note = fields.text("note").map(|written| written.text);
    Some(Evidence { cites: cites?.text, source, checked: checked?, note })
}

/// Reads `checked`, which must be stated where the manifest does not.
pub(super) fn checked(fields: &mut Fields<'_, '_>, defaults: &Defaults) -> Option<Checked> {
    if fields.has("checked") {
        return word(fields);
    }
    if defaults.checked.is_none() {
        fields.missing(
            "checked",
            "write how the value was checked: `checked = \"law_text\"`, `\"official_page\"`, `\"secondary\"` or `\"memory\"`; \
             in the manifest it holds for all values that say nothing",
        );
    }
    defaults.checked
}

/// Reads `checked` where it may be left out.
pub(super) fn word(fields: &mut Fields<'_, '_>) -> Option<Checked> {
    let words = Checked::ALL.map(|(_, word)| word);
    fields.word("checked", Checked::of, &words)
}
