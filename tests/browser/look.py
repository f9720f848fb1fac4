"""Pictures of pages of a running service, for looking at: look.py FOLDER ADDRESS PAGE...

    look.py /tmp/seen http://127.0.0.1:8080 / /orders orders/3 --mail ada@nettlebend.example --password 'a few words'
    look.py /tmp/seen http://127.0.0.1:8080 /money --cookie gambrel=TOKEN --dark --text 200 --width 320 390 1280
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pages
from playwright.sync_api import sync_playwright


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("folder", type=Path)
    words.add_argument("address")
    words.add_argument("page", nargs="+")
    words.add_argument("--mail")
    words.add_argument("--password")
    words.add_argument("--cookie", help="NAME=VALUE of a session that is open")
    words.add_argument("--dark", action="store_true")
    words.add_argument("--text", type=int, default=100, help="size of the text in per cent, such as 200")
    words.add_argument("--unfold", action="store_true", help="open every fold")
    words.add_argument("--width", type=int, nargs="+", default=[390, 1280])
    asked = words.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as p:
        browser = pages.launch(p)
        window = pages.context(browser, asked.address.rstrip("/"), color_scheme="dark" if asked.dark else "light")
        if asked.cookie:
            name, _, value = asked.cookie.partition("=")
            window.add_cookies([{"name": name, "value": value, "url": asked.address}])
        page = window.new_page()
        if asked.mail:
            page.goto("/sign-in")
            page.get_by_label("Mail address").fill(asked.mail)
            page.get_by_label("Password").fill(asked.password or "")
            page.get_by_role("button", name="Sign in").click()
            page.get_by_role("navigation", name="Main").wait_for()
        for path in asked.page:
            answer = page.goto("/" + path.lstrip("/"))
            if asked.text != 100:
                page.evaluate("(share) => { document.documentElement.style.fontSize = `${17 * share / 100}px`; }", asked.text)
            if asked.unfold:
                page.evaluate("() => document.querySelectorAll('main details').forEach(d => { d.open = true; })")
            name = re.sub(r"[^A-Za-z0-9]+", "-", path).strip("-") or "today"
            for width in asked.width:
                page.set_viewport_size({"width": width, "height": 844 if width < 768 else 900})
                file = asked.folder / f"{name}{'-dark' if asked.dark else ''}-{width}.png"
                page.screenshot(path=file, full_page=True)
                wide = page.evaluate("() => document.scrollingElement.scrollWidth")
                print(f"{file}  {answer.status if answer else ''}{f'  scrolls sideways: {wide} px' if wide > width else ''}")
        browser.close()


if __name__ == "__main__":
    main()
