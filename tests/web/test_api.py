"""What the interface answers to what no page of ours would ask, and to a folder that changes under it."""

from __future__ import annotations

import json
import shutil

import pytest

from lobewright.web import look as looks
from lobewright.web.app import application

testing = pytest.importorskip("starlette.testclient")
HOST = "127.0.0.1:8190"

JSON = {"content-type": "application/json"}
LONE = '"\\ud800"'
TRICKS = (
    "\u202egnp.toml",
    "e\u0301",
    "\u200b",
    "ﬁ",
    "\x00",
    "\x1b[2J",
    "😀",
    '\'"""',
    "#",
    "\\",
    "a\nb = 1",
    "{{7*7}}",
    "%s%n",
)
NUMBERS = (
    "1e308",
    "-1e308",
    "5e-324",
    "1" + "0" * 400,
    "-0.0",
    "true",
    "9007199254740993",
    '"1e999 mm"',
    '"nan"',
    '"∞"',
)


@pytest.fixture
def quick(project, monkeypatch):
    """A client; looks are computed in this process, coarsely."""
    app = application(project, frozenset({HOST}))

    async def here(call, *arguments, **_):
        return call(*arguments)

    assessed = looks._assessed
    monkeypatch.setattr(looks, "_assessed", lambda text, file, place, coarse: assessed(text, file, place, True))
    monkeypatch.setattr(app.state.service.computer, "run", here)
    return testing.TestClient(app, base_url=f"http://{HOST}")


def faults(answer) -> list[str]:
    """Sentences of an answer that refuses."""
    assert 400 <= answer.status_code < 500, answer.text
    told = answer.json()
    assert set(told) == {"error", "file", "faults"} and told["faults"]
    return [one["sentence"] for one in told["faults"]]


def look(client, place: str, text: str) -> dict:
    """A look with one edit whose value is a piece of JSON."""
    body = f'{{"edits": [{{"place": {json.dumps(place)}, "value": {text}}}], "coarse": true}}'
    answer = client.post("/api/look", content=body.encode("utf-8", "surrogatepass"), headers=JSON)
    if answer.status_code == 200:
        return answer.json()
    return {"ok": False, "faults": faults(answer)}


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'"text"',
        b"\xff\xfe",
        b'{"edits": 3}',
        b'{"edits": [3]}',
        b'{"edits": [{"place": 3, "value": 3}]}',
        b'{"edits": [{"place": "", "value": 3}]}',
        b'{"edits": [{"place": "a", "value": NaN}]}',
        b'{"edits": [{"place": "a", "value": Infinity}]}',
        b'{"edits": [{"place": "a", "value": [1]}]}',
        b'{"edits": [{"place": "a", "value": {"a": 1}}]}',
        b'{"edits": [{"place": "a", "value": 1, "more": 1}]}',
        b'{"edits": [], "\\ud800": 1}',
        b'{"edits": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"edits": [' + b'{"place": "a", "value": 1},' * 101 + b'{"place": "a", "value": 1}]}',
    ],
)
def test_a_body_that_is_none_is_refused(quick, folder, body):
    before = (folder / "azimuth_belt.toml").read_bytes()
    for path in ("/api/edits", "/api/look"):
        assert faults(quick.post(path, content=body, headers=JSON))
    assert (folder / "azimuth_belt.toml").read_bytes() == before


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize(
    "place", ["rigid_ring[1].teeth", "flexible_ring.width_mm", "generator.run_out_mm", "duty[1].torque_Nm"]
)
def test_numbers_beyond_all_sense_are_told_or_computed(quick, place, number):
    found = look(quick, place, number)
    assert found["ok"] or found["faults"]


@pytest.mark.parametrize(
    "place", ["name", "about", "rigid_ring[1].name", "workshop", "generator.bearing", "duty[2].name"]
)
@pytest.mark.parametrize("text", [*(json.dumps(one) for one in TRICKS), LONE])
def test_tricks_of_letters_are_told_or_kept_as_they_are(quick, folder, place, text):
    found = look(quick, place, text)
    if found["ok"]:
        body = {"edits": [{"place": place, "value": json.loads(text)}]}
        kept = quick.post("/api/edits", json=body).json()["open"]["text"]
        assert (folder / "azimuth_belt.toml").read_text("utf-8") == kept
        assert looks.design_of(kept, "azimuth_belt.toml", folder)
        if place in ("name", "about"):
            assert looks.parse_toml(kept, "")[place] == json.loads(text)
    else:
        assert found["faults"]


