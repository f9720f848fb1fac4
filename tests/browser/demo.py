"""The tour of the demo farm: signs in with the words it prints, opens what a farmer opens, then one page of every other kind."""

from __future__ import annotations

import re
from collections.abc import Iterator

import keyboard
import rounds
from pages import DESK, PHONE, Walker
from service import Service

TABS = ["Today", "Orders", "Animals", "Dates", "For sale", "Customers", "Money", "Outbox", "Settings"]


HELPER = "dov@nettlebend.example"


def sign_in(w: Walker, service: Service, mail: str = "") -> None:
    w.open("/sign-in")
    w.look("sign-in")
    w.says(service.mail)
    w.fill("Mail address", mail or service.mail)
    w.fill("Password", service.password)
    w.button("Sign in")
    w.page.get_by_role("navigation", name="Main").wait_for()


def helper(w: Walker, service: Service) -> None:
    """Every page that links lead a helper to opens, and none says an amount of money."""
    sign_in(w, service, HELPER)
    pages = rounds.crawl(w, "/")
    w.faults.check(len(pages) > 20, "/", f"a helper finds only {pages}")
    for path in pages:
        w.open(path)
        money = re.findall(r"\$\d[\d,.]*", w.page.locator("main").inner_text())
        w.faults.check(not money, path, f"a helper reads {money[:4]}")


def tabs(w: Walker) -> None:
    """The words of the navigation, and the first thing each list holds."""
    for tab in TABS:
        w.nav(tab)
        w.look(tab.lower().replace(" ", "-"))
        first = w.page.locator("main table th[scope=row] a, main table td a, main ol.due h3 a, main h2 a").first
        if w.faults.check(first.count() > 0 or tab == "Settings", w.where(), f"nothing to open under {tab}") and tab != "Settings":
            w.press(first)
            w.look(f"{tab.lower().replace(' ', '-')}-first")


def dates(w: Walker) -> None:
    """Each date there is, with its weigh-in, its shares and its invoices."""
    w.nav("Dates")
    hrefs = w.page.locator("main th[scope=row] a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    w.faults.check(len(hrefs) >= 2, w.where(), f"a farm in the middle of its season has more dates than {hrefs}")
    for href in hrefs[:5]:
        for end in ("", "/weigh-in", "/weigh-in/file", "/shares", "/invoices"):
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


def plan(w: Walker) -> None:
    """The plan by keyboard at a phone's width: looked at, planned again around a choice, taken, told, and taken back."""
    w.page.set_viewport_size(PHONE)
    w.open("/plan")
    w.look("plan")
    w.says("can get a place", "Proven")
    keyboard.tab_through(w, "plan at a phone's width")
    w.page.set_viewport_size(PHONE)
    w.open("/plan")
    keyboard.press_on(w, w.page.get_by_role("checkbox", name=re.compile("Hold it there")).first, "Space")
    keyboard.press_on(w, w.page.get_by_role("button", name="Plan again around what I chose"))
    w.page.get_by_text("You put it there.").first.wait_for()
    w.look("plan-again")
    keyboard.press_on(w, w.page.get_by_role("button", name="Take all of it"))
    w.page.wait_for_url("**/plan/accepted/*")
    w.look("plan-taken")
    w.says("Nobody was told yet", "Not told")
    keyboard.press_on(w, w.page.get_by_role("button", name="Write to the ticked customers"))
    w.page.get_by_text("Written to").first.wait_for()
    w.look("plan-told")
    keyboard.press_on(w, w.page.locator("summary").filter(has_text="Take it back"))
    keyboard.press_on(w, w.page.get_by_role("button", name="Take the plan back"))
    w.page.get_by_text("the old place again").first.wait_for()
    w.look("plan-taken-back")
    w.page.set_viewport_size(DESK)


def drag(w: Walker) -> None:
    """A share dragged onto a drawing is planned there; nothing is saved by it. The window is tall, so that both are in sight."""
    w.page.set_viewport_size({"width": 1280, "height": 2400})
    w.open("/plan")
    # Not onto a locked share, which a share that is to get its first place is not near.
    row = w.page.locator("tr[data-share]").filter(has=w.page.locator("input[name=take]")).first
    share = row.get_attribute("data-share")
    value = row.locator("select option").nth(1).get_attribute("value") or ""
    figure = w.page.locator(f"figure[data-head='{value.split('-')[0]}'] svg.rail").first
    box = figure.bounding_box() or {"width": 0, "height": 0}
    at = {"x": box["width"] * (0.75 if value.endswith("right") else 0.25), "y": box["height"] / 2}
    row.locator("th").drag_to(figure, target_position=at)
    w.page.get_by_text("You put it there.").first.wait_for()
    chosen = w.page.locator(f"#to-{share}").input_value()
    w.faults.check(chosen == value, w.where(), f"dragged to {value}, planned at {chosen}")


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
