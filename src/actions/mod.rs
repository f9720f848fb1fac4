//! What people do: one file per thing a person does. Each checks, writes in one transaction, and tells the story.
//!
//! Three families of failure and no more: a refusal by a rule, with sentences for the person ([`Failure::Refused`], and
//! [`Failure::Stale`] when somebody else saved in between); not found or not allowed; and the unexpected, which is logged
//! with a number and shown as that number only.

use crate::book::at::Now;
use crate::book::carcasses::BilledError;
use crate::book::ids::{AccountId, CustomerId};
use crate::book::ledger::{PostError, Posting};
use crate::book::store::{AsDbError, StoreError};
use crate::trade::ledger::Act;
use crate::trade::money::Overflow;
use chrono::NaiveDate;
use diesel::result::{DatabaseErrorKind, Error as DbError};

pub mod accept_plan;
pub mod accept_terms;
pub mod accounts;
pub mod add_customer;
pub mod answer_entry;
pub mod answer_request;
pub mod ask_place;
pub mod ask_to_cancel;
pub mod ask_to_reserve;
pub mod balance_letter;
pub mod bank_file;
pub mod bank_line;
pub mod book_date;
pub mod bounce_payment;
pub mod calendar_feed;
pub mod cancel_reservation;
pub mod care_for_animal;
pub mod carry_deposit;
pub mod change_animal;
pub mod change_farm;
pub mod change_order;
pub mod change_password;
pub mod change_processor;
pub mod charge_interest;
pub mod charge_storage;
pub mod check_book;
pub mod choose_pickup;
pub mod collect;
pub mod confirm_order;
pub mod confirm_request;
pub mod correct_contact;
pub mod correct_weight;
pub mod credit_part;
pub mod customer_statement;
pub mod cut_sheet;
pub mod deposit_slip;
pub mod draft_invoice;
pub mod draft_words;
pub mod edit_wording;
pub mod enter_cost;
pub mod estimate_cost;
pub mod export_ledger;
pub mod export_tables;
pub mod give_back;
pub mod handle_message;
pub mod import_list;
pub mod issue_invoices;
pub mod keep_deposit;
pub mod keep_time;
pub mod let_in;
pub mod letterhead;
pub mod link_in_mail;
pub mod lose_animal;
pub mod mail_password_link;
pub mod mail_test;
pub mod make_bill_of_sale;
pub mod make_packet;
pub mod make_receipt;
pub mod message_values;
pub mod move_up;
pub mod note_export;
pub mod offer;
pub mod offer_share;
pub mod own_yields;
pub mod packet_document;
pub mod packet_side;
pub mod paper_again;
pub mod pickup_event;
pub mod pickup_list;
pub mod pickup_place;
pub mod pickup_rules;
pub mod pickup_time;
pub mod pickup_waiting;
pub mod pickup_window;
pub mod pickup_words;
pub mod place_share;
pub mod plant_entry;
pub mod plant_link;
pub mod plant_news;
pub mod plant_offer;
pub mod prepare_picture;
pub mod private_link;
pub mod propose_dates;
pub mod propose_plan;
pub mod public_page;
pub mod queue_message;
pub mod read_weight_file;
pub mod receipt_later;
pub mod record_deposit;
pub mod record_payment;
pub mod record_weights;
pub mod remember_yields;
pub mod say_ready;
pub mod second_factor;
pub mod send_animal;
pub mod send_mail;
pub mod send_packet;
pub mod share_side;
pub mod sheet_cost;
pub mod sheet_draft;
pub mod sheet_in;
pub mod sheet_open;
pub mod sheet_request;
pub mod sheet_time;
pub mod shop_estimate;
pub mod take_ready_back;
pub mod take_reservation;
pub mod take_weight_file;
pub mod tell_moves;
pub mod tell_owners;
pub mod tell_packaged;
pub mod transfer_share;
pub mod undo_plan;
pub mod unmatched_money;
pub mod void_invoice;
pub mod write_off;
pub mod write_shares_left;
pub mod write_terms;

/// What rules have against what was asked: a sentence each, tied to a field of the form where there is one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Problems(pub Vec<Problem>);

/// One sentence that says what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The name of the form's field; empty when it is about the whole.
    pub field: String,
    /// The sentence.
    pub sentence: String,
}

