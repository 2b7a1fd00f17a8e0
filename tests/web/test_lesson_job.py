"""A lesson asked from the live page: what may be chosen, what the job makes of it, and what it refuses."""

from __future__ import annotations

import json
import tomllib
from types import SimpleNamespace

import pytest
from tests.class_lesson import CLASS, class_lesson

from lobewright.lesson_folder import PAGE, SCENES, TEACHER
from lobewright.teach import scenes
from lobewright.teach.lesson_file import read_lesson
from lobewright.web import results
from lobewright.web.app import LessonWanted
from lobewright.web.job_run import KINDS, Order, found_by
from lobewright.web.jobs import Job, Phase

JOB = Job(1, "lesson", "azimuth_belt.toml", 1, Phase.RUNNING, "beginning", 0.0, 0.0, None)
CHOSEN = {"language": "de", "scenes": ["count"], "films": [], "stills": False, "paper": False, "students": 0}


def asked(folder, **wants) -> Order:
    text = (folder / "azimuth_belt.toml").read_text("utf-8")
    return Order("lesson", text, "azimuth_belt.toml", folder, LessonWanted(**{**CHOSEN, **wants}).model_dump())


def done(order: Order) -> dict:
    """What the job leaves behind."""
    work = KINDS["lesson"]
    lesson = order.wants["file"]
    return json.loads(found_by(lambda: work(order, lambda word, share: None, map), order.text, order.file, lesson))


@pytest.fixture
def lesson(folder):
    """A lesson file of the belt drive, with a text."""
    class_lesson(folder)
    return folder


@pytest.fixture
def begun(client, monkeypatch):
    """Jobs that would have begun: their kinds and what was chosen for them."""
    found = []
    monkeypatch.setattr(
        client.app.state.service.jobs, "begin", lambda kind, state, wants: found.append((kind, wants)) or JOB
    )
    return found


def test_what_may_be_chosen_is_what_lessons_know(client):
    found = client.get("/api/lesson").json()
    assert set(found["languages"]) == {"en", "de"} and "1080p60" in found["films"]
    for titles in found["languages"].values():
        assert list(titles) == list(scenes.SCENES) and all(titles.values())
    assert found["languages"]["en"] != found["languages"]["de"]


def test_the_job_gets_what_was_chosen(client, begun):
    for body in ({"kind": "lesson", "lesson": CHOSEN}, {"kind": "lesson"}, {"kind": "load", "lesson": CHOSEN}):
        assert client.post("/api/jobs", json=body).status_code == 200
    chosen = LessonWanted(**CHOSEN).model_dump()
    assert begun == [("lesson", chosen), ("lesson", LessonWanted().model_dump()), ("load", {})]


@pytest.mark.parametrize("wrong", [{"students": -1}, {"students": 201}, {"scenes": "count"}, {"scenes": ["x" * 41]},
                                   {"out": "/tmp/elsewhere"}, {"language": 3}, {"language": "fr"}, {"films": ["8k"]},
                                   {"date": "2026-13-01"}, {"names": ["Ada", "ada"], "paper": True}, {"file": "none.toml"},
                                   {"choices": {"count": {"stops": ["Tooth 3"]}}}])  # fmt: skip
def test_what_cannot_be_chosen_is_refused_at_once(client, wrong):
    answer = client.post("/api/jobs", json={"kind": "lesson", "lesson": {**CHOSEN, **wrong}})
    assert answer.status_code == 422 and not client.get("/api/news").json()["jobs"]


@pytest.mark.parametrize("wrong", [{"scenes": ["../racks"]}, {"language": "xx"}, {"films": ["8k"]}])
def test_an_unknown_name_is_told_and_nothing_is_written(folder, wrong):
    found = done(asked(folder, **wrong))
    (name,) = wrong.values()
    assert found["ok"] is False and (name if isinstance(name, str) else name[0]) in found["faults"][0]["sentence"]
    assert not (folder / "azimuth_belt_lesson").exists()


@pytest.fixture
def made(monkeypatch):
    """Lessons that would have been written, each with the name of its design and its folder."""
    found = []

    def write_lesson(design, lesson, out, progress, mapper):
        found.append((design.name, lesson, out))
        return SimpleNamespace(not_shown=(("Fit", "no room"),))

    monkeypatch.setattr("lobewright.lesson_folder.write_lesson", write_lesson)
    return found


def test_students_get_papers_of_their_own(folder, made):
    found = KINDS["lesson"](asked(folder, students=3, paper=True, films=["gif"]), lambda word, share: None, map)
    ((name, lesson, out),) = made
    assert found == {"folder": "azimuth_belt_lesson", "not_shown": [["Fit", "no room"]]}
    assert out == folder / "azimuth_belt_lesson" and "roof garden" in name
    assert lesson.students == ("1", "2", "3") and lesson.paper and not lesson.stills and lesson.language == "de"
    assert [(one.scene, one.films) for one in lesson.scenes] == [("count", ("gif",))]


