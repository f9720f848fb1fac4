//! The pages of lists and tables.

use crate::support::{TestApp, TestBook};
use diesel::prelude::*;
use gambrel::actions::export_tables::{Table, whole};
use gambrel::book::schema::customer;

fn key(forms: Vec<crate::support::page::Form>) -> String {
    forms.iter().find(|f| f.post && f.action != "/sign-out").unwrap().value("form_key").to_string()
}

fn customers(book: &TestBook) -> i64 {
    book.read(|c| Ok(customer::table.count().get_result(c)?))
}

#[actix_web::test]
async fn the_pages_lead_from_settings_to_customers_in_the_book() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        app.get("/settings").await.expect(200).says("/import").says("/export");
        app.get("/import").await.expect(200).says("/import/reservations").says("No list was taken yet.");
        let empty = app.get("/import/customers/empty.csv").await.expect(200);
        assert_eq!(empty.header("content-type"), "text/csv; charset=utf-8");
        empty.says("Name,\"First name, where it stands apart\",Mail address,Phone");
        let url = "/import/customers";
        let first = key(app.get(url).await.expect(200).says("up to 5 MB and 10000 lines").forms());
        let upload = async |key: &str, text: &[u8]| app.upload(url, &[("form_key", key)], "file", text).await;
        upload(&first, b"").await.expect(422).says("The file is empty");
        upload(&first, b"PK\x03\x04").await.expect(422).says("This is a spreadsheet");
        upload(&first, b"Name\n").await.expect(422).says("Nothing stands below the headings");
        let page = upload(&first, b"Who;Where to\nInes Halvard;ines@halvard.example\nOle Bran;ole at bran\n")
            .await
            .expect(303);
        let columns = page.location().to_string();
        assert_eq!(upload(&first, b"Who\nx\n").await.expect(303).location(), columns, "sent twice, kept once");
        app.get(&columns).await.expect(200).says("Which column is which?").says("Ole Bran");
        app.submit(&columns, &[("name", ""), ("mail", "2")]).await.expect(422).says("Choose the column of “Name”");
        let page = app.submit(&columns, &[("name", "1"), ("mail", "2")]).await.expect(303);
        let look = page.location().to_string();
        app.get(&look)
            .await
            .expect(200)
            .says("“ole at bran” is not a mail address")
            .says("Send the corrected file")
            .says("Ines Halvard")
            .says_not("Take all of it");
        assert_eq!(customers(&book), 0);

        // The corrected file goes straight to its lines.
        let again = key(app.get(url).await.expect(200).forms());
        let good = b"Who;Where to\nInes Halvard;ines@halvard.example\nOle Bran;ole@bran.example\n";
        let page = upload(&again, good).await.expect(303);
        let look = page.location().to_string();
        assert!(look.ends_with("/look"), "{look}");
        app.get(&look).await.expect(200).says("two lines would be taken into the book, all together or none");
        assert_eq!(customers(&book), 0);
        let done = app.submit(&look, &[]).await.expect(303);
        assert_eq!(done.location(), "/import");
        app.follow(&done).await.expect(200).says("two lines taken into the book.").says("customers: 2 new");
        assert_eq!(customers(&book), 2);
        app.get(&look).await.expect(404);

        // The same file again says so, and offers nothing.
        let third = key(app.get(url).await.expect(200).forms());
        let page = upload(&third, good).await.expect(303);
        app.follow(&page)
            .await
            .expect(200)
            .says("The same file was taken on October 14, 2027, by Ada")
            .says("Nothing in it is new")
            .says("In the book already")
            .says_not("Take all of it");
    }
}

#[actix_web::test]
async fn a_book_that_changed_in_between_is_looked_at_again() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    let file = super::send(&book, gambrel::trade::import_file::Kind::Customers, "Name\nInes Halvard\nBo Aro\n");
    let look = format!("/import/customers/{file}/look");
    let shown = app.get(&look).await.expect(200);
    book.customer("Bo Aro");
    let body = shown.forms().iter().find(|f| f.action == look).unwrap().body(&[]);
    app.post(&look, body).await.expect(422).says("Something changed in between").says("In the book already");
    assert_eq!(customers(&book), 1);
    app.submit(&look, &[]).await.expect(303);
    assert_eq!(customers(&book), 2);
}

#[actix_web::test]
async fn tables_go_out_whole() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        book.issue(hog.orders[0]);
        let app = TestApp::signed_in(&book).await;
        let list = app.get("/export").await.expect(200);
        let today = book.now().today;
        for table in Table::ALL {
            let url = format!("/export/{table}.csv");
            list.says(&url);
            let page = app.get(&url).await.expect(200);
            assert_eq!(page.header("content-type"), "text/csv; charset=utf-8");
            assert!(page.header("content-disposition").starts_with("attachment; filename="), "{url}");
            assert_eq!(page.text(), book.read(|c| whole(c, *table, today)), "{url}");
        }
        let zip = app.get("/export/everything.zip").await.expect(200);
        assert_eq!(zip.header("content-type"), "application/zip");
        assert!(zip.bytes.starts_with(b"PK\x03\x04"));
        app.get("/export/passwords.csv").await.expect(404);
        app.get("/import/passwords").await.expect(404);
    }
}

/// Strangers send no file: the body is not read.
#[actix_web::test]
async fn only_the_farmer_sends_a_list() {
    let book = TestBook::sqlite();
    let app = TestApp::new(&book).await;
    let sent = app.upload("/import/customers", &[], "file", b"Name\nIt\n").await;
    assert!(sent.expect(303).location().starts_with("/sign-in"));
}
