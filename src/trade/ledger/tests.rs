//! Whatever an act is made of, its entry is balanced, and nothing else than the step says moves.

use super::*;
use proptest::prelude::*;

fn cents(n: i64) -> Money {
    Money::from_cents(n)
}

fn step(what: What) -> Step {
    Step { customer: Some(7), what }
}

fn amount_on(lines: &Lines, account: Account) -> i64 {
    lines.iter().filter(|(p, _)| p.account == account).map(|(_, m)| m.cents()).sum()
}

#[test]
fn a_deposit_is_money_in_hand_and_owed_to_the_order() {
    let all =
        lines(&[step(What::Received(PayMethod::Check, cents(15_000))), step(What::Held(3, cents(15_000)))]).unwrap();
    let there: Vec<_> = all.iter().map(|(p, m)| (p.account, p.order, m.cents())).collect();
    assert_eq!(there, [(Account::Checks, None, 15_000), (Account::Deposits, Some(3), -15_000)]);
}

#[test]
fn an_invoice_earns_line_by_line_and_owes_its_tax() {
    let billed = |kind, by, amount, tax| Billed { kind, by, amount: cents(amount), tax: cents(tax) };
    let invoiced = |back| What::Invoiced {
        invoice: 9,
        species: Species::Hog,
        lines: vec![
            billed(LineKind::Share, BilledBy::Farm, 43_313, 0),
            billed(LineKind::Charge, BilledBy::Farm, 2_251, 124),
            billed(LineKind::Charge, BilledBy::Processor, 4_750, 260),
            billed(LineKind::Free, BilledBy::Farm, 1_000, 0),
            billed(LineKind::Free, BilledBy::Farm, -500, -28),
        ],
        back,
    };
    let all = lines(&[step(invoiced(false)), step(What::Held(3, cents(-15_000))), step(What::Paid(9, cents(15_000)))])
        .unwrap();
    let want = [
        (Account::Receivable, 43_313 + 2_251 + 124 + 1_000 - 528 - 15_000),
        (Account::Deposits, 15_000),
        (Account::Tax, -96),
        (Account::SalesHog, -43_313),
        (Account::FarmCharges, -1_000),
        (Account::PlantCharges, -2_251),
        (Account::Discounts, 500),
        (Account::Credit, 0),
    ];
    for (account, amount) in want {
        assert_eq!(amount_on(&all, account), amount, "{account}");
    }
    assert!(balanced(&all));
    assert_eq!(lines(&[step(invoiced(false)), step(invoiced(true))]).unwrap(), []);
}

#[test]
fn what_is_promised_back_is_given_back_first_and_used_last() {
    let give = |n| [step(What::GivenBack(PayMethod::Cash, cents(n)))];
    let use_up = |n| [step(What::Paid(9, cents(n)))];
    assert_eq!(drawn(&give(80), 7, cents(50), cents(100)).unwrap(), cents(80));
    assert_eq!(drawn(&give(120), 7, cents(50), cents(100)).unwrap(), cents(100));
    assert_eq!(drawn(&use_up(50), 7, cents(50), cents(100)).unwrap(), cents(0));
    assert_eq!(drawn(&use_up(70), 7, cents(50), cents(100)).unwrap(), cents(20));
    let at_once = [step(What::Held(3, cents(-80))), step(What::GivenBack(PayMethod::Cash, cents(80)))];
    assert_eq!(drawn(&at_once, 7, cents(50), cents(100)).unwrap(), cents(0), "a deposit given back is no promise kept");
    assert_eq!(drawn(&use_up(70), 8, cents(50), cents(100)).unwrap(), cents(0), "another customer’s");
}

#[test]
fn a_move_between_customers_needs_both_halves() {
    let sent = Step { customer: Some(7), what: What::Sent(cents(100)) };
    let got = Step { customer: Some(8), what: What::Got(cents(100)) };
    assert!(!balanced(&lines(std::slice::from_ref(&sent)).unwrap()));
    assert!(balanced(&lines(&[sent, got]).unwrap()));
}

#[test]
fn every_account_has_its_own_name_in_a_journal() {
    let names: std::collections::BTreeSet<_> = Account::ALL.iter().map(|a| a.journal_name()).collect();
    assert_eq!(names.len(), Account::ALL.len());
    for account in Account::ALL {
        let root = match account.class() {
            Class::Asset => "Assets:",
            Class::Liability => "Liabilities:",
            Class::Income => "Income:",
            Class::Expense => "Expenses:",
        };
        assert!(account.journal_name().starts_with(root), "{account}");
    }
}

fn any_money() -> impl Strategy<Value = Money> {
    (-9_999_999_i64..9_999_999).prop_map(cents)
}

fn any_what() -> impl Strategy<Value = What> {
    let method = || prop::sample::select(PayMethod::ALL);
    let species = || prop::sample::select(Species::ALL);
    let line = (prop::sample::select(LineKind::ALL), prop::sample::select(BilledBy::ALL), any_money(), any_money())
        .prop_map(|(kind, by, amount, tax)| Billed { kind, by, amount, tax });
    prop_oneof![
        (method(), any_money()).prop_map(|(how, m)| What::Received(how, m)),
        (method(), any_money()).prop_map(|(how, m)| What::GivenBack(how, m)),
        (method(), any_money()).prop_map(|(how, m)| What::Bounced(how, m)),
        (0_i64..5, any_money()).prop_map(|(id, m)| What::Held(id, m)),
        (0_i64..5, any_money()).prop_map(|(id, m)| What::Kept(id, m)),
        (0_i64..5, any_money()).prop_map(|(id, m)| What::Paid(id, m)),
        any_money().prop_map(What::Promised),
        (0_i64..5, species(), prop::collection::vec(line, 0..6), any::<bool>())
            .prop_map(|(invoice, species, lines, back)| What::Invoiced { invoice, species, lines, back }),
        (0_i64..5, prop::sample::select(ChangeKind::ALL), species(), any_money(), any_money())
            .prop_map(|(invoice, kind, species, amount, tax)| What::Changed { invoice, kind, species, amount, tax }),
    ]
}

proptest! {
    #[test]
    fn every_act_is_balanced_and_its_opposite_undoes_it(whats in prop::collection::vec((0_i64..4, any_what()), 0..12)) {
        let steps: Vec<Step> = whats.into_iter().map(|(customer, what)| Step { customer: Some(customer), what }).collect();
        let all = lines(&steps).unwrap();
        prop_assert!(balanced(&all));
        prop_assert!(all.iter().all(|(_, m)| !m.is_zero()));
        let places: std::collections::BTreeSet<_> = all.iter().map(|(p, _)| *p).collect();
        prop_assert_eq!(places.len(), all.len(), "a place stands in an entry once");
        // The lines do not depend on how the act is cut into steps, nor on their order.
        let mut back = steps.clone();
        back.reverse();
        prop_assert_eq!(&lines(&back).unwrap(), &all);
    }

    #[test]
    fn no_more_is_drawn_than_was_promised(
        given in 0_i64..10_000, used in 0_i64..10_000, credit in 0_i64..10_000, promised in 0_i64..10_000,
    ) {
        let steps = [step(What::GivenBack(PayMethod::Cash, cents(given))), step(What::Paid(1, cents(used)))];
        let drawn = drawn(&steps, 7, cents(credit), cents(promised)).unwrap().cents();
        prop_assert!(0 <= drawn && drawn <= promised);
        // Where there is enough, nobody's credit becomes less than nothing.
        if given + used <= credit + promised {
            prop_assert!(credit - given - used + drawn >= 0);
        }
    }
}
