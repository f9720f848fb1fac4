//! The numbers of orders and papers: `2027-031`, `I-2027-041`, `R-2027-014`, `C-2027-003`, `RF-2027-002`.

crate::words! {
    /// A series that is counted up without gaps, each year from 1.
    pub enum Series {
        /// Orders (reservations).
        Order = "order", "order";
        /// Invoices.
        Invoice = "invoice", "invoice";
        /// Receipts.
        Receipt = "receipt", "receipt";
        /// Credit notes.
        CreditNote = "credit_note", "credit note";
        /// Slips of money given back.
        Refund = "refund", "refund slip";
    }
}

impl Series {
    const fn letter(self) -> &'static str {
        match self {
            Self::Order => "",
            Self::Invoice => "I-",
            Self::Receipt => "R-",
            Self::CreditNote => "C-",
            Self::Refund => "RF-",
        }
    }
    /// The number as it is written: the year and at least three digits.
    pub fn number(self, year: i32, count: i64) -> String {
        format!("{}{year}-{count:03}", self.letter())
    }
    /// The name its counter is kept under: `invoice-2027`.
    pub fn counter(self, year: i32) -> String {
        format!("{}-{year}", self.as_str())
    }
    /// Reads a number as a person types it (small letters, blanks around it) into series, year and count.
    pub fn read(text: &str) -> Option<(Self, i32, i64)> {
        let text = text.trim().to_ascii_uppercase();
        let (series, rest) = [Self::Invoice, Self::Receipt, Self::CreditNote, Self::Refund]
            .into_iter()
            .find_map(|series| Some((series, text.strip_prefix(series.letter())?)))
            .unwrap_or((Self::Order, text.as_str()));
        let (year, count) = rest.split_once('-')?;
        let plain = |s: &str, longest| !s.is_empty() && s.len() <= longest && s.bytes().all(|b| b.is_ascii_digit());
        if year.len() != 4 || !plain(year, 4) || !plain(count, 12) {
            return None;
        }
        let count: i64 = count.parse().ok()?;
        (count > 0).then_some((series, year.parse().ok()?, count))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_have_a_year_and_at_least_three_digits() {
        assert_eq!(Series::Order.number(2027, 31), "2027-031");
        assert_eq!(Series::Invoice.number(2027, 41), "I-2027-041");
        assert_eq!(Series::CreditNote.number(2027, 1234), "C-2027-1234");
        assert_eq!(Series::Receipt.counter(2027), "receipt-2027");
        assert_eq!(Series::read(" i-2027-41 "), Some((Series::Invoice, 2027, 41)));
        for bad in ["", "2027", "2027-", "27-031", "X-2027-031", "2027-000", "2027-03l", "-2027-1", "20é7-1"] {
            assert_eq!(Series::read(bad), None, "{bad}");
        }
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(year in 1000_i32..9999, count in 1_i64..1_000_000, which in 0_usize..5) {
            let series = Series::ALL[which];
            prop_assert_eq!(Series::read(&series.number(year, count)), Some((series, year, count)));
        }
    }
}
