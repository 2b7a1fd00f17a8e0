"""A lesson shown in the local network: what is told, what is answered, what is refused, and to how many at once."""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import shutil
import signal
import socket
import time
from pathlib import Path
from types import SimpleNamespace

import httpx
import numpy as np
import psutil
import pytest
from processes import WAIT_S
from tests.web.sharing import begun

from lobewright.errors import FileFault, OutputFault
from lobewright.picture.page import moving_page
from lobewright.teach.language import Language
from lobewright.web import network
from lobewright.web.share_page import code_of, code_text, entry
from lobewright.web.shared_files import Entry, SharedFiles, files_in

SECRET = "for the teacher alone"
PAGE_BYTES = 1_450_000
"""As large as a page with all scenes may be."""


@pytest.fixture(scope="module")
def garden(tmp_path_factory) -> Path:
    """A lesson as it is written, with things in and beside it that nobody may read."""
    top = tmp_path_factory.mktemp("share")
    lesson = top / "garden_lesson"
    for one in ("films", "teacher", ".kept"):
        (lesson / one).mkdir(parents=True)
    (lesson / "all.html").write_text(moving_page("All scenes", {"filling": "x" * PAGE_BYTES}), "utf-8")
    (lesson / "plain.html").write_text("<title>Racks &amp; wedge</title><script>fetch('/')</script>", "utf-8")
    (lesson / "films" / "racks.mp4").write_bytes(bytes(range(256)) * 40)
    (lesson / "films" / "Übung.txt").write_text("said", "utf-8")
    for one in ("teacher/answers.pdf", ".kept/x.html", ".hidden.html", "results.json", "../secret.html"):
        (lesson / one).write_text(SECRET, "utf-8")
    (lesson / "out.html").symlink_to(top / "secret.html")
    (lesson / "above").symlink_to(top, target_is_directory=True)
    return lesson


@pytest.fixture(scope="module")
def shown(garden):
    one = begun(garden, "127.0.0.2")
    yield one
    one.process.kill()
    one.process.communicate()


def sent(shown: SimpleNamespace, target: str, method: str = "GET", heads: str = "", host: str | None = None) -> bytes:
    """The whole answer to a question written letter for letter."""
    host = f"host: {shown.host}:{shown.port}\r\n" if host is None else host
    with socket.create_connection((shown.host, shown.port), WAIT_S) as asking:
        asking.sendall(f"{method} {target} HTTP/1.1\r\n{host}connection: close\r\n{heads}\r\n".encode("latin-1"))
        answer = b""
        while piece := asking.recv(65536):
            answer += piece
    return answer


def test_what_is_told_before_it_begins(garden, shown):
    lines = shown.told.splitlines()
    assert lines[-1].startswith(shown.address), "the address comes last, when all else is said"
    for words in ("all.html", "films/ (2 files)", "plain.html", "Not shown: teacher, results.json", "everybody who reaches",
                  "127.0.0.2", "without a password", "not encrypted", str(garden)):  # fmt: skip
        assert words in shown.told, words
    for words in ("answers", "secret", "out.html", "above", ".kept"):
        assert words not in shown.told, words


def test_what_the_lesson_wrote_is_answered(garden, shown):
    with httpx.Client(base_url=shown.address, timeout=WAIT_S) as asking:
        front = asking.get("/")
        links = re.findall(r'href="([^":]+)"', front.text)
        assert links == ["all.html", "plain.html", "films/racks.mp4", "films/%C3%9Cbung.txt"]
        assert "Racks &amp; wedge" in front.text and "Roof &lt;garden&gt;" in front.text and "All scenes" in front.text
        for link in links:
            answer = asking.get(link)
            path = garden / link.replace("%C3%9C", "Ü")
            assert answer.status_code == 200 and answer.content == path.read_bytes(), link
            assert answer.headers["x-content-type-options"] == "nosniff"
            head = asking.head(link)
            assert head.content == b"" and head.headers["content-length"] == str(path.stat().st_size)
            again = asking.get(link, headers={"if-none-match": answer.headers["etag"]})
            assert again.status_code == 304 and again.content == b""


