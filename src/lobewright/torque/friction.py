"""Coulomb friction where flexible teeth rub on rigid rings and where a ring rubs on a plain cam.

Every point that touches carries the shear of its elastic bed. It grows with the slip along the body it rubs on and yields
where its force meets μ times the normal force. Within a step normal forces and directions are frozen, so that the shears
have an energy and the usual iteration settles; then they are read anew, until nothing changes. See
``docs/theory/friction_in_mesh.md``. Rollers and discs turn on bearings: nothing slides there, and their drag is left to
:mod:`lobewright.torque.starting`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.torque import friction_kernel, kernel
from lobewright.torque.inputs import DriveInput
from lobewright.torque.model import Drive, State
from lobewright.torque.path import Place

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LARGEST = 2.0
"""No dry pair of this trade rubs harder."""
SHEAR_OF_BED = 0.8
"""Tangential over normal stiffness of a contact: 2(1 − ν)/(2 − ν), 0.75 to 0.82 for ν of 0.4 to 0.3; remembered."""
SAME = 1e-6
"""Change of a contact's friction force, over the largest force, below which normal forces count as settled."""
MOST_PASSES = 40
PATIENT = 7
"""Passes after which three must halve what is apart: a ring that only creeps on is better asked in a shorter step."""
NEARLY = 2e-5
"""Change of forces, over the path's force, from which on it is waited for in any case."""
ROUGH, ROUGH_BELOW = 5e-4, 0.06
"""Change of forces, over the path's force, that is let pass at torques below this share of the path's: there single teeth
brush past, the ring is loose, and what holds it is next to nothing."""
MIXED = 4
"""Passes from which the next normal forces are foretold."""
LITTLE = 1e-3
"""Normal force over the path's force below which a contact is not asked how much of its friction it uses."""


def check_friction(drive: DriveInput, flank_friction: float, cam_friction: float) -> None:
    """Raise DesignFault where a coefficient is out of range, or where a generator that rolls is given sliding friction."""
    faults = []
    for name, value in (("flank_friction", flank_friction), ("cam_friction", cam_friction)):
        if not (math.isfinite(value) and 0.0 <= value <= LARGEST):
            what = "this coefficient of friction is out of range"
            faults.append(Fault(what, name, 0, f"{value:g}", f"0 to {LARGEST:g}"))
    if not faults and cam_friction > 0.0 and not cam_slides(drive):
        what = "this generator rolls on bearings, so nothing slides on it"
        faults.append(Fault(what, "cam_friction", 0, f"{cam_friction:g}", "0, or a plain cam"))
    if faults:
        raise DesignFault(faults)


def cam_slides(drive: DriveInput) -> bool:
    """Whether the flexible ring slides on the generator: on a plain cam only."""
    generator = drive.design.generator
    return isinstance(generator, m.Cam) and generator.under is m.CamUnder.PLAIN


@dataclass(frozen=True)
class Contacts:
    """Frozen contacts of one kind: ``index`` (C, 3), ``frozen`` (C, 5) stiffness, limit, direction (x, y), base, and the
    ``normal`` force (C,)."""

    on_cam: bool
    index: Indices
    frozen: Array
    normal: Array

    def shear(self, place: Array) -> Array:
        """Shear (C,) at given places (C, 2)."""
        return (self.frozen[:, 2:4] * place).sum(axis=1) - self.frozen[:, 4]

    def force(self, place: Array) -> Array:
        """Friction force (C,) on the body along the frozen direction, with its sign."""
        limit = self.frozen[:, 1]
        return np.clip(self.frozen[:, 0] * self.shear(place), -limit, limit)


@dataclass
class Memory:
    """What contacts of one kind remember, over all places that may touch: shear, normal force and direction; and their
    stiffness."""

    shear: Array
    normal: Array
    direction: Array
    stiff: Array


