//! A second pair of hands, where the caller has one.

/// Does two pieces of work at the same time. The engine starts no thread itself: a page in a browser has none.
pub trait Hands {
    /// Does `one`, and `other` beside it if it can. Returns when neither is under way any more; what was left undone the engine
    /// does itself.
    fn both(&self, one: &mut (dyn FnMut() + Send), other: &mut (dyn FnMut() + Send));
}
