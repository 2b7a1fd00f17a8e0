"""The system's slicer as a stranger that reads our print files, and what its G-code should hold: loops of the sections.

The slicer lays one line inside every outline of a layer, half a bead from it. So each layer must show as many closed loops as
our mesh has outlines at the middle of that layer, each as long as the outline moved in by half a bead, corners kept sharp. Like
the slicer we draw the outline with chords within ``RESOLUTION_MM`` first. What may differ: the gap left at a loop's seam, 0.15 of
the nozzle; and which chords are drawn: a whole turn loses up to 2π/3 of that distance (a chord of half angle θ has the sagitta
rθ²/2 and loses θ²/6 of its arc).
"""

from __future__ import annotations

import math
import re
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import trimesh

from lobewright.design import model as m
from lobewright.make.solids import Mesh

COMPLAINTS = re.compile(r"repair|manifold|empty layer|hole|degenerate|reversed|warning|error", re.IGNORECASE)
HEAD_BYTES = 84
TRIANGLE_BYTES = 50
RESOLUTION_MM = 0.05
SEAM_SHARE = 0.15
LENGTH_SHARE = 1e-3
"""Of a loop: coordinates of three decimals, and other chords than ours."""
CHORDS_MM = 2 * math.pi / 3 * RESOLUTION_MM
"""Of a loop, see above."""
CORNERS_MM = 0.3
"""Of a part turned on its plate, and of small engraved figures: there the slicer begins its chords elsewhere, and draws a rounded
corner sharp or cut."""
EDGE_MM = 0.01
MOST_LAYERS = 6
"""Of a file, whose loops are measured: the middle one of each of its levels."""


