//! Entries of the code in force, each with the chain of who set it.

use jiff::civil::Date;

use super::value::{EntryType, Member, Row, Value};
use crate::source::Span;

/// An entry's number: the same for one name in every book of a [`Shelf`](super::Shelf), so that a rule may hold it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EntryId(pub u32);

/// How a value was checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Checked {
    /// The words of the law, rule or standard were read.
    LawText,
    /// A page of the authority states it.
    OfficialPage,
    /// Somebody else states it.
    Secondary,
    /// From memory; nothing was read.
    Memory,
}

impl Checked {
    /// All ways with their words.
    pub const ALL: [(Checked, &'static str); 4] = [
        (Checked::LawText, "law_text"),
        (Checked::OfficialPage, "official_page"),
        (Checked::Secondary, "secondary"),
        (Checked::Memory, "memory"),
    ];

    /// Returns the word.
    pub fn word(self) -> &'static str {
        match self {
            Checked::LawText => "law_text",
            Checked::OfficialPage => "official_page",
            Checked::Secondary => "secondary",
            Checked::Memory => "memory",
        }
    }

    /// Returns the way of a word.
    pub fn of(word: &str) -> Option<Checked> {
        Checked::ALL.iter().find(|(_, name)| *name == word).map(|&(checked, _)| checked)
    }

    /// Returns whether somebody compared the value with the law or with a page of the authority.
    pub fn is_verified(self) -> bool {
        matches!(self, Checked::LawText | Checked::OfficialPage)
    }
}

/// One step in the chain of who set an entry, or who changed a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The layer that did: a position in [`Book::layers`](super::Book).
    pub ruleset: usize,
    /// Where.
    pub span: Span,
    /// Citation.
    pub cites: String,
    /// Where the value was read.
    pub source: String,
    /// How it was checked.
    pub checked: Checked,
    /// First day in force, where the amendment states one.
    pub from: Option<Date>,
    /// What it set, as it was written: `12 in`; `14 AWG = 15 A`; `with attic, without garage`.
    pub value: String,
    /// A remark of the ruleset's author.
    pub note: Option<String>,
}

/// An entry of the code in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its name: `nm.secured_from_box`.
    pub key: String,
    /// What it holds.
    pub ty: EntryType,
    /// Its value.
    pub value: Value,
    /// What the keys of a table are called, where the ruleset says so.
    pub key_label: Option<String>,
    /// Who set it, first setter first, latest last. Never empty.
    pub chain: Vec<Setting>,
}

impl Entry {
    /// Returns the latest setting.
    pub fn latest(&self) -> Option<&Setting> {
        self.chain.last()
    }

    /// Returns who set a row of this entry, first setter first. Span and value of each setting are the row's own.
    pub fn row_chain(&self, row: &Row) -> Vec<Setting> {
        let steps = row.earlier.iter().map(|step| (step.setting, step.span, &step.text));
        steps
            .chain([(row.setting, row.span, &row.text)])
            .filter_map(|(at, span, text)| self.own(at, span, text))
            .collect()
    }

    /// Returns who put a member into this entry. Span and value are the member's own.
    pub fn member_chain(&self, member: &Member) -> Vec<Setting> {
        self.own(member.setting, member.span, &member.text).into_iter().collect()
    }

    fn own(&self, setting: usize, span: Span, text: &str) -> Option<Setting> {
        let setting = self.chain.get(setting)?;
        Some(Setting { span, value: text.to_owned(), ..setting.clone() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_of_checking_has_a_word_and_the_first_two_are_verified() {
        for (checked, word) in Checked::ALL {
            assert_eq!(checked.word(), word);
            assert_eq!(Checked::of(word), Some(checked));
        }
        let verified: Vec<_> = Checked::ALL.iter().filter(|(checked, _)| checked.is_verified()).map(|c| c.1).collect();
        assert_eq!(verified, ["law_text", "official_page"]);
    }
}
