"""A small reader of STEP files (ISO 10303-21) that shares nothing with the CAD kernel: text to records, records to measures.

It knows what these files hold: solids of planes and cylinders with lines and circles as edges, products placed in an assembly,
colours. Volume and faces' areas come from Green's and Gauss' theorems over the edges as they stand in the text.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

TOKEN = re.compile(r"'(?:[^']|'')*'|#\d+|[A-Z_][A-Z0-9_]*|\.[A-Z_]+\.|[-+]?\d+\.?\d*(?:E[-+]?\d+)?|[(),$*]")
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Ref:
    number: int


@dataclass(frozen=True)
class Record:
    kind: str
    given: list


def _values(tokens: list[str], at: int) -> tuple[list, int]:
    """The values between brackets, from the opening one at ``at``."""
    found: list = []
    at += 1
    while tokens[at] != ")":
        token = tokens[at]
        if token == "(":
            inner, at = _values(tokens, at)
            found.append(inner)
            continue
        if token[0] == "#":
            found.append(Ref(int(token[1:])))
        elif token[0] == "'":
            found.append(token[1:-1].replace("''", "'"))
        elif token[0] in "+-0123456789":
            found.append(float(token))
        elif token[0].isalpha() and tokens[at + 1] == "(":
            inner, at = _values(tokens, at + 1)
            found.append(Record(token, inner))
            continue
        elif token != ",":
            found.append(token)
        at += 1
    return found, at + 1


class StepText:
    """Records of a file by their number; a complex record keeps its parts as one list."""

    def __init__(self, path: Path) -> None:
        text = path.read_text("ascii")
        self.head, data = text.split("DATA;", 1)
        self.records: dict[int, list[Record]] = {}
        for number, body in re.findall(r"#(\d+)\s*=\s*((?:'(?:[^']|'')*'|[^;'])*);", data):
            tokens = TOKEN.findall(body)
            if tokens[0] == "(":
                self.records[int(number)] = [one for one in _values(tokens, 0)[0] if isinstance(one, Record)]
            else:
                self.records[int(number)] = [Record(tokens[0], _values(tokens, 1)[0])]

    def of(self, kind: str) -> list[tuple[int, list]]:
        return [(n, r.given) for n, rows in self.records.items() for r in rows if r.kind == kind]

    def at(self, ref: Ref, kind: str = "") -> list:
        return next(r.given for r in self.records[ref.number] if not kind or r.kind == kind)

    def kind(self, ref: Ref) -> str:
        return self.records[ref.number][0].kind

    def point(self, ref: Ref) -> Point:
        return tuple(self.at(ref)[1])  # type: ignore[return-value]

    def axes(self, ref: Ref) -> tuple[Point, Point, Point]:
        """Origin, z and x direction of a placement."""
        _, origin, z, x = self.at(ref)
        return self.point(origin), self.point(z), self.point(x)

    @cached_property
    def product_names(self) -> list[str]:
        return [given[0] for _, given in self.of("PRODUCT")]

    def _product(self, definition: Ref) -> str:
        formation = self.at(definition)[2]
        return self.at(self.at(formation)[2])[0]

    @cached_property
    def breps(self) -> dict[str, Ref]:
        """The solid of every product that has one."""
        found = {}
        for _, (shape, representation) in self.of("SHAPE_DEFINITION_REPRESENTATION"):
            definition = self.at(shape)[2]
            if self.kind(representation) == "ADVANCED_BREP_SHAPE_REPRESENTATION":
                items = self.at(representation)[1]
                found[self._product(definition)] = next(i for i in items if self.kind(i) == "MANIFOLD_SOLID_BREP")
        return found

    @cached_property
    def uses(self) -> list[tuple[str, Point, Point, Point]]:
        """Every placed product: name, origin, z and x direction in the assembly."""
        found = []
        for _, (relation, shape) in self.of("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION"):
            use = self.at(self.at(shape)[2], "NEXT_ASSEMBLY_USAGE_OCCURRENCE")
            (transformation,) = self.at(relation, "REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION")
            first, second = self.at(transformation)[2:4]
            origins = [self.axes(first), self.axes(second)]
            plain = ((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
            # One side is the product's own origin; which one, readers must find out by the representations.
            other = (
                origins[1]
                if all(math.dist(a, b) < 1e-12 for a, b in zip(origins[0], plain, strict=True))
                else origins[0]
            )
            found.append((self._product(use[4]), *other))
        return found

    @cached_property
    def colours(self) -> dict[int, set[str]]:
        """Colours #rrggbb by the number of the solid that they are laid on."""
        found: dict[int, set[str]] = {}
        for kind in ("STYLED_ITEM", "OVER_RIDING_STYLED_ITEM"):
            for _, given in self.of(kind):
                for rgb in self._rgb(given[1]):
                    found.setdefault(given[2].number, set()).add(rgb)
        return found

    def _rgb(self, given: object) -> list[str]:
        if isinstance(given, list):
            return [rgb for one in given for rgb in self._rgb(one)]
        if not isinstance(given, Ref):
            return []
        if self.kind(given) == "COLOUR_RGB":
            return ["#" + "".join(f"{round(255 * share):02x}" for share in self.at(given)[1:4])]
        return self._rgb(self.at(given)) if self.kind(given) != "MANIFOLD_SOLID_BREP" else []

    def faces(self, product: str) -> list[list]:
        shell = self.at(self.breps[product])[1]
        return [self.at(face) for face in self.at(shell)[1]]

    def cylinders(self, product: str) -> set[tuple[float, float, float]]:
        """Diameter and axis (x, y) of every upright cylinder, each once, in mm."""
        found = set()
        for _, _, surface, _ in self.faces(product):
            if self.kind(surface) == "CYLINDRICAL_SURFACE":
                _, axes, radius = self.at(surface)
                (x, y, _), z, _ = self.axes(axes)
                if abs(abs(z[2]) - 1) < 1e-9:
                    found.add((round(2 * radius, 6), round(x, 6) + 0.0, round(y, 6) + 0.0))
        return found

    def upright_planes(self, product: str) -> list[tuple[float, float, float]]:
        """Normal (x, y) out of the material and distance from the axis, of every upright plane."""
        found = []
        for _, _, surface, sense in self.faces(product):
            if self.kind(surface) == "PLANE":
                (x, y, _), (nx, ny, nz), _ = self.axes(self.at(surface)[1])
                if abs(nz) < 1e-9:
                    way = 1.0 if sense == ".T." else -1.0
                    found.append((way * nx, way * ny, way * (nx * x + ny * y)))
        return found

    def levels(self, product: str) -> list[tuple[float, float]]:
        """Height and area of every level plane; the area is positive where the material lies below, negative above it."""
        found = []
        for _, bounds, surface, sense in self.faces(product):
            if self.kind(surface) == "PLANE":
                (_, _, z), (_, _, nz), _ = self.axes(self.at(surface)[1])
                if abs(nz) > 0.5:
                    area = abs(sum(self._signed_area(bound) for bound in bounds))
                    found.append((z, area if (nz > 0) == (sense == ".T.") else -area))
        return found

    def volume_mm3(self, product: str) -> float:
        """Volume of an upright prism or a stack of them: heights times areas of the level planes (Gauss)."""
        return sum(z * area for z, area in self.levels(product))

    def _signed_area(self, bound: Ref) -> float:
        _, loop, way = self.at(bound)
        total = 0.0
        for oriented in self.at(loop)[1]:
            _, _, _, edge, forward = self.at(oriented)
            one = self._under(edge)
            total += one if forward == ".T." else -one
        return total if way == ".T." else -total

    def _under(self, edge: Ref) -> float:
        """∮ (x dy − y dx)/2 along an edge from its first to its second corner."""
        _, first, second, curve, same = self.at(edge)
        (x0, y0, _), (x1, y1, _) = self.point(self.at(first)[1]), self.point(self.at(second)[1])
        if self.kind(curve) == "LINE":
            return (x0 * y1 - x1 * y0) / 2
        assert self.kind(curve) == "CIRCLE", self.kind(curve)
        _, axes, radius = self.at(curve)
        (cx, cy, _), (_, _, up), _ = self.axes(axes)
        a0, a1 = math.atan2(y0 - cy, x0 - cx), math.atan2(y1 - cy, x1 - cx)
        left = (up > 0) == (same == ".T.")
        turn = (a1 - a0) % (2 * math.pi) if left else -((a0 - a1) % (2 * math.pi))
        if first == second or abs(turn) < 1e-12:
            turn = 2 * math.pi if left else -2 * math.pi
        return (
            radius**2 * turn + radius * (cx * (math.sin(a1) - math.sin(a0)) - cy * (math.cos(a1) - math.cos(a0)))
        ) / 2
