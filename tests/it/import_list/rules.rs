//! Who is there already, which price is locked, what goes to the waiting list, what becomes of money.

use super::{is_well, send, sentences, shown, taken, tried};
use crate::support::farm::{day, usd};
use crate::support::on_each_engine;
use diesel::prelude::*;
use gambrel::actions::offer::{PriceIn, set_prices};
use gambrel::book::schema::{customer, payment, reservation};
use gambrel::book::{ledger, offerings, payments, reservations};
use gambrel::trade::import_file::Kind;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::PriceBasis;

#[test]
fn customers_are_known_by_mail_or_by_name_and_phone() {
    on_each_engine(|book| {
        let first = "Name,Mail,Phone\nInes Halvard,ines@halvard.example,715-555-0117\nOle Bran,,555-0142\nOle Bran,,555-0199\nSam Ek,,\n";
        assert_eq!(taken(book, Kind::Customers, first).len(), 4);
        let rows = taken(
            book,
            Kind::Customers,
            "Name,Mail,Phone\nHALVARD FAMILY,Ines@Halvard.example,\nines  hálvard,,\nOle Bran,,(555) 0142\nOle Bran,ole@bran.example,555-7777\nSam Ek,sam@ek.example,\nInes Halvard,other@halvard.example,+1 (715) 555-0117\n",
        );
        assert_eq!(
            rows,
            [
                "2 there: HALVARD FAMILY (The mail address is Ines Halvard’s. Nothing is changed.)",
                "3 there: Ines Halvard (Nothing is changed.)",
                "4 there: Ole Bran (Nothing is changed.)",
                "5 new: Ole Bran (ole@bran.example; 555-7777; Somebody of this name is there with another mail address or phone)",
                "6 there: Sam Ek (Nothing is changed.)",
                "7 there: Ines Halvard (Nothing is changed.)",
            ]
        );
        let file = send(book, Kind::Customers, "Name\nOle Bran\n");
        assert_eq!(
            sentences(&tried(book, Kind::Customers, file)),
            ["Line 2: 3 customers could be meant. Write the mail address or the phone of the one."]
        );
        // One list may hold a person twice.
        let rows = taken(book, Kind::Customers, "Name,Mail\nBo Aro,bo@aro.example\nBo Aro,bo@aro.example\n");
        assert_eq!(rows, ["2 new: Bo Aro (bo@aro.example)", "3 there: Bo Aro (Nothing is changed.)"]);
        let n: i64 = book.read(|c| Ok(customer::table.count().get_result(c)?));
        assert_eq!(n, 6);
    });
}