@pytest.mark.parametrize(
    ("asked", "first", "last"),
    [
        ("bytes=0-", 0, 10239),
        ("bytes=100-199", 100, 199),
        ("bytes=-40", 10200, 10239),
        ("bytes=10000-99999", 10000, 10239),
    ],
)
def test_films_are_sent_in_pieces_too(garden, shown, asked, first, last):
    whole = (garden / "films" / "racks.mp4").read_bytes()
    with httpx.Client(base_url=shown.address, timeout=WAIT_S) as asking:
        answer = asking.get("films/racks.mp4", headers={"range": asked})
        assert answer.status_code == 206 and answer.content == whole[first : last + 1]
        assert answer.headers["content-range"] == f"bytes {first}-{last}/{len(whole)}"
        assert asking.get("films/racks.mp4", headers={"range": "bytes=10240-"}).status_code == 416
        other = asking.get("films/racks.mp4", headers={"range": asked, "if-range": '"another"'})
        assert other.status_code == 200 and other.content == whole


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND", "MKCOL"])
def test_nothing_can_be_changed(garden, shown, method):
    before = sorted(str(one) for one in garden.rglob("*"))
    for target in ("/", "/all.html", "/new.html"):
        answer = sent(shown, target, method, "content-length: 3\r\n")
        assert answer.startswith(b"HTTP/1.1 405 ") and b"allow: GET, HEAD" in answer
    assert sorted(str(one) for one in garden.rglob("*")) == before


@pytest.mark.parametrize(
    "target",
    ["/results.json", "/teacher/answers.pdf", "/teacher/", "/teacher", "/films", "/films/", "/.hidden.html", "/.kept/x.html",
     "/out.html", "/above/secret.html", "/../secret.html", "/films/../../secret.html", "/films/../teacher/answers.pdf",
     "/..%2fsecret.html", "/%2e%2e/secret.html", "/%2e%2e%2fsecret.html", "/..%c0%afsecret.html", "/..%255csecret.html",
     "/..\\secret.html", "/films\\..\\..\\secret.html", "//etc/passwd", "/etc/passwd", "/%2fetc/passwd", "/all.html/",
     "/./all.html", "/all.html%00", "/all.html%00.txt", "/%61ll.html", "/ALL.HTML", "//all.html", "/films//racks.mp4",
     "/films/%c3%9cbung.txt", "/films/./racks.mp4", "all.html", "*", "http://127.0.0.1/../secret.html", "/.", "/..", "/%"],
)  # fmt: skip
def test_there_is_no_way_out_and_one_name_for_each_page(shown, target):
    answer = sent(shown, target)
    assert answer.split(b" ")[1] in (b"404", b"400") and SECRET.encode() not in answer and b"root:" not in answer


@pytest.mark.parametrize("target", ["/", "/all.html", "/none.html"])
@pytest.mark.parametrize("host", ["evil.example", "evil.example:{port}", "{host}", "localhost:{port}", "{host}:{port}.", "",
                                  "{host}:{port}\r\nhost: evil.example"])  # fmt: skip
def test_pages_whose_names_were_pointed_here_read_nothing(shown, target, host):
    line = f"host: {host}\r\n".format(host=shown.host, port=shown.port) if host else ""
    answer = sent(shown, target, host=line)
    assert answer.split(b" ")[1] in (b"403", b"400") and b"<html" not in answer and b"All scenes" not in answer
    assert b" 200 " in sent(shown, "/").split(b"\r\n")[0]


