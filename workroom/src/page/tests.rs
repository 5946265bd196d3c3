//! Tests of the page.
