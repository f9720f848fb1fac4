//! The lines of Today: what is due in words, each with the one button that does it.

use super::{pickup, plants, sheets};
use crate::actions::pickup_waiting::Waiting;
use crate::actions::plant_offer::Unfit;
use crate::book::at::Now;
use crate::book::today::{Begun, Due, Few, Overdue};
use crate::trade::dates::{long, near, short};
use crate::trade::terms::days_late;
use crate::web::farm::orders::words;
use crate::web::look::capital;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::words::{count, counted, left_to};
use crate::web::permission::helper_may;

/// The section of what is late.
pub(super) const LATE: &str = "late";
/// The section of a new farm's first steps.
pub(super) const STEPS: &str = "steps";

/// What a line's button does.
pub(super) enum Act {
    /// Leads to a page.
    Go(Link),
    /// Sends a form.
    Send(Link),
    /// There is none: this line only says how many more there are.
    None,
}

/// One line.
pub(super) struct Line {
    pub(super) when: Standing,
    pub(super) what: Link,
    pub(super) why: String,
    pub(super) act: Act,
}

/// Lines under one heading.
pub(super) struct Section {
    pub(super) id: &'static str,
    pub(super) heading: &'static str,
    pub(super) lines: Vec<Line>,
    /// How many things these are, those that are not shown too.
    pub(super) all: usize,
}

impl Section {
    const fn new(id: &'static str, heading: &'static str) -> Self {
        Self { id, heading, lines: Vec::new(), all: 0 }
    }
    fn line(&mut self, when: Standing, what: Link, why: impl Into<String>, act: Act) {
        self.lines.push(Line { when, what, why: why.into(), act });
        self.all += 1;
    }
    /// Lines made elsewhere.
    fn more(&mut self, lines: Vec<Line>) {
        self.all += lines.len();
        self.lines.extend(lines);
    }
    /// Each of a few as a line, and one line for those that are not shown.
    fn each<T>(&mut self, few: &Few<T>, rest: (&str, &str, &str), line: impl Fn(&T) -> Line) {
        self.lines.extend(few.first.iter().map(line));
        self.all += few.all;
        if few.more() > 0 {
            let words =
                format!("And {}", counted(few.more(), &format!("more {}", rest.1), &format!("more {}", rest.2)));
            self.lines.push(Line {
                when: Standing::plain(""),
                what: Link::new(rest.0, words),
                why: String::new(),
                act: Act::None,
            });
        }
    }
}

/// The lines a helper may act on; those that say an amount are not among them.
pub(super) fn for_helper(mut sections: Vec<Section>) -> Vec<Section> {
    for s in &mut sections {
        s.lines.retain(|l| {
            let leads = match &l.act {
                Act::Go(to) | Act::Send(to) => helper_may(&to.href),
                Act::None => true,
            };
            leads && helper_may(&l.what.href) && !l.what.words.contains('$') && !l.why.contains('$')
        });
        s.all = s.lines.len();
    }
    sections.retain(|s| !s.lines.is_empty());
    sections
}

fn go(href: impl Into<String>, words: impl Into<String>) -> Act {
    Act::Go(Link::new(href, words))
}

/// All that is due, in order; `unfit` are the cut sheets that do not fit their processors, `ready` is the meat that waits to be
/// collected, `copies` is how the copies of the book stand when the last one is too old.
pub(super) fn sections(
    due: &Due,
    unfit: &[Unfit],
    ready: &[Waiting],
    copies: Option<Standing>,
    now: Now,
) -> Vec<Section> {
    let mut first = late(due, now);
    first.more(pickup::late(ready, now));
    if let Some(old) = copies {
        let what = Link::new("/settings/backups", old.words);
        let why = "If this machine breaks, what was entered since is lost. Find out why no copy was made.";
        first.line(Standing::late("Copies"), what, why, go("/settings/backups", "Make a copy now"));
    }
    let mut second = today(due, now);
    second.more(pickup::today(ready, now));
    let mut all = vec![first, second, soon(due, unfit, now), steps(due.begun)];
    all.retain(|s| !s.lines.is_empty());
    all
}

