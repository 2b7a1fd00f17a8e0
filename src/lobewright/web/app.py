"""The JSON interface of the live page, and the page itself.

Handlers only translate: the project keeps the design, the computer computes looks, the jobs do long work. Faults of ours are
answered in the shape that the command prints, with status 422; nothing that a design or a request says is ever run.
"""

from __future__ import annotations

import json
from contextlib import asynccontextmanager
from dataclasses import asdict
from enum import StrEnum
from importlib.resources import files
from typing import Annotated, Any, Literal

from fastapi import Body, FastAPI, Query
from fastapi.responses import FileResponse, JSONResponse, Response, StreamingResponse
from pydantic import BaseModel, ConfigDict, Field, model_validator

from lobewright import __version__
from lobewright.design.files import LARGEST_FILE_BYTES, parse_toml, read_text
from lobewright.errors import Fault, FileFault
from lobewright.picture.page import module_text
from lobewright.picture.palette import css_variables, palette_json
from lobewright.teach.lesson_mark import MOMENT_NAME, Day
from lobewright.web import begin, lessons, results, tables
from lobewright.web import look as looks
from lobewright.web import push as pushes
from lobewright.web import solid as solids
from lobewright.web.compute import Computer, Lane
from lobewright.web.confine import design_path
from lobewright.web.guard import Guard
from lobewright.web.jobs import Job, Jobs
from lobewright.web.known import workshop_names
from lobewright.web.project import Project, State, meant
from lobewright.web.told import ANSWERS, tell_faults

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
PAGES = files("lobewright.web").joinpath("pages")
Moments = Annotated[list[Annotated[str, Field(pattern=MOMENT_NAME)]], Field(max_length=100)]
LARGEST_REVISION = 2**53 - 1
"""The largest whole number that pages can tell from the next."""


class Question(BaseModel):
    """Base of what is asked in JSON: no unknown fields, and no text that cannot be written."""

    model_config = ConfigDict(extra="forbid")

    @model_validator(mode="before")
    @classmethod
    def _whole_letters(cls, data: Any) -> Any:
        try:
            json.dumps(data, ensure_ascii=False).encode()
        except UnicodeEncodeError:  # JSON can say the half of a letter that is written in two halves; no file can
            raise ValueError("half a letter stands in this text") from None
        except RecursionError:
            raise ValueError("this is nested too deeply") from None
        return data


class Meant(Question):
    """Which design, and which revision of it, the asker means: without them whichever is open. Another one is answered 409."""

    file: Annotated[str, Field(max_length=80)] = ""
    revision: Annotated[int, Field(ge=0, le=LARGEST_REVISION)] = 0


class OneEdit(Question):
    """One value of the design: as it stands in the file (None takes the key out), or ``text`` as a person typed it."""

    place: Annotated[str, Field(min_length=1, max_length=120)]
    value: bool | int | Annotated[float, Field(allow_inf_nan=False)] | Annotated[str, Field(max_length=2000)] | None = (
        None
    )
    text: Annotated[str, Field(max_length=2000)] | None = None


class Edits(Meant):
    """Edits made together. Only the design is looked at: edits of a newer revision merge by their places."""

    edits: Annotated[list[OneEdit], Field(max_length=100)]


class LookAsked(Edits):
    """A look at the open design, or another one of the folder (``beside``), with edits that are not kept."""

    coarse: bool = False
    beside: Annotated[str, Field(max_length=80)] = ""


class PushAsked(Edits):
    """The drive at a torque of its slow member, with edits that are not kept: a number of N·m, or as typed with a unit; neither
    means the largest steady torque of the duty."""

    torque_Nm: Annotated[float, Field(ge=0.0, le=pushes.LARGEST_NM, allow_inf_nan=False)] | None = None
    text: Annotated[str, Field(max_length=80)] = ""
    coarse: bool = False


class FileNamed(Question):
    """A design file of the folder."""

    file: Annotated[str, Field(max_length=80)]


class Stepping(Meant):
    """Back or forth among the states, from the revision that is meant."""

    by: Literal[-1, 1]


class TableChange(StrEnum):
    """What happens to a table."""

    KIND = "kind"
    ADD = "add"
    REMOVE = "remove"


