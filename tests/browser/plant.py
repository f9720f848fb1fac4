"""A processor on a phone, without a mouse: opens the link of a date, goes over every page, loses the connection at the scale, and gets it back."""

from __future__ import annotations

import keyboard
import rounds
from pages import PHONE, Walker


def shown_link(farmer: Walker) -> str:
    """The farmer shows a link of the first date in the list once, and reads it off the page."""
    farmer.open("/dates")
    farmer.page.locator("main tbody th a").first.click()
    farmer.page.wait_for_url("**/dates/*")
    farmer.link("What the plant entered")
    farmer.look("plant-entries")
    farmer.link("Show, renew or revoke a link")
    farmer.look("plant-link")
    farmer.button("Show a link once")
    farmer.look("plant-link-shown")
    return farmer.page.locator("#link-words").inner_text().strip()


def open_link(w: Walker, link: str) -> None:
    """Twice looked at, then opened by the keyboard: looking uses nothing up."""
    w.page.set_viewport_size(PHONE)
    for _ in range(2):
        w.page.goto(link)
    w.look("plant-enter")
    keyboard.tab_through(w, "plant-enter")
    w.page.goto(link)
    keyboard.type_into(w, "Your name", "Sam Okafor")
    keyboard.press_on(w, w.page.get_by_role("button", name="Open this date"))
    w.page.wait_for_url("**/plant")
    keyboard.skip_link(w)


def every_page(w: Walker) -> None:
    """Looked at with axe at three widths, and gone through by Tab at a phone's."""
    for path in rounds.crawl(w, "/plant"):
        w.page.set_viewport_size(PHONE)
        w.open(path)
        keyboard.tab_through(w, "plant by keyboard")


def dropped_connection(w: Walker) -> None:
    """A row is saved without a connection: it is kept, said to be kept, and sent by itself when the connection is back."""
    w.page.set_viewport_size(PHONE)
    w.open("/plant/scale")
    row = w.page.locator("form[data-keep]").first
    keep = row.get_attribute("data-keep")
    left, right = row.get_by_label("Left side"), row.get_by_label("Right side")
    keyboard.tab_to(w, left)
    w.page.keyboard.press("Control+A")
    w.page.keyboard.type("84.5")
    keyboard.tab_to(w, right)
    w.page.keyboard.press("Control+A")
    w.page.keyboard.type("85")
    # Requests that fail for want of a connection are what this is about; the ears are covered meanwhile.
    covered = (("requestfailed", w.ears._failed), ("console", w.ears._console))
    for event, ear in covered:
        w.page.remove_listener(event, ear)
    w.page.context.set_offline(True)
    try:
        w.page.keyboard.press("Enter")
        # The line above the rows is there at once, the row's own words when the sending has failed.
        w.page.locator("#line-note", has_text="One row is kept on this device").wait_for()
        row.locator("[data-kept]", has_text="No connection").wait_for()
        w.page.locator("form[data-keep]").first.get_by_label("Carcass number").fill("4504")
        kept = w.page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('gambrel-send-')).length")
        assert kept == 1, f"{kept} rows are kept"
    finally:
        w.page.context.set_offline(False)
    w.page.locator(f"#row-{keep}", has_text="the farm looks at it").wait_for(timeout=20_000)
    w.page.locator("#line-note").wait_for(state="hidden")
    for event, ear in covered:
        w.page.on(event, ear)
    kept = w.page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('gambrel-send-')).length")
    assert kept == 0, "what was sent is still kept"
    w.open("/plant/scale")
    assert w.page.locator(f"#{keep}-left").input_value() == "84.5", "the weight is not in the book of entries"
    w.look("plant-scale-saved")


def refused_row(w: Walker) -> None:
    """A figure that is none is refused in its row, and what was typed stays."""
    w.open("/plant/scale")
    row = w.page.locator("form[data-keep]").first
    keep = row.get_attribute("data-keep")
    row.get_by_label("Left side").fill("heavy")
    with w.ears.expecting(422):
        row.locator("button[type=submit]").click()
        w.page.locator(f"#row-{keep} .err").first.wait_for()
    assert w.page.locator(f"#{keep}-left").input_value() == "heavy"


def leave(w: Walker) -> None:
    w.open("/plant")
    keyboard.press_on(w, w.page.get_by_role("button", name="Close it on this device"))
    w.page.wait_for_url("**/lost-plant-link")
    w.look("lost-plant-link")


def demo(w: Walker, link: str) -> None:
    open_link(w, link)
    every_page(w)
    dropped_connection(w)
    refused_row(w)
    leave(w)
