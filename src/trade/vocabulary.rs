//! The fixed words of the order book: how things are priced, weighed, paid and booked.

crate::words! {
    /// What a price is reckoned on.
    pub enum PriceBasis {
        /// Per unit of hanging weight, the usual way.
        Hanging = "hanging", "by hanging weight";
        /// Per unit of live weight.
        Live = "live", "by live weight";
        /// A fixed price for the share.
        Flat = "flat", "fixed price";
    }
}

crate::words! {
    /// How a processor is inspected; it decides what its meat may be used for (9 CFR 303.1, 21 U.S.C. 623).
    pub enum Inspection {
        /// For the owners of the animal only; packages are marked "Not for Sale".
        Custom = "custom", "Custom-exempt";
        /// Sale within the state.
        State = "state", "State-inspected";
        /// Sale anywhere in the United States.
        Federal = "federal", "Federally inspected";
    }
}

crate::words! {
    /// What a charge is multiplied by.
    pub enum Per {
        /// A whole head; a share bears its part.
        Head = "head", "per head";
        /// Once for each share.
        Share = "share", "per share";
        /// The share's hanging weight.
        UnitHanging = "unit_hanging", "per unit of hanging weight";
        /// The weight of a product made for the share.
        UnitProduct = "unit_product", "per unit of product";
        /// The packs of a product made for the share.
        Pack = "pack", "per pack";
    }
}

crate::words! {
    /// Who collects a charge.
    pub enum BilledBy {
        /// On the farm's invoice.
        Farm = "farm", "billed by the farm";
        /// By the customer, directly.
        Processor = "processor", "paid to the processor";
    }
}

crate::words! {
    /// How money changed hands.
    pub enum PayMethod {
        /// Notes and coins.
        Cash = "cash", "Cash";
        /// A check; the reference is its number.
        Check = "check", "Check";
        /// A card.
        Card = "card", "Card";
        /// A bank transfer.
        Transfer = "transfer", "Bank transfer";
        /// Anything else.
        Other = "other", "Other";
    }
}

crate::words! {
    /// Which way money went.
    pub enum PaymentKind {
        /// From the customer.
        Received = "received", "received";
        /// To the customer.
        Refund = "refund", "given back";
    }
}

crate::words! {
    /// When the carcass was weighed.
    pub enum CarcassBasis {
        /// Before chilling.
        Hot = "hot", "Hot, the same day";
        /// After chilling; lighter by the cooler shrink.
        Cold = "cold", "Cold, after chilling";
    }
}

crate::words! {
    /// What the inspector condemned.
    pub enum Condemned {
        /// Nothing.
        None = "none", "Nothing";
        /// Parts; the weights are of what was passed.
        Parts = "parts", "Parts";
        /// The whole carcass; nothing is billed.
        Whole = "whole", "The whole carcass";
    }
}

crate::words! {
    /// An animal's sex.
    pub enum Sex {
        /// Female.
        Female = "female", "female";
        /// Intact male.
        Male = "male", "intact male";
        /// Castrated male.
        Castrated = "castrated", "castrated male";
    }
}

crate::words! {
    /// How well a birth date is known.
    pub enum BirthPrecision {
        /// To the day.
        Exact = "exact", "exact day";
        /// To the month; stored as its first day.
        Month = "month", "month only";
        /// Not known.
        Unknown = "unknown", "not known";
    }
}

crate::words! {
    /// How a live weight was found.
    pub enum WeighMethod {
        /// On a scale.
        Scale = "scale", "on a scale";
        /// By formula; an estimate, never billed.
        Girth = "girth", "from heart girth and length";
    }
}

crate::words! {
    /// How a farm divides a side into quarters.
    pub enum QuarterPart {
        /// Every cut shared evenly.
        Split = "split", "split side: half of every cut";
        /// Cut across between the 12th and 13th rib.
        ForeHind = "fore_hind", "forequarter and hindquarter";
    }
}

crate::words! {
    /// When an invoice is due.
    pub enum Terms {
        /// Some days after issue.
        Days = "days", "a number of days after the invoice";
        /// Before the boxes are handed over.
        Pickup = "pickup", "before pickup";
    }
}

crate::words! {
    /// The paper documents are made for.
    pub enum PaperSize {
        /// US Letter.
        Letter = "letter", "Letter, 8½ × 11 in";
        /// ISO 216 A4.
        A4 = "a4", "A4, 210 × 297 mm";
    }
}

crate::words! {
    /// What an account may do.
    pub enum Role {
        /// Everything.
        Farmer = "farmer", "Farmer";
        /// The work with animals, dates, cut sheets and customers: no money, no settings, no accounts.
        Helper = "helper", "Helper";
    }
}

crate::words! {
    /// How a message reaches its reader.
    pub enum Channel {
        /// By mail with SMTP.
        Mail = "mail", "mail";
        /// A text message the farmer sends from a phone.
        Text = "text", "text message";
        /// On paper.
        Letter = "letter", "letter";
    }
}

