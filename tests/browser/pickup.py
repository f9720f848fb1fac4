"""The pickup list on a phone: a tick made without a connection waits there, is sent when it is back, counts once, and is taken back."""

from __future__ import annotations

import re

from pages import PHONE, Walker

# Who comes today in the demo and has paid.
WHO = "Marta Quillan"


def ticks(w: Walker) -> None:
    w.page.set_viewport_size(PHONE)
    w.open("/dates")
    hrefs = w.page.locator("main th[scope=row] a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    found = next((h for h in hrefs if offers(w, h)), None)
    if not w.faults.check(found is not None, w.where(), f"{WHO} is on no pickup list"):
        return
    w.look("pickup-list")
    without_connection(w, f"{found}/pickup")
    w.open(f"{found}/pickup")
    w.look("pickup-ticked")
    back = w.page.locator("li").filter(has=w.page.get_by_role("heading", name=WHO)).get_by_role("button", name="Take it back")
    if w.faults.check(back.count() == 1, w.where(), "the tick did not reach the book once"):
        back.click()
        w.says("The tick was taken back.")


def without_connection(w: Walker, path: str) -> None:
    """In a window of its own whose failed requests are what is wanted, so nobody listens for them."""
    page = w.page.context.new_page()
    page.set_viewport_size(PHONE)
    page.goto(path)
    line = page.locator("li").filter(has=page.get_by_role("heading", name=WHO))
    page.context.set_offline(True)
    line.get_by_role("button", name="Collected").click()
    page.get_by_text("1 tick on this phone").wait_for()
    line.get_by_text("Waits on this phone").wait_for()
    page.context.set_offline(False)
    page.get_by_text("1 tick on this phone").wait_for(state="hidden", timeout=30_000)
    kept = page.evaluate("() => localStorage.getItem('gambrel-ticks')")
    w.faults.check(kept == "[]", path, f"the phone still keeps {kept}")
    page.close()


def offers(w: Walker, href: str) -> bool:
    w.open(href)
    link = w.page.get_by_role("link", name="Pickup list and windows")
    if not link.count():
        return False
    w.open(href + "/pickup")
    return bool(w.page.get_by_role("button", name=re.compile(rf"Collected\s*: {WHO}")).count())
