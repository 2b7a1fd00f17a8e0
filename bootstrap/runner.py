"""Runs other commands: quietly into a log with a line now and then, or straight onto the screen."""

import os
import queue
import re
import subprocess
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from bootstrap.words import INSTALL_FAILED, Fault, say

HEARTBEAT_S = 5.0
UNWANTED = ("PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_USER", "PIP_REQUIRE_VIRTUALENV")


def child_env() -> dict[str, str]:
    """The environment for commands inside `.venv`: nothing that leads them elsewhere, UTF-8, unbuffered."""
    env = {name: value for name, value in os.environ.items() if name not in UNWANTED}
    return env | {"PYTHONUTF8": "1", "PYTHONUNBUFFERED": "1", "PYTHONNOUSERSITE": "1"}


def run_shown(command: Sequence[str], cwd: Path) -> int:
    """Runs a command whose own output the person shall see. Returns its exit code."""
    return subprocess.run(command, cwd=cwd, env=child_env(), check=False).returncode


def run_asked(command: Sequence[str], cwd: Path, timeout_s: float = 300.0) -> tuple[int, str]:
    """Runs a short command and returns its exit code and all it printed; 127 when it cannot be run at all."""
    try:
        done = subprocess.run(
            command,
            cwd=cwd,
            env=child_env(),
            check=False,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            timeout=timeout_s,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return 127, str(error)
    return done.returncode, done.stdout.decode("utf-8", "replace")


def run_logged(command: Sequence[str], cwd: Path, log: Path, heartbeat_s: float = HEARTBEAT_S) -> tuple[int, str]:
    """Runs a long command with its output in `log` and a line on screen every few seconds.

    Returns the exit code and the output.
    """
    lines: queue.Queue[str | None] = queue.Queue()
    process = subprocess.Popen(
        command,
        cwd=cwd,
        env=child_env(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        encoding="utf-8",
        errors="replace",
    )

    def read() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            lines.put(line)
        lines.put(None)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    try:
        output = _follow(lines, log, heartbeat_s)
        return process.wait(), output
    finally:
        if process.poll() is None:  # interrupted: do not leave it running
            process.terminate()
            process.wait()
        reader.join()
        if process.stdout is not None:
            process.stdout.close()


def _follow(lines: "queue.Queue[str | None]", log: Path, heartbeat_s: float) -> str:
    output: list[str] = []
    start = shown = time.monotonic()
    log.parent.mkdir(parents=True, exist_ok=True)
    with open(log, "a", encoding="utf-8") as file:
        while True:
            try:
                line = lines.get(timeout=heartbeat_s)
                if line is None:
                    return "".join(output)
                output.append(line)
                file.write(line)
                file.flush()
            except queue.Empty:
                pass
            now = time.monotonic()
            if now - shown >= heartbeat_s:
                shown = now
                say(f"   {now - start:4.0f} s  {progress_word(output)}")


def progress_word(output: Sequence[str]) -> str:
    """What pip is at, in a few words, from what it printed so far."""
    for line in reversed(output):
        collecting = re.match(r"\s*(Collecting|Downloading|Installing collected packages)\b:?\s*(\S*)", line)
        if collecting:
            what = re.split(r"[=;/ ]|-\d", collecting.group(2).rsplit("/", 1)[-1])[0]
            if collecting.group(1).startswith("Installing"):
                return "unpacking"
            return f"{collecting.group(1).lower()} {what}"
    return "working"


NETWORK = re.compile(
    r"Failed to establish a new connection|NewConnectionError|Name or service not known|name resolution"
    r"|ConnectTimeout|Connection refused|ConnectionError|ProxyError|Network is unreachable|Read timed out|getaddrinfo",
    re.IGNORECASE,
)


def pip_fault(output: str, log: Path, wheels: Path | None) -> Fault:
    """One sentence for a failed pip, chosen from its own message; the whole message is in `log`."""
    see = f" (pip's own message: {log})"
    lines = [line.strip() for line in output.splitlines() if line.strip()]
    errors = [line for line in lines if line.startswith("ERROR:")] or lines or ["no message"]
    if re.search(r"No space left on device|Errno 28|not enough space on the disk", output):
        sentence = "The disk became full while installing: make room and run start.py again"
    elif re.search(r"DO NOT MATCH THE HASHES", output):
        sentence = (
            "A downloaded part does not have the hash that the lock names: it was damaged or changed on the way; "
            "run start.py again, and do not use the part if it happens twice"
        )
    elif wheels is not None and re.search(r"No matching distribution|Could not find a version", output):
        named = re.search(r"No matching distribution found for ([\w.-]+==[\w.+]+)", output)
        part = named.group(1) if named else "a part"
        sentence = f"The folder {wheels} has no fitting wheel of {part}: add it or leave out --wheels"
    elif wheels is None and NETWORK.search(output):
        sentence = (
            "The package index could not be reached: connect to the network (or set the proxy) and run start.py again, "
            "or install from a folder of wheels with --wheels DIR"
        )
    elif re.search(r"Permission denied|Errno 13|Access is denied|WinError 5", output):
        sentence = (
            "A file in .venv could not be written: close programs that use it, check the folder's owner, run again"
        )
    else:
        sentence = f"pip could not install: {errors[-1].removeprefix('ERROR:').strip()}"
    return Fault(sentence + see + ".", INSTALL_FAILED)