def test_a_link_that_comes_later_leads_nowhere_and_a_new_file_is_not_shown(garden, tmp_path):
    lesson = shutil.copytree(garden, tmp_path / "lesson", symlinks=True)
    one = begun(lesson, "127.0.0.2")
    try:
        with httpx.Client(base_url=one.address, timeout=WAIT_S) as asking:
            assert asking.get("films/racks.mp4").status_code == asking.get("plain.html").status_code == 200
            (lesson / "later.html").write_text(SECRET, "utf-8")
            (lesson / "plain.html").unlink()
            (lesson / "plain.html").symlink_to(lesson / "results.json")
            (lesson / "films").rename(tmp_path / "films")
            (lesson / "films").symlink_to(tmp_path / "films", target_is_directory=True)
            for link in ("later.html", "plain.html", "films/racks.mp4"):
                answer = asking.get(link)
                assert answer.status_code == 404 and SECRET not in answer.text, link
            (lesson / "plain.html").unlink()
            os.mkfifo(lesson / "plain.html")
            assert asking.get("plain.html").status_code == 404, "and nothing waits for a pipe"
    finally:
        one.process.kill()
        one.process.communicate()


def test_pages_may_run_what_they_name_themselves_and_ask_nobody(shown):
    with httpx.Client(base_url=shown.address, timeout=WAIT_S) as asking:
        allowed = {
            link: asking.get(link).headers["content-security-policy"] for link in ("/", "all.html", "plain.html")
        }
        own = re.search(r"script-src ('sha256-[^']+')", asking.get("all.html").text).group(1)
    assert f"script-src {own}; style-src 'sha256-" in allowed["all.html"]
    assert "script-src 'none'" in allowed["plain.html"] and "script-src" not in allowed["/"]
    for one in allowed.values():
        assert "default-src 'none'" in one and "unsafe" not in one and "*" not in one and "http" not in one


def test_only_this_address_answers_and_the_stop_key_ends_it(garden):
    one = begun(garden, "127.0.0.2")
    listening = [(row.laddr.ip, row.laddr.port) for row in psutil.Process(one.process.pid).net_connections()
                 if row.status == psutil.CONN_LISTEN]  # fmt: skip
    assert listening == [("127.0.0.2", one.port)]
    with httpx.stream(
        "GET", one.address + "all.html", timeout=WAIT_S
    ) as slow:  # one who reads slowly does not hold it up
        next(slow.iter_bytes(1000))
        one.process.send_signal(signal.SIGINT)
        assert one.process.wait(WAIT_S) == 0
    rest = one.process.stdout.read()
    assert one.process.stderr.read() == "" and "█" in rest
    one.process.communicate()


def test_without_a_network_it_is_told_and_this_computer_alone_is_answered(garden):
    one = begun(garden, "")
    try:
        assert one.host == "127.0.0.1" and "No local network was found" in one.told and "everybody" not in one.told
        assert "<svg" not in httpx.get(one.address, timeout=WAIT_S).text
    finally:
        one.process.send_signal(signal.SIGINT)
        rest, words = one.process.communicate(timeout=WAIT_S)
    assert "█" not in rest and words == ""


def test_thirty_viewers_have_the_largest_page_within_ten_seconds(garden, shown):
    """Counted from the first question to the last answer; what the viewers need to begin is no work of the server."""
    whole = (garden / "all.html").read_bytes()
    assert len(whole) > PAGE_BYTES

    async def view(asking: httpx.AsyncClient) -> None:
        assert (await asking.get("/")).status_code == 200
        assert (await asking.get("all.html")).content == whole

    async def all_of_them() -> float:
        async with contextlib.AsyncExitStack() as ending:
            viewers = [httpx.AsyncClient(base_url=shown.address, timeout=WAIT_S) for _ in range(30)]
            for one in viewers:
                await ending.enter_async_context(one)
            began = time.monotonic()
            await asyncio.gather(*(view(one) for one in viewers))
            return time.monotonic() - began

    assert asyncio.run(all_of_them()) < 10


@pytest.mark.parametrize(("peer", "status"), [("192.168.7.9", 200), ("10.1.2.3", 200), ("127.0.0.1", 200), ("8.8.8.8", 403),
                                              ("2001:4860:4860::8888", 403), ("", 403)])  # fmt: skip
