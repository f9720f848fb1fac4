//! Published figures, reckoned again by our functions. The rows and their sources are in `tests/published/`.

mod cost;
mod dressing;
mod girth;
mod ids;
mod misprints;
mod quarters;
mod rules;
mod shrink;
mod worksheet;

use gambrel::trade::weight::Weight;
use rust_decimal::{Decimal, RoundingStrategy};

/// One row of a table.
pub(crate) struct Row {
    pub(crate) id: String,
    pub(crate) kind: String,
    pub(crate) inputs: String,
    pub(crate) expected: String,
    tolerance: Decimal,
    source: String,
}

/// Every row of a table; there must be `count` of them, so that none is lost unseen.
pub(crate) fn rows(table: &str, count: usize) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let columns = ["id", "kind", "inputs", "expected", "tolerance", "source", "mark", "reference"];
    assert!(reader.headers().unwrap().iter().eq(columns));
    let rows: Vec<_> = reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let field = |i: usize| record[i].to_string();
            assert!(["R", "R*", "D", "M"].contains(&&record[6]), "mark of {}", &record[0]);
            assert!(!record[7].is_empty(), "{} names no source", &record[0]);
            Row {
                id: field(0),
                kind: field(1),
                inputs: field(2),
                expected: field(3),
                tolerance: record[4].parse().unwrap(),
                source: field(5),
            }
        })
        .collect();
    assert_eq!(rows.len(), count);
    rows
}

/// The value of `key` among `key=value` pairs.
pub(crate) fn pair<'a>(inputs: &'a str, key: &str) -> &'a str {
    let found = inputs.split(';').find_map(|pair| pair.trim().strip_prefix(key)?.strip_prefix('='));
    found.unwrap_or_else(|| panic!("no {key} in {inputs}"))
}

/// A figure among the pairs; a remark after it is passed over.
pub(crate) fn figure(inputs: &str, key: &str) -> Decimal {
    pair(inputs, key).split(' ').next().unwrap().parse().unwrap()
}

/// A weight among the pairs.
pub(crate) fn weight(inputs: &str, key: &str) -> Weight {
    Weight::parse(&figure(inputs, key).to_string()).unwrap()
}

impl Row {
    pub(crate) fn figure(&self, key: &str) -> Decimal {
        figure(&self.inputs, key)
    }
    pub(crate) fn weight(&self, key: &str) -> Weight {
        weight(&self.inputs, key)
    }
    pub(crate) fn pair(&self, key: &str) -> &str {
        pair(&self.inputs, key)
    }
    /// The result lies within the row's own tolerance of what is printed.
    pub(crate) fn agrees(&self, result: Decimal) {
        let printed: Decimal = self.expected.parse().unwrap();
        let off = (result - printed).abs();
        assert!(off <= self.tolerance, "{}: {result} for the printed {printed} ({})", self.id, self.source);
    }
    /// The result, rounded half away from zero to as many decimals as are printed, lies within the tolerance.
    pub(crate) fn agrees_rounded(&self, result: Decimal) {
        let printed: Decimal = self.expected.parse().unwrap();
        self.agrees(result.round_dp_with_strategy(printed.scale(), RoundingStrategy::MidpointAwayFromZero));
    }
}