def test_a_lesson_is_written_beside_the_design_and_listed(client, folder):
    told = []
    KINDS["lesson"](asked(folder), lambda word, share: told.append(share), map)
    assert told == sorted(told) and told[-1] <= 1.0
    (one,) = results.written(folder)
    assert (one.command, one.design) == ("lesson", "azimuth_belt.toml") and one.design_sha256
    assert {PAGE, f"{SCENES}/count.html", f"{TEACHER}/lesson.toml"} <= set(one.files)
    answer = client.get(f"/results/{one.folder}/{PAGE}")
    assert answer.status_code == 200 and '<html lang="de">' in answer.text
    assert answer.headers["content-security-policy"].startswith("sandbox allow-scripts allow-downloads;")


def test_a_lesson_file_is_offered_told_and_asked_of_the_job(client, lesson, made):
    assert client.get("/api/lesson").json()["files"] == ["class.toml"]
    state = client.get("/api/state").json()
    assert state["lessons"] == ["class.toml"] and "class.toml" in state["designs"]
    told = client.get("/api/lesson/file", params={"name": "class.toml"}).json()
    assert (told["design"], told["language"], told["date"], told["students"]) == (
        "azimuth_belt.toml",
        "de",
        "2026-12-07",
        2,
    )
    text, scene = told["parts"]
    assert text == {"text": "before.md"} and scene["title"] == "Eine Umdrehung, abgezählt"
    assert (scene["scene"], scene["takes"], scene["stills"], scene["stops"]) == (
        "count",
        ["turn"],
        ["tooth_3"],
        ["tooth_3"],
    )
    assert (scene["stop_seconds"], scene["films"]) == (3.0, ["gif"])
    assert done(asked(lesson, file="class.toml", stills=True, paper=True))["ok"]
    assert done(asked(lesson, file="class.toml", paper=True, names=["Cy"], date="2027-01-11"))["ok"]
    (_, own, _), (_, other, _) = made
    assert own.stills and own.written == CLASS and own.students == ("Ada", "Bo") and own.parts[1].stops == ("tooth_3",)
    assert other.students == ("Cy",) and other.date.isoformat() == "2027-01-11" and not other.stills


def test_faults_of_a_lesson_file_are_told_all_with_their_lines(client, lesson, begun):
    wrong = CLASS.replace('"de"', '"fr"').replace('"count"', '"cuont"').replace("before.md", "../secret.toml")
    (lesson / "class.toml").write_text(wrong, "utf-8")
    answers = [client.get("/api/lesson/file", params={"name": "class.toml"}),
               client.post("/api/jobs", json={"kind": "lesson", "lesson": {"file": "class.toml"}})]  # fmt: skip
    for answer in answers:
        assert answer.status_code == 422 and not begun
        starts = [one["sentence"].split(": ")[0] for one in answer.json()["faults"]]
        assert starts == [f"class.toml, line {number}" for number in (3, 9, 12)], answer.text
        assert "not for the page" not in answer.text and str(lesson) not in answer.text
    (lesson / "class.toml").write_text(CLASS.replace('"de"', "de"), "utf-8")
    assert client.get("/api/lesson").json()["files"] == ["class.toml"], "one that is no TOML is offered, and told"
    assert client.get("/api/lesson/file", params={"name": "class.toml"}).json()["faults"][0]["line"] == 3


def test_a_moment_that_the_scene_does_not_have_is_told_with_the_line_of_the_lesson_file(lesson):
    (lesson / "class.toml").write_text(CLASS.replace('stops = ["tooth_3"]', 'stops = ["tooth_9"]'), "utf-8")
    found = done(asked(lesson, file="class.toml"))
    (fault,) = found["faults"]
    assert fault["sentence"].startswith("class.toml, line 15: part[2].stops:") and "tooth_9" in fault["sentence"]
    assert "tooth_3" in fault["allowed"] and not (lesson / "azimuth_belt_lesson").exists()


@pytest.mark.parametrize("named", ["focus_steel.toml", "../secret.toml", "/etc/hostname"])
def test_a_lesson_of_another_design_is_not_written(client, lesson, begun, named):
    (lesson / "class.toml").write_text(CLASS.replace("azimuth_belt.toml", named), "utf-8")
    answer = client.post("/api/jobs", json={"kind": "lesson", "lesson": {"file": "class.toml"}})
    (fault,) = answer.json()["faults"]
    assert answer.status_code == 422 and fault["line"] == 2 and fault["value"] == named and not begun
    told = client.get("/api/lesson/file", params={"name": "class.toml"})
    assert told.json().get("design") == named if named == "focus_steel.toml" else told.status_code == 422


