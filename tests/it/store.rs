//! The two lanes of the book on each engine: writes happen whole or not at all, numbers have no gap, readers stay readers.

use crate::support::{TestApp, TestBook, on_each_engine};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::book::schema::{counter, customer, reservation};
use gambrel::book::store::Store;
use gambrel::book::{counters, invoices};
use gambrel::trade::share::{Side, Size, Species};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;

fn customers(store: &Store) -> i64 {
    store.read(|c| Ok::<_, Failure>(customer::table.count().get_result(c)?)).unwrap()
}

/// Counts `series` up from `threads` threads over these stores, every third time taking it back; what was kept.
fn count_up(stores: &[Store], threads: usize, each: usize) -> Vec<i64> {
    let kept = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for n in 0..threads {
            let (store, kept) = (stores[n % stores.len()].clone(), &kept);
            scope.spawn(move || {
                for i in 0..each {
                    let counted = store.write(|tx| {
                        let value = counters::next(tx, "invoice-2027")?;
                        if i % 3 == 2 { Err(Failure::refuse("", "thought better of it")) } else { Ok(value) }
                    });
                    match counted {
                        Ok(value) => kept.lock().unwrap().push(value),
                        Err(Failure::Refused(_)) => {}
                        Err(e) => panic!("{e}"),
                    }
                }
            });
        }
    });
    let mut kept = kept.into_inner().unwrap();
    kept.sort_unstable();
    kept
}

fn last(store: &Store) -> i64 {
    store.read(|c| Ok::<_, Failure>(counter::table.find("invoice-2027").select(counter::value).first(c)?)).unwrap()
}

#[test]
fn numbers_have_no_gap_under_eight_threads_and_rollbacks() {
    on_each_engine(|book| {
        let kept = count_up(std::slice::from_ref(&book.store), 8, 24);
        assert_eq!(kept, (1..=128).collect::<Vec<_>>());
        assert_eq!(last(&book.store), 128);
    });
}

#[test]
fn two_programs_on_one_book_leave_no_gap_either() {
    on_each_engine(|book| {
        let kept = count_up(&[book.store.clone(), book.beside()], 4, 12);
        assert_eq!(kept, (1..=32).collect::<Vec<_>>());
        assert_eq!(last(&book.store), 32);
    });
}

/// Six programs that write all the time, each write reading first and thinking a while, as a busy day has it: every write is run once and
/// goes through, because it waits for the others before it looks at the book. Without that wait most are run again and again.
#[test]
fn programs_that_write_all_the_time_wait_for_each_other_and_none_is_refused() {
    on_each_engine(|book| {
        let stores: Vec<Store> = std::iter::once(book.store.clone()).chain((0..5).map(|_| book.beside())).collect();
        let runs = std::sync::atomic::AtomicUsize::new(0);
        std::thread::scope(|scope| {
            for store in &stores {
                let runs = &runs;
                scope.spawn(move || {
                    for _ in 0..15 {
                        let counted = store.write(|tx| {
                            runs.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                            let _: i64 = counter::table.count().get_result(tx.conn())?;
                            std::thread::sleep(std::time::Duration::from_millis(4));
                            Ok::<_, Failure>(counters::next(tx, "invoice-2027")?)
                        });
                        counted.unwrap();
                    }
                });
            }
        });
        assert_eq!((last(&book.store), runs.into_inner()), (90, 90));
    });
}

