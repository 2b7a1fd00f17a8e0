"""The live page driven as a person does: the real command on a copied folder, the page in Chromium of the system."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
)
"""The last one leaves the browser nothing but this computer to ask."""


def missing(what: str) -> None:
    """Skips the test; in CI the page must be opened."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is not installed, and in CI the page must be opened")
    pytest.skip(f"{what} is not installed: the page is not opened here")


@dataclass
class Live:
    """The command as it runs, its address, and the folder that it was opened on."""

    process: subprocess.Popen[str]
    address: str
    folder: Path

    def leave(self) -> int:
        """The stop key; the exit status."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(10)


def copied(place: Path) -> Path:
    """The examples in a folder of their own."""
    place.mkdir(parents=True)
    for path in EXAMPLES.iterdir():
        if path.suffix in (".toml", ".csv"):
            shutil.copy(path, place)
    return place


@contextlib.contextmanager
def opened(folder: Path, file: str = "azimuth_belt.toml", *words: str) -> Iterator[Live]:
    """The command on a design of a folder, until the block ends."""
    command = [sys.executable, "-m", "lobewright.cli", "open", str(folder / file), "--no-browser", *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        line = process.stdout.readline()
        found = re.match(r"http://127\.0\.0\.1:\d+/", line)
        assert found, line + process.stderr.read()
        yield Live(process, found.group(), folder)
    finally:
        process.kill()
        process.communicate()


def wait(page: Any, expression: str, argument: Any = None, seconds: float = 30.0) -> Any:
    """What the function or expression gives, as soon as that is true of it.

    The driver's own waiting evaluates text in the page, which its policy forbids.
    """
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = page.evaluate(expression, argument)
        if found:
            return found
        page.wait_for_timeout(40)
    pytest.fail(f"never true in {seconds:g} s: {expression} {argument or ''}")


def settled(page: Any) -> None:
    """Until the page has begun and has shown a whole look at what is open."""
    wait(page, "() => document.documentElement.dataset.ready === 'true' && document.querySelector('h1').textContent")


class Heard:
    """What pages say on the console, which errors they meet, and where they ask.

    ``refusals_meant`` leaves out the browser's word that an answer has status 409 or 422: something is asked that must be
    refused.
    """

    def __init__(self, own: str) -> None:
        self.own = urlsplit(own).netloc
        self.words: list[str] = []
        self.refusals_meant = False

    def listen(self, page: Any) -> None:
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.words.append(f"error: {error}"))
        page.on("request", self._asked)

    def _said(self, message: Any) -> None:
        refusal = self.refusals_meant and re.search("status of (409|422)", message.text)
        drawing = (
            "GL Driver Message (OpenGL, Performance" in message.text
        )  # the browser's own, where it draws without a card
        if not refusal and not drawing:
            self.words.append(f"console {message.type}: {message.text}")

    def _asked(self, request: Any) -> None:
        where = urlsplit(request.url)
        if where.netloc != self.own and where.scheme not in ("data", "blob", "about"):
            self.words.append(f"asked elsewhere: {request.url}")
