"""The error round: refused forms keep what was typed, say what is wrong at the top and at the field, and move the focus there."""

from __future__ import annotations

import re

import story
from pages import Walker
from playwright.sync_api import BrowserContext

OTHER = "Hanne Brandvold"
DESCRIBED = """e => (e.getAttribute('aria-describedby') || '').split(' ')
  .map(id => document.getElementById(id)?.textContent || '').join(' ').trim()"""


def summary(w: Walker, *fields: str) -> None:
    """The box has the focus, the title says it too, and its links lead to these fields, which say the same words."""
    box = w.page.get_by_role("alert")
    box.wait_for()
    where, check = w.where(), w.faults.check
    title = w.page.title()
    check(box.evaluate("e => e === document.activeElement"), where, "the error summary has not got the focus")
    check(title.startswith("Error: "), where, f"the title does not begin with “Error: ”: {title!r}")
    check("What you typed is still here" in box.inner_text(), where, "the summary does not say that what was typed is kept")
    for label in fields:
        field = w.field(label).first
        check(field.get_attribute("aria-invalid") == "true", where, f"{label!r} is not marked as wrong")
        own = field.evaluate(DESCRIBED)
        link = box.locator(f"a[href='#{field.get_attribute('id')}']")
        if check(link.count() == 1, where, f"no link of the summary leads to {label!r}"):
            says = link.inner_text().strip()
            check(says in own, where, f"{label!r} says {own!r}, the summary {says!r}")
            link.click()
            check(field.evaluate("e => e === document.activeElement"), where, f"the link to {label!r} does not focus it")


def kept(w: Walker, **values: str) -> None:
    """Fields by their names still hold these values."""
    for name, wanted in values.items():
        found = w.page.locator(f"main [name={name}]").first.input_value()
        w.faults.same(w.where(), f"kept in {name}", found, wanted)


def reservation(w: Walker) -> None:
    w.nav("Orders")
    w.link("Take a reservation")
    w.fill("Mail address", "nobody at home")
    w.fill("Phone", "715-555-0112")
    w.fill("Wishes in words", "Hams whole, please.")
    with w.ears.expecting(422):
        w.button("Take the reservation")
        summary(w, "Name", "Mail address")
    w.says("Which share")
    kept(w, mail="nobody at home", phone="715-555-0112", wishes="Hams whole, please.")
    w.look("refused-reservation")
    w.fill("Name", OTHER)
    w.fill("Mail address", "")
    w.pick(re.compile(re.escape("$5.00")))
    w.button("Take the reservation")
    w.says(OTHER, "Deposit due")


def deposit(w: Walker) -> None:
    w.link("Record the deposit")
    w.pick("Cash")
    w.fill("Amount", "3oo")
    w.fill("Note for yourself", "at the market")
    with w.ears.expecting(422):
        w.button("Record the deposit")
        summary(w, "Amount")
    kept(w, amount="3oo", note="at the market")
    w.faults.check(w.page.get_by_role("radio", name="Cash").is_checked(), w.where(), "the way it came is not kept")
    w.look("refused-deposit")
    w.fill("Amount", "300.00")
    w.button("Record the deposit")
    w.says("The deposit is in")


def doubtful_weight(w: Walker) -> None:
    """A weight outside the usual is not refused but asks for a tick that repeats it."""
    w.nav("Animals")
    w.link("Enter an animal")
    w.choose("Class", re.compile("gilt", re.IGNORECASE))
    w.fill("Tag", "H-15")
    w.button("Save the animal")
    w.link("Add a weight")
    w.look("live-weight-form")
    w.pick("on a scale")
    w.fill("Live weight", "260")
    w.button("Save the weight")
    w.link("Put it on a date")
    w.choose("Processing date", re.compile(story.PLANT))
    w.button("Save its date")
    w.choose("Give it to", re.compile(OTHER), w.page.locator("main .carcass form").first)
    w.button("Give the place")
    w.look("animal-given")
    w.says(OTHER)
    w.nav("Dates")
    w.press(w.page.locator("main").get_by_role("rowheader").get_by_role("link").first)
    w.link(re.compile("weigh-in|weights", re.IGNORECASE))
    row = w.group("Gilt H-15")
    w.fill("Left", "12o", row)
    w.fill("Right", "118.5", row)
    with w.ears.expecting(422):
        w.button("Save the weights")
        w.page.get_by_role("alert").wait_for()
    w.faults.same(w.where(), "kept", w.field("Left", row).input_value(), "12o")
    w.look("refused-weight")
    w.fill("Left", "120", row)
    with w.ears.expecting(422):
        w.button("Save the weights")
        w.page.get_by_role("alert").wait_for()
    w.look("doubtful-weight")
    tick = row.get_by_role("checkbox", name=re.compile("238.50 lb is right"))
    if w.faults.check(tick.count() == 1, w.where(), f"nothing asks whether 238.50 lb is right: {w.text()[:500]!r}"):
        tick.check()
    w.button("Save the weights")
    w.says("238.50")


def stale_edit(w: Walker, window: BrowserContext) -> None:
    """Two windows change the same wishes: the later one sees both and nothing is overwritten."""
    w.nav("Orders")
    w.link(OTHER)
    order = w.page.url
    w.page.goto(order + "/wishes")
    other = window.new_page()
    other.goto(order + "/wishes")
    other.get_by_label("Wishes in words (optional)").fill("Bacon sliced thick.")
    other.get_by_role("button", name="Save the wishes").click()
    # Closed too early, it would save nothing.
    other.wait_for_url(order)
    other.close()
    w.fill("Wishes in words", "No bacon.")
    with w.ears.expecting(409, 422):
        w.button("Save the wishes")
        w.page.get_by_role("alert").wait_for()
    w.says("Bacon sliced thick.", "No bacon.")
    w.look("stale-edit")


def nowhere(w: Walker) -> None:
    """Pages that are not there say so on a page of the house."""
    with w.ears.expecting(404):
        w.open("/orders/999999")
        w.look("not-there")
        w.faults.check(bool(w.heading()), w.where(), "the page has no heading")


def sign_in(w: Walker) -> None:
    """A wrong password keeps the mail address and not the password."""
    w.open("/sign-in")
    w.look("sign-in")
    w.fill("Mail address", story.MAIL)
    w.fill("Password", "not these words")
    with w.ears.expecting(401, 403, 422):
        w.button("Sign in")
        w.page.get_by_role("alert").wait_for()
    kept(w, mail=story.MAIL, password="")
    w.look("sign-in-refused")
    w.fill("Password", story.PASSWORD)
    w.button("Sign in")
    w.page.get_by_role("navigation", name="Main").wait_for()