/// A program that holds the book for longer than a write waits: a sentence, nothing is written, and the next try goes through.
#[actix_web::test]
async fn whoever_waits_too_long_for_another_program_is_told_and_keeps_what_was_typed() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/customers/new").await.expect(200);
        let form = page.forms().into_iter().find(|f| f.action != "/sign-out" && f.post).unwrap();
        let body = form.body(&[("name", "Ines Halvard")]);
        let (held, waits) = std::sync::mpsc::channel();
        let (done, go) = std::sync::mpsc::channel::<()>();
        let go = Mutex::new(go);
        let other = book.beside();
        let holder = std::thread::spawn(move || {
            other.write(|tx| {
                counters::next(tx, "invoice-2027")?;
                held.send(()).unwrap();
                go.lock().unwrap().recv().unwrap();
                Ok::<_, Failure>(())
            })
        });
        waits.recv().unwrap();
        // What has happened outside already waits on.
        let third = book.beside();
        let surely =
            std::thread::spawn(move || third.write_surely(|tx| Ok::<_, Failure>(counters::next(tx, "invoice-2027")?)));
        let refused = app.post("/customers/new", body.clone()).await.expect(422);
        refused.says("Others are writing into the book").says("value=\"Ines Halvard\"");
        assert_eq!(customers(&book.store), 0);
        done.send(()).unwrap();
        holder.join().unwrap().unwrap();
        assert_eq!(surely.join().unwrap().unwrap(), 2);
        app.post("/customers/new", body).await.expect(303);
        assert_eq!(customers(&book.store), 1);
    }
}

#[test]
fn a_write_that_fails_leaves_nothing() {
    on_each_engine(|book| {
        let failed = book.try_act(|tx, doing| {
            gambrel::actions::add_customer::add_customer(
                tx,
                doing,
                &gambrel::actions::add_customer::CustomerIn { name: "Ines".into(), ..Default::default() },
            )?;
            assert_eq!(customer::table.count().get_result::<i64>(tx.conn())?, 1, "the write sees itself");
            Err::<(), _>(Failure::refuse("", "no"))
        });
        assert!(failed.is_err());
        assert_eq!(customers(&book.store), 0);
        book.read(|c| {
            let told: i64 = gambrel::book::schema::story::table.count().get_result(c)?;
            assert_eq!(told, 0, "its story went with it");
            Ok(())
        });
    });
}

#[test]
fn a_broken_rule_of_the_tables_undoes_the_whole_write() {
    on_each_engine(|book| {
        let failed = book.try_act(|tx, _| {
            counters::next(tx, "invoice-2027")?;
            diesel::update(counter::table).set(counter::value.eq(-1)).execute(tx.conn())?;
            Ok(())
        });
        assert!(matches!(failed, Err(Failure::Store(_))), "the CHECK refuses it");
        assert_eq!(count_up(std::slice::from_ref(&book.store), 1, 1), [1]);
    });
}

#[test]
fn a_panic_inside_a_write_leaves_nothing_and_the_lane_usable() {
    on_each_engine(|book| {
        let broke = catch_unwind(AssertUnwindSafe(|| {
            book.store.write(|tx| {
                counters::next(tx, "invoice-2027")?;
                if true {
                    panic!("on purpose, in the middle of a write");
                }
                Ok::<(), Failure>(())
            })
        }));
        assert!(broke.is_err());
        assert_eq!(count_up(std::slice::from_ref(&book.store), 2, 2), [1, 2, 3, 4]);
        // The same for a reader: its connection does not come back with an open transaction.
        for _ in 0..8 {
            let broke = catch_unwind(AssertUnwindSafe(|| {
                book.store
                    .read(|_| if true { panic!("on purpose, in the middle of a read") } else { Ok::<(), Failure>(()) })
            }));
            assert!(broke.is_err());
        }
        assert_eq!(last(&book.store), 4);
    });
}

#[test]
fn a_read_keeps_its_snapshot_while_others_write_and_reads_may_nest() {
    on_each_engine(|book| {
        book.read(|c| {
            let before: i64 = customer::table.count().get_result(c)?;
            assert_eq!(before, 0);
            book.customer("Ines Halvard");
            let inside: i64 = customer::table.count().get_result(c)?;
            assert_eq!(inside, 0, "one read sees one state of the book");
            assert_eq!(customers(&book.store), 1, "a read begun later sees the newer one");
            Ok(())
        });
    });
}

#[test]
fn a_reader_cannot_write() {
    on_each_engine(|book| {
        let wrote = book.store.read(|c| {
            diesel::insert_into(counter::table).values((counter::name.eq("x"), counter::value.eq(1))).execute(c)?;
            Ok::<_, Failure>(())
        });
        assert!(matches!(wrote, Err(Failure::Store(_))));
        assert_eq!(count_up(std::slice::from_ref(&book.store), 1, 1), [1], "and the book still works");
    });
}

