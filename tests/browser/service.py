"""Starts the built program in a folder and on a port of its own, and stops it again."""

from __future__ import annotations

import os
import queue
import re
import shutil
import socket
import subprocess
import tempfile
import threading
import time
from pathlib import Path

URL = re.compile(r"https?://[^\s\"'<>]+")
MAIL = re.compile(r"[A-Za-z0-9._+-]+@[A-Za-z0-9.-]+")
# "password: a few words", or: with the password “a few words”.
PASSWORD = re.compile(r"password\s*(?:is\b)?\s*:?\s*[“\"'`]?(.+?)[”\"'`]?\s*\.?$", re.IGNORECASE)


def free_port() -> int:
    """A port nobody listens on now; the service takes it a moment later."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Service:
    """`gambrel serve` on an empty book, or `gambrel demo` with the invented farm.

    As a context manager it waits for the address (and the one-use link, or the demo's sign-in) on standard output,
    and ends the process it started, and only that one, when the walk is over.
    """

    def __init__(self, command: str = "serve", patience: float = 120.0):
        self.command, self.patience = command, patience
        self.base = self.link = self.private = self.plant = self.mail = self.password = ""
        self.said: list[str] = []

    def __enter__(self) -> Service:
        program = os.environ.get("GAMBREL_BIN", "")
        if not program or not Path(program).is_file():
            raise SystemExit("GAMBREL_BIN must be the path of the built program, such as target/debug/gambrel")
        self.folder = Path(tempfile.mkdtemp(prefix="gambrel-walk-"))
        kept = {k: v for k, v in os.environ.items() if not k.startswith(("GAMBREL_", "SMTP_", "DATABASE_"))}
        listen = f"127.0.0.1:{free_port()}"
        own = {"GAMBREL_DATA": str(self.folder / "book"), "GAMBREL_LISTEN": listen, "GAMBREL_LOG": "warn", "NO_COLOR": "1"}
        self.log = (self.folder / "log").open("wb")
        self.process = subprocess.Popen(
            [str(Path(program).resolve()), self.command], cwd=self.folder, env=kept | own, stdout=subprocess.PIPE, stderr=self.log, text=True
        )
        self.lines: queue.Queue[str | None] = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()
        try:
            self._wait()
        except BaseException:
            self.__exit__()
            raise
        return self

    def _listen(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.lines.put(line.rstrip("\n"))
        self.lines.put(None)

    def _wait(self) -> None:
        until = time.monotonic() + self.patience
        while not self._ready():
            try:
                line = self.lines.get(timeout=max(0.1, until - time.monotonic()))
            except queue.Empty:
                raise SystemExit(f"gambrel {self.command}: no address within {self.patience:.0f} s: {self.said}") from None
            if line is None:
                self.log.flush()
                raise SystemExit(f"gambrel {self.command} ended early: {self.said}\n{self.errors()}")
            self.said.append(line)
            self._read(line)

    def _read(self, line: str) -> None:
        """Takes the address, the one-use link, and the demo's mail, password and private links out of what is printed."""
        for url in (u.rstrip(".,)") for u in URL.findall(line)):
            root = "/".join(url.split("/")[:3])
            self.base = self.base or root
            if "/start/" in url:
                self.link = url
            if "/c/" in url:
                self.private = url
            if "/p/" in url:
                self.plant = url
        without_urls = URL.sub(" ", line)
        if not self.mail and (found := MAIL.search(without_urls)):
            self.mail = found.group().rstrip(".")
        if not self.password and (found := PASSWORD.search(without_urls)):
            self.password = found.group(1).strip()

    def _ready(self) -> bool:
        if self.command == "demo":
            return bool(self.base and self.mail and self.password and self.private and self.plant)
        return bool(self.base and self.link)

    def errors(self) -> str:
        """What the service wrote on standard error."""
        return (self.folder / "log").read_text(errors="replace")

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait(5)
        self.log.close()
        shutil.rmtree(self.folder, ignore_errors=True)