class Friction:
    """Friction of one drive along a path; hung into a workspace, it adds its forces to every assembly.

    ``flank`` and ``cam``: coefficients; ``force``: of the path's torque on the neutral line, over EI/R², the least that errors
    are told relative to. :meth:`settle` finds a place, :meth:`keep` makes it the one that the next is told from.
    """

    def __init__(self, drive: Drive, flank: float, cam: float, start: State, force: float) -> None:
        self.drive, self.flank, self.cam, self.force = drive, flank, cam, force
        numbers = drive.numbers
        rows, teeth = numbers.tooth_node.shape
        self.at = start.copy()
        flanks = (rows, teeth, numbers.feeler.shape[1])
        nodes = (len(numbers.body_kind), rows, drive.nodes)
        arc = 2.0 * math.pi / drive.nodes
        self.memories = (
            Memory(
                np.zeros(flanks),
                np.zeros(flanks),
                np.zeros((*flanks, 2)),
                SHEAR_OF_BED * numbers.feeler_stiffness[:, None, :],
            ),
            Memory(
                np.zeros(nodes),
                np.zeros(nodes),
                np.zeros((*nodes, 2)),
                SHEAR_OF_BED * arc * numbers.body_stiffness[:, :, None],
            ),
        )
        self.now: tuple[Contacts, Contacts] = (_none(False), _none(True))
        self.passes = self.rough = 0
        self.roughest = 0.0
        # at the start all that touches stands without shear
        self.now = self.frozen_at(start)
        self.keep(start)

    def add(self, state: State, system: kernel.System) -> float:
        """Add the frozen contacts to an assembled system; returns their energy."""
        numbers = self.drive.numbers
        flanks, cam = self.now
        total = 0.0
        if len(flanks.index):
            total += friction_kernel.add_flanks(
                state.q, state.lean, state.extra, numbers, flanks.index, flanks.frozen, system
            )
        if len(cam.index):
            total += friction_kernel.add_cam(state.q, state.extra, numbers, cam.index, cam.frozen, system)
        return float(total)

    def frozen_at(self, state: State) -> tuple[Contacts, Contacts]:
        """The contacts that touch at a state, frozen there; their shears are told from the kept place."""
        numbers = self.drive.numbers
        flanks, cam = _none(False), _none(True)
        if self.flank > 0.0:
            index, value = friction_kernel.flank_contacts(state.q, state.lean, state.extra, numbers)
            at = friction_kernel.flank_places(self.at.q, self.at.lean, self.at.extra, numbers, index)
            flanks = _frozen(False, index, value, at, self.memories[0], self.flank)
        if self.cam > 0.0:
            index, value = friction_kernel.cam_contacts(state.q, state.extra, state.near, numbers)
            at = friction_kernel.cam_places(self.at.q, self.at.extra, self.at.near, numbers, index)
            cam = _frozen(True, index, value, at, self.memories[1], self.cam)
        return flanks, cam

    def settle(self, go: Callable[[State], Place], start: State) -> Place | None:
        """The place that ``go`` finds from a start state with its friction settled, or None where it finds none."""
        # the bed of a cam is so stiff that a start foretold says nothing of its forces
        self.now = self.frozen_at(self.at if self.cam > 0.0 else start)
        mixing = Mixing()
        apart: list[float] = []
        for _ in range(MOST_PASSES):
            self.passes += 1
            place = go(start.copy())
            if not place.outcome.settled:
                return None
            found = self.frozen_at(place.state)
            apart.append(self.apart(found, place.state))
            if apart[-1] <= SAME:
                return place
            if len(apart) > PATIENT and apart[-1] > max(0.5 * apart[-4], NEARLY):
                return self._rough(place, found, apart[-1])
            self.now = self._limited(found, mixing.next(self._normals(self.now), self._normals(found)))
            start = place.state
        return None

    def _rough(self, place: Place, found: tuple[Contacts, Contacts], apart: float) -> Place | None:
        """A place with hardly any torque whose few contacts creep on, taken as it is and counted; None for any other."""
        if apart > ROUGH or abs(place.torque_nmm) > ROUGH_BELOW * self.force * self.drive.torque_unit_nmm:
            return None
        self.rough += 1
        self.roughest = max(self.roughest, apart)
        self.now = found
        return place

    def _normals(self, contacts: tuple[Contacts, Contacts]) -> Array:
        """Normal forces of contacts over all places that may touch, flat."""
        out = []
        for memory, kind in zip(self.memories, contacts, strict=True):
            normal = np.zeros_like(memory.normal)
            normal[tuple(kind.index.T)] = kind.normal
            out.append(normal.ravel())
        return np.concatenate(out)

    def _limited(self, found: tuple[Contacts, Contacts], normals: Array) -> tuple[Contacts, Contacts]:
        """The contacts found with other normal forces."""
        out, at = [], 0
        for memory, kind, friction in zip(self.memories, found, (self.flank, self.cam), strict=True):
            size = memory.normal.size
            normal = normals[at : at + size].reshape(memory.normal.shape)[tuple(kind.index.T)]
            frozen = kind.frozen.copy()
            frozen[:, 1] = friction * normal
            out.append(Contacts(kind.on_cam, kind.index, frozen, normal))
            at += size
        return out[0], out[1]

    def apart(self, found: tuple[Contacts, Contacts], state: State) -> float:
        """Largest difference of the friction forces that were solved with and those found, over the largest force."""
        worst, most = 0.0, self.force
        for memory, old, new in zip(self.memories, self.now, found, strict=True):
            difference = np.zeros((*memory.shear.shape, 2))
            for sign, contacts in ((-1.0, old), (1.0, new)):
                force = sign * contacts.force(self._places(contacts, state))
                difference[tuple(contacts.index.T)] += force[:, None] * contacts.frozen[:, 2:4]
            worst = max(worst, float(np.abs(difference).max(initial=0.0)))
            most = max(most, float(new.normal.max(initial=0.0)))
        return worst / most

    def _places(self, contacts: Contacts, state: State, columns: int = 2) -> Array:
        """Places (C, 2) of contacts at a state, as the body they rub on sees them; with three columns also their gaps."""
        numbers = self.drive.numbers
        if contacts.on_cam:
            return friction_kernel.cam_places(state.q, state.extra, state.near, numbers, contacts.index)[:, :columns]
        return friction_kernel.flank_places(state.q, state.lean, state.extra, numbers, contacts.index)[:, :columns]

    def keep(self, state: State) -> float:
        """Make a settled state the one that shears are told from; returns the friction work of the step, dimensionless."""
        work = 0.0
        for memory, contacts, friction in zip(self.memories, self.now, (self.flank, self.cam), strict=True):
            at = tuple(contacts.index.T)
            limit, stiff = contacts.frozen[:, 1], contacts.frozen[:, 0]
            held = np.clip(contacts.shear(self._places(contacts, state)), -limit / stiff, limit / stiff)
            work += self._rubbed(memory, contacts, friction, state, held) + self._opened(
                memory, contacts, friction, state
            )
            memory.shear[:], memory.normal[:] = 0.0, 0.0
            memory.shear[at], memory.normal[at], memory.direction[at] = held, contacts.normal, contacts.frozen[:, 2:4]
        self.at = state.copy()
        return work

    def _rubbed(self, memory: Memory, contacts: Contacts, friction: float, state: State, held: Array) -> float:
        """Work of slip in the contacts that touch. Where a tooth has handed its force on, from a point that has opened to
        one that has come, the new point slips for the whole step: force and slip of the tooth went on without a gap."""
        at = tuple(contacts.index.T)
        here, there = self._places(contacts, state), self._places(contacts, self.at)
        slip = np.abs(contacts.shear(here) - held)
        whole = np.abs((contacts.frozen[:, 2:4] * (here - there)).sum(axis=1) - held)
        came = (memory.normal[at] <= 0.0) & _carrying(memory, contacts)[at[:2]]
        slip = np.where(came, whole, slip)
        return float((0.5 * (contacts.frozen[:, 1] + friction * memory.normal[at]) * slip).sum())

    def _opened(self, memory: Memory, contacts: Contacts, friction: float, state: State) -> float:
        """Work lost in contacts that have opened since the kept place: what they stored, and their slip until they opened."""
        left = memory.normal > 0.0
        left[tuple(contacts.index.T)] = False
        index = np.argwhere(left)
        every = tuple(index.T)
        gone = Contacts(contacts.on_cam, index, np.zeros((len(index), 5)), memory.normal[every])
        before, after = self._places(gone, self.at, 3), self._places(gone, state, 3)
        deep, gap = np.maximum(-before[:, 2], 0.0), np.maximum(after[:, 2], 0.0)
        share = np.where(_carrying(memory, contacts)[every[:2]], 1.0, deep / np.maximum(deep + gap, 1e-300))
        slip = share * np.abs(((after - before)[:, :2] * memory.direction[every]).sum(axis=1))
        stored = 0.5 * np.broadcast_to(memory.stiff, memory.shear.shape)[every] * memory.shear[every] ** 2
        return float((stored + 0.5 * friction * memory.normal[every] * slip).sum())

    def largest_use(self) -> float:
        """Largest friction force over μ times the normal force found, among contacts with a thousandth of the path's force."""
        worst = 0.0
        found = self.frozen_at(self.at)
        for memory, old, new, friction in zip(self.memories, self.now, found, (self.flank, self.cam), strict=True):
            normal = np.zeros_like(memory.shear)
            normal[tuple(new.index.T)] = new.normal
            here = normal[tuple(old.index.T)]
            much = here > LITTLE * self.force
            force = np.abs(memory.stiff * memory.shear)[tuple(old.index.T)]
            worst = max(worst, float((force[much] / (friction * here[much])).max(initial=0.0)))
        return worst

    def wrench(self, state: State) -> Array:
        """Force (x, y) of all friction on the flexible ring, and its moment about the axis, dimensionless."""
        total = np.zeros(3)
        turns = state.extra[len(state.extra) - self.drive.rows :]
        for contacts in self.now:
            place, direction = self._places(contacts, state), contacts.frozen[:, 2:4]
            force = -contacts.force(place)[:, None] * direction
            if contacts.on_cam:
                place = place + state.extra[:2]
            else:
                angle = turns[contacts.index[:, 0]]
                c, s = np.cos(angle), np.sin(angle)
                total[:2] += (c * force[:, 0] - s * force[:, 1]).sum(), (s * force[:, 0] + c * force[:, 1]).sum()
            total[2] += float((place[:, 0] * force[:, 1] - place[:, 1] * force[:, 0]).sum())
            if contacts.on_cam:
                total[:2] += force.sum(axis=0)
        return total