#[test]
fn reservations_lock_the_price_of_their_day_and_queue_in_order_of_it() {
    on_each_engine(|book| {
        let hogs = book.offering_from(gambrel::trade::share::Species::Hog, 1, "5.00", "2027-01-01");
        let later = PriceIn {
            size: Size::Half,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::parse("6.00").unwrap()),
            flat_price: None,
            deposit: usd("200.00"),
        };
        book.act(|tx, doing| set_prices(tx, doing, hogs, std::slice::from_ref(&later), day("2027-06-01")));
        let text = "Name,Share,Date,Price\nCy,half hog,6/2/2027,\nBo,half,5/31/2027,\nAda,half,6/1/2027,5.00\n";
        let rows = taken(book, Kind::Reservations, text);
        assert_eq!(
            rows,
            [
                "2 new: Half hog, Fall 2027, for Cy (Taken June 2, 2027; a new customer; on the waiting list)",
                "3 new: Half hog, Fall 2027, for Bo (Taken May 31, 2027; a new customer)",
                "4 new: Half hog, Fall 2027, for Ada (Taken June 1, 2027; a new customer)",
            ]
        );
        let stored: Vec<(String, Option<Rate>, Money, chrono::NaiveDate, bool)> = book.read(|c| {
            Ok(reservation::table
                .inner_join(customer::table)
                .order(reservation::taken_at)
                .select((
                    customer::name,
                    reservation::rate,
                    reservation::deposit_asked,
                    reservation::price_locked_on,
                    reservation::waiting_since.is_not_null(),
                ))
                .load(c)?)
        });
        let rate = |r: &str| Some(Rate::parse(r).unwrap());
        assert_eq!(
            stored,
            [
                ("Bo".to_string(), rate("5.00"), usd("150.00"), day("2027-05-31"), false),
                ("Ada".to_string(), rate("5.00"), usd("150.00"), day("2027-06-01"), false),
                ("Cy".to_string(), rate("6.00"), usd("200.00"), day("2027-06-02"), true),
            ]
        );
        assert_eq!(book.read(|c| Ok(offerings::taken(c, &[hogs])?))[&hogs].waiting, 1);
        is_well(book);
        let file = send(book, Kind::Reservations, "Name,Share,Date,Price\nDi,half,6/2/2027,4.75\n");
        assert_eq!(
            sentences(&tried(book, Kind::Reservations, file)),
            [
                "Line 2: The price list never had $4.75 for a half up to June 2, 2027. Correct the price, or set it from that day or before on the offering’s page first."
            ]
        );
        // As many as the book has of one customer and share are there; the next one is new.
        let rows = taken(book, Kind::Reservations, "Name,Share,Date\nBo,half,5/31/2027\nBo,half,6/3/2027\n");
        assert_eq!(
            rows,
            [
                "2 there: Half hog, Fall 2027, for Bo (Nothing is changed.)",
                "3 new: Half hog, Fall 2027, for Bo (Taken June 3, 2027; on the waiting list)",
            ]
        );
        // Two offerings of one species and season are told apart by their quarters, or by which of them sells the share.
        book.offering(gambrel::trade::share::Species::Beef, 5, "4.00");
        book.quarters_apart();
        let file = send(book, Kind::Reservations, "Name,Share\nHa,half beef\n");
        assert_eq!(
            sentences(&tried(book, Kind::Reservations, file)),
            [
                "Line 2: Several offerings fit this line: beef Fall 2027 (split side: half of every cut); beef Fall 2027 (forequarter and hindquarter). Write species, season and quarters as they stand under For sale."
            ]
        );
        let rows = taken(
            book,
            Kind::Reservations,
            "Name,Share,Quarters\nHa,half beef,split\nIo,forequarter beef,\nJo,1/4 beef,\n",
        );
        assert_eq!(
            rows,
            [
                "2 new: Half beef, Fall 2027, for Ha (Taken October 14, 2027; a new customer)",
                "3 new: Forequarter beef, Fall 2027, for Io (Taken October 14, 2027; a new customer)",
                "4 new: Quarter beef, Fall 2027, for Jo (Taken October 14, 2027; a new customer)",
            ]
        );
        let file = send(book, Kind::Reservations, "Name,Share,Quarters\nHa,forequarter beef,split\n");
        assert_eq!(
            sentences(&tried(book, Kind::Reservations, file)),
            [
                "Line 2: This offering divides quarters evenly and sells no forequarter or hindquarter. Write “quarter”, or the other offering."
            ]
        );
        // A list that says so waits although there is room, and what is cancelled is left out.
        book.offering(gambrel::trade::share::Species::Goat, 5, "7.00");
        let rows = taken(
            book,
            Kind::Reservations,
            "Name,Share,Waiting,Cancelled\nEd,half goat,yes,\nFi,whole goat,,2027-05-01\nGo,half goat,no,no\n",
        );
        assert!(rows[0].contains("on the waiting list") && !rows[2].contains("waiting"), "{rows:?}");
        assert_eq!(rows[1], "3 left_out: A whole for Fi (It is cancelled.)");
        is_well(book);
    });
}

