//! What older job files say otherwise, a row each.

/// One thing that an older format says otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Row {
    /// A key of a kind goes by another name.
    #[cfg_attr(not(test), expect(dead_code, reason = "no key has been renamed since the first format"))]
    Renamed {
        /// The kind of item.
        kind: &'static str,
        /// Its key as it was.
        from: &'static str,
        /// As it is.
        to: &'static str,
    },
    /// Keys of a kind became an item of their own, one for each item that has any of them.
    #[cfg_attr(not(test), expect(dead_code, reason = "no keys have become an item since the first format"))]
    Moved {
        /// The kind of item that had them.
        kind: &'static str,
        /// The keys as they were, and as they are.
        keys: &'static [(&'static str, &'static str)],
        /// The list that the new item stands in.
        into: &'static str,
        /// The key by which the new item names the old one.
        link: &'static str,
    },
}

/// The rows of the newest format, in the order in which they are followed.
pub(crate) const ROWS: &[Row] = &[];
