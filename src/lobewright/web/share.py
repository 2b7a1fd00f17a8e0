"""A lesson shown to others in the local network, to read only, until the stop key."""

from __future__ import annotations

import contextlib
import os
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from lobewright.errors import Fault, PlatformFault
from lobewright.lesson_folder import TEACHER
from lobewright.teach.language import Language
from lobewright.web.network import chosen_address
from lobewright.web.serve import HOST, PATIENCE_S, listening_on
from lobewright.web.share_page import code_of, code_text, entry
from lobewright.web.shared_files import SharedFiles, files_in
from lobewright.whole_folder import RESULTS

USUAL_PORT = 8290
LEFT_OUT = (TEACHER, RESULTS)
"""What no class may see: answers, questions with what is right, plans; and what programs keep."""
MOST_VIEWERS = 500
"""Connections at a time, a browser holds up to six; beyond that one is told to come later."""


def ready(address: str, port: int = 0) -> str:
    """The address that a lesson would be shown under, empty where there is no network; to be asked before one is written.

    ``address``: one of this computer's in a local network, empty for the one by which it would reach others; ``port``: 0 for
    any. Raises OutputFault (not such an address, port cannot be had), PlatformFault where the extras ``web`` and ``lesson`` are
    missing.
    """
    try:
        import segno  # noqa: F401  (used once there is an address)
        import uvicorn  # noqa: F401
    except ImportError as error:
        what = f"sharing a lesson needs libraries that cannot be loaded here ({error})"
        allowed = 'install the extras "web" and "lesson": python start.py, or pip install "lobewright[web,lesson]"'
        raise PlatformFault([Fault(what, allowed=allowed)]) from None
    found = chosen_address(address)
    with contextlib.closing(listening_on(port, found or HOST, USUAL_PORT)):  # whether it could be had
        return found


def share(folder: Path, title: str, language: Language, address: str, port: int, say: Callable[[str], None]) -> None:
    """Show what a lesson wrote into ``folder``, as it stands now, until the stop key; ``say`` is told what, to whom and where.

    ``address`` as for :func:`ready`; without any network only this computer is answered. Raises FileFault (no lesson there),
    OutputFault (port cannot be had), or what :func:`ready` raises.
    """
    found = ready(address)
    import uvicorn

    names = files_in(folder, LEFT_OUT)
    with contextlib.closing(listening_on(port, found or HOST, USUAL_PORT)) as listening:
        say("\n".join(told(folder, names, found)))
        host = f"{found or HOST}:{listening.getsockname()[1]}"
        where = f"http://{host}/"
        code = code_of(where) if found else None
        say(f"\n{where}  (stop with Ctrl+C)")
        if code is not None:
            say("\n" + code_text(code, _colours()))
        app = SharedFiles(folder, names, entry(folder, names, title, language, where, code), host)
        config = uvicorn.Config(app, log_level="critical", access_log=False, lifespan="off", ws="none", server_header=False,
                                limit_concurrency=MOST_VIEWERS, timeout_graceful_shutdown=PATIENCE_S)  # fmt: skip
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listening])  # hands the stop key on when it has ended


def told(folder: Path, names: tuple[str, ...], address: str) -> list[str]:
    """What is shown, and to whom."""
    counted = Counter(f"{name.split('/')[0]}/" if "/" in name else name for name in names)
    rows = [
        f"  {name}" + (f" ({count} files)" if name.endswith("/") else "") for name, count in sorted(counted.items())
    ]
    kept = [one for one in LEFT_OUT if (folder / one).exists()]
    apart = f"Not shown: {', '.join(kept)}, hidden files, links." if kept else "Hidden files and links are not shown."
    whom = [
        f"To whom: everybody who reaches this computer's address {address} in the local network, without a password.",
        "What is sent is not encrypted. Nothing can be changed by it, and nothing else of this computer be read.",
    ]
    nobody = ["No local network was found: nobody else can open the lesson, it is shown on this computer only."]
    return [f"Shown to read, from {folder}:", *rows, apart, *(whom if address else nobody)]


def _colours() -> bool:
    """Whether what is printed is seen in a terminal that knows colours."""
    return sys.stdout.isatty() and (os.name == "posix" or "WT_SESSION" in os.environ)
