"""The main steps with scripts switched off: every form works and every link leads somewhere."""

from __future__ import annotations

import re

import story
from pages import Walker, row_amount

WHO = "Þóra Quist"


def sign_in(w: Walker) -> None:
    w.open("/sign-in")
    w.fill("Mail address", story.MAIL)
    w.fill("Password", story.PASSWORD)
    w.button("Sign in")
    w.see("today")


def sell(w: Walker) -> None:
    w.nav("Orders")
    w.link("Take a reservation")
    w.pick(re.compile(re.escape("$5.25")))
    w.fill("Name", WHO)
    w.button("Take the reservation")
    w.says(WHO, "Deposit due")
    w.link("Record the deposit")
    w.pick("Cash")
    w.fill("Amount", "150")
    w.button("Record the deposit")
    w.says("The deposit is in")
    w.see("deposit-in")


def weigh(w: Walker) -> None:
    """Another animal on the same date, the share on its right side, and its weights."""
    w.nav("Animals")
    w.link("Enter an animal")
    w.choose("Class", "Barrow")
    w.fill("Tag", "H-16")
    w.button("Save the animal")
    w.link("Put it on a date")
    w.choose("Processing date", re.compile(story.PLANT))
    w.button("Save its date")
    w.nav("Orders")
    w.link(WHO)
    w.link("Choose its animal")
    w.choose("Place", re.compile("H-16, right"))
    w.button("Save the place")
    w.says("On an animal")
    w.nav("Dates")
    w.press(w.page.locator("main").get_by_role("rowheader").get_by_role("link").first)
    w.link(re.compile("weigh-in|weights", re.IGNORECASE))
    row = w.group("Barrow H-16")
    w.fill("Left", "84", row)
    w.fill("Right", "81.25", row)
    w.button("Save the weights")
    w.says("165.25")
    w.see("weighed")


def bill(w: Walker) -> None:
    """Only this order's invoice, then its payment."""
    w.nav("Orders")
    w.link(WHO)
    w.link("Look over the invoice")
    # 81.25 × 5.25 = 426.5625, to the cent 426.56; with half of the kill fee and less the deposit 324.06.
    w.faults.same(w.where(), "balance", str(row_amount(w, "Balance due")), "324.06")
    w.button("Issue the ticked invoices")
    w.see("issued")
    w.link("Record a payment")
    w.pick("Cash")
    w.button("Record the payment")
    w.says("paid in full")
    w.see("paid")
