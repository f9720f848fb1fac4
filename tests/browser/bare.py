"""The main steps with scripts switched off: every form works and every link leads somewhere. The farmer's, and a customer's cut sheet."""

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


def cut_sheet(w: Walker, link: str) -> None:
    """A customer's cut sheet, page by page: refused at the start, a broken rule saved and said, gone back, sent."""
    w.open(link)
    w.button("Open my order")
    w.page.wait_for_url("**/my")
    w.open("/my/cut-sheet")
    w.says("Tell us how to cut your half hog")
    w.see("cut-sheet-start")
    w.pick("Three questions")
    with w.ears.expecting(422):
        w.button("Begin")
        w.page.get_by_role("alert").wait_for()
    w.says("With bones or boneless: choose one.")
    w.see("cut-sheet-questions-missing")
    w.pick("Some of each")
    w.pick("Boneless")
    w.fill("How many eat together?", "4")
    w.button("Begin")
    w.page.wait_for_url("**/my/cut-sheet/ham_body")
    refused = False
    for _ in range(40):
        slug = w.page.url.split("#")[0].rsplit("/", 1)[1]
        if slug == "check":
            break
        if slug == "ham_body":
            w.pick("Fresh ham, bone in")
        elif slug == "loin_blade" and not refused:
            refused = True
            w.pick("Whole boneless loin")
            w.button(re.compile("^Save and go"))
            w.page.get_by_role("alert").wait_for()
            w.says("It cannot be cut so yet")
            w.see("cut-sheet-loin-refused")
            w.pick("Country-style ribs")
        elif slug == "ground-and-sausage":
            w.choose("Sausage 1, seasoning", re.compile("Maple"))
            w.page.locator("#sausage-1-weight").fill("10")
            w.see("cut-sheet-ground")
        elif slug == "parts-of-the-animal":
            w.tick("Heart")
        elif slug == "wishes":
            # Back and on again: what was chosen is there.
            w.button(re.compile("^Back to"))
            w.page.wait_for_url("**/parts-of-the-animal")
            w.faults.check(w.page.get_by_role("checkbox", name="Heart").is_checked(), w.where(), "the heart is lost on the way back")
            w.button(re.compile("^Save and go"))
            w.page.wait_for_url("**/wishes")
            w.fill("Anything else for the butcher", "Leave the rind on the bacon, please.")
        before = w.page.url
        w.page.locator("main button.btn.do").first.click()
        w.page.wait_for_url(lambda url, before=before: url != before)
    w.says("Fresh ham, bone in", "maple sausage", "Heart.", "Leave the rind on the bacon, please.")
    w.see("cut-sheet-check")
    w.button("Send this cut sheet")
    w.page.wait_for_url("**/my/cut-sheet/sent")
    w.says("The cut sheet of your half hog is in", "You can change it until")
    w.see("cut-sheet-sent")
