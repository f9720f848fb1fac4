//! What the tests stand on: a book of its own per test on each engine, the service over it, and short ways to fill it.
//!
//! ```text
//! on_each_engine(|book| { book.order(book.customer("Ines"), book.hogs()); … });     the book alone
//! let app = TestApp::signed_in(&TestBook::sqlite()).await;                          the service
//! app.submit("/customers/new", &[("name", "Ines Halvard")]).await.expect(303);      a page's form as a browser sends it
//! ```
#![allow(dead_code, unused_imports, reason = "each test uses the part it needs")]

pub(crate) mod app;
pub(crate) mod book;
pub(crate) mod farm;
pub(crate) mod page;

pub(crate) use app::TestApp;
pub(crate) use book::{TestBook, on_each_engine};
pub(crate) use page::Page;
