//! What a column of a list may say, and the headings that mean it.

crate::words! {
    /// What a column of a list may say.
    pub enum Field {
        /// A customer's name, or the last name where the first stands apart.
        Name = "name", "Name";
        /// The first name, where it stands apart.
        FirstName = "first_name", "First name, where it stands apart";
        /// Mail address.
        Mail = "mail", "Mail address";
        /// Telephone.
        Phone = "phone", "Phone";
        /// Address, or street.
        Address = "address", "Address or street";
        /// Second line of the address.
        Address2 = "address_2", "Second line of the address";
        /// City.
        City = "city", "City";
        /// State.
        State = "state", "State";
        /// ZIP code.
        Zip = "zip", "ZIP code";
        /// The farm's notes.
        Notes = "notes", "Notes";
        /// Does not want to hear what is for sale.
        NoOffers = "no_offers", "Wants no offers";
        /// Species.
        Species = "species", "Species";
        /// Name of the season.
        Season = "season", "Season";
        /// Head for sale.
        HeadCount = "head_count", "Head for sale";
        /// Shares an offering sells.
        Sells = "sells", "Shares sold";
        /// How quarters are divided.
        Quarters = "quarters", "Quarters";
        /// Expected hanging weight, low.
        Low = "expected_low", "Expected weight, low";
        /// High.
        High = "expected_high", "Expected weight, high";
        /// Whole, half or quarter.
        Share = "share", "Share";
        /// What a price is reckoned on.
        Basis = "basis", "Price by";
        /// The price.
        Price = "price", "Price";
        /// Deposit asked.
        DepositAsked = "deposit_asked", "Deposit asked";
        /// The day from which a price holds.
        From = "prices_from", "Price holds from";
        /// Tag.
        Tag = "tag", "Tag";
        /// Steer, heifer, barrow…
        Class = "class", "Class";
        /// Sex.
        Sex = "sex", "Sex";
        /// Birth date or month.
        Born = "born", "Born";
        /// Breed.
        Breed = "breed", "Breed";
        /// Official number.
        OfficialId = "official_id", "Official ID";
        /// Whether it is dead, sold or weighed in.
        Gone = "gone", "Lost or weighed in";
        /// An offering by its words.
        Offering = "offering", "Offering";
        /// The day a reservation was taken.
        TakenOn = "taken_on", "Taken on";
        /// Whether it is on the waiting list.
        Waiting = "waiting", "Waiting list";
        /// Whether it is cancelled.
        Cancelled = "cancelled", "Cancelled";
        /// Wishes in words.
        Wishes = "wishes", "Wishes";
        /// Deposit that came in.
        Deposit = "deposit", "Deposit received";
        /// The day it came.
        DepositOn = "deposit_on", "Deposit received on";
        /// Cash, check…
        Method = "method", "How it was paid";
        /// Check number and the like.
        Reference = "reference", "Check number or reference";
        /// What came in.
        Amount = "amount", "Amount";
        /// The day it came.
        PaidOn = "paid_on", "Received on";
        /// Received or given back.
        Way = "way", "Received or given back";
        /// An order's number in this book.
        Order = "order", "Order number";
        /// An invoice's number in this book.
        Invoice = "invoice", "Invoice number";
    }
}

impl Field {
    /// Headings that mean it (plain words of the trade), the surest first; all words of one must stand in the heading.
    pub(super) const fn words(self) -> &'static [&'static str] {
        match self {
            Self::Name => &["name", "customer", "full name", "last name", "buyer", "surname"],
            Self::FirstName => &["first name", "given name", "first"],
            Self::Mail => &["mail address", "mail", "email", "e mail", "email address"],
            Self::Phone => &["phone", "telephone", "cell", "mobile", "phone number", "tel"],
            Self::Address => {
                &["address", "address or street", "street", "street address", "address 1", "address line 1"]
            }
            Self::Address2 => &["second line of the address", "address 2", "address line 2", "apt", "unit"],
            Self::City => &["city", "town"],
            Self::State => &["state"],
            Self::Zip => &["zip", "zip code", "postal code", "postcode"],
            Self::Notes => &["notes", "note", "comments", "comment", "remarks"],
            Self::NoOffers => &["wants no offers", "no offers", "no mail"],
            Self::Species => &["species", "animal", "kind", "type"],
            Self::Season => &["season", "batch", "year"],
            Self::HeadCount => &["head for sale", "head", "head count", "count", "number of head"],
            Self::Sells => &["shares sold"],
            Self::Quarters => &["quarters"],
            Self::Low => &["expected weight low", "low", "low weight", "min weight"],
            Self::High => &["expected weight high", "high", "high weight", "max weight"],
            Self::Share => &["share", "size", "portion", "whole half quarter", "order", "item"],
            Self::Basis => &["price by", "basis", "price basis", "by"],
            Self::Price => &["price", "price per lb", "price lb", "rate", "per lb", "cost per lb"],
            Self::DepositAsked => &["deposit asked", "deposit"],
            Self::From => &["price holds from", "prices from", "holds from", "from", "effective", "effective from"],
            Self::Tag => &["tag", "ear tag", "eartag", "id", "number"],
            Self::Class => &["class", "type", "sex class", "kind"],
            Self::Sex => &["sex", "gender"],
            Self::Born => &["born", "birth date", "date of birth", "dob", "birthdate", "birth"],
            Self::Breed => &["breed"],
            Self::OfficialId => &["official id", "official", "840", "eid", "rfid"],
            Self::Gone => &["lost or weighed in", "gone", "lost", "died", "sold"],
            Self::Offering => &["offering"],
            Self::TakenOn => &["taken on", "order date", "date ordered", "reserved on", "reserved", "ordered", "date"],
            Self::Waiting => &["waiting list", "waiting", "waitlist"],
            Self::Cancelled => &["cancelled", "canceled"],
            Self::Wishes => &["wishes", "notes", "note", "comments", "requests"],
            Self::Deposit => &["deposit received", "deposit held", "deposit paid", "deposit", "paid"],
            Self::DepositOn => {
                &["deposit received on", "deposit date", "date of deposit", "deposit on", "date paid", "paid on"]
            }
            Self::Method => &["how it was paid", "method", "payment method", "paid by", "payment type"],
            Self::Reference => {
                &["check number or reference", "reference", "check number", "check no", "check #", "ref", "check"]
            }
            Self::Amount => &["amount", "payment", "paid", "total"],
            Self::PaidOn => &["received on", "paid on", "date", "payment date", "date paid", "received", "day"],
            Self::Way => &["received or given back", "direction"],
            Self::Order => &["order number", "order no", "order #", "order"],
            Self::Invoice => &["invoice number", "invoice no", "invoice #", "invoice"],
        }
    }

    /// Whether its headings hold the words of another field, so that it is looked for first.
    pub(super) const fn is_longer(self) -> bool {
        matches!(
            self,
            Self::FirstName
                | Self::Mail
                | Self::Address2
                | Self::NoOffers
                | Self::DepositOn
                | Self::DepositAsked
                | Self::Reference
                | Self::Sells
                | Self::HeadCount
                | Self::Basis
                | Self::From
                | Self::OfficialId
                | Self::Method
                | Self::Order
                | Self::Invoice
                | Self::Low
                | Self::High
                | Self::Way
                | Self::Gone
        )
    }
}