crate::words! {
    /// What becomes of the deposit of a cancelled order.
    pub enum DepositFate {
        /// No deposit was held.
        None = "none", "there is none";
        /// It is owed back to the customer.
        Refund = "refund", "give it back";
        /// The farm keeps it.
        Keep = "keep", "keep it";
        /// It moves to another order of the customer.
        Carry = "carry", "carry it over to another order";
    }
}

crate::words! {
    /// A numbered paper that can go with a message.
    pub enum PaperKind {
        /// An invoice.
        Invoice = "invoice", "invoice";
        /// A receipt.
        Receipt = "receipt", "receipt";
        /// A credit note.
        CreditNote = "credit_note", "credit note";
        /// The cut sheets of a date.
        Packet = "packet", "packet";
        /// A slip of money given back.
        RefundSlip = "refund_slip", "refund slip";
        /// A credit note for a part of an invoice.
        PartCredit = "part_credit", "credit note";
        /// The confirmation of a reservation.
        Confirmation = "confirmation", "confirmation";
        /// The bill of sale for a share of a live animal.
        BillOfSale = "bill_of_sale", "bill of sale";
    }
}

crate::words! {
    /// What a line of an invoice is for.
    pub enum LineKind {
        /// The share itself.
        Share = "share", "share";
        /// A charge of the processor's schedule.
        Charge = "charge", "charge";
        /// Delivery, discount and the like.
        Free = "free", "free line";
    }
}

crate::words! {
    /// Whether head or skin stays on.
    pub enum Stays {
        /// It does.
        On = "on", "on";
        /// It does not.
        Off = "off", "off";
    }
}

crate::words! {
    /// How an offer to somebody on the waiting list ended.
    pub enum OfferEnd {
        /// They took the share.
        Accepted = "accepted", "accepted";
        /// They did not want it.
        Declined = "declined", "declined";
        /// The day to answer passed.
        Lapsed = "lapsed", "no answer in time";
        /// The farm took it back, or the order was cancelled.
        Withdrawn = "withdrawn", "taken back";
    }
}

crate::words! {
    /// How a cut sheet came about.
    pub enum SheetOrigin {
        /// Somebody chose.
        Entered = "entered", "as the customer asked";
        /// Nobody chose in time.
        Standard = "standard", "the standard cut";
    }
}

crate::words! {
    /// What became of a wish to change a cut sheet late.
    pub enum RequestDecision {
        /// The sheet was changed.
        Taken = "taken", "taken";
        /// It stays as it was.
        Refused = "refused", "refused";
    }
}

crate::words! {
    /// What a private link was made for.
    pub enum LinkFor {
        /// It was put into a message as it was sent.
        Mail = "mail", "in a message";
        /// It was shown to the farmer, to be copied or read out.
        Shown = "shown", "shown once";
    }
}

crate::words! {
    /// What a processor enters on its page.
    pub enum EntryKind {
        /// What hung, or that it did not.
        Carcass = "carcass", "weight";
        /// Boxes and packaged weight of a share.
        Boxes = "boxes", "boxes";
        /// The day everything is ready.
        Ready = "ready", "day ready";
        /// Words to the farm.
        Note = "note", "note";
    }
}

crate::words! {
    /// What became of what a processor entered.
    pub enum EntryAnswer {
        /// The farm took it into the book.
        Taken = "taken", "taken by the farm";
        /// The farm did not take it, and said why.
        Refused = "refused", "not taken";
        /// The processor corrected it before the farm answered.
        Replaced = "replaced", "corrected";
    }
}

crate::words! {
    /// Who told what a share weighed packaged; the first of these counts where several did.
    pub enum PackagedBy {
        /// The farmer, who sees what the others told.
        Farm = "farm", "the farm";
        /// The processor, on a legal scale; the farm took it.
        Plant = "plant", "the processor";
        /// The customer, on the scale at home.
        Customer = "customer", "the customer";
    }
}

crate::words! {
    /// What became of a customer's wish to cancel.
    pub enum CancelAnswer {
        /// The order was cancelled.
        Cancelled = "cancelled", "cancelled";
        /// The farmer said that it stays.
        Stays = "stays", "it stays";
        /// The customer took the wish back.
        Withdrawn = "withdrawn", "taken back";
    }
}

crate::words! {
    /// A quarter of an animal. For fore and hind quarters 1 is the fore.
    pub enum Slot {
        /// Left, first or fore.
        L1 = "l1", "left side, first";
        /// Left, second or hind.
        L2 = "l2", "left side, second";
        /// Right, first or fore.
        R1 = "r1", "right side, first";
        /// Right, second or hind.
        R2 = "r2", "right side, second";
    }
}

impl Slot {
    /// The side the quarter is on.
    pub const fn side(self) -> super::share::Side {
        match self {
            Self::L1 | Self::L2 => super::share::Side::Left,
            Self::R1 | Self::R2 => super::share::Side::Right,
        }
    }
}