class TableAsked(Meant):
    """A change of a whole table; ``kind`` is needed for another kind only. The revision counts where a table is removed: rows
    after a removed one have other numbers."""

    place: Annotated[str, Field(min_length=1, max_length=120)]
    change: TableChange
    kind: Annotated[str, Field(max_length=40)] = ""


class NewAsked(FileNamed):
    """A new design with its text: one that was begun here, or a file that a person brings."""

    text: Annotated[str, Field(max_length=LARGEST_FILE_BYTES)]


class AdviceAsked(Meant):
    """Edits wanted that turn a verdict."""

    verdict: Annotated[str, Field(max_length=80)]


class BeginAsked(Question):
    """What is known, and the answer to its question; see :mod:`lobewright.web.begin`."""

    basis: Annotated[str, Field(max_length=20)]
    answer: Annotated[dict[str, str | float | int], Field(max_length=6)]


class SceneChoice(Question):
    """Which takes of a scene are shown (none: all), which moments are kept as pictures (null: all), and where its films stand
    still."""

    takes: Moments = []
    stills: Moments | None = None
    stops: Moments = []


class LessonWanted(Question):
    """What a lesson is to hold: its language, scenes by name (none: all) with what was chosen of them, kinds of films, pictures
    of moments, papers; its day, and students by name or how many get papers of their own. Or a lesson ``file`` of the folder,
    that says language, scenes and films; day and students that are given count before those in it."""

    file: Annotated[str, Field(max_length=80)] = ""
    language: Annotated[str, Field(max_length=10)] = "en"
    scenes: Annotated[list[Annotated[str, Field(max_length=40)]], Field(max_length=40)] = []
    choices: Annotated[dict[str, SceneChoice], Field(max_length=40)] = {}
    films: Annotated[list[Annotated[str, Field(max_length=40)]], Field(max_length=10)] = []
    stills: bool = True
    paper: bool = True
    date: Day | None = None
    students: Annotated[int, Field(ge=0, le=200)] = 0
    names: Annotated[list[Annotated[str, Field(max_length=200)]], Field(max_length=200)] = []


class LessonKept(Meant):
    """A lesson to be kept as a lesson file of this name, ``over`` an earlier lesson file or not."""

    lesson: LessonWanted
    name: Annotated[str, Field(max_length=80)]
    over: bool = False


class JobAsked(Meant):
    """A job to begin; ``lesson`` is looked at for the job of that name."""

    kind: Annotated[str, Field(max_length=20)]
    lesson: LessonWanted = LessonWanted()


def page_file(name: str) -> Response:
    """A file of the page, out of the package. Raises FileFault for names that are none of them."""
    known = {one.name: one for one in PAGES.iterdir() if one.is_file()}
    suffix = name[name.rfind(".") :] if "." in name else ""
    if name not in known or suffix not in TYPES:
        raise FileFault([Fault("the page has no such file", "name", 0, name)])
    return Response(known[name].read_bytes(), media_type=TYPES[suffix])


