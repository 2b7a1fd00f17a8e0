"""The JSON interface asked at random by its own description: it never fails, answers as described, and stays in its folder."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from lobewright.web import look as looks
from lobewright.web.app import application
from lobewright.web.jobs import Job, Phase
from lobewright.web.project import Project

# A name that no file has, or a place that no design has, fits its description all the same and is refused with our faults:
# the check that everything that fits is done is left out.
HOST = "127.0.0.1:8190"
EXAMPLES_A_CALL = 25


def everything(place: Path) -> dict[str, str]:
    """What stands beside the project folder, to the last byte."""
    return {one.name: hashlib.sha256(one.read_bytes()).hexdigest() for one in place.iterdir() if one.is_file()}


@pytest.fixture
def asked(folder, monkeypatch):
    """The application's description. No process is started: looks are computed here, coarsely, and jobs only seem to begin."""
    app = application(Project(folder, "azimuth_belt.toml"), frozenset({HOST}))
    service = app.state.service
    assessed = looks._assessed

    async def here(call, *arguments, **_):
        if call.__name__ == "push":
            looks.edited(arguments[0], arguments[1], arguments[3], folder)
            return {"ok": True}
        return call(*arguments)

    monkeypatch.setattr(service.computer, "run", here)
    monkeypatch.setattr(service.computer, "begin", lambda: None)
    monkeypatch.setattr(looks, "_assessed", lambda text, file, place, coarse: assessed(text, file, place, True))
    monkeypatch.setattr(looks, "suggest", lambda found, verdict: None)
    monkeypatch.setattr("lobewright.web.begin.suggest", lambda found, verdict: None)
    job = Job(1, "load", "azimuth_belt.toml", 1, Phase.RUNNING, "beginning", 0.0, 0.0, None)
    monkeypatch.setattr(service.jobs, "begin", lambda kind, state, wants: job)
    before = everything(folder.parent)
    yield schemathesis.openapi.from_asgi("/openapi.json", app, headers={"host": HOST})
    assert everything(folder.parent) == before
    assert sorted(one.name for one in folder.parent.iterdir()) == ["garden", "secret.toml"]


def calls() -> list[tuple[str, str]]:
    """Method and path of every call that the description names."""
    paths = application(Project(Path()), frozenset()).openapi()["paths"]
    return [(method.upper(), path) for path, methods in paths.items() for method in methods]


def test_all_calls_are_described():
    assert {"/api/state", "/api/look", "/api/edits", "/api/jobs", "/api/new"} <= {path for _, path in calls()}


@pytest.mark.parametrize(("method", "path"), calls())
def test_every_call_answers_as_it_says(asked, method, path):
    @settings(
        max_examples=EXAMPLES_A_CALL,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=asked[path][method].as_strategy())
    def ask(case):
        answer = case.call(headers={"host": HOST})
        case.validate_response(answer, headers={"host": HOST}, excluded_checks=[positive_data_acceptance])
        assert answer.status_code < 500
        if answer.status_code >= 400:
            told = answer.json()
            assert told["error"] and told["faults"] and all(one["sentence"].endswith(".") for one in told["faults"])
        assert b"not for the page" not in answer.content

    ask()
