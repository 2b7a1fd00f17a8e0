"""A look at the drive under torque: forces for the moving picture, stress along the flexible ring, and the numbers there.

Fine looks keep their drive, so that another torque of the same design costs a few steps. Coarse ones are asked while the design
is being moved: fewer nodes a tooth, the mesh checked coarsely, and begun from the drive before. Bands are not made here; the
full ``load`` makes them.
"""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path
from typing import Any

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.load import duty_torques_nmm
from lobewright.assessment.mesh import Care
from lobewright.assessment.run import assess
from lobewright.assessment.wound import Settled, Wound, wound
from lobewright.design.files import locate_in
from lobewright.errors import Fault, FileFault, LobewrightError
from lobewright.make.moving_loads import loads_json
from lobewright.make.moving_scene import moving_loads
from lobewright.units import Kind, parse
from lobewright.web.form import plain_number
from lobewright.web.look import design_of, edited
from lobewright.web.named import NamedState, named_state
from lobewright.web.push_stress import number, ring_stress

Data = dict[str, Any]
KEPT_DRIVES = 3
LARGEST_NM = 1e6
Key = tuple[str, str, str, NamedState]
"""Text, file, folder, and what the files say that the text names."""


class Kept:
    """Drives of the last questions, by all that they follow from; the last that was looked at coarsely stands apart."""

    def __init__(self) -> None:
        self.fine: OrderedDict[Key, Wound] = OrderedDict()
        self.last: Wound | None = None
        self.coarse: tuple[Key | None, float, dict[str, float]] = (None, 0.0, {})

    def drive(self, key: Key, coarse: bool) -> Wound:
        """The drive of a text: a kept one, which is fine, else a new one."""
        text, file, folder, _ = key
        if key in self.fine:
            self.fine.move_to_end(key)
            return self.fine[key]
        # the look beside this one tells whether the teeth clear each other
        found = assess(design_of(text, file, Path(folder)), care=Care.UNCHECKED if coarse else Care.FULL)
        made = wound(found, coarse=coarse)
        if not coarse:
            self.fine[key] = made
            while len(self.fine) > KEPT_DRIVES:
                self.fine.popitem(last=False)
        return made


KEPT = Kept()


def typed_torque_nm(text: str) -> float:
    """A torque [N·m] as a person typed it: a plain number is N·m. Raises UnitFault, or FileFault where it is out of range."""
    try:
        torque = plain_number(text)
    except ValueError:
        torque = parse(text, Kind.TORQUE, "torque") / 1000.0
    if not 0.0 <= torque <= LARGEST_NM:
        raise FileFault([Fault("this torque is out of range", "torque", 0, text, "0 N·m or more")])
    return torque


def push(text: str, edits: list[Data], torque_nm: float | None, file: str, folder: str, coarse: bool) -> Data:
    """The drive of a text with edits made at a torque [N·m]; without one at the largest steady torque of its duty.

    ``{"ok": true, …}``, or ``{"ok": false, "error": …, "faults": […]}`` where the text is no design or the drive is not solved.
    """
    try:
        text = edited(text, edits, file, Path(folder)) if edits else text
        key = (text, file, folder, named_state(text, Path(folder)))
        drive = KEPT.drive(key, coarse)
        rated, peak, from_duty = duty_torques_nmm(drive.found.design, 0.0)
        torque = rated if torque_nm is None else 1000.0 * torque_nm
        near = drive.near(KEPT.last, torque) if drive.coarse and KEPT.last is not None else None
        settled = drive.at(torque) if near is None else near
        KEPT.last = drive
    except LobewrightError as error:
        locate_in(error, text, file)
        return {"ok": False, "coarse": coarse, **error.as_json()}
    duty = {"rated_Nm": rated / 1000.0, "peak_Nm": peak / 1000.0} if from_duty else None
    return {
        "ok": True,
        "coarse": drive.coarse,
        "duty": duty,
        **_told(drive, torque, settled),
        "off": _off(key, torque, drive, settled),
    }


def _told(drive: Wound, asked_nmm: float, settled: Settled) -> Data:
    limit = drive.limit_nmm
    ring = ring_stress(drive, settled.share)
    return {
        "asked_Nm": asked_nmm / 1000.0,
        "torque_Nm": settled.share.torque_nmm / 1000.0,
        "carried": settled.carried,
        "limit": None if limit is None else {"torque_Nm": limit / 1000.0, "words": LIMITS[drive.walk.ended]},
        "numbers": [*_numbers(drive, settled), *ring.rows],
        "loads": loads_json(moving_loads(drive.found, (settled.share,))),
        "stress": ring.picture,
        "stress_not_made": ring.why,
    }


LIMITS = {
    "fall": "it skips",
    "lost": "nothing near holds it",
    "crushed": "a tooth breaks",
    "far": "it turns on without carrying more",
}
"""Why a walk ended, as what the drive does there."""


def _numbers(drive: Wound, settled: Settled) -> list[Data]:
    """Numbers at the torque, with the keys and titles that they have in the full look under torque."""
    share, slope = settled.share, settled.place.slope_nmm_per_rad
    alone = len(share.rows) == 1
    rows = [
        number("windup", "Windup from the middle of the play", abs(share.windup_rad) * ARCMIN_PER_RAD, "arcmin"),
        number("stiffness", "Torsional stiffness at this torque", slope / 1000.0 / ARCMIN_PER_RAD, "N·m/arcmin"),
    ]
    for row in share.rows:
        title = "Teeth that carry" if alone else f"Teeth that carry, ring {row.name}"
        rows.append(number(f"teeth_in_load_{row.name}", title, float(row.teeth_in_load), "teeth"))
    most = max(float(row.force_n.max()) for row in share.rows)
    rows.append(number("tooth_force", "Largest force on one tooth", most, "N"))
    pressure = max(float(row.pressure_mpa.max()) for row in share.rows)
    rows.append(number("flank_pressure", "Largest flank pressure", pressure, "MPa"))
    if len(share.arm_mm):
        rows.append(number("roller_force", "Largest force on one roller or disc", share.largest_push_n, "N"))
    return rows


def _off(key: Key, asked_nmm: float, drive: Wound, settled: Settled) -> Data | None:
    """How far the coarse look at the same text and torque was off, once the fine one is known: the largest share among the
    numbers, and which it is. Counts of teeth are left out."""
    now = {row["title"]: row["value"] for row in _numbers(drive, settled) if row["unit"] != "teeth"}
    if drive.coarse:
        KEPT.coarse = (key, asked_nmm, now)
        return None
    before, torque, then = KEPT.coarse
    if before != key or torque != asked_nmm:
        return None
    shares = {title: abs(then[title] / now[title] - 1.0) for title in now if title in then and now[title] > 0.0}
    worst = max(shares, key=lambda title: shares[title], default="")
    return {"share": shares[worst], "title": worst} if worst else None
