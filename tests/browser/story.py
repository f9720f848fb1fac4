"""The story of the walk: an empty book, a half hog sold, weighed, invoiced, sent and paid, with its sums asserted."""

from __future__ import annotations

import re
from datetime import datetime
from email import message_from_bytes, policy
from pathlib import Path
from zoneinfo import ZoneInfo

import sums
from pages import Walker, row_amount
from service import Service

FARMER, MAIL, PASSWORD = "Ada Moen", "ada@nettlebend.example", "a few words in a row"
ZONE = "America/Chicago"
CUSTOMER, CUSTOMER_MAIL = "Łucja Núñez", "lucja.nunez@mail.example"
TAG, PLANT = "H-14", "Pell Road Meats"
SEASON = "Autumn 2026"


def today() -> str:
    """The farm's day as a date field takes it; head booked for today can be weighed today."""
    return datetime.now(ZoneInfo(ZONE)).date().isoformat()


def make_account(w: Walker, service: Service) -> None:
    w.open(service.link)
    w.look("make-account")
    w.fill("Your name", FARMER)
    w.fill("Mail address", MAIL)
    w.fill("Password", PASSWORD)
    w.button("Make the account")


def set_up(w: Walker) -> None:
    w.look("set-up-farm")
    w.says("page 1 of 4")
    w.fill("Farm name", "Nettle Bend Farm")
    w.fill("Who answers", FARMER)
    w.fill("Address", "412 Nettle Bend Road\nHarlow Mills, WI 54000")
    w.fill("Phone", "715-555-0134")
    w.fill("Mail address", "farm@nettlebend.example")
    w.button("Save and go on")
    w.look("set-up-ways")
    w.says("page 2 of 4")
    w.choose("Time zone", re.compile("Chicago"))
    w.button("Save and go on")
    w.look("set-up-payment")
    w.says("page 3 of 4")
    w.fill("Checks are made out to", "Nettle Bend Farm")
    w.fill("Any other words", "Cash at pickup is fine.")
    w.button("Save and go on")
    w.look("set-up-terms")
    w.says("page 4 of 4")
    w.pick("a number of days after the invoice")
    w.fill("Days after the invoice", "14")
    w.pick("Each side as it was weighed")
    w.fill("Deposit policy", "Given back until the animal is at the plant.")
    w.button("Save and go on")
    w.look("today-empty")


def put_up_for_sale(w: Walker) -> None:
    w.nav("For sale")
    w.look("for-sale-empty")
    w.link("Put animals up for sale")
    w.pick("hog")
    w.fill("Season", SEASON)
    w.fill("Head for sale", "4")
    w.tick("whole")
    w.tick("half")
    w.fill("From", "150", w.group("Expected hanging weight"))
    w.fill("To", "190", w.group("Expected hanging weight"))
    for share, price, deposit in (("whole", "5.00", "300.00"), ("half", str(sums.PRICE), str(sums.DEPOSIT))):
        w.fill("Price", price, w.group(share))
        w.fill("Deposit", deposit, w.group(share))
    w.look("for-sale-form")
    w.button("Save")
    w.look("offering")
    w.says(f"${sums.PRICE}", f"{sums.DEPOSIT}")


def add_processor(w: Walker) -> None:
    w.nav("Settings")
    w.look("settings")
    w.link("Processors and their charges")
    w.look("processors-empty")
    w.link("Add a processor")
    w.fill("Name", PLANT)
    w.pick("State-inspected")
    w.fill("Address", "9 Tannery Lane\nHarlow Mills, WI 54000")
    w.fill("Phone", "715-555-0142")
    w.fill("Days’ notice it wants", "10")
    w.look("processor-form")
    w.button("Save the processor")
    w.look("processor-new")
    w.link("Add a charge")
    w.fill("Charge", "Kill fee")
    w.pick("per head")
    w.fill("Rate", str(sums.KILL_FEE))
    w.pick("billed by the farm")
    w.look("charge-form")
    w.button("Save and add another")
    w.fill("Charge", "Cut and wrap")
    w.pick("Per lb of hanging weight")
    w.fill("Rate", str(sums.CUT_AND_WRAP))
    w.pick("paid to the processor")
    w.button("Save the charge")
    w.look("processor")
    w.says("Kill fee", "Cut and wrap")