class Mixing:
    """The next guess of a fixed point from the last few guesses and what they led to (least squares over differences).

    Source: mixing of fixed-point iterations by least squares, common practice.
    """

    def __init__(self) -> None:
        self.guesses: list[Array] = []
        self.results: list[Array] = []

    def next(self, guess: Array, result: Array) -> Array:
        """The next guess, not below zero."""
        self.guesses.append(guess)
        self.results.append(result)
        del self.guesses[:-MIXED], self.results[:-MIXED]
        if len(self.guesses) == 1:
            return result
        results, guesses = np.array(self.results), np.array(self.guesses)
        # few of all places touch; a product of a few columns is no work for a library with threads
        some = np.flatnonzero((results != guesses).any(axis=0))
        off = results[:, some] - guesses[:, some]
        change, moved = np.diff(off, axis=0), np.diff(results[:, some], axis=0)
        square = np.einsum("ik,jk->ij", change, change)
        weight = np.linalg.lstsq(square, np.einsum("ik,k->i", change, off[-1]), rcond=1e-12)[0]
        out = result.copy()
        out[some] = np.maximum(out[some] - np.einsum("i,ik->k", weight, moved), 0.0)
        return out


def _none(on_cam: bool) -> Contacts:
    return Contacts(on_cam, np.zeros((0, 3), dtype=np.int64), np.zeros((0, 5)), np.zeros(0))