fn late(due: &Due, now: Now) -> Section {
    let today = now.today;
    let mut section = Section::new(LATE, "Late");
    section.each(&due.withdrawal, ("/animals?standing=on_date", "head", "head"), |h| {
        let until = h.earliest.map_or_else(
            || "The end of the period cannot be reckoned; put the treatment right".to_string(),
            |day| format!("The earliest day is {}", long(day, today)),
        );
        let href = format!("/animals/{}", h.animal);
        Line {
            when: Standing::late("Withdrawal"),
            what: Link::new(href.clone(), format!("{} must not be killed on {}", h.name, short(h.kill_on, today))),
            why: format!("It is inside a withdrawal period then. {until}. Ask your veterinarian when in doubt."),
            act: go(format!("{href}/date"), format!("Move {} to another date", h.name)),
        }
    });
    section.each(&due.overdue, ("/orders?standing=overdue", "balance past its day", "balances past their day"), |o| {
        overdue(o, now)
    });
    section.each(&due.failed, ("/outbox?show=failed", "message that came back", "messages that came back"), |m| Line {
        when: Standing::late("Came back"),
        what: Link::new(format!("/outbox/{}", m.id), format!("“{}” did not reach {}", m.subject, m.to_name)),
        why: m.last_error.clone().unwrap_or_default(),
        act: go(format!("/outbox/{}", m.id), format!("Open the message to {}", m.to_name)),
    });
    section
}

fn overdue(o: &Overdue, now: Now) -> Line {
    let today = now.today;
    let days = days_late(Some(o.due_on), today);
    let href = format!("/invoices/{}", o.invoice);
    let (reminded, act) = match o.reminded {
        None => (String::new(), Act::Send(Link::new(format!("{href}/remind"), format!("Remind {}", o.name)))),
        Some((n, at)) => {
            let on = at.day(now.zone);
            let words = match n {
                1 => format!(" One reminder, written {}.", short(on, today)),
                n => format!(" {} reminders, the last written {}.", count(n), short(on, today)),
            };
            // Nobody is reminded twice a day by mistake.
            let act = if on == today {
                go(format!("/payments/new?invoice={}", o.invoice), format!("Record a payment of {}", o.name))
            } else {
                Act::Send(Link::new(format!("{href}/remind"), format!("Remind {} again", o.name)))
            };
            (words, act)
        }
    };
    Line {
        when: Standing::late(format!("{days} day{} late", if days == 1 { "" } else { "s" })),
        what: Link::new(href, format!("{} owes {}", o.name, o.owed.dollars())),
        why: format!("Invoice {}, due {}.{reminded}", o.number, long(o.due_on, today)),
        act,
    }
}

