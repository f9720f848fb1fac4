//! What reports are made of, read in a fixed number of queries each: orders, invoices, head, and the time there are reports for.
//! Amounts come from the ledger, see [`super::ledger::behind`].

pub mod barn;
pub mod facts;
pub mod head;
pub mod periods;
