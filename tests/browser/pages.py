"""Acting on pages as a person does: by the words on links, buttons and fields; and looking at each page on the way."""

from __future__ import annotations

import os
import re
import shutil
import time
from decimal import Decimal
from pathlib import Path

import checks
from faults import Faults
from playwright.sync_api import Browser, BrowserContext, Error, Locator, Page, Playwright, Request, expect

PHONE, DESK, NARROW = {"width": 390, "height": 844}, {"width": 1280, "height": 900}, {"width": 320, "height": 640}


def launch(p: Playwright) -> Browser:
    """Debian's Chromium, or the one that GAMBREL_CHROMIUM names."""
    path = os.environ.get("GAMBREL_CHROMIUM") or shutil.which("chromium")
    if not path:
        raise SystemExit("no Chromium: install Debian's chromium, or set GAMBREL_CHROMIUM")
    # Root has no user namespace of its own in a container; the pages are ours.
    flags = ["--no-sandbox"] if os.geteuid() == 0 else []
    return p.chromium.launch(executable_path=path, args=[*flags, "--disable-dev-shm-usage"])


def context(browser: Browser, base: str, **more: object) -> BrowserContext:
    c = browser.new_context(base_url=base, viewport=PHONE, locale="en-US", timezone_id="America/Chicago", **more)
    c.set_default_timeout(15_000)
    expect.set_options(timeout=15_000)
    return c


class Gallery:
    """The folder of pictures: `NN-name-390.png` and `NN-name-1280.png` in the order they were taken."""

    def __init__(self, folder: Path):
        self.folder, self.count, self.files = folder, 0, 0
        folder.mkdir(parents=True, exist_ok=True)
        for old in folder.glob("[0-9][0-9][0-9]-*.png"):
            old.unlink()

    def number(self) -> int:
        self.count += 1
        return self.count

    def shoot(self, page: Page, number: int, name: str, width: int) -> None:
        page.screenshot(path=self.folder / f"{number:03}-{name}-{width}.png", full_page=True)
        self.files += 1


