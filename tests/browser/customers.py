"""A customer on a phone, without a mouse: opens the private link, goes over every page it leads to, corrects a phone number, leaves."""

from __future__ import annotations

import keyboard
import rounds
from pages import PHONE, Walker
from service import Service


def shown_link(farmer: Walker) -> str:
    """The farmer shows a link of the first order once, and reads it off the page."""
    farmer.open("/orders")
    farmer.press(farmer.page.locator("main tbody th a").first)
    farmer.page.wait_for_url("**/orders/*")
    farmer.link("Mail it, show it or revoke it")
    farmer.look("private-link")
    farmer.button("Show a link once")
    farmer.look("private-link-shown")
    return farmer.page.locator("#link-words").inner_text().strip()


def open_link(w: Walker, link: str) -> None:
    """Twice looked at, then opened by the keyboard: looking uses nothing up."""
    w.page.set_viewport_size(PHONE)
    for _ in range(2):
        w.page.goto(link)
    w.look("customer-link")
    keyboard.tab_through(w, "customer-link")
    w.page.goto(link)
    keyboard.press_on(w, w.page.get_by_role("button", name="Open my order"))
    w.page.wait_for_url("**/my")
    keyboard.skip_link(w)


def every_page(w: Walker) -> None:
    """Looked at with axe at three widths, and gone through by Tab at a phone's."""
    for path in rounds.crawl(w, "/my"):
        w.page.set_viewport_size(PHONE)
        w.open(path)
        keyboard.tab_through(w, "customer by keyboard")


def correct_phone(w: Walker) -> None:
    w.page.set_viewport_size(PHONE)
    w.open("/my")
    keyboard.press_on(w, w.page.get_by_role("link", name="Correct my phone, mail or address"))
    w.page.wait_for_url("**/my/contact")
    keyboard.tab_to(w, w.field("Phone"))
    w.page.keyboard.press("Control+A")
    w.page.keyboard.type("12")
    with w.ears.expecting(422):
        w.page.keyboard.press("Enter")
        w.page.get_by_role("alert").wait_for()
    w.look("customer-contact-refused")
    keyboard.tab_to(w, w.field("Phone"))
    w.page.keyboard.press("Control+A")
    w.page.keyboard.type("715-555-0166")
    keyboard.press_on(w, w.page.get_by_role("button", name="Save"))
    w.page.wait_for_url("**/my")
    w.says("Thank you, we have it.", "715-555-0166")


def lost(w: Walker) -> None:
    """Leaves, and asks for the link again: the answer is the same for everybody."""
    w.open("/my")
    keyboard.press_on(w, w.page.get_by_role("button", name="Close it on this device"))
    w.page.wait_for_url("**/lost-link")
    w.look("lost-link")
    keyboard.tab_through(w, "lost-link")
    w.open("/lost-link")
    keyboard.type_into(w, "Your mail address", "nobody@mail.example")
    w.page.keyboard.press("Enter")
    w.page.get_by_role("heading", name="Look in your mail").wait_for()
    w.look("lost-link-asked")


def demo(w: Walker, service: Service) -> None:
    open_link(w, service.private)
    every_page(w)