@pytest.mark.parametrize("name", ["azimuth_belt.toml", "none.toml", "../far.toml", "led.toml", "before.md", ""])
def test_only_lesson_files_of_the_folder_are_read_as_such(client, lesson, name):
    (lesson.parent / "far.toml").write_text(CLASS.replace("Eine Umdrehung", "not for the page"), "utf-8")
    (lesson / "led.toml").symlink_to(lesson.parent / "far.toml")
    answer = client.get("/api/lesson/file", params={"name": name})
    assert answer.status_code == 422 and "not for the page" not in answer.text


def test_moments_are_named_as_the_scene_of_this_design_has_them(client):
    found = client.get("/api/lesson/moments", params={"scene": "wedge", "language": "de"}).json()
    assert [one["name"] for one in found["takes"]] == ["free", "own", "slides"] and found["file"] == "azimuth_belt.toml"
    assert [one["name"] for one in found["moments"]] == ["start", "half", "whole"] and found["not_shown"] == ""
    english = client.get("/api/lesson/moments", params={"scene": "wedge"}).json()
    assert all(one["title"] != other["title"] for one, other in zip(found["moments"], english["moments"], strict=True))
    for wrong in ({"scene": "none"}, {"scene": "wedge", "language": "xx"}, {}):
        assert client.get("/api/lesson/moments", params=wrong).status_code == 422


WANTED = {"language": "de", "scenes": ["count", "wedge"], "films": ["gif"], "date": "2026-12-07", "names": ['Ada "A"', "Bo"],
          "choices": {"count": {"stills": ["tooth_3"], "stops": ["tooth_3", "half"]}, "wedge": {"takes": ["own"]}}}  # fmt: skip


def test_choices_are_kept_as_a_lesson_file_that_asks_for_the_same(client, folder, made):
    answer = client.post(
        "/api/lesson/keep", json={"lesson": WANTED, "name": "my class.toml", "file": "azimuth_belt.toml"}
    )
    assert answer.status_code == 200 and answer.json()["lessons"] == ["my class.toml"], answer.text
    kept = read_lesson(folder / "my class.toml")
    assert (kept.language, kept.date.isoformat(), kept.students) == ("de", "2026-12-07", ('Ada "A"', "Bo"))
    wedge, count = kept.scenes
    assert (wedge.scene, wedge.takes, wedge.stills, wedge.stops) == ("wedge", ("own",), None, ())
    assert (count.scene, count.takes, count.stills, count.stops) == ("count", (), ("tooth_3",), ("tooth_3", "half"))
    assert count.films == wedge.films == ("gif",)
    assert done(asked(folder, **{**WANTED, "stills": True, "paper": True}))["ok"]
    assert done(asked(folder, file="my class.toml", stills=True, paper=True))["ok"]
    (_, plain, _), (_, own, _) = made
    for key in ("language", "title", "parts", "students", "date", "groups", "stills", "paper"):
        assert getattr(own, key) == getattr(plain, key), key
    without = {**WANTED, "stills": False}
    client.post("/api/lesson/keep", json={"lesson": without, "name": "bare.toml"}).raise_for_status()
    assert [one.stills for one in read_lesson(folder / "bare.toml").scenes] == [(), ()]


def test_nothing_is_written_over_but_a_lesson_file_and_that_only_when_it_is_said(client, folder):
    def keep(name: str, over: bool = False, **wants):
        return client.post(
            "/api/lesson/keep", json={"lesson": {**WANTED, **wants}, "name": name, "over": over}
        ).status_code

    design = (folder / "focus_steel.toml").read_bytes()
    assert keep("focus_steel.toml") == keep("focus_steel.toml", over=True) == 422
    assert (folder / "focus_steel.toml").read_bytes() == design
    assert keep("mine.toml") == 200 and keep("mine.toml", language="en") == 422
    assert tomllib.loads((folder / "mine.toml").read_text("utf-8"))["language"] == "de"
    assert keep("mine.toml", over=True, language="en") == 200
    assert tomllib.loads((folder / "mine.toml").read_text("utf-8"))["language"] == "en"
    for name in ("../out.toml", "mine.md", "con.toml", ""):
        assert keep(name) == keep(name, over=True) == 422, name
    assert keep("two.toml", names=["Ada", "Ada"]) == 422 and not (folder / "two.toml").exists()
    (folder / "led.toml").symlink_to(folder.parent / "secret.toml")
    assert keep("led.toml", over=True) == 422 and "not for the page" in (folder.parent / "secret.toml").read_text(
        "utf-8"
    )