#[test]
fn the_last_share_goes_to_exactly_one_of_many_who_want_it_at_once() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Hog, 1, "5.25");
        let people: Vec<_> = (0..8).map(|n| book.customer(&format!("Customer {n}"))).collect();
        let (stores, doing) = ([book.store.clone(), book.beside()], book.doing());
        std::thread::scope(|scope| {
            for (n, who) in people.iter().enumerate() {
                let (store, doing) = (&stores[n % 2], &doing);
                scope.spawn(move || {
                    let input = TakeReservation {
                        who: Who::Known(*who),
                        offering,
                        size: Size::Whole,
                        part: None,
                        wishes: String::new(),
                        preferred_date: None,
                    };
                    store.write(|tx| take_reservation(tx, doing, &input)).unwrap();
                });
            }
        });
        book.read(|c| {
            let waiting = reservation::table.filter(reservation::waiting_since.is_not_null()).count();
            assert_eq!(waiting.get_result::<i64>(c)?, 7);
            let mut numbers: Vec<String> = reservation::table.select(reservation::number).load(c)?;
            numbers.sort();
            let wanted: Vec<String> = (1..=8).map(|n| gambrel::trade::number::Series::Order.number(2027, n)).collect();
            assert_eq!(numbers, wanted);
            Ok(())
        });
    });
}

#[test]
fn invoices_issued_at_once_by_two_programs_have_numbers_without_a_gap() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Hog, 6, "5.25");
        let date = book.date(book.plant(), "2027-10-14");
        let orders: Vec<_> = (0..6)
            .map(|n| {
                let animal = book.head(gambrel::trade::animal::Class::Barrow, &format!("4{n}"), date);
                let order = book.order(book.customer(&format!("Customer {n}")), offering, Size::Half);
                book.place(order, animal, Side::Left);
                // A head with an unsold side is weighed all the same.
                book.weigh(date, animal, "82.5", "80");
                (order, book.balance(order))
            })
            .collect();
        let (stores, doing) = ([book.store.clone(), book.beside()], book.doing());
        std::thread::scope(|scope| {
            for (n, order) in orders.iter().enumerate() {
                let (store, doing) = (&stores[n % 2], &doing);
                scope.spawn(move || {
                    // One more that is refused in between: it takes no number.
                    let wrong = [(order.0, order.1.plus(order.1).unwrap())];
                    assert!(store.write(|tx| issue_invoices(tx, doing, &wrong, false)).is_err());
                    store.write(|tx| issue_invoices(tx, doing, &[*order], false)).unwrap();
                });
            }
        });
        let mut numbers: Vec<String> = book.read(|c| {
            use gambrel::book::schema::invoice;
            Ok(invoice::table.select(invoice::number).load(c)?)
        });
        numbers.sort();
        let wanted: Vec<String> = (1..=6).map(|n| gambrel::trade::number::Series::Invoice.number(2027, n)).collect();
        assert_eq!(numbers, wanted);
    });
}

#[test]
fn an_issued_invoice_never_changes_and_a_credit_note_takes_it_back() {
    on_each_engine(|book: &TestBook| {
        let hog = book.hung_hog();
        let invoice = book.issue(hog.orders[0]);
        let before = book.read(|c| Ok(invoices::get(c, invoice)?.0));
        let paper = |book: &TestBook| {
            book.read(|c| {
                gambrel::actions::paper_again::paper_again(c, gambrel::trade::vocabulary::PaperKind::Invoice, invoice.0)
            })
        };
        let first = paper(book);
        book.pay(invoice, "100.00");
        book.try_weigh(hog.date, hog.animal, "90", "90").unwrap_err();
        book.act(|tx, doing| gambrel::actions::void_invoice::void_invoice(tx, doing, invoice, "wrong side", false));
        let after = book.read(|c| Ok(invoices::get(c, invoice)?.0));
        assert_eq!(format!("{before:?}"), format!("{after:?}"));
        assert_eq!(first, paper(book), "its paper can be made again, byte for byte");
    });
}
