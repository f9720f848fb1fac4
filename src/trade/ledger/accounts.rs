//! The accounts of the ledger and the acts that post to them.

use crate::trade::share::Species;
use crate::trade::vocabulary::PayMethod;

crate::words! {
    /// An account. Debit balances are positive, credit balances negative.
    pub enum Account {
        /// Notes and coins.
        Cash = "cash", "Cash";
        /// Checks, on hand or in the bank.
        Checks = "checks", "Checks";
        /// Cards.
        Cards = "cards", "Cards";
        /// Bank transfers.
        Transfers = "transfers", "Bank transfers";
        /// Money that came another way.
        OtherMoney = "other_money", "Other money";
        /// Owed by customers on issued invoices.
        Receivable = "receivable", "Owed on invoices";
        /// Deposits on orders that are not invoiced: other people's money.
        Deposits = "deposits", "Deposits held";
        /// Received from customers and for nothing yet.
        Credit = "credit", "Customers’ credit";
        /// Came in, and nobody knows yet from whom.
        NotMatched = "not_matched", "Received, not yet matched";
        /// What was promised back to customers and not paid yet.
        Refunds = "refunds", "Refunds payable";
        /// Tax billed to customers, to be passed on.
        Tax = "tax", "Tax payable";
        /// Shares of beef.
        SalesBeef = "sales_beef", "Sales, beef";
        /// Shares of hogs.
        SalesHog = "sales_hog", "Sales, hog";
        /// Shares of lambs.
        SalesLamb = "sales_lamb", "Sales, lamb";
        /// Shares of goats.
        SalesGoat = "sales_goat", "Sales, goat";
        /// What the farm bills itself: delivery and the like.
        FarmCharges = "farm_charges", "Farm’s own charges";
        /// Charges of the processor that the farm bills and passes through.
        PlantCharges = "plant_charges", "Processor’s charges passed through";
        /// Discounts given.
        Discounts = "discounts", "Discounts";
        /// Deposits the farm kept.
        Forfeited = "forfeited", "Forfeited deposits";
        /// What will not be paid any more.
        WriteOffs = "write_offs", "Write-offs";
    }
}

crate::words! {
    /// What kind of account it is.
    pub enum Class {
        /// What the farm has.
        Asset = "asset", "What the farm has";
        /// What the farm owes.
        Liability = "liability", "What the farm owes";
        /// What it earned.
        Income = "income", "What was earned";
        /// What it lost.
        Expense = "expense", "What was lost";
    }
}

crate::words! {
    /// The act that caused an entry.
    pub enum Act {
        /// A deposit came in.
        Deposit = "deposit", "Deposit";
        /// A payment came in.
        Payment = "payment", "Payment";
        /// An invoice was issued; the deposit went to it.
        Invoice = "invoice", "Invoice";
        /// An invoice was taken back in full.
        Void = "void", "Invoice voided";
        /// Part of an invoice was taken back.
        PartCredit = "part_credit", "Credit note for a part";
        /// Credit was put to an invoice.
        UseCredit = "use_credit", "Credit used";
        /// Money was given back.
        Refund = "refund", "Refund";
        /// An order was cancelled.
        Cancel = "cancel", "Order cancelled";
        /// A deposit was kept, or given free again.
        Keep = "keep", "Deposit kept";
        /// A deposit went to another order.
        Carry = "carry", "Deposit carried over";
        /// An order went to another customer.
        Transfer = "transfer", "Share transferred";
        /// What is owed was given up.
        WriteOff = "write_off", "Write-off";
        /// A payment came back from the bank.
        Bounce = "bounce", "Payment returned";
        /// Money came in and nobody knows from whom.
        Unmatched = "unmatched", "Received, not yet matched";
        /// It became known whose it is.
        Match = "match", "Matched to a customer";
        /// It was given back without having been matched.
        UnmatchedBack = "unmatched_back", "Given back, not matched";
        /// Storage of meat that was not collected was charged.
        Storage = "storage", "Storage charged";
        /// Interest on an overdue invoice was charged.
        Interest = "interest", "Interest charged";
    }
}

crate::words! {
    /// How two payments belong together.
    pub enum PairKind {
        /// The second undoes the first.
        Bounced = "bounced", "returned by the bank";
        /// The money of the first became the second's; none changed hands.
        Moved = "moved", "went over to another customer";
    }
}

crate::words! {
    /// How an invoice's balance changed other than by payment.
    pub enum ChangeKind {
        /// Given up.
        WriteOff = "write_off", "Written off";
        /// A credit note for a part.
        Credit = "credit", "Credit note";
        /// Added, such as for a returned check.
        Charge = "charge", "Charge";
    }
}

impl Account {
    /// What kind of account it is. Discounts stand among the income, which they lessen.
    pub const fn class(self) -> Class {
        match self {
            Self::Cash | Self::Checks | Self::Cards | Self::Transfers | Self::OtherMoney | Self::Receivable => {
                Class::Asset
            }
            Self::Deposits | Self::Credit | Self::NotMatched | Self::Refunds | Self::Tax => Class::Liability,
            Self::SalesBeef
            | Self::SalesHog
            | Self::SalesLamb
            | Self::SalesGoat
            | Self::FarmCharges
            | Self::PlantCharges
            | Self::Discounts
            | Self::Forfeited => Class::Income,
            Self::WriteOffs => Class::Expense,
        }
    }
    /// Where money of this kind is kept.
    pub const fn of_money(method: PayMethod) -> Self {
        match method {
            PayMethod::Cash => Self::Cash,
            PayMethod::Check => Self::Checks,
            PayMethod::Card => Self::Cards,
            PayMethod::Transfer => Self::Transfers,
            PayMethod::Other => Self::OtherMoney,
        }
    }
    /// Where shares of a species are sold.
    pub const fn of_sales(species: Species) -> Self {
        match species {
            Species::Beef => Self::SalesBeef,
            Species::Hog => Self::SalesHog,
            Species::Lamb => Self::SalesLamb,
            Species::Goat => Self::SalesGoat,
        }
    }
    /// The name in a plain-text journal: parts of letters and figures that begin with a capital, under one of the five roots
    /// that plain-text accounting programs share.
    pub const fn journal_name(self) -> &'static str {
        match self {
            Self::Cash => "Assets:Cash",
            Self::Checks => "Assets:Checks",
            Self::Cards => "Assets:Cards",
            Self::Transfers => "Assets:Transfers",
            Self::OtherMoney => "Assets:OtherMoney",
            Self::Receivable => "Assets:Receivable",
            Self::Deposits => "Liabilities:Deposits",
            Self::Credit => "Liabilities:CustomerCredit",
            Self::NotMatched => "Liabilities:NotMatched",
            Self::Refunds => "Liabilities:Refunds",
            Self::Tax => "Liabilities:Tax",
            Self::SalesBeef => "Income:Sales:Beef",
            Self::SalesHog => "Income:Sales:Hog",
            Self::SalesLamb => "Income:Sales:Lamb",
            Self::SalesGoat => "Income:Sales:Goat",
            Self::FarmCharges => "Income:Charges:Farm",
            Self::PlantCharges => "Income:Charges:Processor",
            Self::Discounts => "Income:Discounts",
            Self::Forfeited => "Income:ForfeitedDeposits",
            Self::WriteOffs => "Expenses:WriteOffs",
        }
    }
}
