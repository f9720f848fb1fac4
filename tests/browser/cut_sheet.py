"""A customer's cut sheet on a phone, by keyboard alone: a hog half and a beef quarter, page by page, looked at by the checks."""

from __future__ import annotations

import re

from keyboard import press_on, tab_through, tab_to, type_into
from pages import PHONE, Walker

# Whose orders of the demo they are.
HOG, BEEF = "Delphine Roake", "Corin Hale"
# And whose is filled in with scripts switched off.
BARE = "Ennis Pardee"


def link_of(farmer: Walker, name: str) -> str:
    """The private link of a customer's newest order, as the farmer shows it once."""
    farmer.open("/orders?q=" + name.replace(" ", "+"))
    order = farmer.page.locator("main tbody th a").first.get_attribute("href") or ""
    farmer.open(f"{order}/link")
    farmer.button("Show a link once")
    return farmer.page.locator("#link-words").inner_text().strip()


def choose(w: Walker, words: str) -> None:
    """Arrow keys in the group that has this choice, until it is chosen."""
    wanted = w.page.get_by_role("radio", name=re.compile(rf"^\s*{re.escape(words)}", re.IGNORECASE)).first
    group = w.page.locator(f"input[type=radio][name='{wanted.get_attribute('name')}']")
    stop = group.and_(w.page.locator(":checked"))
    tab_to(w, stop.first if stop.count() else group.first)
    if not stop.count():
        w.page.keyboard.press("Space")
    for _ in range(group.count()):
        if wanted.is_checked():
            return
        w.page.keyboard.press("ArrowDown")
    w.faults.check(wanted.is_checked(), w.where(), f"the arrow keys do not reach “{words}”")


def onward(w: Walker) -> None:
    """The filled button, by Enter; the next page must stand there."""
    before = w.page.url
    press_on(w, w.page.locator("main button.btn.do"))
    w.page.wait_for_url(lambda url: url != before)


def begin(w: Walker, link: str, share: str) -> None:
    w.page.set_viewport_size(PHONE)
    w.open(link)
    open_it = w.page.locator("main").get_by_role("button")
    if "/my" not in w.page.url and open_it.count():
        press_on(w, open_it.first)
    w.page.wait_for_url("**/my")
    w.open("/my/cut-sheet")
    w.says(f"Tell us how to cut your {share}")
    w.look(f"cut-sheet-start-{share.replace(' ', '-')}")
    tab_through(w, "cut sheet, start")


def hog_half(w: Walker, link: str) -> None:
    begin(w, link, "half hog")
    choose(w, "Three questions")
    # Sent without its answers it says what is missing.
    with w.ears.expecting(422):
        press_on(w, w.page.get_by_role("button", name="Begin"))
        w.page.get_by_role("alert").wait_for()
    w.look("cut-sheet-questions-missing")
    choose(w, "Some of each")
    choose(w, "Boneless")
    type_into(w, "How many eat together?", "4")
    press_on(w, w.page.get_by_role("button", name="Begin"))
    w.page.wait_for_url("**/my/cut-sheet/ham_body")
    for _ in range(40):
        if w.page.url.endswith("/check"):
            break
        slug = w.page.url.rsplit("/", 1)[1]
        if slug == "ham_body":
            w.look("cut-sheet-ham")
            tab_through(w, "cut sheet, ham")
            choose(w, "Fresh ham, bone in")
        elif slug == "loin_blade":
            # All three parts of the loin or none: said at once, and nothing is lost.
            choose(w, "Whole boneless loin")
            press_on(w, w.page.locator("main button.btn.do"))
            w.page.get_by_role("alert").wait_for()
            w.look("cut-sheet-loin-refused")
            w.says("It cannot be cut so yet")
            choose(w, "Country-style ribs")
        elif slug == "ground-and-sausage":
            w.look("cut-sheet-ground")
            tab_to(w, w.field("Sausage 1, seasoning"))
            w.page.keyboard.type("Maple")
            tab_to(w, w.page.locator("#sausage-1-weight"))
            w.page.keyboard.type("10")  # more than the smallest batch of the plant
        elif slug == "parts-of-the-animal":
            press_on(w, w.page.get_by_role("checkbox", name="Heart"), "Space")
            w.look("cut-sheet-parts")
        elif slug == "wishes":
            type_into(w, "Anything else for the butcher", "Leave the rind on the bacon, please.")
            w.look("cut-sheet-wishes")
        onward(w)
    w.look("cut-sheet-check")
    tab_through(w, "cut sheet, all of it")
    w.says("Fresh ham, bone in", "maple sausage", "Heart.", "Leave the rind on the bacon, please.")
    press_on(w, w.page.get_by_role("button", name="Send this cut sheet"))
    w.page.wait_for_url("**/my/cut-sheet/sent")
    w.says("The cut sheet of your half hog is in", "What happens next", "You can change it until")
    w.look("cut-sheet-sent")


def beef_quarter(w: Walker, link: str) -> None:
    begin(w, link, "quarter beef")
    choose(w, "The standard cut")
    press_on(w, w.page.get_by_role("button", name="Begin"))
    w.page.wait_for_url("**/my/cut-sheet/chuck_blade")
    for _ in range(40):
        if w.page.url.endswith("/check"):
            break
        slug = w.page.url.rsplit("/", 1)[1]
        if slug == "rib":
            # Some of the ribs in another way: folds, a list and a figure by keyboard.
            press_on(w, w.page.locator("main summary").filter(has_text="ribs in another way"))
            tab_to(w, w.field("The other way"))
            w.page.keyboard.type("Bone-in rib roast")
            type_into(w, "How many ribs, of 7", "3")
            w.look("cut-sheet-rib")
        elif slug == "short_loin":
            choose(w, "Boneless strip steaks and tenderloin")
            press_on(w, w.page.get_by_role("button", name="Save and reckon anew"))
            w.page.get_by_role("status").wait_for()
            w.look("cut-sheet-loin")
        onward(w)
    w.says("3 of 7 as bone-in rib roast", "boneless strip steaks and tenderloin")
    w.look("cut-sheet-check-beef")
    press_on(w, w.page.get_by_role("button", name="Send this cut sheet"))
    w.page.wait_for_url("**/my/cut-sheet/sent")
    w.says("The cut sheet of your quarter beef is in")

