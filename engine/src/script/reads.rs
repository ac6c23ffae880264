//! What the evaluation of a rule has read on one item: the fields and entries behind a check and the conditions before it.

use std::cell::RefCell;

use super::detail::OperandSource;

/// Notes every field and entry that is read. What a `let` has read counts for a check only where the check uses its name.
#[derive(Debug, Default)]
pub(super) struct ReadLog {
    log: RefCell<Vec<OperandSource>>,
    lets: Vec<Vec<OperandSource>>,
}

impl ReadLog {
    /// Returns an empty log for a rule with so many names.
    pub(super) fn new(locals: usize) -> ReadLog {
        ReadLog { log: RefCell::default(), lets: vec![Vec::new(); locals] }
    }

    /// Notes what is read.
    pub(super) fn note(&self, source: OperandSource) {
        self.log.borrow_mut().push(source);
    }

    /// Notes the use of a name: all that its `let` has read.
    pub(super) fn note_local(&self, local: u8) {
        if let Some(reads) = self.lets.get(usize::from(local)) {
            self.log.borrow_mut().extend_from_slice(reads);
        }
    }

    /// Puts what has been read since the last call down to a `let`.
    pub(super) fn end_let(&mut self, local: u8) {
        let reads = self.take();
        if let Some(slot) = self.lets.get_mut(usize::from(local)) {
            *slot = reads;
        }
    }

    /// Returns what has been read since the last call, sorted, each once.
    pub(super) fn take(&mut self) -> Vec<OperandSource> {
        let mut reads = self.log.take();
        reads.sort_unstable();
        reads.dedup();
        reads
    }
}