def book_date(w: Walker) -> None:
    w.nav("Dates")
    w.look("dates-empty")
    w.link("Book a date")
    w.choose("Processor", PLANT)
    w.fill("Day of slaughter", today())
    w.fill("Hog", "4")
    w.look("date-form")
    w.button("Book the date")
    w.look("date-empty")


def enter_animal(w: Walker) -> None:
    w.nav("Animals")
    w.look("animals-empty")
    w.link("Enter an animal")
    w.choose("Class", re.compile("hog|barrow", re.IGNORECASE))
    w.fill("Tag", TAG)
    w.fill("Born", "April 2026")
    w.look("animal-form")
    w.button("Save the animal")
    w.look("animal-new")
    w.link("Put it on a date")
    w.choose("Processing date", re.compile(PLANT))
    w.look("animal-to-date")
    w.button("Save its date")
    w.look("animal-on-date")


def sell(w: Walker) -> None:
    w.nav("Orders")
    w.look("orders-empty")
    w.link("Take a reservation")
    half = w.page.get_by_role("radio", name=re.compile(f"Half hog, {SEASON}.*{re.escape(str(sums.PRICE))}", re.DOTALL))
    w.faults.check(half.count() == 1, w.where(), f"no choice says “Half hog, {SEASON}”: {w.text()[:400]!r}")
    w.pick(re.compile(re.escape(str(sums.PRICE))))
    w.fill("Name", CUSTOMER)
    w.fill("Mail address", CUSTOMER_MAIL)
    w.fill("Phone", "715-555-0177")
    w.fill("Address", "77 Orchard Street\nHarlow Mills, WI 54000")
    w.fill("Wishes in words", "Thick chops, please.")
    w.look("reservation-form")
    w.button("Take the reservation")
    w.look("order-new")
    w.says(CUSTOMER, "Price and deposit are locked", f"${sums.DEPOSIT} of the deposit of ${sums.DEPOSIT} is still to come", "Deposit due")


def take_deposit(w: Walker) -> None:
    w.link("Record the deposit")
    w.pick("Check")
    w.fill("Amount", str(sums.DEPOSIT))
    w.fill("Check number or reference", "1042")
    w.look("deposit-form")
    w.button("Record the deposit")
    w.look("order-deposit-in")
    w.says("The deposit is in", "Animal to assign")
    w.faults.same(w.where(), "deposit received", row_amount(w, "Deposit received"), sums.DEPOSIT)
    w.pdf(re.compile("^Receipt R-"))


def place(w: Walker) -> None:
    w.link("Choose its animal")
    w.choose("Place", re.compile(TAG))
    w.look("place-form")
    w.button("Save the place")
    w.look("order-placed")
    w.says("On an animal", "left side")
    w.link(re.compile(TAG))
    w.look("animal-owned")
    w.says(CUSTOMER)


def weigh_in(w: Walker) -> None:
    w.nav("Dates")
    w.look("dates")
    w.press(w.page.locator("main").get_by_role("rowheader").get_by_role("link").first)
    w.look("date-to-weigh")
    w.link(re.compile("weigh-in|weights", re.IGNORECASE))
    w.pick("Hot")
    w.fill("Left", str(sums.LEFT))
    w.fill("Right", str(sums.RIGHT))
    w.fill("Carcass no.", "318")
    w.look("weigh-in-form")
    w.button("Save the weights")
    w.look("date-weighed")
    w.says("162.50")


