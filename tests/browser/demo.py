"""The tour of the demo farm: signs in with the words it prints, opens what a farmer opens, then one page of every other kind."""

from __future__ import annotations

import re
from collections.abc import Iterator

import rounds
from pages import Walker
from service import Service

TABS = ["Today", "Orders", "Animals", "Dates", "For sale", "Customers", "Money", "Outbox", "Settings"]


def sign_in(w: Walker, service: Service) -> None:
    w.open("/sign-in")
    w.look("sign-in")
    w.says(service.mail)
    w.fill("Mail address", service.mail)
    w.fill("Password", service.password)
    w.button("Sign in")
    w.page.get_by_role("navigation", name="Main").wait_for()


def tabs(w: Walker) -> None:
    """The words of the navigation, and the first thing each list holds."""
    for tab in TABS:
        w.nav(tab)
        w.look(tab.lower().replace(" ", "-"))
        first = w.page.locator("main table th[scope=row] a, main table td a, main ol.due h3 a, main h2 a").first
        if w.faults.check(first.count() > 0 or tab == "Settings", w.where(), f"nothing to open under {tab}") and tab != "Settings":
            first.click()
            w.look(f"{tab.lower().replace(' ', '-')}-first")


def dates(w: Walker) -> None:
    """Each date there is, with its weigh-in, its shares and its invoices."""
    w.nav("Dates")
    hrefs = w.page.locator("main th[scope=row] a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    w.faults.check(len(hrefs) >= 2, w.where(), f"a farm in the middle of its season has more dates than {hrefs}")
    for href in hrefs[:5]:
        for end in ("", "/weigh-in", "/shares", "/invoices"):
            answer = w.page.goto(href + end)
            if answer and answer.ok:
                w.look(rounds.name_of(href + end) + "-" + href.rsplit("/", 1)[-1])


def standings(w: Walker) -> Iterator[str]:
    """One order of every standing that the list shows."""
    w.open("/orders")
    seen: set[str] = set()
    for row in w.page.locator("main tbody tr").all():
        words = re.sub(r"[\d.,$]+", "#", row.locator(".st").first.inner_text()) if row.locator(".st").count() else ""
        if words not in seen:
            seen.add(words)
            yield row.locator("th a").first.get_attribute("href") or ""


def orders(w: Walker) -> None:
    for href in list(standings(w)):
        w.open(href)
        w.look("order-" + href.rsplit("/", 1)[-1])


def search(w: Walker) -> None:
    """Accents and capitals do not count."""
    w.open("/customers")
    name = w.page.locator("main th[scope=row] a").first.inner_text().strip()
    w.open("/search")
    w.page.locator("main").get_by_role("searchbox").fill(name.split()[-1].upper())
    w.button("Search")
    w.look("search-found")
    w.says(name)
    w.page.locator("main").get_by_role("searchbox").fill("qqqxyz")
    w.button("Search")
    w.look("search-nothing")


def dark(w: Walker, paths: list[str]) -> None:
    """The same in dark colors, contrast included."""
    w.page.emulate_media(color_scheme="dark")
    for path in paths:
        w.open(path)
        w.look("dark-" + rounds.name_of(path))
    w.page.emulate_media(color_scheme=None)
