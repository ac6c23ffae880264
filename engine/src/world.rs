//! What the engine needs of the world around it, as one small trait.
//!
//! The command answers from the disk, tests from a map, a browser page from what it holds. The engine itself never touches a
//! disk, an environment variable or a clock.

use jiff::civil::Date;

/// Files, folders and the day.
pub trait World {
    /// Reads a text file.
    ///
    /// # Errors
    /// One sentence that says why, in the user's terms.
    fn read(&self, path: &str) -> Result<String, String>;

    /// Lists every file under a folder with its path, sorted by name; a file lists itself.
    ///
    /// # Errors
    /// One sentence that says why, in the user's terms.
    fn walk(&self, path: &str) -> Result<Vec<String>, String>;

    /// Returns today's date.
    fn today(&self) -> Date;
}
