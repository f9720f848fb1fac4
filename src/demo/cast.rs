//! The demo's customers. All are invented; phone numbers and mail addresses are of the kinds set aside for that.

use super::teller::Teller;
use crate::actions::Failure;
use crate::actions::add_customer::{CustomerIn, add_customer};
use crate::book::ids::CustomerId;
use std::collections::HashMap;

/// Name, mail, phone, address. Some have no mail, one has neither.
const PEOPLE: &[(&str, &str, &str, &str)] = &[
    ("Ines Halvard", "ines@halvard.example", "555-0131", "3 Tannery Lane\nElm Fork, WI 53000"),
    ("Tobias Wren", "tobias@wren.example", "555-0132", "41 Mill Street\nElm Fork, WI 53000"),
    ("Hanne Brandvold", "hanne@brandvold.example", "555-0133", "902 County Road F\nLow Prairie, WI 53001"),
    ("Owen Sandoz", "owen@sandoz.example", "555-0134", "17 Depot Street\nElm Fork, WI 53000"),
    ("Harlow Mills", "", "555-0135", "6 Orchard Court\nLow Prairie, WI 53001"),
    ("Dele Ashworth", "dele@ashworth.example", "555-0136", "88 Ferry Road\nElm Fork, WI 53000"),
    ("Ruth Kessel", "", "555-0137", "240 Ridge Road\nStony Ford, WI 53002"),
    ("Marta Quillan", "marta@quillan.example", "555-0138", "12 Schoolhouse Lane\nStony Ford, WI 53002"),
    ("Jonas Pryce", "jonas@pryce.example", "555-0139", "5 Church Street\nElm Fork, WI 53000"),
    ("Łukasz Zaremba", "lukasz@zaremba.example", "555-0140", "310 Water Street, Apartment 4\nStony Ford, WI 53002"),
    ("Núria Velde", "nuria@velde.example", "555-0141", "29 Linden Street\nElm Fork, WI 53000"),
    ("Þóra Lind", "thora@lind.example", "555-0142", "77 Slough Road\nElm Fork, WI 53000"),
    ("Minh Nguyễn-Roe", "minh@nguyen-roe.example", "555-0143", "8 Station Place\nLow Prairie, WI 53001"),
    ("Abel Storrow", "", "", "Rural Route 2, Box 14\nStony Ford, WI 53002"),
    ("Clementine Ode", "clementine@ode.example", "555-0145", "19 Mill Street\nElm Fork, WI 53000"),
    ("Petra Vance", "petra@vance.example", "555-0146", "450 County Road F\nLow Prairie, WI 53001"),
    ("Silas Merrow", "silas@merrow.example", "555-0147", "2 Quarry Road\nStony Ford, WI 53002"),
    ("Greta Fenn", "greta@fenn.example", "555-0148", "63 Ferry Road\nElm Fork, WI 53000"),
    ("Amos Tarrant", "amos@tarrant.example", "555-0149", "31 Depot Street\nElm Fork, WI 53000"),
    ("Yusra Bell", "yusra@bell.example", "555-0150", "14 Linden Street\nElm Fork, WI 53000"),
    ("Corin Hale", "corin@hale.example", "555-0151", "96 Ridge Road\nStony Ford, WI 53002"),
    ("Delphine Roake", "delphine@roake.example", "555-0152", "7 Orchard Court\nLow Prairie, WI 53001"),
    ("Ennis Pardee", "ennis@pardee.example", "555-0153", "120 Water Street\nStony Ford, WI 53002"),
    ("Wilma Stroud", "wilma@stroud.example", "555-0154", "54 Church Street\nElm Fork, WI 53000"),
];

/// The customers by name.
pub(super) struct People(HashMap<&'static str, CustomerId>);

impl People {
    /// Somebody by the name in the list.
    ///
    /// # Errors
    /// [`Failure::NotFound`] for a name that is not in it.
    pub(super) fn named(&self, name: &str) -> Result<CustomerId, Failure> {
        self.0.get(name).copied().ok_or(Failure::NotFound)
    }
}

/// Enters them all.
pub(super) fn enter(t: &mut Teller) -> Result<People, Failure> {
    let mut all = HashMap::new();
    for (n, (name, mail, phone, address)) in (0_i64..).zip(PEOPLE) {
        let doing = t.doing(-200 + n * 2, 10);
        let input = CustomerIn {
            name: (*name).into(),
            mail: (*mail).into(),
            phone: (*phone).into(),
            address: (*address).into(),
            notes: if *name == "Ruth Kessel" { "Calls back after six in the evening.".into() } else { String::new() },
            no_offers: false,
        };
        all.insert(*name, add_customer(t.tx, &doing, &input)?);
    }
    Ok(People(all))
}
