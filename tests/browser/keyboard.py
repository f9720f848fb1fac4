"""Without a mouse: the Tab key reaches every control in reading order, and what has the focus is outlined and in sight."""

from __future__ import annotations

import re

import checks
import story
from pages import DESK, PHONE, Walker
from playwright.sync_api import Locator

WHO = "Bram Oduya"

CONTROLS = """() => {
  const all = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]';
  window.walkControls = [...document.querySelectorAll(all)].filter(e => {
    if (e.disabled || e.tabIndex < 0 || !e.checkVisibility({visibilityProperty: true})) return false;
    if (e.type !== 'radio') return true;
    // A group of radio buttons is one stop: the chosen one, or the first.
    const group = [...document.querySelectorAll(`input[type=radio][name="${CSS.escape(e.name)}"]`)].filter(r => r.form === e.form);
    return e === (group.find(r => r.checked) || group[0]);
  });
  return window.walkControls.map(e => `${e.tagName.toLowerCase()} “${(e.textContent || e.name || '').trim().slice(0, 40)}”`);
}"""

FOCUSED = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const s = getComputedStyle(e), r = e.getBoundingClientRect();
  const words = `${e.tagName.toLowerCase()} “${(e.textContent || e.name || '').trim().slice(0, 40)}”`;
  return {at: window.walkControls.indexOf(e), words,
    outline: s.outlineStyle === 'none' ? 0 : parseFloat(s.outlineWidth), same: s.outlineColor === s.backgroundColor,
    inSight: r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth};
}"""


def tab_through(w: Walker, name: str) -> None:
    """From the top of the page to its end by Tab alone."""
    if "#" in w.page.url:
        # A browser begins at the place an address names; this is about the whole page.
        w.page.goto(w.page.url.split("#")[0])
        checks.settled(w.page)
    w.page.evaluate("() => { document.activeElement?.blur(); window.scrollTo(0, 0); }")
    wanted: list[str] = w.page.evaluate(CONTROLS)
    reached: list[int] = []
    for _ in range(6 * len(wanted) + 20):  # a date field has several stops of its own
        w.page.keyboard.press("Tab")
        now = w.page.evaluate(FOCUSED)
        if now is None or (reached and now["at"] == reached[0] and len(reached) > 1):
            break
        if reached and now["at"] == reached[-1]:
            continue
        where = w.where(name)
        w.faults.check(now["at"] >= 0, where, f"Tab stops at {now['words']}, which is no control")
        seen = now["outline"] >= 2 and not now["same"]
        w.faults.check(seen, where, f"no visible focus on {now['words']}: outline of {now['outline']} px")
        w.faults.check(now["inSight"], where, f"{now['words']} has the focus out of sight")
        reached.append(now["at"])
    missed = [words for i, words in enumerate(wanted) if i not in reached]
    w.faults.check(not missed, w.where(name), f"Tab does not reach {missed}")
    w.faults.check(reached == sorted(reached), w.where(name), f"Tab order is not reading order: {reached}")


def tab_to(w: Walker, target: Locator) -> None:
    """Presses Tab until this has the focus."""
    for _ in range(150):
        if target.evaluate("e => e === document.activeElement"):
            return
        w.page.keyboard.press("Tab")
    raise AssertionError(f"{w.where()}: Tab does not reach {target}")


def type_into(w: Walker, label: str, value: str) -> None:
    tab_to(w, w.field(label))
    w.page.keyboard.type(value)


def press_on(w: Walker, target: Locator, key: str = "Enter") -> None:
    tab_to(w, target)
    w.page.keyboard.press(key)


def skip_link(w: Walker) -> None:
    """The first stop leads past the navigation and is seen when it has the focus."""
    w.page.keyboard.press("Tab")
    skip = w.page.get_by_role("link", name="Skip to the page")
    box = skip.bounding_box()
    w.faults.check(skip.evaluate("e => e === document.activeElement"), w.where(), "the skip link is not the first stop")
    w.faults.check(bool(box and box["x"] >= 0), w.where(), "the skip link cannot be seen when it has the focus")
    w.page.keyboard.press("Enter")
    w.page.keyboard.press("Tab")
    inside = w.page.evaluate("() => document.activeElement?.closest('main, footer') !== null")
    w.faults.check(inside, w.where(), "after the skip link Tab is still before the page's own part")


def reservation(w: Walker) -> None:
    """Signs in and takes a reservation, without the mouse."""
    page = w.page
    page.set_viewport_size(DESK)
    w.open("/sign-in")
    tab_through(w, "sign-in")
    w.open("/sign-in")
    type_into(w, "Mail address", story.MAIL)
    type_into(w, "Password", story.PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_role("navigation", name="Main").wait_for()
    skip_link(w)
    w.open("/")
    press_on(w, page.get_by_role("navigation", name="Main").get_by_role("link", name="Orders").first)
    page.wait_for_url("**/orders")
    press_on(w, page.locator("main").get_by_role("link", name="Take a reservation"))
    page.wait_for_url("**/orders/new")
    tab_through(w, "reservation")
    page.reload()
    shares = page.locator("main").get_by_role("radio")
    tab_to(w, shares.first)
    page.keyboard.press("ArrowDown")
    w.faults.check(shares.nth(1).is_checked(), w.where(), "the arrow key does not choose the next share")
    type_into(w, "Name", WHO)
    press_on(w, page.get_by_role("checkbox", name=re.compile("Send a confirmation")), "Space")
    press_on(w, page.get_by_role("button", name="Take the reservation"))
    page.wait_for_url(re.compile(r"/orders/\d+$"))
    w.says(WHO, "Deposit due")


def everywhere(w: Walker, paths: list[str]) -> None:
    """Tab through each of these pages at a desk's width, and through the first at a phone's."""
    for path, size in [(paths[0], PHONE), *((path, DESK) for path in paths)]:
        w.page.set_viewport_size(size)
        w.open(path)
        tab_through(w, "by keyboard")
