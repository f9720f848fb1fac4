//! One type per kind of id, so that no id is taken for another.

/// Declares an id type: a row's number, shown and read as a figure.
macro_rules! ids {
    ($($(#[$m:meta])* $name:ident;)+) => {$(
        $(#[$m])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
            diesel::expression::AsExpression, diesel::deserialize::FromSqlRow)]
        #[diesel(sql_type = diesel::sql_types::BigInt)]
        #[serde(transparent)]
        pub struct $name(pub i64);
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { self.0.fmt(f) }
        }
        impl std::str::FromStr for $name {
            type Err = std::num::ParseIntError;
            fn from_str(s: &str) -> Result<Self, Self::Err> { s.parse().map(Self) }
        }
        $crate::big_int_column!($name);
    )+};
}

ids! {
    /// An account.
    AccountId;
    /// A customer.
    CustomerId;
    /// An offering.
    OfferingId;
    /// A row of a price list.
    PriceId;
    /// A processor.
    ProcessorId;
    /// A line of a processor's schedule of charges.
    ChargeId;
    /// A processing date.
    DateId;
    /// One head.
    AnimalId;
    /// A live weight.
    LiveWeightId;
    /// A drug treatment.
    TreatmentId;
    /// A reservation.
    ReservationId;
    /// An offer to somebody on the waiting list.
    WaitingOfferId;
    /// A private link of a customer.
    CustomerLinkId;
    /// A customer's wish to cancel.
    CancelRequestId;
    /// A version of the farm's terms.
    SaleTermsId;
    /// A confirmation of a reservation.
    ConfirmationId;
    /// A stranger's request to reserve.
    RequestId;
    /// What an animal or a lot cost.
    CostId;
    /// A bill of sale.
    BillOfSaleId;
    /// A letter about an overdue balance.
    BalanceLetterId;
    /// What a share weighed packaged, one revision of it.
    PackagedWeightId;
    /// A free line of an order.
    OrderChargeId;
    /// A payment.
    PaymentId;
    /// What a payment is for.
    AllocationId;
    /// A receipt.
    ReceiptId;
    /// An invoice.
    InvoiceId;
    /// A credit note.
    CreditNoteId;
    /// An entry of the ledger.
    EntryId;
    /// A change of an invoice's balance.
    ChangeId;
    /// A refund slip.
    RefundSlipId;
    /// Money that came in and was not matched to a customer.
    UnmatchedId;
    /// An account at a bank whose statements are read.
    BankAccountId;
    /// A table of a bank that waits for its columns to be matched.
    BankUploadId;
    /// A statement that was read.
    BankFileId;
    /// A line of a statement.
    BankLineId;
    /// A bank deposit slip.
    SlipId;
    /// A message in the outbox.
    MessageId;
    /// A wish to change a cut sheet late.
    SheetRequestId;
    /// A place where meat is handed over.
    PickupPlaceId;
    /// A window in which meat is collected.
    PickupWindowId;
    /// A customer's words because no window fits.
    PickupNoteId;
    /// A packet for a processor.
    PacketId;
    /// A private link of a processor.
    PlantLinkId;
    /// Something a processor entered.
    PlantEntryId;
    /// A file of weights on its way into the book.
    WeightFileId;
    /// A list on its way into the book.
    ImportFileId;
    /// A plan that was taken.
    AcceptanceId;
    /// A picture of the public page.
    PictureId;
    /// A line of a story.
    StoryId;
}