def test_nobody_outside_local_networks_is_answered(garden, peer, status):
    app = SharedFiles(garden, files_in(garden, ("teacher",)), Entry(b"front", "default-src 'none'"), "10.0.0.1")

    async def asked() -> int:
        way = httpx.ASGITransport(app, client=(peer, 1))
        async with httpx.AsyncClient(transport=way, base_url="http://10.0.0.1") as asking:
            return (await asking.get("/plain.html")).status_code

    assert asyncio.run(asked()) == status


def test_an_address_of_the_open_internet_is_refused(monkeypatch):
    monkeypatch.setattr(network, "_outward", lambda: iter(["169.254.3.4", "8.8.8.8", "127.0.0.1"]))
    monkeypatch.setattr(network, "_of_cards", lambda: iter(["192.168.4.1", "169.254.3.4", "10.0.0.7"]))
    assert network.local_addresses() == ("192.168.4.1", "10.0.0.7", "169.254.3.4")
    assert network.chosen_address("") == "192.168.4.1" and network.chosen_address("10.0.0.7") == "10.0.0.7"
    for asked in ("8.8.8.8", "0.0.0.0", "127.0.0.1", "nonsense"):
        with pytest.raises(OutputFault, match="local networks only"):
            network.chosen_address(asked)
    with pytest.raises(OutputFault, match="no such address"):
        network.chosen_address("10.99.99.99")
    monkeypatch.setattr(network, "_outward", lambda: iter([]))
    monkeypatch.setattr(network, "_of_cards", lambda: iter([]))
    assert network.chosen_address("") == ""


def test_this_computers_own_addresses_are_its_own():
    for one in network.local_addresses():
        with socket.socket() as trial:
            trial.bind((one, 0))


def test_an_empty_folder_is_no_lesson(tmp_path):
    for place in (tmp_path, tmp_path / "none"):
        with pytest.raises(FileFault, match="no lesson"):
            files_in(place, ())


def seen(picture: np.ndarray) -> str:
    """What an independent reader makes of a picture of a code."""
    cv2 = pytest.importorskip("cv2")
    words, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    return words


@pytest.mark.parametrize("address", ["http://10.0.0.7:8290/", "http://192.168.178.123:65535/"])
def test_the_code_in_the_terminal_says_the_address(address):
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}
    plain = code_text(code_of(address), coloured=False)
    lines = [[halves[letter] for letter in line] for line in plain.split("\n")]
    picture = np.array(lines, np.uint8).transpose(0, 2, 1).reshape(2 * len(lines), -1)
    assert picture.shape[1] <= 80 and picture.shape[0] <= 48, "it fits a small terminal"
    assert seen(np.kron(picture, np.ones((8, 8), np.uint8))) == address
    coloured = code_text(code_of(address), coloured=True)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain and coloured.count("\x1b[97;40m") == len(lines)


def test_the_entry_page_speaks_the_lessons_language(garden):
    names = files_in(garden, ("teacher", "results.json"))
    german = entry(
        garden, names, "Stunde", Language("de"), "http://10.0.0.7:8290/", code_of("http://10.0.0.7:8290/")
    ).body.decode()
    assert '<html lang="de">' in german and "Seiten, die sich bewegen" in german and "Pages that" not in german


def test_the_entry_page_names_scenes_in_lesson_order_and_films_by_their_words(tmp_path):
    files = {
        "lesson.html": "<title>roof</title>",
        "scenes/wedge.html": "<title>The wedge</title>",
        "scenes/racks.html": "<title>Racks</title>",
        "scenes/count.html": "<title>Counted</title>",
        "films/wedge_free_4k.mp4": "",
        "films/other.mp4": "",
        "captions/wedge_free.txt": "The <wedge>\nfree\n\nmore",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, "utf-8")
    page = entry(tmp_path, files_in(tmp_path, ()), "Roof", Language("en"), "http://10.0.0.7:8290/", None).body.decode()
    assert re.findall(r'<a href="[^"]+">([^<]+)</a>', page) == [
        *("The whole lesson in one page", "Racks", "The wedge", "Counted"),
        *("films/other.mp4", "The &lt;wedge&gt;: free (MP4, 4K)", "captions/wedge_free.txt"),
    ]
