//! The demo's bank: checks taken there with a slip, money from nobody known, and a statement of which half is settled.

use super::teller::{Teller, usd};
use crate::actions::Failure;
use crate::actions::bank_file::{Of, Sent, look, match_and_take, open, send};
use crate::actions::bank_line::{set_line_aside, tie_line};
use crate::actions::deposit_slip::{SlipIn, make_slip, on_hand};
use crate::actions::record_deposit::MoneyIn;
use crate::actions::unmatched_money::{ForWhat, match_money, match_to, record_unmatched};
use crate::book::bank;
use crate::book::bank_open::{candidates, waiting_for_money};
use crate::book::ids::{ReservationId, UnmatchedId};
use crate::book::slips;
use crate::trade::bank::suggest::{Candidate, What};
use crate::trade::money::Money;
use crate::trade::reference;
use crate::trade::vocabulary::PayMethod;

/// A line of the statement: days from today, words, check number, amount.
type Row = (i64, String, String, Money);

pub(super) fn tell(t: &mut Teller) -> Result<(), Failure> {
    let matched = nobody(t, -12, usd(25), "", "P2P TRANSFER 55190")?;
    let open: Vec<Candidate> = waiting_for_money(t.tx.conn())?;
    // A part of the one deposit that is due; the rest of it waits on the statement.
    if let Some(order) = open.iter().find(|c| c.what == What::Deposit) {
        let doing = t.doing(-8, 18);
        let to = match_to(t.tx, ForWhat::Order(ReservationId(order.id)), usd(25))?;
        match_money(t.tx, &doing, matched, &to, false)?;
    }
    let due: Vec<Candidate> = waiting_for_money(t.tx.conn())?;
    let deposit = due.iter().find(|c| c.what == What::Deposit).cloned();
    let invoice = due.iter().find(|c| c.what == What::Invoice).cloned();
    nobody(t, -6, usd(85), "3117", "No name on it; the signature cannot be read")?;
    slip(t, -31, 60)?;
    let slip = slip(t, -2, 5)?;
    let (from, to) = (t.day(-40), t.day(-1));
    let found = candidates(t.tx.conn(), from, to)?;
    let refund = found.into_iter().find(|c| c.what == What::Refund);

    let mut rows: Vec<Row> = vec![
        (-11, "P2P TRANSFER 55190".into(), String::new(), usd(25)),
        (-9, "ELM FORK FEED AND SEED".into(), "2044".into(), usd(-231)),
        (-1, "REMOTE DEPOSIT".into(), String::new(), slip.1),
        (-3, "P2P TRANSFER 60412 THANK YOU".into(), String::new(), usd(120)),
    ];
    if let Some(refund) = &refund {
        rows.push((-8, "CHECK PAID".into(), refund.check.clone(), refund.amount.negated()));
    }
    if let Some(order) = &deposit {
        let number = order.order.clone().unwrap_or_default();
        rows.push((-2, format!("ACH CREDIT {}", reference::of(&number)), String::new(), order.amount));
    }
    if let Some(open) = &invoice {
        rows.push((-2, format!("P2P TRANSFER {}", open.name.to_uppercase()), String::new(), open.amount));
    }
    statement(t, &rows)?;
    let doing = t.doing(-1, 20);
    for line in bank::untied(t.tx.conn(), None, 50)? {
        match line.words.as_str() {
            "P2P TRANSFER 55190" => tie_line(t.tx, &doing, line.id, What::Unmatched, matched.0)?,
            "ELM FORK FEED AND SEED" => set_line_aside(t.tx, &doing, line.id, "Feed")?,
            "REMOTE DEPOSIT" => tie_line(t.tx, &doing, line.id, What::Slip, slip.0)?,
            "CHECK PAID" => {
                if let Some(refund) = &refund {
                    tie_line(t.tx, &doing, line.id, What::Refund, refund.id)?;
                }
            }
            _ => {}
        }
    }
    Ok(())
}

/// Money from nobody known.
fn nobody(t: &mut Teller, days: i64, amount: Money, check: &str, payer: &str) -> Result<UnmatchedId, Failure> {
    let doing = t.doing(days, 17);
    let method = if check.is_empty() { PayMethod::Transfer } else { PayMethod::Check };
    let received_on = doing.now.today;
    let money = MoneyIn { method, amount, received_on, reference: check.into(), note: String::new() };
    record_unmatched(t.tx, &doing, &money, payer)
}

/// A slip of the latest checks on hand, at most so many; its number and total.
fn slip(t: &mut Teller, days: i64, most: usize) -> Result<(i64, Money), Failure> {
    let doing = t.doing(days, 16);
    let hand = on_hand(t.tx.conn(), doing.now.today)?;
    let checks = hand.iter().rev().filter(|m| m.method == PayMethod::Check).take(most);
    let items = checks.map(|m| m.item).collect();
    let input = SlipIn { day: doing.now.today, cash: Money::ZERO, items, differs: false };
    let id = make_slip(t.tx, &doing, &input)?;
    Ok((id.0, slips::get(t.tx.conn(), id)?.total))
}

/// The statement as the bank's page gives it, its columns matched.
fn statement(t: &mut Teller, rows: &[Row]) -> Result<(), Failure> {
    let mut text = "Account,Farm checking\n\nDate,Description,Check Number,Amount\n".to_string();
    for (days, words, check, amount) in rows {
        let day = t.day(*days).format("%m/%d/%Y");
        text.push_str(&format!("{day},{words},{check},{}\n", amount.plain()));
    }
    let doing = t.doing(-1, 19);
    let opened = open(text.as_bytes())?;
    let sent = send(t.tx, &doing, &Of::New("Farm checking".into()), "checking.csv", &opened)?;
    if let Sent::Columns(id) = sent {
        let columns = look(t.tx.conn(), id)?.columns;
        match_and_take(t.tx, &doing, id, &columns)?;
    }
    Ok(())
}
