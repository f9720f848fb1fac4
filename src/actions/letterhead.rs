//! What stands at the head of every paper, and how a customer is addressed on it.

use crate::book::rows::farm::Farm;
use crate::book::rows::people::Customer;
use crate::paper::parts::Letterhead;
use crate::trade::vocabulary::PaperSize;

/// The farm's letterhead.
pub fn letterhead(farm: &Farm) -> Letterhead {
    let mut contact: Vec<String> = Vec::new();
    let address: Vec<&str> = farm.address.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if !address.is_empty() {
        contact.push(address.join(", "));
    }
    let reach: Vec<&str> = [farm.phone.trim(), farm.mail.trim()].into_iter().filter(|p| !p.is_empty()).collect();
    if !reach.is_empty() {
        contact.push(reach.join(" · "));
    }
    let paper = match farm.paper {
        PaperSize::Letter => crate::paper::PaperSize::Letter,
        PaperSize::A4 => crate::paper::PaperSize::A4,
    };
    Letterhead { paper, farm: farm.name.clone(), contact }
}

/// Name and address of a customer, one line each.
pub fn addressed(customer: &Customer) -> Vec<String> {
    let mut lines = vec![customer.name.clone()];
    lines.extend(customer.address.lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()));
    lines
}
