"""The look under torque: the state as from scratch, seen in the generator's frame, and never a torque that is not carried."""

from __future__ import annotations

import numpy as np
import pytest

from lobewright.assessment import wound as wounds
from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design.files import read
from lobewright.errors import FileFault, UnitFault
from lobewright.torque.ask import load_share
from lobewright.web import push as pushes

CUP, BELT, STEEL = "elevation_printed.toml", "azimuth_belt.toml", "focus_steel.toml"


@pytest.fixture
def asked(folder, monkeypatch):
    """Asks as the process does, with nothing kept from other tests."""
    monkeypatch.setattr(pushes, "KEPT", pushes.Kept())

    def ask(file, torque_nm, edits=(), coarse=False):
        text = (folder / file).read_text("utf-8")
        return pushes.push(text, [dict(zip(("place", "value"), one, strict=True)) for one in edits], torque_nm, file,
                           str(folder), coarse)  # fmt: skip

    return ask


def values(answer):
    return {row["key"]: row["value"] for row in answer["numbers"]}


def test_another_torque_of_a_kept_drive_is_the_state_from_scratch(asked, folder):
    for torque in (4.0, 6.0, 2.5):
        found = values(asked(CUP, torque))
    drive = loaded_drive(assess(read(folder / CUP)))
    share = load_share(drive, stiffnesses(drive).inputs, 2500.0)
    assert found["windup"] == pytest.approx(np.degrees(share.windup_rad) * 60.0, rel=1e-6)
    assert found["tooth_force"] == pytest.approx(share.rows[0].force_n.max(), rel=1e-6)
    assert found["roller_force"] == pytest.approx(share.largest_push_n, rel=1e-6)


def test_forces_and_stress_are_of_one_torque_and_stand_with_the_lobes(asked):
    answer = asked(CUP, 0.0)
    (forces,), (stress,) = answer["loads"]["cases"], answer["stress"]["cases"]
    assert forces["torque_nm"] == stress["torque_nm"] == 0.0
    bent = np.array(stress["values"])
    lobe, between = bent[[0, len(bent) // 2]], bent[[len(bent) // 4, 3 * len(bent) // 4]]
    assert (lobe > 0.0).all(), "bent most at the lobes, where the outside is pulled"
    assert (between < 0.0).all()
    loaded = np.array(asked(CUP, 4.0)["stress"]["cases"][0]["values"])
    assert loaded.max() > bent.max()


def test_more_than_it_carries_is_told_and_not_shown(asked, folder):
    answer = asked(CUP, 400.0)
    assert not answer["carried"]
    limit = answer["limit"]["torque_Nm"]
    assert answer["torque_Nm"] == pytest.approx(0.95 * limit)
    assert limit < 400.0
    assert asked(CUP, 0.9 * limit)["carried"]
    assert not asked(CUP, 1.1 * limit)["carried"]


@pytest.mark.parametrize(
    ("file", "torque", "edit", "most"),
    [
        (BELT, 0.12, ("rigid_ring[2].clearance_mm", 0.21), 1e-6),
        (CUP, 4.0, ("flexible_ring.wall_mm", 1.55), 0.01),
        (STEEL, 15.0, ("flexible_ring.wall_mm", 0.51), 0.1),
    ],
)
def test_a_coarse_look_is_near_the_fine_one_and_the_rest_is_told(asked, file, torque, edit, most):
    asked(file, torque)
    coarse, fine = asked(file, torque, [edit], coarse=True), asked(file, torque, [edit])
    assert coarse["coarse"]
    assert not fine["coarse"]
    assert coarse["stress"] is None
    assert coarse["stress_not_made"]
    told, known = values(coarse), values(fine)
    worst = max(abs(told[key] / known[key] - 1.0) for key in told if not key.startswith("teeth"))
    assert fine["off"]["share"] == pytest.approx(worst)
    assert worst < most


def test_a_torque_is_typed_with_any_unit():
    assert pushes.typed_torque_nm("41 kgf·cm") == pytest.approx(41 * 9.80665 / 100.0)
    assert pushes.typed_torque_nm(" 2,5 ") == 2.5
    for text, fault in (("5 kg", UnitFault), ("-1", FileFault), ("nan", FileFault), ("1e9", FileFault)):
        with pytest.raises(fault):
            pushes.typed_torque_nm(text)


def test_the_page_asks_for_the_duty_or_for_what_was_typed(client):
    steady = client.post("/api/push", json={"edits": []}).json()
    assert steady["torque_Nm"] == steady["duty"]["rated_Nm"] == 0.05
    typed = client.post("/api/push", json={"edits": [], "text": "100 N·mm"}).json()
    assert typed["torque_Nm"] == pytest.approx(0.1)
    assert values(typed)["windup"] > values(steady)["windup"]
    wrong = client.post("/api/push", json={"edits": [], "text": "100 mm"})
    assert wrong.status_code == 422
    assert "torque" in wrong.json()["faults"][0]["sentence"]
    broken = client.post("/api/push", json={"edits": [{"place": "flexible_ring.teeth", "value": 3}]}).json()
    assert not broken["ok"]
    assert broken["faults"]


def test_torques_that_were_asked_long_ago_are_let_go(monkeypatch):
    solved = []
    monkeypatch.setattr(wounds.Wound, "_reaches", lambda self, torque: True)
    monkeypatch.setattr(wounds.Wound, "_settled", lambda self, carried, torque, place: solved.append(torque) or torque)
    monkeypatch.setattr(wounds, "settle_at", lambda winder, walk, torque: None)
    kept = wounds.Wound(*[None] * 4, walk=None, coarse=False)
    asked = [100.0 + number for number in range(100)]
    assert [kept.at(torque) for torque in asked] == asked == solved
    assert len(kept.kept_by_nmm) == wounds.KEPT_SETTLED and kept.at(199.0) == 199.0 and len(solved) == 100
    assert kept.at(100.0) == 100.0 and len(solved) == 101, "solved again"
