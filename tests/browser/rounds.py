"""Every kind of page that can be reached by a link is looked at once; and the checks themselves are put to the proof."""

from __future__ import annotations

import re

import checks
from faults import Faults
from pages import Gallery, Walker
from playwright.sync_api import Page

# What is no page, and how it begins.
PAPERS = {".pdf": b"%PDF-", ".eml": b"", ".sqlite": b"SQLite format 3", ".csv": b"", ".zip": b"PK\x03\x04", ".txt": b"; ", ".ics": b"BEGIN:VCALENDAR"}


def kind(path: str) -> str:
    """`/orders/12/place` and `/orders/7/place` are one kind of page."""
    path = path.replace("/money/ledger?lines=1", "/money/ledger/lines?")
    path = path.split("?")[0].split("#")[0]
    return re.sub(r"/\d+(?=[/.]|$)", "/N", path)


def name_of(path: str) -> str:
    return re.sub(r"[^A-Za-z0-9]+", "-", kind(path)).strip("-") or "today"


def crawl(w: Walker, start: str, each: int = 1, most: int = 140) -> list[str]:
    """Follows links from page to page, `each` of every kind; papers are opened and must be whole. Returns the pages."""
    waiting, taken, pages = [start], {}, []
    seen = {start}
    while waiting and len(pages) < most:
        path = waiting.pop(0)
        if taken.get(kind(path), 0) >= each:
            continue
        taken[kind(path)] = taken.get(kind(path), 0) + 1
        begins = next((b for ending, b in PAPERS.items() if path.split("?")[0].endswith(ending)), None)
        if begins is not None:
            body = w.page.request.get(path)
            whole = body.ok and body.body().startswith(begins)
            if path.split("?")[0].endswith(".csv"):
                whole = whole and b"," in body.body().split(b"\r\n")[0]
            w.faults.check(whole, path, f"the paper cannot be read: {body.status}")
            continue
        w.open(path)
        w.look(name_of(path))
        w.look_into_folds(name_of(path))
        pages.append(path)
        links = w.page.locator("main a[href], nav a[href]").evaluate_all("all => all.map(a => a.getAttribute('href'))")
        for href in links:
            if href.startswith("/") and href not in seen:
                seen.add(href)
                waiting.append(href)
    return pages


def public(w: Walker) -> None:
    """The public page as a stranger sees it, and its estimator, followed as it is changed and asked without a script's help."""
    for path in crawl(w, "/farm"):
        w.faults.check(path.startswith(("/farm", "/lost-link")), path, "the public page leads a stranger elsewhere")
    w.open("/farm")
    w.faults.check(not w.page.context.cookies(), "/farm", "the public page sets a cookie")
    widths = w.page.locator("img").evaluate_all(
        "async all => { for (const i of all) { i.loading = 'eager'; await i.decode(); } return all.map(i => i.naturalWidth); }"
    )
    w.faults.check(widths and min(widths) > 0, "/farm", "a picture of the public page does not load")
    # Of the hogs wholes and halves are sold.
    w.press(w.page.locator(".shares a[href*='/farm/estimate/'][href*='share=half']").last)
    w.page.wait_for_url("**/farm/estimate/**")
    before = w.heading()
    w.page.get_by_role("radio", name="Whole").first.check()
    w.page.wait_for_function("before => document.querySelector('h1').textContent.trim() !== before", arg=before)
    w.faults.check("whole" in w.heading(), w.page.url, f"the estimate does not follow the share: {w.heading()}")
    w.faults.check("share=whole" in w.page.url, w.page.url, "the address does not follow the share")
    w.look("estimate-followed")
    with w.ears.expecting(422):
        w.open(w.page.url.split("?")[0] + "?eaters=0&low=9&high=3")
        w.look("estimate-refused")


BAD_PAGE = """<!DOCTYPE html><html><head><title></title></head><body><main><img src="data:,"><a class="btn do" href="/" id="tiny">x</a><a class="btn do" href="/">y</a>
<input name="nameless"><p id="wide">wide</p></main></body></html>"""


def prove(page: Page, axe: str, gallery: Gallery) -> Faults:
    """A page that is wrong on purpose: what it finds there is returned, and the caller asserts that it found it all."""
    faults = Faults()
    page.set_content(BAD_PAGE)
    page.evaluate(
        """() => { const style = (id, css) => { document.querySelector(id).style.cssText = css; };
                   style('#wide', 'width:3000px');
                   style('#tiny', 'display:inline-block;width:5px;height:5px;overflow:hidden'); }"""
    )
    checks.sideways(page, 390, "proof", faults)
    checks.targets(page, "proof", faults)
    checks.axe(page, axe, "proof", faults)
    checks.order(page, "proof", faults)
    Walker(page, faults, gallery, axe)
    page.evaluate("() => console.error('said on purpose')")
    page.evaluate("() => fetch('http://127.0.0.1:9/').catch(() => {})")
    return faults


def proof_holds(found: Faults) -> list[str]:
    """Which of the checks saw nothing on the page that is wrong on purpose."""
    words = "\n".join(what for _, what in found.found)
    wanted = ("scrolls sideways", "targets under", "axe image-alt", "axe label", "axe html-has-lang", "said on purpose")
    return [w for w in (*wanted, "request failed", "0 headings", "more than one filled") if w not in words]