def sliced(slicer: str, files: Sequence[Path], printer: m.Printer, as_laid: bool = False) -> str:
    """What the slicer says of print files of one folder; the G-code lies beside them. ``as_laid``: nothing is moved."""
    # The slicer lays everything about (100, 100); another middle it only keeps for the first file of a run.
    x0, y0, x1, y1 = (100 + half * side / 2 for half in (-1, 1) for side in printer.bed_mm[:2])
    if as_laid:
        # Parts lie up to the bed's edge, which the slicer takes for beyond it.
        x0, y0, x1, y1 = -EDGE_MM, -EDGE_MM, printer.bed_mm[0] + EDGE_MM, printer.bed_mm[1] + EDGE_MM
    numbers = {
        "nozzle-diameter": printer.nozzle_mm,
        "extrusion-width": printer.extrusion_width_mm,
        "first-layer-extrusion-width": printer.extrusion_width_mm,
        "layer-height": printer.layer_mm,
        "first-layer-height": printer.layer_mm,
        "bed-shape": f"{x0:g}x{y0:g},{x1:g}x{y0:g},{x1:g}x{y1:g},{x0:g}x{y1:g}",
        "filament-diameter": 1.75,
        "perimeters": 1,
        "fill-density": 0,
        "top-solid-layers": 0,
        "bottom-solid-layers": 0,
        "skirts": 0,
        "gap-fill-speed": 0,
        "resolution": RESOLUTION_MM,
    }
    options = [f"--{name}={value}" for name, value in numbers.items()]
    if as_laid:
        options.append("--dont-arrange")
    command = [slicer, "--no-gui", "--no-thin-walls", "-j", "1", *options, "-o", str(files[0].parent), *map(str, files)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


def mended(slicer: str, stls: Sequence[Path]) -> dict[str, str]:
    """Files of which the slicer takes in another surface than is written: it mends in silence, but its triangles tell."""
    told = subprocess.run([slicer, "--info", *map(str, stls)], capture_output=True, text=True, timeout=120)
    assert told.returncode == 0, told.stderr
    taken = {
        name: dict(re.findall(r"(\w+) = +(\S+)", rest))
        for name, rest in re.findall(r"\[(.+)\.stl\]([^\[]*)", told.stdout)
    }
    assert len(taken) == len(stls)
    found = {}
    for stl in stls:
        took, written = taken[stl.stem], (stl.stat().st_size - HEAD_BYTES) // TRIANGLE_BYTES
        if took["number_of_facets"] != str(written) or took["manifold"] != "yes":
            found[stl.stem] = f"{written} triangles written, {took} taken in"
    return found


def layers(gcode: Path) -> dict[float, list[np.ndarray]]:
    """Top of each layer that is visited, and the lines laid in it without lifting: points (x, y), mm."""
    found: dict[float, list[list[tuple[float, float]]]] = {}
    height = laid = 0.0
    here: tuple[float, float] = (0.0, 0.0)
    line: list[tuple[float, float]] | None = None
    for row in gcode.read_text().splitlines():
        if row.startswith("G92 E0"):
            laid = 0.0
        if not row.startswith("G1 "):
            continue
        words = {word[0]: float(word[1:]) for word in row.split(";")[0].split()[1:] if word[0] in "XYZE"}
        if "Z" in words:
            height, line = words["Z"], None
            found.setdefault(height, [])
        if "X" in words:
            there = words["X"], words["Y"]
            if words.get("E", laid) > laid:
                if line is None:
                    line = [here]
                    found[height].append(line)
                line.append(there)
            else:
                line = None
            here = there
        laid = words.get("E", laid)
    # A height that is only passed on the way is no layer.
    last = max((z for z, lines in found.items() if lines), default=0.0)
    return {z: [np.array(one) for one in lines] for z, lines in found.items() if lines or z < last}


def section(solid: trimesh.Trimesh, height_mm: float) -> Any:
    """The area that a level plane cuts out of a closed mesh."""
    cut = trimesh.intersections.mesh_plane(solid, [0.0, 0.0, 1.0], [0.0, 0.0, height_mm])
    return (
        shapely.build_area(shapely.multilinestrings(list(np.round(cut[:, :, :2], 5))))
        if len(cut)
        else shapely.Polygon()
    )


def outlines(area: Any) -> list[Any]:
    return [ring for one in shapely.get_parts(area) for ring in (one.exterior, *one.interiors) if not one.is_empty]


def other_loops(lines: Sequence[np.ndarray], area: Any, printer: m.Printer, webs: bool, apart_mm: float) -> str:
    """How the lines of a layer differ from the outlines of a section; nothing where they agree. ``webs``: some may be thin."""
    inside = area.simplify(RESOLUTION_MM).buffer(-printer.extrusion_width_mm / 2, join_style="mitre", mitre_limit=3.0)
    wanted = sorted(ring.length for ring in outlines(inside))
    count = len(wanted) if webs else len(outlines(area))
    if len(wanted) != count:
        return f"a wall of the {count} outlines is thinner than a bead"
    if len(lines) != count:
        return f"{len(lines)} loops of {count} outlines"
    found = sorted(float(np.hypot(*np.diff(one, axis=0).T).sum()) for one in lines)
    seam = SEAM_SHARE * printer.nozzle_mm
    for had, length in zip(found, wanted, strict=True):
        if abs(had + seam - length) > apart_mm + LENGTH_SHARE * length:
            return f"a loop of {had:.2f} mm where the outline gives {length:.2f} mm"
    return ""


def asked_layers(solid: trimesh.Trimesh, layer_mm: float) -> list[int]:
    """Layers whose loops are measured: the middle one of each level, few where there are many levels."""
    heights = np.unique(np.round(solid.vertices[:, 2] - solid.bounds[0, 2], 4))
    middles = (heights[1:] + heights[:-1])[np.diff(heights) > 1.5 * layer_mm] / 2
    if not len(middles):
        middles = np.array([heights[-1] / 2])
    few = middles[np.unique(np.linspace(0, len(middles) - 1, MOST_LAYERS).astype(int))]
    # A plane through corners cuts no clear outline.
    return [k for k in (few // layer_mm).astype(int) if np.abs(heights - (k + 0.5) * layer_mm).min() > 1e-3]


def wrong(gcode: Path, mesh: Mesh, printer: m.Printer, webs: bool = False, apart_mm: float = CHORDS_MM) -> str:
    """What is wrong with the layers of a G-code; nothing where each of them holds the loops of the mesh there.

    ``webs``: between engraved figures the material may be thinner than a bead, and is not laid there. ``apart_mm``: by how much
    a loop may be longer or shorter.
    """
    found, layer = layers(gcode), printer.layer_mm
    # The last layer of a part may end at its top; of a plate such heights lie among the others.
    grid = layer * np.arange(1, math.ceil(mesh.size_mm[2] / layer - 0.5 - 1e-3) + 1)
    heights = np.array(sorted(found))
    if not len(heights) or heights[-1] > grid[-1] + layer + 1e-3:
        return f"{len(found)} layers for {mesh.size_mm[2]:g} mm"
    nearest = np.abs(heights[:, None] - grid).argmin(axis=0)
    if np.abs(heights[nearest] - grid).max() > 1e-3:
        return "a layer is left out"
    if min(map(len, found.values())) == 0:
        return "an empty layer"
    solid = trimesh.Trimesh(mesh.corners_mm, mesh.triangles, process=False)
    for k in asked_layers(solid, layer):
        what = other_loops(
            found[heights[nearest[k]]], section(solid, solid.bounds[0, 2] + (k + 0.5) * layer), printer, webs, apart_mm
        )
        if what:
            return f"at {grid[k]:g} mm {what}"
    return ""
