//! The integration tests, one binary.

mod post;
