"""Everything that goes wrong is told in one shape, that of the command's ``--json``."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from lobewright.errors import (
    MOST_FAULTS_SHOWN,
    ChangedMeanwhile,
    Fault,
    FileFault,
    LobewrightError,
    PlatformFault,
    clipped,
)


class FaultRow(BaseModel):
    """One thing that is wrong, see :class:`lobewright.errors.Fault`."""

    what: str
    place: str
    line: int
    value: str
    allowed: str
    sentence: str


class Told(BaseModel):
    """All that is wrong with what was asked."""

    error: str
    file: str
    faults: list[FaultRow]


ANSWERS: dict[int | str, dict[str, Any]] = {
    400: {"model": Told, "description": "What was sent cannot be read"},
    403: {"description": "Another page or address asked; see the guard"},
    409: {"model": Told, "description": "Another design, or another state of it, is open than was meant"},
    422: {"model": Told, "description": "What was asked cannot be done, and why"},
}
"""What every call may answer beside what it is asked for."""


def _answer(error: LobewrightError, status: int) -> JSONResponse:
    return JSONResponse(error.as_json(), status_code=status)


def tell_faults(app: FastAPI) -> None:
    """Answer faults of every kind in the one shape."""

    @app.exception_handler(LobewrightError)
    async def told(request: Request, error: LobewrightError) -> JSONResponse:
        return _answer(error, 409 if isinstance(error, ChangedMeanwhile) else 422)

    @app.exception_handler(RequestValidationError)
    async def misasked(request: Request, error: RequestValidationError) -> JSONResponse:
        rows = error.errors()[:MOST_FAULTS_SHOWN]
        places = (".".join(str(part) for part in one["loc"] if part != "body") for one in rows)
        faults = [Fault(one["msg"], clipped(place)) for one, place in zip(rows, places, strict=True)]
        return _answer(FileFault(faults), 422)

    @app.exception_handler(HTTPException)
    async def refused(request: Request, error: HTTPException) -> JSONResponse:
        return _answer(FileFault([Fault(str(error.detail))]), error.status_code)

    @app.exception_handler(Exception)
    async def broken(request: Request, error: Exception) -> JSONResponse:
        what = "the program itself has failed at this; what you changed is kept"
        return _answer(PlatformFault([Fault(what, value=type(error).__name__)]), 500)