class Service:
    """What the handlers share."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.computer = Computer()
        self.jobs = Jobs(project.folder)

    def end(self) -> None:
        """End whatever runs; once more does nothing."""
        self.jobs.stop_all()
        self.computer.end()

    def open_state(self, file: str = "", revision: int = 0) -> State:
        """The open design. Raises FileFault where none is, or where another one was meant."""
        state = self.project.state()
        if state is None:
            raise FileFault([Fault("no design is open", "file", allowed="open or begin one first")])
        meant(file, revision, state)
        return state

    def state_json(self) -> dict[str, Any]:
        """What the page keeps track of."""
        state = self.project.state()
        return {
            "version": __version__,
            "folder": self.project.folder.name,
            "designs": list(self.project.designs()),
            "workshops": list(workshop_names(self.project.folder)),
            "lessons": list(lessons.lesson_names(self.project.folder)),
            "open": None if state is None else {
                "file": state.file,
                "text": state.text,
                "revision": state.revision,
                "can_undo": state.can_undo,
                "can_redo": state.can_redo,
            },
        }  # fmt: skip

    async def look(self, asked: LookAsked) -> dict[str, Any]:
        """A look at the open design, or another one of the folder, with edits that are not kept."""
        if asked.beside:
            text, file, revision = read_text(design_path(self.project.folder, asked.beside)), asked.beside, 0
        else:
            state = self.open_state(asked.file)
            text, file, revision = state.text, state.file, state.revision
        plain = [one.model_dump() for one in asked.edits]
        found = await self.computer.run(looks.look, text, plain, file, str(self.project.folder), asked.coarse)
        return {"file": file, "revision": revision, **found}


def application(project: Project, hosts: frozenset[str]) -> FastAPI:
    """The application for one project; ``hosts`` are the addresses (host:port) that it answers to."""
    service = Service(project)

    @asynccontextmanager
    async def life(app: FastAPI) -> Any:
        service.computer.begin()
        yield
        service.end()

    app = FastAPI(title="Lobewright live page", version=__version__, lifespan=life, docs_url=None, redoc_url=None,
                  responses=ANSWERS)  # fmt: skip
    app.state.service = service
    app.add_middleware(Guard, hosts=hosts)

    tell_faults(app)
    pages(app)
    project_calls(app, service)
    look_calls(app, service)
    change_calls(app, service)
    job_calls(app, service)
    lesson_calls(app, service)
    result_calls(app, service)
    solid_calls(app, service)
    return app


def pages(app: FastAPI) -> None:
    """The page's own files."""

    @app.get("/", include_in_schema=False)
    def index() -> Response:
        return page_file("index.html")

    @app.get("/pages/palette.css", include_in_schema=False)
    def palette() -> Response:
        return Response(css_variables(), media_type=TYPES[".css"])

    @app.get("/pages/palette.json", include_in_schema=False)
    def palette_data() -> dict[str, Any]:
        return palette_json()

    @app.get("/pages/moving.js", include_in_schema=False)
    def moving() -> Response:
        return Response(module_text(), media_type=TYPES[".js"])

    @app.get("/pages/{name}", include_in_schema=False)
    def page(name: str) -> Response:
        return page_file(name)


def project_calls(app: FastAPI, service: Service) -> None:
    """What is open, and what may be opened or begun."""
    project = service.project

    @app.get("/api/state")
    def state() -> dict[str, Any]:
        return service.state_json()

    @app.post("/api/open")
    def open_design(asked: FileNamed) -> dict[str, Any]:
        project.open(asked.file)
        return service.state_json()

    @app.get("/api/begin")
    async def choices() -> dict[str, Any]:
        return await service.computer.run(begin.choices, project.folder, lane=Lane.SLOW)

    @app.post("/api/begin")
    async def begun(asked: BeginAsked) -> dict[str, Any]:
        arguments = (asked.basis, asked.answer, str(project.folder))
        return await service.computer.run(begin.begun, *arguments, lane=Lane.SLOW)

    @app.post("/api/new")
    def new(asked: NewAsked) -> dict[str, Any]:
        parse_toml(asked.text, asked.file)
        project.add(asked.file, asked.text)
        return service.state_json()

    @app.get("/api/form")
    def form() -> dict[str, Any]:
        state = service.open_state()
        return {"revision": state.revision, **looks.form(state.text, state.file, project.folder)}


def look_calls(app: FastAPI, service: Service) -> None:
    """What follows from the open design."""
    folder = str(service.project.folder)

    @app.post("/api/look")
    async def look(asked: LookAsked) -> dict[str, Any]:
        return await service.look(asked)

    @app.post("/api/push")
    async def push(asked: PushAsked) -> dict[str, Any]:
        state = service.open_state(asked.file)
        plain = [one.model_dump() for one in asked.edits]
        torque_nm = pushes.typed_torque_nm(asked.text) if asked.text.strip() else asked.torque_Nm
        arguments = (state.text, plain, torque_nm, state.file, folder, asked.coarse)
        return {"revision": state.revision, **await service.computer.run(pushes.push, *arguments, lane=Lane.PUSH)}

    @app.post("/api/advice")
    async def advice(asked: AdviceAsked) -> dict[str, Any]:
        state = service.open_state(asked.file, asked.revision)
        arguments = (state.text, asked.verdict, state.file, folder)
        found = await service.computer.run(looks.advice, *arguments, lane=Lane.SLOW)
        return {**found, "file": state.file, "revision": state.revision}


