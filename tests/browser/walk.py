"""The browser walk. See README.md beside it: what it needs, how it is run."""

from __future__ import annotations

import argparse
import os
import re
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

import bare
import checks
import cut_sheet
import demo
import customers
import keyboard
import pages
import pickup
import plant
import refused
import rounds
import story
import stranger
from faults import Faults
from pages import Gallery, Walker
from playwright.sync_api import Browser, sync_playwright
from service import Service


def step(name: str, faults: Faults, walker: Walker, act: Callable[[], object]) -> bool:
    """Runs one part; what breaks it off is a fault, with a picture of where it stood."""
    began = time.monotonic()
    before = len(faults.found)
    whole = True
    try:
        act()
    except Exception as e:  # whatever broke the part off must be said, and the other parts still walked
        whole = False
        own = Path(__file__).parent
        here = [f for f in traceback.extract_tb(e.__traceback__) if Path(f.filename).parent == own]
        lines = " < ".join(f"{Path(f.filename).name}:{f.lineno}" for f in reversed(here[-3:]))
        faults.add(walker.where(name), f"broke off at {lines}: {str(e)[:900]}")
        walker.gallery.shoot(walker.page, walker.gallery.number(), "broke-off-" + re.sub(r"\W+", "-", name), 390)
    new = len(faults.found) - before
    told = f"{time.monotonic() - began:.0f} s" + (f", {new} faults" if new else "")
    print(f"{'ok  ' if whole and not new else 'FAIL'} {name} ({told})", flush=True)
    return whole


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--demo", action="store_true", help="walk through the demo farm instead of an empty book")
    words.add_argument("--story-only", action="store_true", help="only the story, without the rounds after it")
    asked = words.parse_args()
    shots = Path(os.environ.get("GAMBREL_SHOTS") or "target/shots")
    faults, axe = Faults(), checks.axe_source()
    gallery = Gallery(shots / ("demo" if asked.demo else "walk"))
    began = time.monotonic()
    with Service("demo" if asked.demo else "serve") as service, sync_playwright() as p:
        browser = pages.launch(p)
        try:
            prove_checks(browser, service, faults, gallery, axe)
            if asked.demo:
                walk_demo(browser, service, faults, gallery, axe)
            else:
                walk_spine(browser, service, faults, gallery, axe, asked.story_only)
        finally:
            browser.close()
        loud = [line for line in service.errors().splitlines() if "ERROR" in line or "panicked" in line]
        faults.check(not loud, "the service's log", f"errors: {loud[:5]}")
    print(f"{faults.checked} checks, {gallery.files} pictures in {gallery.folder}, {time.monotonic() - began:.0f} s")
    if faults.found:
        print(f"{len(faults.found)} faults:")
        faults.print()
        return 1
    print("no fault")
    return 0


def prove_checks(browser: Browser, service: Service, faults: Faults, gallery: Gallery, axe: str) -> None:
    """The checks must find what is wrong on a page that is wrong on purpose, or their silence means nothing."""
    window = pages.context(browser, service.base)
    blind = rounds.proof_holds(rounds.prove(window.new_page(), axe, gallery))
    faults.check(not blind, "proof of the checks", f"these saw nothing on a page that is wrong on purpose: {blind}")
    window.close()


