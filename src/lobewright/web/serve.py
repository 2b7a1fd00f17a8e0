"""Starting the live page: a loopback address, the server, the browser."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from lobewright.errors import Fault, FileFault, OutputFault, PlatformFault

HOST = "127.0.0.1"
USUAL_PORT = 8190
TRIED_PORTS = 20
LOWEST_PORT, HIGHEST_PORT = 1024, 65535
WAITING = 128
"""Connections that may wait to be taken."""
PATIENCE_S = 2
"""Time that questions under way get at the stop key."""


def listening_on(port: int, host: str = HOST, usual: int = USUAL_PORT) -> socket.socket:
    """A socket that listens: on the port asked for, else on the first free one from the usual one on.

    Raises OutputFault where none can be had.
    """
    allowed = f"a free port from {LOWEST_PORT} to {HIGHEST_PORT}, or none"
    if port and not LOWEST_PORT <= port <= HIGHEST_PORT:
        raise OutputFault([Fault("the page cannot be served on this port", "--port", 0, str(port), allowed)])
    tried = [port] if port else [*range(usual, usual + TRIED_PORTS), 0]
    for one in tried:
        # the protocol is named, for the server sends small packets at once only on sockets that say it
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        if os.name == "posix":  # elsewhere this lets two programs have one port
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((host, one))
            found.listen(WAITING)  # only now is the port ours: two programs may bind one that neither listens on
        except OSError:
            found.close()
            continue
        return found
    raise OutputFault([Fault("this port is not free", "--port", 0, str(port), allowed)])


def _project_of(file: str) -> tuple[Path, str]:
    """Folder and design's name of what was asked to be opened: a design file, a folder, or nothing.

    Raises FileFault.
    """
    path = Path(file) if file else Path.cwd()
    try:
        if path.is_dir():
            os.listdir(path)
            return path, ""
        if not path.exists():
            raise FileFault("there is no such file", str(path))
    except OSError as error:
        raise FileFault(f"this cannot be read: {error.strerror}", str(path)) from None
    return path.parent, path.name


def serve(file: str, port: int, browser: bool, say: Callable[[str], None]) -> None:
    """Serve the live page until the stop key. Raises FileFault, OutputFault, or PlatformFault where the extra is missing."""
    try:
        import uvicorn

        from lobewright.web.app import application
    except ImportError as error:
        what = f"the live page needs libraries that cannot be loaded here ({error})"
        allowed = 'install the extra "web": python start.py, or pip install "lobewright[web]"'
        raise PlatformFault([Fault(what, allowed=allowed)]) from None
    from lobewright.web.project import Project

    folder, name = _project_of(file)
    project = Project(folder, name)
    listening = listening_on(port)
    own = listening.getsockname()[1]
    address = f"http://{HOST}:{own}/"
    app = application(project, frozenset({f"{HOST}:{own}", f"localhost:{own}"}))

    class Server(uvicorn.Server):
        """Ends what is being computed before it waits for answers under way; more stop keys are not needed for that."""

        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            if not self.should_exit:
                super().handle_exit(sig, frame)

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            app.state.service.end()
            await super().shutdown(sockets)

    server = Server(uvicorn.Config(app, log_level="warning", access_log=False, lifespan="on",
                                           timeout_graceful_shutdown=PATIENCE_S))  # fmt: skip
    say(f"{address}  (stop with Ctrl+C; everything is saved as you go)")
    if browser:
        threading.Thread(target=_show, args=(server, address), daemon=True).start()
    with contextlib.closing(listening), contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listening])  # hands the stop key on when it has ended


def _show(server: object, address: str) -> None:
    """Open the browser as soon as the server answers."""
    for _ in range(100):
        if getattr(server, "started", False):
            webbrowser.open(address)
            return
        time.sleep(0.05)
