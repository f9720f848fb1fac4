//! Reports: one file for each, all on the page of [`page`]. Figures come from `book::report` and the ledger, are reckoned in
//! `trade::report`, and lead to what they are made of.

use actix_web::web;
use page::Make;

pub mod animals;
pub mod costs;
pub mod customers;
pub mod deposits;
pub mod glance;
pub mod income;
pub mod orders;
pub mod page;
pub mod processor;
pub mod processors;
pub mod sales;
pub mod shares;
pub mod table;
pub mod tax_year;

/// A report.
pub struct Which {
    /// Its address.
    pub path: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Whether it is of years only.
    pub years_only: bool,
    /// Whether other reports lead to it; lists behind a figure are reached from the figure.
    pub is_listed: bool,
    /// What makes it.
    pub make: Make,
}

/// Every report.
pub const ALL: &[&Which] = &[
    &glance::REPORT,
    &income::REPORT,
    &deposits::REPORT,
    &sales::REPORT,
    &animals::REPORT,
    &processors::REPORT,
    &customers::REPORT,
    &tax_year::REPORT,
    &orders::REPORT,
    &shares::REPORT,
    &processor::REPORT,
    &costs::REPORT,
];

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/reports", web::get().to(glance::show));
    cfg.route("/reports.csv", web::get().to(glance::file));
    cfg.route("/reports/income", web::get().to(income::show));
    cfg.route("/reports/income.csv", web::get().to(income::file));
    cfg.route("/reports/deposits", web::get().to(deposits::show));
    cfg.route("/reports/deposits.csv", web::get().to(deposits::file));
    cfg.route("/reports/sales", web::get().to(sales::show));
    cfg.route("/reports/sales.csv", web::get().to(sales::file));
    cfg.route("/reports/shares", web::get().to(shares::show));
    cfg.route("/reports/shares.csv", web::get().to(shares::file));
    cfg.route("/reports/orders", web::get().to(orders::show));
    cfg.route("/reports/orders.csv", web::get().to(orders::file));
    cfg.route("/reports/animals", web::get().to(animals::show));
    cfg.route("/reports/animals.csv", web::get().to(animals::file));
    cfg.route("/reports/processors", web::get().to(processors::show));
    cfg.route("/reports/processors.csv", web::get().to(processors::file));
    cfg.route("/reports/processor", web::get().to(processor::show));
    cfg.route("/reports/processor.csv", web::get().to(processor::file));
    cfg.route("/reports/costs", web::get().to(costs::show));
    cfg.route("/reports/costs.csv", web::get().to(costs::file));
    cfg.route("/reports/customers", web::get().to(customers::show));
    cfg.route("/reports/customers.csv", web::get().to(customers::file));
    cfg.route("/reports/tax-year", web::get().to(tax_year::show));
    cfg.route("/reports/tax-year.csv", web::get().to(tax_year::file));
}
