"""A lesson asked from the live page: what may be chosen, what the job makes of it, and what it refuses."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest

from lobewright.lesson_folder import PAGE, SCENES, TEACHER
from lobewright.teach import scenes
from lobewright.web import results
from lobewright.web.job_run import KINDS, Order, found_by

CHOSEN = {"language": "de", "scenes": ["count"], "films": [], "stills": False, "paper": False, "students": 0}


def asked(folder, **wants) -> Order:
    text = (folder / "azimuth_belt.toml").read_text("utf-8")
    return Order("lesson", text, "azimuth_belt.toml", folder, {**CHOSEN, **wants})


def test_what_may_be_chosen_is_what_lessons_know(client):
    found = client.get("/api/lesson").json()
    assert set(found["languages"]) == {"en", "de"} and "1080p60" in found["films"]
    for titles in found["languages"].values():
        assert list(titles) == list(scenes.SCENES) and all(titles.values())
    assert found["languages"]["en"] != found["languages"]["de"]


def test_the_job_gets_what_was_chosen(client, monkeypatch):
    begun = []
    jobs = client.app.state.service.jobs
    monkeypatch.setattr(jobs, "begin", lambda kind, state, wants: begun.append((kind, wants)) or {})
    for body in ({"kind": "lesson", "lesson": CHOSEN}, {"kind": "lesson"}, {"kind": "load", "lesson": CHOSEN}):
        try:
            client.post("/api/jobs", json=body)
        except Exception as error:  # what is handed back here is no job
            assert "Response" in type(error).__name__ or "Validation" in type(error).__name__, error
    usual = {"language": "en", "scenes": [], "films": [], "stills": True, "paper": True, "students": 0}
    assert begun == [("lesson", CHOSEN), ("lesson", usual), ("load", {})]


@pytest.mark.parametrize("wrong", [{"students": -1}, {"students": 201}, {"scenes": "count"}, {"scenes": ["x" * 41]},
                                   {"out": "/tmp/elsewhere"}, {"language": 3}])  # fmt: skip
def test_what_cannot_be_chosen_is_refused_at_once(client, wrong):
    answer = client.post("/api/jobs", json={"kind": "lesson", "lesson": {**CHOSEN, **wrong}})
    assert answer.status_code == 422 and not client.get("/api/news").json()["jobs"]


@pytest.mark.parametrize("wrong", [{"scenes": ["../racks"]}, {"language": "xx"}, {"films": ["8k"]}])
def test_an_unknown_name_is_told_and_nothing_is_written(folder, wrong):
    order = asked(folder, **wrong)
    found = json.loads(found_by(lambda: KINDS["lesson"](order, lambda word, share: None, map), order.text, order.file))
    (name,) = wrong.values()
    assert found["ok"] is False and (name if isinstance(name, str) else name[0]) in found["faults"][0]["sentence"]
    assert not (folder / "azimuth_belt_lesson").exists()


def test_students_get_papers_of_their_own(folder, monkeypatch):
    made = []

    def write_lesson(design, lesson, out, progress, mapper):
        made.append((design.name, lesson, out))
        return SimpleNamespace(not_shown=(("Fit", "no room"),))

    monkeypatch.setattr("lobewright.lesson_folder.write_lesson", write_lesson)
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