@pytest.mark.parametrize("place", ["[1]", "a.b", "rigid_ring[0].teeth", "rigid_ring[-1].teeth", "rigid_ring[99999999999].teeth",
                                   "rigid_ring[1]", "duty", ".", "..", "a.b.c.d", "name.x", "x\ud800"])  # fmt: skip
def test_places_that_are_none_are_told(quick, place):
    body = json.dumps({"edits": [{"place": place, "value": 3}]})
    assert faults(quick.post("/api/edits", content=body, headers=JSON))


@pytest.mark.parametrize("place", ["name.x", "schema_version.x", "flexible_ring.teeth.x", "duty[1].name.x.y"])
def test_nothing_is_taken_out_of_a_plain_value(quick, place):
    assert "no such place" in faults(quick.post("/api/edits", json={"edits": [{"place": place, "value": None}]}))[0]


def test_half_letters_are_refused_wherever_they_stand(quick):
    for path, body in (
        ("/api/begin", {"basis": "starter", "answer": {"kind": "\ud800"}}),
        ("/api/begin", {"basis": "\ud800", "answer": {}}),
        ("/api/advice", {"verdict": "\ud800"}),
        ("/api/table", {"place": "\ud800", "change": "add"}),
        ("/api/open", {"file": "\ud800"}),
    ):
        assert "half a letter" in faults(quick.post(path, content=json.dumps(body), headers=JSON))[0]


def test_a_link_that_leads_back_to_itself_is_refused(quick, folder):
    (folder / "round.toml").symlink_to("round.toml")
    (folder / "workshop.toml").unlink()
    (folder / "workshop.toml").symlink_to("workshop.toml")
    assert faults(quick.post("/api/open", json={"file": "round.toml"}))
    assert quick.get("/api/state").status_code == 200
    look = quick.post("/api/look", json={"edits": [], "coarse": True}).json()
    assert not look["ok"] and "leads to no file" in look["faults"][0]["what"]


def test_a_step_of_nothing_is_refused(quick):
    assert faults(quick.post("/api/step", json={"by": 0}))


def asked_of(client) -> dict:
    now = client.get("/api/state").json()["open"]
    return {"file": now["file"], "revision": now["revision"]}


EDIT = {"edits": [{"place": "rigid_ring[1].clearance_mm", "value": 0.2}]}
QUESTIONS = {
    "/api/edits": EDIT,
    "/api/look": {"edits": []},
    "/api/push": {"edits": []},
    "/api/table": {"place": "duty", "change": "add"},
    "/api/step": {"by": -1},
    "/api/advice": {"verdict": "pitch"},
    "/api/jobs": {"kind": "load"},
}


@pytest.mark.parametrize("path", QUESTIONS)
def test_what_is_meant_for_another_design_is_answered_409(quick, folder, path):
    meant, before = asked_of(quick), (folder / "focus_steel.toml").read_bytes()
    quick.post("/api/open", json={"file": "focus_steel.toml"})
    answer = quick.post(path, json=QUESTIONS[path] | meant)
    assert answer.status_code == 409 and "focus_steel.toml" in faults(answer)[0]
    assert (folder / "focus_steel.toml").read_bytes() == before and not quick.get("/api/news").json()["jobs"]