fn today(due: &Due, now: Now) -> Section {
    let today = now.today;
    let mut section = Section::new("now", "Today");
    section.each(&due.untold, ("/animals?standing=lost", "lost animal", "lost animals"), |u| Line {
        when: Standing::todo("To tell"),
        what: Link::new(
            format!("/animals/{}", u.animal),
            format!("{} was lost and {} no place", u.name, counted(u.owners, "owner has", "owners have")),
        ),
        why: "Nothing is billed. Each of them needs a word and another place.".into(),
        act: go(format!("/animals/{}", u.animal), format!("See whom to tell of {}", u.name)),
    });
    section.each(&due.entered, ("/dates", "date with entries", "dates with entries"), |d| plants::entered(d, now));
    section.each(&due.unweighed, ("/dates", "date without weights", "dates without weights"), |d| {
        let n = usize::try_from(d.count).unwrap_or(0);
        let since = if d.kill_on == today { "Today".into() } else { format!("Since {}", near(d.kill_on, today)) };
        Line {
            when: Standing::todo(since),
            what: Link::new(
                format!("/dates/{}", d.date),
                format!("Weights of {} to enter", counted(n, "head", "head")),
            ),
            why: format!("{}, slaughter on {}.", d.processor, long(d.kill_on, today)),
            act: go(format!("/dates/{}/weigh-in", d.date), format!("Enter the weights of {}", short(d.kill_on, today))),
        }
    });
    section.each(&due.to_invoice, ("/orders?standing=to_invoice", "date to invoice", "dates to invoice"), |d| {
        let n = usize::try_from(d.count).unwrap_or(0);
        Line {
            when: Standing::todo("Weighed"),
            what: Link::new(
                format!("/dates/{}", d.date),
                format!("{} to issue", capital(&counted(n, "invoice", "invoices"))),
            ),
            why: format!("{}, slaughter on {}.", d.processor, long(d.kill_on, today)),
            act: go(
                format!("/dates/{}/invoices", d.date),
                format!("Look over the invoices of {}", short(d.kill_on, today)),
            ),
        }
    });
    section.each(&due.deposits, ("/orders?standing=deposit_due", "deposit", "deposits"), |((r, who, o), missing)| {
        Line {
            when: Standing::todo(format!("Since {}", short(r.taken_at.day(now.zone), today))),
            what: Link::new(format!("/orders/{}", r.id), format!("{} deposit from {}", missing.dollars(), who.name)),
            why: format!("{}, order {}.", words::share(r, o), r.number),
            act: go(format!("/orders/{}/deposit", r.id), format!("Record the deposit of {}", who.name)),
        }
    });
    section.each(&due.credits, ("/money", "customer with credit", "customers with credit"), |(id, name, amount)| {
        Line {
            when: Standing::todo("Owed back"),
            what: Link::new(format!("/customers/{id}"), format!("{name} has {} of credit", amount.dollars())),
            why: "Put it to an invoice, or give it back.".into(),
            act: go(format!("/customers/{id}/credit"), format!("Settle with {name}")),
        }
    });
    if due.bank_lines > 0 {
        let waits = format!("{} of the bank to settle", capital(&counted(due.bank_lines, "line", "lines")));
        let what = Link::new("/money/bank", waits);
        let why = "Say what each is; most have a suggestion with its reason.";
        section.line(Standing::todo("Bank"), what, why, go("/money/bank", "Go through the bank’s lines"));
    }
    if due.not_matched.1 > 0 {
        let what = Link::new("/money/not-matched", format!("{} is not yet matched", due.not_matched.0.dollars()));
        let why = "Find out whose it is, or give it back.";
        section.line(Standing::todo("Whose?"), what, why, go("/money/not-matched", "Match the money"));
    }
    section.each(&due.room, ("/orders?standing=waiting", "person who can move up", "people who can move up"), |w| {
        Line {
            when: Standing::todo(format!("{} in line", capital(&words::ordinal(w.in_line)))),
            what: Link::new(format!("/orders/{}", w.reservation), format!("There is room for {}", w.name)),
            why: format!("Waits for a {}, {}.", words::kind(w.size, w.part, w.species), w.season),
            act: go(format!("/orders/{}/move-up", w.reservation), format!("Move {} up", w.name)),
        }
    });
    section.each(&due.requests, ("/requests", "request", "requests"), |(r, o)| Line {
        when: Standing::todo(format!("Since {}", short(r.asked_at.day(now.zone), today))),
        what: Link::new(
            format!("/requests/{}", r.id),
            format!("{} asks for a {}", r.name, words::kind(r.size, r.part, o.species)),
        ),
        why: format!("{}. Accept it or decline it; they are told by mail.", o.season),
        act: go(format!("/requests/{}", r.id), format!("Answer the request of {}", r.name)),
    });
    section.each(&due.to_cancel, ("/orders", "wish to cancel", "wishes to cancel"), |(asked, name)| {
        let href = format!("/orders/{}/cancel", asked.reservation_id);
        Line {
            when: Standing::todo("To answer"),
            what: Link::new(href.clone(), format!("{name} asks to cancel an order")),
            why: format!("“{}” Cancel it, or say why it stays; the customer is told.", asked.reason),
            act: go(href, format!("Answer {name}")),
        }
    });
    section.each(&due.asked, ("/dates", "late wish", "late wishes"), sheets::asked);
    section.each(&due.offers, ("/for-sale/left", "open offer", "open offers"), |offer| Line {
        when: Standing::wait(left_to(offer.answer_by, today)),
        what: Link::new(
            format!("/orders/{}", offer.reservation),
            format!("A {} is held for {}", words::kind(offer.size, offer.part, offer.species), offer.name),
        ),
        why: format!(
            "{}. Without an answer by {} it goes to the next in line.",
            offer.season,
            near(offer.answer_by, today)
        ),
        act: go("/for-sale/left", format!("Record the answer of {}", offer.name)),
    });
    if due.by_hand > 0 {
        section.line(
            Standing::todo("To hand over"),
            Link::new(
                "/outbox?show=waiting",
                format!("{} for you to send", capital(&counted(due.by_hand, "message", "messages"))),
            ),
            "Text messages, letters, and mail when no mail server is set, wait for your hand.",
            go("/outbox?show=waiting", "Open the Outbox"),
        );
    }
    section
}