#[test]
fn money_goes_where_the_line_says_and_the_ledger_holds() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let invoice = book.issue(hog.orders[0]);
        let (order, who, _) = book.read(|c| Ok(reservations::get(c, hog.orders[1])?));
        let (bill, payer, _) = book.read(|c| Ok(gambrel::book::invoices::get(c, invoice)?));
        let text = format!(
            "Name,Mail,Amount,Date,Method,Ref,Order no,Invoice no\n{0},{1},75.00,10/1/2027,Check,77,{2},\n{3},{4},20.00,10/2/2027,cash,,,{5}\n{3},{4},\"1,200\",10/3/2027,ACH,,,\n",
            who.name,
            who.mail,
            order.number.to_lowercase(),
            payer.name,
            payer.mail,
            bill.number
        );
        let rows = taken(book, Kind::Payments, &text);
        assert_eq!(
            rows,
            [
                format!(
                    "2 new: $75.00 from {} (Check on October 1, 2027; deposit on order {})",
                    who.name, order.number
                ),
                format!("3 new: $20.00 from {} (Cash on October 2, 2027; invoice {})", payer.name, bill.number),
                format!("4 new: $1,200.00 from {} (Bank transfer on October 3, 2027; stands as credit)", payer.name),
            ]
        );
        is_well(book);
        assert_eq!(book.read(|c| Ok(payments::credit(c, payer.id)?)), usd("1200.00"));
        let entries = book.read(|c| Ok(ledger::read::all(c, day("2027-10-14"))?.len()));
        assert!(entries >= 3);
        // The same again, and one more of the same sum.
        let rows = taken(
            book,
            Kind::Payments,
            &format!("{text}{},{},20.00,10/2/2027,cash,,,{}\n", payer.name, payer.mail, bill.number),
        );
        assert_eq!(rows.iter().filter(|r| r.contains(" there: ")).count(), 3);
        assert!(rows[3].starts_with("5 new: $20.00"), "{rows:?}");
        is_well(book);
        let file = send(
            book,
            Kind::Payments,
            &format!(
                "Name,Mail,Amount,Date,Order no,Invoice no,Received or given back\nNobody,,5,10/1/2027,,,\n{0},{1},5,10/1/2027,2027-999,,\n{2},{3},5,10/1/2027,,{4},\n{0},{1},99999,10/1/2027,,{4},\n{0},{1},5,10/1/2027,,,given back\n{0},{1},5,10/15/2027,,,\n",
                payer.name, payer.mail, who.name, who.mail, bill.number
            ),
        );
        let before: i64 = book.read(|c| Ok(payment::table.count().get_result(c)?));
        let seen = tried(book, Kind::Payments, file);
        let says = sentences(&seen);
        assert_eq!(says[0], "Line 2: Nobody in the book is “Nobody”. Take the list of customers first, or correct it.");
        assert_eq!(
            says[1],
            "Line 3: The book has no order 2027-999. Correct the number, or leave it out: then the money stands as credit."
        );
        assert_eq!(
            says[2],
            format!("Line 4: The invoice {} is of another customer. Correct one of them.", bill.number)
        );
        assert!(says[3].starts_with("Line 5: Only $") && says[3].ends_with('.'), "{says:?}");
        assert_eq!(says[4], "Line 7: That day is still to come. Write the day the money came in.");
        assert_eq!(
            shown(&seen),
            [format!("6 left_out: $5.00 from {} (It was given back: record it on the customer’s page.)", payer.name)]
        );
        let after: i64 = book.read(|c| Ok(payment::table.count().get_result(c)?));
        assert_eq!(before, after);
    });
}