@pytest.mark.parametrize("path", ["/api/step", "/api/advice", "/api/table"])
def test_what_depends_on_the_state_is_answered_409_in_another(quick, path):
    quick.post("/api/edits", json=EDIT)
    meant = asked_of(quick)
    later = {"edits": [{"place": "duty[1].hours", "value": 7.0}]}
    text = quick.post("/api/edits", json=later | meant).json()["open"]["text"]
    body = {"place": "duty[1]", "change": "remove"} if path == "/api/table" else QUESTIONS[path]
    answer = quick.post(path, json=body | meant)
    assert answer.status_code == 409 and "changed meanwhile" in faults(answer)[0]
    assert quick.get("/api/state").json()["open"]["text"] == text
    assert quick.post("/api/edits", json=EDIT | meant).status_code == 200, "edits merge by their places"


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 5000, "a." * 3000 + "a = 1", "a = 1" + "0" * 9000, "\x00", "= 3", "\ud800"]
)
def test_text_that_is_no_toml_does_not_come_in(quick, folder, text):
    body = json.dumps({"file": "brought.toml", "text": text})
    assert faults(quick.post("/api/new", content=body, headers=JSON))
    assert not (folder / "brought.toml").exists()


def test_an_existing_design_is_never_replaced(quick, folder):
    before = (folder / "focus_steel.toml").read_bytes()
    assert "left alone" in faults(quick.post("/api/new", json={"file": "focus_steel.toml", "text": "a = 1\n"}))[0]
    assert (folder / "focus_steel.toml").read_bytes() == before


@pytest.mark.parametrize("path", ["/api/none", "/none", "/pages/none.js", "/api/jobs/1/result", "/api/jobs/x/result"])
def test_what_there_is_not_is_told(quick, path):
    assert faults(quick.get(path))


def test_ways_of_asking_that_are_none(quick):
    assert faults(quick.get("/api/edits"))
    assert faults(quick.request("DELETE", "/api/state", headers=JSON))
    assert faults(quick.post("/api/jobs/99999999999999999999999/stop", json={}))
    assert faults(quick.post("/api/jobs", json={"kind": "rm -rf"}))


def test_a_fault_of_the_program_is_told_in_the_same_shape(project, monkeypatch):
    app = application(project, frozenset({HOST}))
    monkeypatch.setattr(app.state.service.project, "designs", lambda: 1 / 0)
    answer = testing.TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=False).get("/api/state")
    assert answer.status_code == 500
    assert "ZeroDivisionError" in answer.json()["faults"][0]["sentence"]


CHANGED = {
    "deleted": lambda path: path.unlink(),
    "renamed": lambda path: path.rename(path.with_name("other.toml")),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
    "not UTF-8": lambda path: path.write_bytes(b"name = '\xff'"),
    "too large": lambda path: path.write_bytes(b"#" * 1_100_000),
    "led elsewhere": lambda path: (path.unlink(), path.symlink_to(path.parent.parent / "secret.toml")),
    "empty": lambda path: path.write_bytes(b""),
    "no TOML": lambda path: path.write_text("teeth = = 3"),
}


@pytest.mark.parametrize("how", CHANGED)
def test_an_open_design_that_changes_under_the_page_is_told_or_kept(quick, folder, how):
    path = folder / "azimuth_belt.toml"
    text = quick.get("/api/state").json()["open"]["text"]
    CHANGED[how](path)
    for _ in range(2):
        state = quick.get("/api/state")
        assert state.status_code == 200 and "not for the page" not in state.text
        assert quick.get("/api/news").status_code == 200
        assert quick.post("/api/look", json={"edits": [], "coarse": True}).status_code in (200, 422)
        assert quick.get("/api/form").status_code in (200, 422)
    changed = quick.post("/api/edits", json={"edits": [{"place": "rigid_ring[1].teeth", "value": 104}]})
    assert changed.status_code == 200 or faults(changed)
    if how in ("empty", "no TOML"):
        assert quick.post("/api/step", json={"by": -1}).json()["open"]["text"] == text
        assert path.read_text("utf-8") == text
    elif how in ("deleted", "renamed"):
        assert "teeth = 104" in path.read_text("utf-8"), "what stood on the page is written anew"
    else:
        assert faults(changed), "what now stands there is not replaced"
    assert (folder.parent / "secret.toml").read_text("utf-8") == 'secret = "not for the page"'


def test_a_folder_that_went_away_is_told(quick, folder):
    shutil.rmtree(folder)
    assert quick.get("/api/state").json()["designs"] == []
    assert faults(quick.post("/api/edits", json={"edits": [{"place": "rigid_ring[1].teeth", "value": 104}]}))
    assert faults(quick.post("/api/open", json={"file": "focus_steel.toml"}))
