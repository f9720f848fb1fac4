//! Making an issued paper again from its frozen content: the same bytes every time.

use super::Failure;
use super::make_packet::packet_again;
use crate::book::conn::DbConn;
use crate::book::ids::PacketId;
use crate::book::outbox;
use crate::paper::bill_of_sale::BillOfSale;
use crate::paper::confirmation::Confirmation;
use crate::paper::credit_note::CreditNote;
use crate::paper::invoice::Invoice;
use crate::paper::packet::Packet;
use crate::paper::receipt::Receipt;
use crate::paper::refund_slip::RefundSlip;
use crate::trade::vocabulary::PaperKind;
use serde::de::DeserializeOwned;

/// File name and PDF of an issued paper.
///
/// # Errors
/// [`Failure::NotFound`] when there is none; [`Failure::Unexpected`] when its content cannot be read or drawn.
pub fn paper_again(c: &mut DbConn, kind: PaperKind, id: i64) -> Result<(String, Vec<u8>), Failure> {
    if kind == PaperKind::Packet {
        return packet_again(c, PacketId(id));
    }
    let (number, document) = outbox::paper(c, kind, id)?;
    let drawn = match kind {
        PaperKind::Invoice => read::<Invoice>(&document)?.pdf(),
        PaperKind::Receipt => read::<Receipt>(&document)?.pdf(),
        PaperKind::CreditNote | PaperKind::PartCredit => read::<CreditNote>(&document)?.pdf(),
        PaperKind::RefundSlip => read::<RefundSlip>(&document)?.pdf(),
        PaperKind::Confirmation => read::<Confirmation>(&document)?.pdf(),
        PaperKind::BillOfSale => read::<BillOfSale>(&document)?.pdf(),
        PaperKind::Packet => read::<Packet>(&document)?.pdf(),
    };
    let name = format!("{} {number}.pdf", kind.label());
    Ok((name, drawn.map_err(|e| Failure::Unexpected(e.to_string()))?))
}

/// A receipt with the private link of its order on it, `url`; another paper is the issued one.
///
/// # Errors
/// As [`paper_again`].
pub fn paper_with_link(c: &mut DbConn, kind: PaperKind, id: i64, url: &str) -> Result<(String, Vec<u8>), Failure> {
    if kind != PaperKind::Receipt {
        return paper_again(c, kind, id);
    }
    let (number, document) = outbox::paper(c, kind, id)?;
    let drawn = read::<Receipt>(&document)?.pdf_with_link(url);
    Ok((format!("{} {number}.pdf", kind.label()), drawn.map_err(|e| Failure::Unexpected(e.to_string()))?))
}

fn read<T: DeserializeOwned>(document: &str) -> Result<T, Failure> {
    serde_json::from_str(document).map_err(|e| Failure::Unexpected(format!("the stored paper cannot be read: {e}")))
}
