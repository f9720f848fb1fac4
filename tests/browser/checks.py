"""What must hold on every page: axe's rules, no sideways scroll, targets large enough, a quiet console."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from faults import Faults
from playwright.sync_api import ConsoleMessage, Error, Page, Request, Response

TAGS = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
# WCAG 2.2, success criterion 2.5.8 (AA): 24 by 24 CSS pixels.
SMALLEST_TARGET = 24


AXE_RUN = """async (tags) => {
  const r = await axe.run(document, {runOnly: {type: 'tag', values: tags}, resultTypes: ['violations']});
  const short = (text, most) => (text || '').replace(/\\s+/g, ' ').slice(0, most);
  return {passes: r.passes.length, violations: r.violations.map(v => ({id: v.id, impact: v.impact, help: v.help,
    nodes: v.nodes.map(n => ({target: n.target.join(' '), html: short(n.html, 160), why: short(n.failureSummary, 220)}))}))};
}"""

WHOLE = "() => document.readyState === 'complete' && !!document.body"
# What the browser says when a page is left while it is asked something.
LEFT = re.compile("context was destroyed|navigat", re.IGNORECASE)

WIDER = """() => {
  const out = [...document.querySelectorAll('body *')].filter(e => {
    const r = e.getBoundingClientRect();
    return r.width > 0 && r.right > innerWidth + 1 && !e.closest('.vh, svg') && getComputedStyle(e).position !== 'absolute';
  });
  const said = e => e.tagName.toLowerCase() + (e.className ? '.' + e.className : '') + ' ' + (e.textContent || '').trim().slice(0, 40);
  return {wide: document.scrollingElement.scrollWidth, window: innerWidth, out: out.slice(0, 4).map(said)};
}"""

# A box or ring to tick is as large as its label, which takes the tap as well.
SMALL = """(least) => {
  const all = 'nav a, nav summary, button, a.btn, a.act, summary, input:not([type=hidden]), select, textarea';
  const area = e => ((e.type === 'radio' || e.type === 'checkbox') && e.closest('label') || e).getBoundingClientRect();
  const name = e => `${e.tagName.toLowerCase()} “${(e.textContent || e.name || '').trim().slice(0, 40)}”`;
  const words = (e, r) => `${name(e)} ${r.width.toFixed(0)} × ${r.height.toFixed(0)} px`;
  return [...document.querySelectorAll(all)].filter(e => e.checkVisibility() && !e.closest('.vh, .skip'))
    .map(e => [e, area(e)]).filter(([e, r]) => r.width > 0 && (r.height < least || r.width < least)).map(([e, r]) => words(e, r));
}"""


def axe_source() -> str:
    """The text of axe.min.js."""
    path = os.environ.get("GAMBREL_AXE", "")
    if not path or not Path(path).is_file():
        raise SystemExit("GAMBREL_AXE must be the path of axe.min.js (npm package axe-core, see package.json)")
    return Path(path).read_text()


def axe(page: Page, source: str, where: str, faults: Faults) -> None:
    """Runs axe's rules; a violated rule is a fault that names its first nodes, so that they can be found."""
    if not page.evaluate("() => typeof window.axe === 'object'"):
        page.evaluate(source)
    found = page.evaluate(AXE_RUN, TAGS)
    faults.check(found["passes"] > 5, where, f"axe looked at nearly nothing: {found['passes']} rules passed")
    faults.checked += found["passes"]
    for v in found["violations"]:
        first = "; ".join(f"{n['target']} {n['html']} [{n['why']}]" for n in v["nodes"][:2])
        more = f" and {len(v['nodes']) - 2} more nodes" if len(v["nodes"]) > 2 else ""
        faults.add(where, f"axe {v['id']} ({v['impact']}): {v['help']}: {first}{more}")


def settled(page: Page) -> None:
    """Waits until the page that was asked for is there whole. Its address is there before it is, and for a moment it has no body;
    a page on its way out still answers, so it has to be whole twice."""
    page.wait_for_load_state("load")
    whole = 0
    for _ in range(200):
        try:
            whole = whole + 1 if page.evaluate(WHOLE) else 0
        except Error as e:
            if not LEFT.search(e.message):
                raise
            whole = 0
        if whole == 2:
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"{page.url}: not there after 5 s")


def sideways(page: Page, width: int, where: str, faults: Faults) -> None:
    """The page must not be wider than the window; names what sticks out."""
    settled(page)
    seen = page.evaluate(WIDER)
    says = f"scrolls sideways at {width} px: {seen['wide']} px wide, out: {seen['out']}"
    faults.check(seen["wide"] <= seen["window"], where, says)


def targets(page: Page, where: str, faults: Faults) -> None:
    """Links of the navigation, and every button and link styled as one, are at least 24 px high and wide."""
    small = page.evaluate(SMALL, SMALLEST_TARGET)
    faults.check(not small, where, f"targets under {SMALLEST_TARGET} px: {small}")


def order(page: Page, where: str, faults: Faults) -> None:
    """One heading of the first rank, and at most one filled button: the next thing to do."""
    headings = page.locator("main h1").count()
    faults.check(headings == 1, where, f"{headings} headings of the first rank")
    filled = [b.inner_text() for b in page.locator("main .btn.do").all() if b.is_visible()]
    faults.check(len(filled) <= 1, where, f"more than one filled button: {filled}")


class Ears:
    """Listens to a page: console, failed requests, answers of 400 and above, and dialogs nobody asked for."""

    def __init__(self, page: Page, faults: Faults, said_by: str = ""):
        self.faults, self.page, self.said_by = faults, page, said_by
        self.allowed: set[int] = set()
        self.answers = 0
        page.on("console", self._console)
        page.on("pageerror", lambda e: faults.add(self._where(), f"script error: {e}"))
        page.on("requestfailed", self._failed)
        page.on("response", self._answer)

    def _where(self) -> str:
        return (self.said_by + " " + "/".join(self.page.url.split("/")[3:]).join(("/", ""))).strip()

    def _console(self, m: ConsoleMessage) -> None:
        if m.type not in ("error", "warning"):
            return
        # The browser itself notes a refused form's answer; the answer is looked at in `_answer`.
        if "Failed to load resource" in m.text and any(str(s) in m.text for s in self.allowed):
            return
        kind = "CSP violation" if "Content Security Policy" in m.text else f"console {m.type}"
        self.faults.add(self._where(), f"{kind}: {m.text}")

    def _failed(self, r: Request) -> None:
        # Given up by the browser itself: a lookup because more was typed, a page left for a file to keep, a page's icon because
        # the page was left. A service that breaks off or refuses shows as another failure, one that lacks the file as an answer.
        if r.failure != "net::ERR_ABORTED":
            self.faults.add(self._where(), f"request failed: {r.method} {r.url} {r.failure}")

    def _answer(self, r: Response) -> None:
        self.answers += 1
        if r.status not in self.allowed:
            self.faults.check(r.status < 400, self._where(), f"{r.request.method} {r.url} answered {r.status}")

    @contextmanager
    def expecting(self, *statuses: int) -> Iterator[None]:
        """Inside it these answers are what the walk is after, such as 422 of a refused form."""
        self.allowed = set(statuses)
        try:
            yield
        finally:
            self.allowed = set()