fn soon(due: &Due, unfit: &[Unfit], now: Now) -> Section {
    let mut section = Section::new("soon", "Before the next dates");
    if due.to_place > 0 {
        section.line(
            Standing::todo("To place"),
            Link::new(
                "/plan",
                format!("{} for a place", capital(&counted(due.to_place, "share waits", "shares wait"))),
            ),
            "Head of their species have a coming date. The plan says which share best goes where, and why.",
            go("/plan", "Look at the plan"),
        );
    }
    section.each(&due.unacknowledged, ("/dates", "packet", "packets"), |u| plants::unacknowledged(u, now));
    section.each(&due.free, ("/dates", "date with free quarters", "dates with free quarters"), |d| {
        let n = usize::try_from(d.count).unwrap_or(0);
        let verb = if n == 1 { "is" } else { "are" };
        Line {
            when: Standing::todo(format!("By {}", near(d.kill_on, now.today))),
            what: Link::new(
                format!("/dates/{}", d.date),
                format!("{} {verb} free at {}", capital(&counted(n, "quarter", "quarters")), d.processor),
            ),
            why: "This plant is custom-exempt: every quarter must have an owner before slaughter. Ask your state’s meat inspection program when unsure.".into(),
            act: go(format!("/dates/{}/shares", d.date), format!("Give out the quarters of {}", short(d.kill_on, now.today))),
        }
    });
    section.more(sheets::ahead(&due.sheets, unfit, now.today));
    section
}

fn steps(begun: Begun) -> Section {
    let mut section = Section::new(STEPS, "First steps");
    let steps = [
        (
            begun.offering,
            "/for-sale/new",
            "Say what you sell",
            "Species, season, how many head, and the price of each share.",
            "Put animals up for sale",
        ),
        (
            begun.processor,
            "/processors/new",
            "Write down your processor",
            "Its inspection, and what it charges for; that is how invoices say what customers pay there.",
            "Add a processor",
        ),
        (
            begun.date,
            "/dates/new",
            "Book a processing date",
            "The day of slaughter and how many head go.",
            "Book a date",
        ),
        (
            begun.animal,
            "/animals/new",
            "Enter your animals",
            "By tag; weights and treatments can follow.",
            "Add an animal",
        ),
        (
            begun.order,
            "/orders/new",
            "Take the first reservation",
            "For a customer, with the price and the deposit locked in.",
            "Take a reservation",
        ),
    ];
    for (_, href, what, why, act) in steps.into_iter().filter(|s| !s.0) {
        let when = if section.lines.is_empty() { Standing::todo("Next") } else { Standing::plain("Then") };
        section.line(when, Link::new(href, what), why, go(href, act));
    }
    section
}