impl Problems {
    /// Adds a sentence about a field (empty name: about the whole).
    pub fn add(&mut self, field: impl Into<String>, sentence: impl Into<String>) {
        self.0.push(Problem { field: field.into(), sentence: sentence.into() });
    }
    /// Refuses if there is any.
    ///
    /// # Errors
    /// [`Failure::Refused`] with all of them.
    pub fn check(self) -> Result<(), Failure> {
        if self.0.is_empty() { Ok(()) } else { Err(Failure::Refused(self)) }
    }
}

/// Why something was not done. Nothing was written then.
#[derive(Debug)]
pub enum Failure {
    /// A rule refuses, and says what to do.
    Refused(Problems),
    /// Somebody else saved the same thing in between.
    Stale,
    /// There is no such thing, or it is not for this person.
    NotFound,
    /// This account may not do it.
    Forbidden,
    /// The machine failed.
    Unexpected(String),
    /// The book failed.
    Store(StoreError),
}

impl Failure {
    /// A refusal with one sentence about a field (empty name: about the whole).
    pub fn refuse(field: impl Into<String>, sentence: impl Into<String>) -> Self {
        let mut p = Problems::default();
        p.add(field, sentence);
        Self::Refused(p)
    }
}

impl From<StoreError> for Failure {
    fn from(e: StoreError) -> Self {
        match e {
            StoreError::Db(DbError::NotFound) => Self::NotFound,
            // A form may name a row that was never there or is gone; the tables know, and nothing was written.
            StoreError::Db(DbError::DatabaseError(DatabaseErrorKind::ForeignKeyViolation, _)) => Self::refuse(
                "",
                "Something chosen on this page is not in the book any more. Open the page again and choose from what it shows.",
            ),
            // A sentence and not a failure of the machine, so that every form keeps what was typed.
            StoreError::Busy => Self::refuse(
                "",
                "Others are writing into the book at this moment, so nothing of yours was saved. What you typed is still here: save it once more.",
            ),
            e => Self::Store(e),
        }
    }
}
impl From<DbError> for Failure {
    fn from(e: DbError) -> Self {
        StoreError::Db(e).into()
    }
}
impl From<BilledError> for Failure {
    fn from(e: BilledError) -> Self {
        match e {
            BilledError::Db(e) => e.into(),
            e @ BilledError::Carcass { .. } => Self::refuse("", e.to_string()),
        }
    }
}
impl From<Overflow> for Failure {
    fn from(_: Overflow) -> Self {
        Self::refuse("", "A sum is larger than can be recorded. Look for a figure with too many digits.")
    }
}
impl From<PostError> for Failure {
    fn from(e: PostError) -> Self {
        match e {
            PostError::Db(e) => e.into(),
            PostError::Overflow(e) => e.into(),
            e @ PostError::Unbalanced => Self::Unexpected(e.to_string()),
        }
    }
}
impl AsDbError for Failure {
    fn as_db_error(&self) -> Option<&DbError> {
        match self {
            Self::Store(e) => e.as_db_error(),
            _ => None,
        }
    }
}
impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Refused(p) => f.write_str(&p.0.iter().map(|p| p.sentence.as_str()).collect::<Vec<_>>().join(" ")),
            Self::Stale => f.write_str("somebody else changed this in between"),
            Self::NotFound => f.write_str("there is no such thing"),
            Self::Forbidden => f.write_str("this account may not do that"),
            Self::Unexpected(e) => f.write_str(e),
            Self::Store(e) => e.fmt(f),
        }
    }
}

/// Who does something, and when.
#[derive(Debug, Clone)]
pub struct Doing {
    /// The clock's reading and the farm's day.
    pub now: Now,
    /// The account, or none when Gambrel acts by itself.
    pub account: Option<AccountId>,
    /// The name that stands in stories.
    pub actor: String,
}

impl Doing {
    /// The posting of this act about a customer, counting for a day.
    pub fn posting(&self, kind: Act, day: NaiveDate, customer: CustomerId) -> Posting {
        Posting::new(kind, day, customer, &self.actor, self.now.at)
    }
    /// The posting of this act about nobody who is known, counting for a day.
    pub fn posting_of_nobody(&self, kind: Act, day: NaiveDate) -> Posting {
        Posting::about(kind, day, None, &self.actor, self.now.at)
    }
}
