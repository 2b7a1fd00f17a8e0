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
from collections.abc import Callable, Iterator
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
WAIT_S = 120.0
"""A state that does not come in this time never comes, however slow the computer; for nothing to which a promise gives less time.
Looks under torque, meshes and advice stand back behind all else that runs."""


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

    def tell(self, path: str, body: dict[str, Any]) -> None:
        """A change that does not come from a page."""
        import httpx

        httpx.post(self.address + path, json=body, timeout=WAIT_S).raise_for_status()

    def leave(self) -> int:
        """The stop key; the exit status."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(WAIT_S)


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


def wait(page: Any, expression: str, argument: Any = None, seconds: float = WAIT_S) -> Any:
    """What the function or expression gives, as soon as that is true of it. Wait for what is false before the act, and true
    only when all that is asserted afterwards is done.

    The driver's own waiting evaluates text in the page, which its policy forbids.
    """
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = page.evaluate(expression, argument)
        if found:
            return found
        page.wait_for_timeout(40)
    pytest.fail(f"never true in {seconds:g} s: {expression} {argument or ''}")


def drawn(page: Any) -> None:
    """Until what was asked of the page so far is painted."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def work_ms(page: Any, act: Callable[[], Any]) -> float:
    """Processor time that the page's own thread takes meanwhile: what else runs on this computer is not counted."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def now_s() -> float:
        return next(
            one["value"] for one in session.send("Performance.getMetrics")["metrics"] if one["name"] == "ThreadTime"
        )

    began = now_s()
    act()
    return 1000.0 * (now_s() - began)


def settled(page: Any) -> None:
    """Until the page has begun, and has shown a whole look at what is open and its form."""
    wait(
        page,
        """() => document.documentElement.dataset.ready === "true" && document.querySelector("h1").textContent
          && document.querySelector("#form .entry")""",
    )


def worked_out(page: Any) -> None:
    """Until the drive under torque stands there too, the last that comes by itself: from then on nothing moves about."""
    wait(
        page, "() => document.querySelector('.push [data-number]') && document.querySelector('lobewright-moving').parts"
    )
    drawn(page)


class Held:
    """Answers to a kind of question, kept from the page until they are let go. ``first``: only the first one is kept."""

    def __init__(self, page: Any, pattern: str, first: bool = False, answered: bool = False) -> None:
        self.page, self.pattern, self.first, self.answered = page, pattern, first, answered
        self.routes: list[tuple[Any, Any]] = []
        self.count = 0
        self.open = False
        page.route(pattern, self._came)

    def _came(self, route: Any) -> None:
        self.count += 1
        if self.open or (self.first and self.count > 1):
            route.continue_()
        else:
            self.routes.append((route, route.fetch() if self.answered else None))

    def wait(self) -> None:
        """Until one is kept; where they are ``answered``, until the server has answered it."""
        until(self.page, lambda: self.routes, f"{self.pattern} was not asked for")

    def let_go(self, handled: str = "") -> None:
        """To the page with them; from now on nothing is kept. With a path in ``handled``: until the page has done with an answer
        from there; see ``answers_counted``."""
        if handled:
            self.page.evaluate("() => { window.told.length = 0; }")
        self.open = True
        while self.routes:
            route, answer = self.routes.pop(0)
            if answer is None:
                route.continue_()
            else:
                route.fulfill(response=answer)
        self.page.unroute(self.pattern)
        if handled:
            told_of(self.page, handled)


def until(page: Any, true: Callable[[], Any], otherwise: str) -> Any:
    """What is true here and not in the page, as soon as it is; meanwhile the page and the driver go on."""
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end:
        if found := true():
            return found
        page.wait_for_timeout(40)
    pytest.fail(otherwise)


def answers_counted(page: Any) -> None:
    """From now on ``window.told`` lists the paths of questions whose answers the page has got and done with."""
    page.evaluate("""() => {
      const plain = window.fetch;
      window.told = [];
      window.fetch = async (path, ...rest) => {
        const answer = await plain(path, ...rest);
        const json = answer.json.bind(answer);
        answer.json = async () => {
          const body = await json();
          setTimeout(() => window.told.push(path)); // after all that follows from it at once
          return body;
        };
        return answer;
      };
    }""")


def told_of(page: Any, path: str, count: int = 1) -> None:
    """Until so many answers to questions at this path are done with; see ``answers_counted``."""
    wait(page, "([path, count]) => window.told.filter((one) => one === path).length >= count", [path, count])


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