def change_calls(app: FastAPI, service: Service) -> None:
    """Changes of the open design."""
    project = service.project

    @app.post("/api/edits")
    def edits(asked: Edits) -> dict[str, Any]:
        plain = [one.model_dump() for one in asked.edits]
        file = service.open_state(asked.file).file
        project.edit(lambda text: looks.edited(text, plain, file, project.folder), file)
        return service.state_json()

    @app.post("/api/table")
    def table(asked: TableAsked) -> dict[str, Any]:
        def made(text: str) -> str:
            if asked.change is TableChange.KIND:
                return tables.with_kind(text, asked.place, asked.kind)
            return (tables.added if asked.change is TableChange.ADD else tables.removed)(text, asked.place)

        revision = asked.revision if asked.change is TableChange.REMOVE else 0
        project.edit(made, asked.file, revision)
        return service.state_json()

    @app.post("/api/step")
    def step(asked: Stepping) -> dict[str, Any]:
        project.step(asked.by, asked.file, asked.revision)
        return service.state_json()


def job_calls(app: FastAPI, service: Service) -> None:
    """Long work. ``/api/news`` is what pages ask every second."""
    jobs = service.jobs

    @app.get("/api/news")
    def news() -> dict[str, Any]:
        state = service.project.state()
        return {"revision": state.revision if state else 0, "file": state.file if state else "", "jobs": jobs.all()}

    @app.post("/api/jobs")
    def begin(asked: JobAsked) -> Job:
        state = service.open_state(asked.file)
        wants = asked.lesson.model_dump() if asked.kind == "lesson" else {}
        if wants:
            lessons.lesson_of(wants, service.project.folder, state.file)
        return jobs.begin(asked.kind, state, wants)

    @app.post("/api/jobs/{number}/stop")
    def stop(number: int, nothing: Annotated[dict[str, Any], Body()]) -> Job:
        return jobs.stop(number)

    @app.get("/api/jobs/{number}/result")
    def result(number: int) -> dict[str, Any]:
        return jobs.result(number)


def lesson_calls(app: FastAPI, service: Service) -> None:
    """What may be chosen for a lesson, and what was chosen kept as a file."""
    folder = service.project.folder

    @app.get("/api/lesson")
    def choices() -> dict[str, Any]:
        return lessons.lesson_choices(folder)

    @app.get("/api/lesson/file")
    def lesson_file(name: Annotated[str, Query(max_length=80)]) -> dict[str, Any]:
        return lessons.lesson_json(lessons.read_file(folder, name), folder)

    @app.get("/api/lesson/moments")
    async def moments(
        scene: Annotated[str, Query(max_length=40)], language: Annotated[str, Query(max_length=10)] = "en"
    ) -> dict[str, Any]:
        state = service.open_state()
        arguments = (state.text, state.file, str(folder), scene, language)
        found = await service.computer.run(lessons.moments, *arguments, lane=Lane.SLOW)
        return {**found, "file": state.file, "revision": state.revision}

    @app.post("/api/lesson/keep")
    def keep(asked: LessonKept) -> dict[str, Any]:
        file = service.open_state(asked.file).file
        lessons.keep(lessons.lesson_of(asked.lesson.model_dump(), folder, file), folder, file, asked.name, asked.over)
        return service.state_json()


def result_calls(app: FastAPI, service: Service) -> None:
    """What ``build`` and ``make`` wrote, to look at and to take away."""
    folder = service.project.folder

    @app.get("/api/results")
    def found() -> list[dict[str, Any]]:
        return [asdict(one) for one in results.written(folder)]

    @app.get("/results/{name:path}", include_in_schema=False)
    def result(name: str) -> Response:
        path = results.result_path(folder, name)
        return FileResponse(path, headers=results.heads(path))

    @app.get("/download", include_in_schema=False)
    def everything() -> Response:
        heads = {"content-disposition": 'attachment; filename="project.zip"'}
        return StreamingResponse(results.chunks(results.packed(folder)), media_type="application/zip", headers=heads)


def solid_calls(app: FastAPI, service: Service) -> None:
    """The whole drive as meshes, made when a page first looks at it."""

    @app.get("/api/solid", response_class=Response, responses={200: {"content": {solids.MEDIA_TYPE: {}}}})
    async def solid() -> Response:
        state = service.open_state()
        arguments = (state.text, state.file, str(service.project.folder))
        found = await service.computer.run(solids.solid, *arguments, lane=Lane.SLOW)
        if not isinstance(found, bytes):
            return JSONResponse(found)  # as a look tells of a design that is none
        return Response(found, media_type=solids.MEDIA_TYPE, headers={solids.REVISION: str(state.revision)})