class Walker:
    """One person at one browser window."""

    def __init__(self, page: Page, faults: Faults, gallery: Gallery, axe: str, who: str = ""):
        self.page, self.faults, self.gallery, self.axe = page, faults, gallery, axe
        self.ears = checks.Ears(page, faults, who)
        self.who = who

    # Looking

    def where(self, name: str = "") -> str:
        path = "/" + "/".join(self.page.url.split("/")[3:])
        return " ".join(x for x in (self.who, name, f"({path})") if x)

    def look(self, name: str) -> None:
        """Pictures and checks of the page as it stands, at a phone's and a desk's width; ends at the phone's."""
        checks.settled(self.page)
        number = self.gallery.number()
        checks.order(self.page, self.where(name), self.faults)
        self.page.set_viewport_size(NARROW)
        checks.sideways(self.page, 320, self.where(name), self.faults)
        for size in (DESK, PHONE):
            self.page.set_viewport_size(size)
            width = size["width"]
            checks.sideways(self.page, width, self.where(name), self.faults)
            checks.targets(self.page, self.where(f"{name} at {width} px"), self.faults)
            checks.axe(self.page, self.axe, self.where(f"{name} at {width} px"), self.faults)
            self.gallery.shoot(self.page, number, name, width)

    def look_into_folds(self, name: str) -> None:
        """The checks again with everything unfolded; no picture."""
        checks.settled(self.page)
        folds = self.page.locator("details:not([open])")
        if folds.count() == 0:
            return
        self.page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")
        for size in (NARROW, PHONE):
            self.page.set_viewport_size(size)
            checks.sideways(self.page, size["width"], self.where(f"{name} unfolded"), self.faults)
        checks.targets(self.page, self.where(f"{name} unfolded"), self.faults)
        checks.axe(self.page, self.axe, self.where(f"{name} unfolded"), self.faults)

    def see(self, name: str) -> None:
        """Pictures and the check of width only: where scripts are off, axe cannot run."""
        checks.settled(self.page)
        number = self.gallery.number()
        for size in (NARROW, DESK, PHONE):
            self.page.set_viewport_size(size)
            checks.sideways(self.page, size["width"], self.where(name), self.faults)
            if size is not NARROW:
                self.gallery.shoot(self.page, number, f"{self.who}-{name}".strip("-"), size["width"])

    def text(self) -> str:
        """The words of the page's main part, spaces made plain."""
        checks.settled(self.page)
        return plain(self.page.locator("main").inner_text())

    def says(self, *words: str) -> None:
        """Each of these stands on the page, or will in a moment: a click is answered before its page is there."""
        until = time.monotonic() + 5
        while not all(w in (seen := self.text()) for w in words) and time.monotonic() < until:
            self.page.wait_for_timeout(50)
        for w in words:
            self.faults.check(w in seen, self.where(), f"“{w}” does not stand on the page: {seen[:700]!r}")

    def heading(self) -> str:
        return plain(self.page.get_by_role("heading", level=1).inner_text())

    # Acting

    def open(self, path: str) -> None:
        self.page.goto(path)

    def link(self, name: str | re.Pattern[str]) -> None:
        self.press(self.page.locator("main").get_by_role("link", name=name, exact=isinstance(name, str)).first)

    def button(self, name: str | re.Pattern[str]) -> None:
        self.press(self.page.locator("main").get_by_role("button", name=name, exact=isinstance(name, str)).first)

    def press(self, what: Locator) -> None:
        """A click, and the page it leads to if it leads to one."""
        asked: list[Request] = []

        def hear(r: Request) -> None:
            if r.is_navigation_request():
                asked.append(r)

        self.page.on("request", hear)
        try:
            what.click()
            # An answer that sends on to another page is followed by a request of its own.
            for r in asked:
                try:
                    r.response()
                except Error:
                    pass  # left for another page, or a file to keep: the ears judge what failed
        finally:
            self.page.remove_listener("request", hear)
        checks.settled(self.page)

    def nav(self, name: str) -> None:
        """A word of the main navigation, behind More on a phone."""
        nav = self.page.get_by_role("navigation", name="Main")
        if not nav.get_by_role("link", name=name, exact=True).first.is_visible():
            nav.get_by_text("More", exact=True).click()
        self.press(nav.get_by_role("link", name=name, exact=True).locator("visible=true"))

    def unfold(self, name: str | re.Pattern[str]) -> None:
        self.page.locator("main summary").filter(has_text=name).first.click()

    def field(self, label: str, inside: Locator | None = None) -> Locator:
        """The field with this label; "(optional)" and the unit may stand behind it."""
        wanted = re.compile(rf"^\s*{re.escape(label)}(, [^,]+)?( \(optional\))?\s*$")
        return (inside or self.page.locator("main")).get_by_label(wanted)

    def fill(self, label: str, value: str, inside: Locator | None = None) -> None:
        self.field(label, inside).fill(value)

    def choose(self, label: str, option: str | re.Pattern[str], inside: Locator | None = None) -> None:
        box = self.field(label, inside)
        words = box.locator("option").all_inner_texts()
        fits = [w for w in words if (w == option if isinstance(option, str) else option.search(w))]
        if not fits:
            raise AssertionError(f"{self.where()}: no choice {option!r} under {label!r}, but {words}")
        box.select_option(label=fits[0])

    def pick(self, name: str | re.Pattern[str], inside: Locator | None = None) -> None:
        """A radio button by its words, or by how they begin."""
        begins = name if isinstance(name, re.Pattern) else re.compile(rf"^\s*{re.escape(name)}", re.IGNORECASE)
        (inside or self.page.locator("main")).get_by_role("radio", name=begins).first.check()

    def tick(self, name: str, on: bool = True) -> None:
        box = self.page.locator("main").get_by_role("checkbox", name=re.compile(rf"^\s*{re.escape(name)}", re.IGNORECASE)).first
        box.set_checked(on)

    def group(self, name: str) -> Locator:
        return self.page.get_by_role("group", name=re.compile(rf"^{re.escape(name)}", re.IGNORECASE))

    def pdf(self, name: str | re.Pattern[str]) -> None:
        """The paper behind a link opens and is a whole PDF."""
        link = self.page.locator("main").get_by_role("link", name=name, exact=isinstance(name, str)).first
        href = link.get_attribute("href")
        answer = self.page.request.get(href or "")
        body = answer.body()
        kind = answer.headers.get("content-type", "")
        whole = body.startswith(b"%PDF-") and b"%%EOF" in body[-64:]
        says = f"{href} is no PDF: {answer.status} {kind} {body[:20]!r}"
        self.faults.check(answer.ok and kind == "application/pdf" and whole, self.where(), says)


def plain(text: str) -> str:
    """No-break spaces and line ends as spaces."""
    return re.sub(r"\s+", " ", text).strip()


def dollars(text: str) -> Decimal:
    """Reads 1,433.13 or −200.00 (with a real minus) as a decimal."""
    return Decimal(text.replace("−", "-").replace("$", "").replace(",", "").strip())


def row_amount(walker: Walker, begins: str) -> Decimal:
    """The amount in the row of a sum whose first cell begins with these words."""
    first = walker.page.locator("td, th", has_text=re.compile(rf"^\s*{re.escape(begins)}", re.IGNORECASE))
    row = walker.page.locator("main table tr").filter(has=first)
    return dollars(row.first.locator("td.n").last.inner_text())