def issue(w: Walker) -> None:
    w.link(re.compile("invoice", re.IGNORECASE))
    w.look("invoice-preview")
    w.says("82.50", "5.25", "433.13", "47.50")
    w.faults.same(w.where(), "share", row_amount(w, "Half hog"), sums.SHARE)
    w.faults.same(w.where(), "kill fee", row_amount(w, "Kill fee"), sums.KILL_PART)
    w.faults.same(w.where(), "deposit taken off", row_amount(w, "Less deposit"), -sums.DEPOSIT)
    w.faults.same(w.where(), "balance", row_amount(w, "Balance due"), sums.BALANCE)
    w.faults.same(w.where(), "paid to the plant", row_amount(w, "Paid by the customer to"), sums.PLANT_TOTAL)
    w.faults.same(w.where(), "all in", row_amount(w, "All in"), sums.ALL_IN)
    w.says(f"Cut and wrap, {sums.LEFT} lb × ${sums.CUT_AND_WRAP}", f"{sums.ALL_IN_PER_LB} per lb")
    w.tick("Send each invoice")
    w.button("Issue the ticked invoices")
    w.look("after-issuing")


def read_invoice(w: Walker) -> None:
    w.nav("Money")
    w.look("money-owed")
    w.press(w.page.locator("main").get_by_role("link", name=re.compile("^I-")).first)
    w.look("invoice")
    w.faults.same(w.where(), "share", row_amount(w, "Half hog"), sums.SHARE)
    w.faults.same(w.where(), "balance", row_amount(w, "Balance due"), sums.BALANCE)
    w.pdf("See the paper")


def hand_over(w: Walker, downloads: Path) -> None:
    w.nav("Outbox")
    w.look("outbox")
    w.press(w.page.locator("main").get_by_role("link", name=re.compile("invoice", re.IGNORECASE)).first)
    w.look("message")
    w.says(f"{sums.BALANCE}", CUSTOMER)
    with w.page.expect_download() as kept:
        w.button("Download the mail file with the link")
    path = downloads / "invoice.eml"
    kept.value.save_as(path)
    mail = message_from_bytes(path.read_bytes(), policy=policy.default)
    path.unlink()
    where = w.where()
    w.faults.check(CUSTOMER_MAIL in str(mail["To"]), where, f"the mail file goes to {mail['To']}")
    papers = [part.get_content() for part in mail.iter_attachments()]
    w.faults.check(len(papers) == 1 and papers[0].startswith(b"%PDF-"), where, f"the mail file has {len(papers)} papers")
    body = mail.get_body(("plain",))
    words = body.get_content() if body else ""
    w.faults.check(str(sums.BALANCE) in words, where, f"the balance is not in the mail: {words!r}")
    w.faults.check("/c/" in words, where, f"the private link is not in the mail: {words!r}")
    w.button("Mark as handed over")
    w.look("message-handed-over")
    w.says("Marked as handed over.")


def get_paid(w: Walker) -> None:
    w.nav("Orders")
    w.look("orders")
    w.link(CUSTOMER)
    w.look("order-owed")
    w.says(f"${sums.BALANCE} is to be paid")
    w.link("Record a payment")
    w.pick("Check")
    amount = w.field("Amount").input_value()
    w.faults.same(w.where(), "amount offered", amount, str(sums.BALANCE))
    w.fill("Check number or reference", "1057")
    w.look("payment-form")
    w.button("Record the payment")
    w.look("after-payment")
    w.nav("Orders")
    w.link(CUSTOMER)
    w.look("order-paid")
    w.says("Invoiced and paid in full.", "Paid")
    w.faults.same(w.where(), "balance", row_amount(w, "Balance due"), 0)


def tell(w: Walker, service: Service, downloads: Path) -> None:
    """All of it, in order; the book is empty before and holds one paid order after."""
    make_account(w, service)
    set_up(w)
    put_up_for_sale(w)
    add_processor(w)
    book_date(w)
    enter_animal(w)
    sell(w)
    take_deposit(w)
    place(w)
    weigh_in(w)
    issue(w)
    read_invoice(w)
    hand_over(w, downloads)
    get_paid(w)
