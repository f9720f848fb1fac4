//! Customers of a list: who is in the book already, and who is added.

use super::carry::{Fate, Preview};
use crate::actions::add_customer::{CustomerIn, add_customer};
use crate::actions::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::CustomerId;
use crate::book::imports;
use crate::book::store::Tx;
use crate::trade::fold::fold;
use crate::trade::import_file::{Person, Who};
use std::collections::HashMap;

/// Somebody in the book.
#[derive(Debug, Clone)]
struct Somebody {
    id: CustomerId,
    name: String,
    mail: String,
    phone: String,
}

/// Everybody in the book, read once, by what they may be called in a list.
#[derive(Debug, Default)]
pub(super) struct Known {
    all: Vec<Somebody>,
    by_mail: HashMap<String, Vec<usize>>,
    by_name: HashMap<String, Vec<usize>>,
}

/// What the book knows of the words of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Found {
    /// One person: id, and the name in the book.
    One(CustomerId, String),
    /// Nobody.
    Nobody,
    /// Several, so many.
    Several(usize),
}

fn digits(phone: &str) -> String {
    let all: String = phone.chars().filter(char::is_ascii_digit).collect();
    // The country's own prefix does not tell two numbers apart.
    all.strip_prefix('1').filter(|rest| rest.len() == 10).map_or(all.clone(), String::from)
}

impl Known {
    pub(super) fn read(c: &mut DbConn) -> Result<Self, Failure> {
        let mut known = Self::default();
        for (id, name, mail, phone) in imports::customers(c)? {
            known.add(id, &name, &mail, &phone);
        }
        Ok(known)
    }

    pub(super) fn add(&mut self, id: CustomerId, name: &str, mail: &str, phone: &str) {
        let n = self.all.len();
        let mail = mail.trim().to_lowercase();
        if !mail.is_empty() {
            self.by_mail.entry(mail.clone()).or_default().push(n);
        }
        self.by_name.entry(fold(name)).or_default().push(n);
        self.all.push(Somebody { id, name: name.to_string(), mail, phone: digits(phone) });
    }

    /// Who is meant: by mail address, and among several of one address by name; else by name, where neither mail address nor phone
    /// speaks against it. Several of one name are told apart by the phone.
    pub(super) fn find(&self, who: &Who) -> Found {
        let name = fold(&who.name);
        let of = |found: Option<&Vec<usize>>| -> Vec<&Somebody> {
            found.into_iter().flatten().filter_map(|n| self.all.get(*n)).collect()
        };
        let one = |s: &Somebody| Found::One(s.id, s.name.clone());
        let mailed = if who.mail.is_empty() { Vec::new() } else { of(self.by_mail.get(&who.mail)) };
        if !mailed.is_empty() {
            let same: Vec<_> = mailed.iter().filter(|s| fold(&s.name) == name).collect();
            return match (same.first(), mailed.first(), mailed.len()) {
                (Some(s), ..) => one(s),
                (None, Some(s), 1) => one(s),
                (None, _, n) => Found::Several(n),
            };
        }
        if name.is_empty() {
            return Found::Nobody;
        }
        let phone = digits(&who.phone);
        let may_be = |s: &&Somebody| {
            let mail = s.mail.is_empty() || who.mail.is_empty();
            let call = s.phone.is_empty() || phone.is_empty() || s.phone == phone;
            (mail && call) || (!phone.is_empty() && s.phone == phone)
        };
        let named: Vec<_> = of(self.by_name.get(&name)).into_iter().filter(may_be).collect();
        let same: Vec<_> = named.iter().filter(|s| !phone.is_empty() && s.phone == phone).collect();
        match (named.as_slice(), same.as_slice()) {
            ([s], _) => one(s),
            (_, [s]) => one(s),
            ([], _) => Found::Nobody,
            (several, _) => Found::Several(several.len()),
        }
    }

    /// How many others have this name.
    fn namesakes(&self, name: &str) -> usize {
        self.by_name.get(&fold(name)).map_or(0, Vec::len)
    }
}

/// Adds those that are not there.
pub(super) fn carry<'a>(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    lines: impl Iterator<Item = (usize, &'a Person)>,
) -> Result<(), Failure> {
    let mut known = Known::read(tx.conn())?;
    for (line, person) in lines {
        let who = Who { name: person.name.clone(), mail: person.mail.clone(), phone: person.phone.clone() };
        match known.find(&who) {
            Found::One(_, name) if fold(&name) == fold(&person.name) => {
                all.row(line, Fate::There, name, "Nothing is changed.");
            }
            Found::One(_, name) => {
                let detail = format!("The mail address is {name}’s. Nothing is changed.");
                all.row(line, Fate::There, person.name.clone(), detail);
            }
            Found::Several(n) => {
                all.fault(
                    line,
                    format!("{n} customers could be meant. Write the mail address or the phone of the one."),
                );
            }
            Found::Nobody => {
                let namesakes = known.namesakes(&person.name);
                let input = CustomerIn {
                    name: person.name.clone(),
                    mail: person.mail.clone(),
                    phone: person.phone.clone(),
                    address: person.address.clone(),
                    notes: person.notes.clone(),
                    no_offers: person.no_offers,
                };
                let added = add_customer(tx, doing, &input);
                let Some(id) = all.done(line, added)? else { continue };
                known.add(id, &person.name, &person.mail, &person.phone);
                let mut detail: Vec<String> = [&person.mail, &person.phone].into_iter().cloned().collect();
                detail.push(person.address.replace('\n', ", "));
                if namesakes > 0 {
                    detail.push("Somebody of this name is there with another mail address or phone".into());
                }
                detail.retain(|d| !d.is_empty());
                all.row(line, Fate::New, person.name.clone(), detail.join("; "));
            }
        }
    }
    Ok(())
}
