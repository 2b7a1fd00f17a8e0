"""The command `open`: how it begins, how it ends, what it says where it cannot."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time

import httpx
import psutil
import pytest
from processes import WAIT_S, family, left, until

from lobewright.web import serve

LOBEWRIGHT = (sys.executable, "-m", "lobewright.cli")


def begun(*words: str, **settings) -> subprocess.Popen[str]:
    command = [*LOBEWRIGHT, "open", "--no-browser", *words]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **settings)


def refused(*words: str, **settings) -> str:
    """What the command says where it does not begin."""
    with begun(*words, **settings) as process:
        try:
            out, told = process.communicate(timeout=WAIT_S)
        finally:
            process.kill()
    assert process.returncode == 2 and not out and "Traceback" not in told, told
    return told


def address_of(process: subprocess.Popen[str]) -> str:
    line = process.stdout.readline()
    found = re.match(r"http://127\.0\.0\.1:\d+/", line)
    assert found, line + process.stderr.read()
    return found.group()


@pytest.fixture
def running(folder):
    """The command on the first example, ended by force if a test leaves it."""
    process = begun(str(folder / "azimuth_belt.toml"))
    yield process
    process.kill()
    process.communicate()


def test_it_answers_on_this_computer_only_and_leaves_at_the_stop_key(running):
    address = address_of(running)
    port = int(address.rsplit(":", 1)[1].strip("/"))
    listening = [(one.laddr.ip, one.laddr.port) for one in psutil.Process(running.pid).net_connections()
                 if one.status == psutil.CONN_LISTEN]  # fmt: skip
    assert listening == [("127.0.0.1", port)]
    assert httpx.get(address + "api/state", timeout=WAIT_S).json()["open"]["file"] == "azimuth_belt.toml"
    assert httpx.get(f"http://localhost:{port}/api/state", timeout=WAIT_S).status_code == 200
    for host in (f"[::1]:{port}", f"localhost.:{port}", f"127.1:{port}", f"127.0.0.1.nip.example:{port}", "localhost"):
        assert httpx.get(address + "api/state", headers={"host": host}, timeout=WAIT_S).status_code == 403, host
    processes = family(running.pid)
    assert processes
    running.send_signal(signal.SIGINT)
    assert running.wait(WAIT_S) == 0
    assert running.stdout.read() == "" and running.stderr.read() == ""
    assert not left(processes)


def with_a_job(address: str) -> None:
    """Begins a job, and waits until it is at work."""
    httpx.post(address + "api/jobs", json={"kind": "load"}, timeout=WAIT_S).raise_for_status()
    until(lambda: httpx.get(address + "api/news", timeout=WAIT_S).json()["jobs"][0]["share"] > 0)


@pytest.mark.parametrize("presses", [1, 2])
def test_the_stop_key_ends_jobs_and_looks_under_way(running, presses):
    address = address_of(running)
    with_a_job(address)
    three_drives = address + "api/lesson/moments?scene=kinds"  # that takes seconds
    with pytest.raises(httpx.ReadTimeout):
        httpx.get(three_drives, timeout=httpx.Timeout(WAIT_S, read=0.5))
    processes = family(running.pid)
    for _ in range(presses):
        running.send_signal(signal.SIGINT)
        time.sleep(0.05)
    assert running.wait(WAIT_S) == 0
    assert "Traceback" not in running.stderr.read()
    assert not left(processes)


def test_killed_it_leaves_no_process_behind(running):
    address = address_of(running)
    httpx.post(address + "api/look", json={"edits": []}, timeout=WAIT_S).raise_for_status()
    with_a_job(address)
    processes = family(running.pid)
    assert len(processes) >= 3
    running.kill()
    assert not left(processes)


def test_small_answers_are_not_held_back():
    """A socket that does not name its protocol waits 40 ms for more before it sends the end of an answer."""
    with serve.listening_on(0) as one:
        assert one.proto == socket.IPPROTO_TCP


def test_a_port_is_taken_once(folder):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        assert f"--port: this port is not free (found {port})" in refused(str(folder), "--port", port)
    for port in ("80", "-1", "70000", "99999999999999999999"):
        told = refused(str(folder), "--port", port)
        assert f"--port: the page cannot be served on this port (found {port}); allowed: a free port from 1024" in told


def test_two_at_once_get_a_port_each(folder):
    first, second = begun(str(folder)), begun(str(folder))
    try:
        addresses = {address_of(first), address_of(second)}
        assert len(addresses) == 2
        for address in addresses:
            assert httpx.get(address + "api/state", timeout=WAIT_S).status_code == 200
    finally:
        for one in (first, second):
            one.kill()
            one.communicate()


def test_what_cannot_be_opened_is_told(folder):
    (folder / "notes.txt").write_text("no design", "utf-8")
    (folder / "folder.toml").mkdir()
    (folder / "latin.toml").write_bytes('name = "für"'.encode("latin-1"))
    (folder / "large.toml").write_bytes(b"#" * 2_000_000)
    assert "a design cannot have this file name (found notes.txt)" in refused(str(folder / "notes.txt"))
    assert "there is no such file" in refused(str(folder / "none.toml"))
    assert "not UTF-8" in refused(str(folder / "latin.toml"))
    assert "too large" in refused(str(folder / "large.toml"))


def test_a_design_that_is_none_is_opened_to_be_mended(folder):
    (folder / "draft.toml").write_text("teeth = = 3\n", "utf-8")
    process = begun(str(folder / "draft.toml"))
    try:
        address = address_of(process)
        answer = httpx.post(address + "api/look", json={"edits": []}, timeout=WAIT_S).json()
        assert answer["ok"] is False and answer["faults"][0]["line"] == 1
    finally:
        process.kill()
        process.communicate()


@pytest.mark.skipif(os.name != "posix", reason="rights of files are asked as posix has them")
def test_a_folder_that_may_not_be_read_is_told(folder, monkeypatch):
    from lobewright.errors import FileFault
    from lobewright.web import serve

    def never(path):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(serve.os, "listdir", never)
    with pytest.raises(FileFault, match="this cannot be read: Permission denied"):
        serve.serve(str(folder), 0, False, print)


@pytest.mark.parametrize("module", ["fastapi", "uvicorn"])
def test_without_its_libraries_it_says_what_to_install(folder, module):
    words = f"import sys; sys.modules[{module!r}] = None; from lobewright.cli import main; sys.exit(main())"
    command = [sys.executable, "-c", words, "open", str(folder), "--no-browser"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=WAIT_S)
    assert done.returncode == 2 and not done.stdout
    assert module in done.stderr and 'install the extra "web"' in done.stderr and "Traceback" not in done.stderr


def comes_to_say(address: str, words: str) -> bool:
    """Whether the open design says this to who asks after two seconds: a file by others is taken up when it has stayed as it is
    from one question to a later one."""
    end = time.monotonic() + 2.0
    while True:
        last = time.monotonic() > end
        if words in httpx.get(address + "api/state", timeout=WAIT_S).json()["open"]["text"]:
            return True
        if last:
            return False
        time.sleep(0.1)


def test_two_servers_on_one_folder_lose_nothing(folder):
    """Each takes up what the other has written, and each can take the other's change back."""
    first, second = begun(str(folder / "azimuth_belt.toml")), begun(str(folder / "azimuth_belt.toml"))
    try:
        one, other = address_of(first), address_of(second)
        for number in range(6):
            teeth = 103 + number
            edit = {"edits": [{"place": "rigid_ring[1].teeth", "value": teeth}]}
            changed = httpx.post((one, other)[number % 2] + "api/edits", json=edit, timeout=WAIT_S)
            assert changed.status_code == 200
            for address in (one, other):
                assert comes_to_say(address, f"teeth = {teeth}")
        for teeth in (107, 106, 105, 104, 103, 102):
            back = httpx.post(other + "api/step", json={"by": -1}, timeout=WAIT_S).json()["open"]["text"]
            assert f"teeth = {teeth} " in back or f"teeth = {teeth}\n" in back
        assert comes_to_say(one, back)
    finally:
        for process in (first, second):
            process.kill()
            process.communicate()


def test_a_bare_name_opens_the_design_here(folder):
    process = begun("azimuth_belt.toml", cwd=folder)
    try:
        assert (
            httpx.get(address_of(process) + "api/state", timeout=WAIT_S).json()["open"]["file"] == "azimuth_belt.toml"
        )
    finally:
        process.kill()
        process.communicate()