def walk_spine(browser: Browser, service: Service, faults: Faults, gallery: Gallery, axe: str, story_only: bool) -> None:
    window = pages.context(browser, service.base)
    w = Walker(window.new_page(), faults, gallery, axe)
    if not step("story", faults, w, lambda: story.tell(w, service, gallery.folder)) or story_only:
        return
    step("refused reservation", faults, w, lambda: refused.reservation(w))
    step("refused deposit", faults, w, lambda: refused.deposit(w))
    step("doubtful weight", faults, w, lambda: refused.doubtful_weight(w))
    step("stale edit", faults, w, lambda: refused.stale_edit(w, window))
    step("not there", faults, w, lambda: refused.nowhere(w))

    plain = Walker(pages.context(browser, service.base, java_script_enabled=False).new_page(), faults, gallery, axe, "no-script")
    if step("no script: sign in", faults, plain, lambda: bare.sign_in(plain)):
        for name, part in (("sell", bare.sell), ("weigh", bare.weigh), ("bill", bare.bill)):
            if not step(f"no script: {name}", faults, plain, lambda part=part: part(plain)):
                break

    keys = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "keyboard")
    step("keyboard: sign in and reserve", faults, keys, lambda: keyboard.reservation(keys))

    found: list[str] = []
    step("every kind of page", faults, w, lambda: found.extend(rounds.crawl(w, "/")))
    step("keyboard: every kind of page", faults, keys, lambda: keyboard.everywhere(keys, found))
    step("dark", faults, w, lambda: demo.dark(w, DARK))

    guest = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "customer")
    shown: list[str] = []
    if step("a private link is shown", faults, w, lambda: shown.append(customers.shown_link(w))):
        step("customer: opens the link", faults, guest, lambda: customers.open_link(guest, shown[0]))
        step("customer: every page", faults, guest, lambda: customers.every_page(guest))
        step("customer: corrects a phone number", faults, guest, lambda: customers.correct_phone(guest))
        step("customer: a lost link", faults, guest, lambda: customers.lost(guest))

    nobody = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe)
    step("sign-in refused", faults, nobody, lambda: refused.sign_in(nobody))


def walk_demo(browser: Browser, service: Service, faults: Faults, gallery: Gallery, axe: str) -> None:
    window = pages.context(browser, service.base)
    w = Walker(window.new_page(), faults, gallery, axe)
    if not step("sign in", faults, w, lambda: demo.sign_in(w, service)):
        return
    step("navigation", faults, w, lambda: demo.tabs(w))
    step("orders of every standing", faults, w, lambda: demo.orders(w))
    step("dates", faults, w, lambda: demo.dates(w))
    step("search", faults, w, lambda: demo.search(w))
    step("plan by dragging", faults, w, lambda: demo.drag(w))
    step("plan by keyboard", faults, w, lambda: demo.plan(w))
    for who, fill in ((cut_sheet.HOG, cut_sheet.hog_half), (cut_sheet.BEEF, cut_sheet.beef_quarter)):
        phone = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "phone")
        step(f"a cut sheet by keyboard: {who}", faults, w, lambda who=who, fill=fill, phone=phone: fill(phone, cut_sheet.link_of(w, who)))
    plain = Walker(pages.context(browser, service.base, java_script_enabled=False).new_page(), faults, gallery, axe, "no-script")
    step(f"no script: a cut sheet, {cut_sheet.BARE}", faults, w, lambda: bare.cut_sheet(plain, cut_sheet.link_of(w, cut_sheet.BARE)))
    step("pickup: a tick without a connection", faults, w, lambda: pickup.ticks(w))
    step("every kind of page", faults, w, lambda: rounds.crawl(w, "/"))
    hand = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "helper")
    step("helper: every kind of page", faults, hand, lambda: demo.helper(hand, service))
    visitor = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "visitor")
    step("the public page", faults, visitor, lambda: rounds.public(visitor))
    guest = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "customer")
    step("customer by private link", faults, guest, lambda: customers.demo(guest, service))
    somebody = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "stranger")
    step("a stranger asks for a share", faults, somebody, lambda: stranger.demo(somebody, w))
    sam = Walker(pages.context(browser, service.base).new_page(), faults, gallery, axe, "plant")
    step("processor by private link", faults, sam, lambda: plant.demo(sam, service.plant))
    step("dark", faults, w, lambda: demo.dark(w, DARK))


DARK = ["/", "/orders", "/orders/1", "/orders/new", "/animals/1", "/dates/1", "/dates/1/weigh-in", "/invoices/1", "/money", "/plan", "/sign-in"]


if __name__ == "__main__":
    sys.exit(main())