#[test]
fn lines_of_one_species_and_season_are_one_offering() {
    on_each_engine(|book| {
        let text = "Species,Season,Head,Share,Price,Deposit,Low,High,Price holds from,Price by\nbeef,Fall 2027,8,half,4.25,400,650,800,2027-01-01,\nBeef, fall  2027,,quarter,4.45,200,,,2027-01-01,\nbeef,Fall 2027,,half,4.50,400,,,2027-06-01,\nhog,Fall 2027,6,\"whole, half\",790,100,,,2027-01-01,fixed price\n";
        let rows = taken(book, Kind::Offerings, text);
        assert_eq!(
            rows,
            [
                "2 new: beef Fall 2027, half (A new offering; $4.25 per lb of hanging weight from January 1, 2027, deposit $400.00)",
                "3 new: beef fall 2027, quarter ($4.45 per lb of hanging weight from January 1, 2027, deposit $200.00)",
                "4 new: beef Fall 2027, half ($4.50 per lb of hanging weight from June 1, 2027, deposit $400.00)",
                "5 new: hog Fall 2027, whole and half (A new offering; $790.00 for the share from January 1, 2027, deposit $100.00)",
            ]
        );
        let open = book.read(|c| Ok(offerings::open(c)?));
        assert_eq!(open.len(), 2);
        let beef = open.iter().find(|o| o.season == "Fall 2027" && o.head_count == 8).unwrap();
        assert_eq!((beef.sells_whole, beef.sells_half, beef.sells_quarter), (false, true, true));
        assert_eq!(beef.expected_high.map(|w| w.plain()), Some("800.00".into()));
        let of_day = |day_: &str| {
            let id = beef.id;
            book.read(|c| Ok(offerings::price_on(c, id, Size::Half, day(day_))?)).unwrap().rate.unwrap().shown()
        };
        assert_eq!([of_day("2027-05-31"), of_day("2027-06-01")], ["4.25", "4.50"]);
        // A new price of what is there, and the rest is there already.
        let rows = taken(book, Kind::Offerings, &format!("{text}beef,Fall 2027,,quarter,4.60,200,,,2027-07-01,\n"));
        assert_eq!(rows.iter().filter(|r| r.contains(" there: ")).count(), 4, "{rows:?}");
        assert!(rows[4].starts_with("6 new: beef Fall 2027, quarter ($4.60"), "{rows:?}");
        assert_eq!(book.read(|c| Ok(offerings::open(c)?)).len(), 2);
        for (line, says) in [
            (
                "lamb,Fall,,half,8,\n",
                "Line 2: The head for sale is missing. Write how many there are in the first line of an offering.",
            ),
            (
                "lamb,Fall,4,half,8,\nlamb,Fall,5,whole,8,\n",
                "Line 3: 5 head stand here, and 4 in an earlier line of this offering. Correct one of them.",
            ),
            (
                "hog,Fall 2027,,quarter,5,\n",
                "Line 2: This offering does not sell a quarter. Change it on its page first.",
            ),
        ] {
            let file = send(book, Kind::Offerings, &format!("Species,Season,Head,Share,Price,Deposit\n{line}"));
            assert_eq!(sentences(&tried(book, Kind::Offerings, file)), [says]);
        }
    });
}

#[test]
fn animals_with_a_live_tag_are_there_and_the_dead_stay_out() {
    on_each_engine(|book| {
        let text = "Tag,Class,Born,Sex,Lost\n229,steer,4/12/2026,,\n229,barrow,Apr 2027,,\n41,kid,,f,\n7,cow,,,died\n229,Steer,,,\n";
        assert_eq!(
            taken(book, Kind::Animals, text),
            [
                "2 new: Steer 229 (castrated male; born April 12, 2026)",
                "3 new: Barrow 229 (castrated male; born April 2027)",
                "4 new: Kid 41 (female)",
                "5 left_out: Cow 7 (It is lost or weighed in.)",
                "6 there: Steer 229 (A live head has this tag. Nothing is changed.)",
            ]
        );
        let file = send(book, Kind::Animals, "Tag,Class,Born,Official ID\n1,steer,2028-01-01,12\n");
        let says = sentences(&tried(book, Kind::Animals, file));
        assert!(
            says[0].starts_with(
                "Line 2: The birth date is in the future. Correct it. This has none of the official forms"
            ),
            "{says:?}"
        );
        is_well(book);
    });
}
