"""Starting the live page: a loopback address, the server, the browser."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path

from lobewright.errors import Fault, FileFault, OutputFault, PlatformFault

HOST = "127.0.0.1"
USUAL_PORT = 8190
TRIED_PORTS = 20


def _listening(port: int) -> socket.socket:
    """A socket that listens on loopback: on the port asked for, else on the first free one from the usual one on.

    Raises OutputFault where none can be had.
    """
    tried = [port] if port else [*range(USUAL_PORT, USUAL_PORT + TRIED_PORTS), 0]
    for one in tried:
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((HOST, one))
        except OSError:
            found.close()
            continue
        return found
    raise OutputFault(
        [Fault("this port is not free", "--port", 0, str(port), "a free port from 1024 to 65535, or none")]
    )


def _project_of(file: str) -> tuple[Path, str]:
    """Folder and design's name of what was asked to be opened: a design file, a folder, or nothing."""
    path = Path(file) if file else Path.cwd()
    if path.is_dir():
        return path, ""
    if not path.exists():
        raise FileFault("there is no such file", str(path))
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
    listening = _listening(port)
    own = listening.getsockname()[1]
    address = f"http://{HOST}:{own}/"
    app = application(project, frozenset({f"{HOST}:{own}", f"localhost:{own}"}))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, lifespan="on"))
    say(f"{address}  (stop with Ctrl+C; everything is saved as you go)")
    if browser:
        threading.Thread(target=_show, args=(server, address), daemon=True).start()
    with contextlib.closing(listening):
        server.run(sockets=[listening])


def _show(server: object, address: str) -> None:
    """Open the browser as soon as the server answers."""
    for _ in range(100):
        if getattr(server, "started", False):
            webbrowser.open(address)
            return
        time.sleep(0.05)
