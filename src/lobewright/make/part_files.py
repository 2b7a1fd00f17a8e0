"""One part made into the bytes of its files: what a worker process does, and what is kept for the next time."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lobewright.errors import ConvergenceFault, Fault
from lobewright.make.bodies import Part, Slab
from lobewright.make.cache import Cache, key_of
from lobewright.make.formats import write_3mf, write_dxf, write_step, write_stl
from lobewright.make.outlines import Contour
from lobewright.make.print_set import Allowance, printed_with_volume
from lobewright.make.sectioning import require_section
from lobewright.make.solids import Mesh, mesh, solid
from lobewright.mapper import Mapper

Array = np.ndarray
VOLUME_SHARE = 0.002
"""How far solid and mesh may differ from the volume of the outline."""
TOLD, CORNERS, TRIANGLES = "told.json", "corners", "triangles"


@dataclass(frozen=True)
class Job:
    """A part to make: nominal with all formats where ``allowance`` is None, else as print files named ``name``.

    ``outlines``: the generated outlines behind its fitted loops, for a nominal part's sections to be held against. ``about``:
    what print files say of themselves, how they are to be filled.
    """

    part: Part
    name: str
    stamp: str
    allowance: Allowance | None = None
    outlines: tuple[Array, ...] = ()
    about: str = ""

    @property
    def key(self) -> str:
        return key_of(self.part, self.name, self.stamp, self.allowance, self.outlines, self.about)


@dataclass(frozen=True)
class Made:
    """Files by their ending, and what was measured: volumes in mm³ (of a print file all but the last are the mesh's), box in mm.

    ``mesh`` is that of print files.
    """

    files: dict[str, bytes]
    volume_mm3: float
    mesh_volume_mm3: float
    expected_volume_mm3: float
    size_mm: tuple[float, float, float]
    mesh: Mesh | None = None


def drawing_of(part: Part) -> Iterator[tuple[str, Contour]]:
    """Layers and outlines of a flat part: its first slab, seen from above."""
    slab = part.body.pieces[0]
    assert isinstance(slab, Slab)
    yield "OUTLINE", slab.outer.contour
    for hole in slab.holes:
        yield ("HOLES" if hole.contour.is_circle else "TEETH"), hole.contour


def checked(part: Part, volume_mm3: float) -> None:
    """Raises ConvergenceFault where a volume is not that of the part's outlines."""
    expected = part.body.volume_mm3
    if abs(volume_mm3 - expected) > VOLUME_SHARE * expected:
        what = f"the volume of {part.name} is not that of its outline"
        allowed = f"{expected:.6g} mm³ ± {100 * VOLUME_SHARE:g} %"
        raise ConvergenceFault([Fault(what, value=f"{volume_mm3:.6g} mm³", allowed=allowed)])


def make(job: Job) -> Made:
    """Make the files of a part. Raises what the writers and checks raise."""
    with tempfile.TemporaryDirectory() as folder:
        return _nominal(job, Path(folder)) if job.allowance is None else _printed(job, job.allowance, Path(folder))


def _read(folder: Path) -> dict[str, bytes]:
    return {path.suffix[1:]: path.read_bytes() for path in sorted(folder.iterdir())}


def _nominal(job: Job, folder: Path) -> Made:
    part = job.part
    one = solid(part.body, part.name)
    write_step(folder / "a.step", one, part.name, job.stamp)
    checked(part, one.volume)
    require_section(one, part, job.outlines)
    closed = None if part.step_only else mesh(one, part.name)
    if closed:
        checked(part, closed.volume_mm3)
        write_stl(folder / "a.stl", closed, part.name)
        write_3mf(folder / "a.3mf", closed, part.name)
    if part.drawn:
        write_dxf(folder / "a.dxf", drawing_of(part), part.name)
    box = one.bounding_box().size
    size = closed.size_mm if closed else (box.X, box.Y, box.Z)
    flat = closed.volume_mm3 if closed else 0.0
    return Made(_read(folder), one.volume, flat, part.body.volume_mm3, size)


def _printed(job: Job, allowance: Allowance, folder: Path) -> Made:
    closed, expected = printed_with_volume(job.part, allowance)
    write_stl(folder / "a.stl", closed, job.name)
    write_3mf(folder / "a.3mf", closed, job.name, job.about)
    volume = closed.volume_mm3
    return Made(_read(folder), volume, volume, expected, closed.size_mm, closed)


def _kept(made: Made) -> dict[str, bytes]:
    told = [made.volume_mm3, made.mesh_volume_mm3, made.expected_volume_mm3, *made.size_mm]
    entry = {f"file.{ending}": data for ending, data in made.files.items()} | {TOLD: json.dumps(told).encode()}
    if made.mesh:
        entry[CORNERS] = made.mesh.corners_mm.astype("<f8").tobytes()
        entry[TRIANGLES] = made.mesh.triangles.astype("<i8").tobytes()
    return entry


def _from(entry: dict[str, bytes]) -> Made | None:
    """What was kept; None where it is not whole."""
    try:
        volume, flat, expected, x, y, z = json.loads(entry[TOLD])
        closed = None
        if CORNERS in entry:
            corners = np.frombuffer(entry[CORNERS], "<f8").reshape(-1, 3)
            closed = Mesh(corners, np.frombuffer(entry[TRIANGLES], "<i8").reshape(-1, 3))
    except (KeyError, ValueError, TypeError):
        return None
    files = {name.removeprefix("file."): data for name, data in entry.items() if name.startswith("file.")}
    return Made(files, volume, flat, expected, (x, y, z), closed)


def make_all(jobs: list[Job], mapper: Mapper, cache: Cache | None) -> Iterator[tuple[Job, Made]]:
    """Make all, in their order; what the store has is taken from it and what it lacks is put there."""
    known: dict[int, Made] = {}
    keys = [job.key for job in jobs] if cache else []
    for k, key in enumerate(keys):
        entry = cache.get(key) if cache else None
        found = _from(entry) if entry else None
        if found:
            known[k] = found
    fresh = iter(mapper(make, [job for k, job in enumerate(jobs) if k not in known]))
    for k, job in enumerate(jobs):
        if k in known:
            yield job, known[k]
            continue
        one = next(fresh)
        if cache:
            cache.put(keys[k], _kept(one))
        yield job, one
