"""A stranger on a phone, without a mouse: asks the demo farm for a share, is refused once, confirms the address, and is answered."""

from __future__ import annotations

import keyboard
from pages import PHONE, Walker

WHO = "Ottilie Varga"
# Of the lambs some are left, whatever the walk did before.
LAMBS = "/farm/reserve/3"


def ask(w: Walker) -> None:
    """The lambs' page, by Tab and typing alone; the demo shows the link that its mail would carry."""
    page = w.page
    page.set_viewport_size(PHONE)
    w.open("/farm/terms")
    w.look("terms")
    w.open(LAMBS)
    w.look("reserve")
    w.look_into_folds("reserve")
    w.open(LAMBS)
    page.set_viewport_size(PHONE)
    keyboard.tab_through(w, "reserve")
    page.reload()
    keyboard.press_on(w, page.locator("main input[type=radio]:checked"), "Space")
    keyboard.type_into(w, "Your name", WHO)
    keyboard.type_into(w, "Your mail address", "ottilie@varga")
    keyboard.press_on(w, page.get_by_role("checkbox", name="I have read the terms"), "Space")
    with w.ears.expecting(422):
        keyboard.press_on(w, page.get_by_role("button", name="Ask for this share"))
        page.get_by_role("alert").wait_for()
    w.look("reserve-refused")
    w.says("is not a mail address")
    page.set_viewport_size(PHONE)
    keyboard.tab_to(w, w.field("Your mail address"))
    page.keyboard.press("Control+A")
    page.keyboard.type("ottilie@varga.example")
    page.wait_for_timeout(3_200)  # a form sent sooner was not read by a person
    keyboard.press_on(w, page.get_by_role("button", name="Ask for this share"))
    page.get_by_role("heading", name="Look in your mail").wait_for()
    w.look("asked")


def confirm(w: Walker) -> None:
    """Looking changes nothing; the button confirms."""
    page = w.page
    keyboard.press_on(w, page.get_by_role("link", name="This is the link that the mail would carry."))
    page.get_by_role("heading", name="Confirm your request").wait_for()
    page.wait_for_load_state("load")
    page.reload()
    w.look("confirm")
    keyboard.press_on(w, page.get_by_role("button", name="Confirm my request"))
    page.get_by_role("heading", name="We have your request").wait_for()
    w.look("confirmed")


def answer(w: Walker) -> None:
    """The farmer finds it on Today and accepts it; the confirmation is a whole paper."""
    w.open("/")
    w.link(f"Answer the request of {WHO}")
    w.page.wait_for_url("**/requests/*")
    w.look("request")
    w.look_into_folds("request")
    w.button("Accept the request")
    w.page.wait_for_url("**/orders/*")
    w.says(WHO, "with the request on our page")
    w.look("request-accepted")
    w.pdf("Confirmation")


def demo(stranger: Walker, farmer: Walker) -> None:
    ask(stranger)
    confirm(stranger)
    answer(farmer)