def _carrying(memory: Memory, contacts: Contacts) -> NDArray[np.bool_]:
    """Whether a tooth (or a cam under a row) carries force both in the kept place and now, by the first two indices."""
    now = np.zeros(memory.normal.shape[:2], dtype=bool)
    now[tuple(contacts.index[:, :2].T)] = True
    return now & (memory.normal > 0.0).any(axis=2)


def _frozen(on_cam: bool, index: Indices, value: Array, at: Array, memory: Memory, friction: float) -> Contacts:
    """Contacts with their shear told from the kept place ``at`` (C, 3: place and gap).

    A contact that was open starts without shear where it met the body: the share of its way that its gap took.
    """
    normal, direction, place = value[:, 0], value[:, 1:3], value[:, 3:5]
    every = tuple(index.T)
    open_before = memory.normal[every] <= 0.0
    gap = np.maximum(at[:, 2], 0.0)
    share = np.where(open_before, gap / np.maximum(gap + value[:, 5], 1e-300), 0.0)
    start = at[:, :2] + share[:, None] * (place - at[:, :2])
    base = (direction * start).sum(axis=1) - np.where(open_before, 0.0, memory.shear[every])
    stiff = np.broadcast_to(memory.stiff, memory.shear.shape)[every]
    return Contacts(on_cam, index, np.column_stack((stiff, friction * normal, direction, base)), normal)
