//! Tests of the papers.
