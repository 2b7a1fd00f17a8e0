"""Names that are promised: the API, the states, the sources behind every number that is shown."""

from __future__ import annotations

import inspect
from collections.abc import Callable

import pytest

import lobewright
from lobewright.assessment.headline import headlines
from lobewright.assessment.results import Assessment
from lobewright.design.starters import KINDS
from lobewright.sources import source
from lobewright.verdict import State

ONE_OF_EACH_RING = (
    "belt-rollers",
    "belt-cam_thin_bearing",
    "printed_ring-cam_plain",
    "printed_cup-paired_rollers",
    "metal_cup",
)


def test_the_api_is_three_calls() -> None:
    assert sorted(lobewright.__all__) == ["assess", "build", "read"]
    for name in lobewright.__all__:
        call = getattr(lobewright, name)
        assert inspect.isfunction(call)
        assert "Raises" in (call.__doc__ or "") or "OutputFault" in (call.__doc__ or "")
    assert list(inspect.signature(lobewright.read).parameters) == ["path"]
    assert list(inspect.signature(lobewright.assess).parameters) == ["design", "progress"]
    assert list(inspect.signature(lobewright.build).parameters) == ["design", "out", "progress"]


def test_no_room_hides_a_call_of_the_api() -> None:
    """A package of the same name would take a call's place when it is imported."""
    import pkgutil

    rooms = {found.name for found in pkgutil.iter_modules(lobewright.__path__)}
    assert not rooms & set(lobewright.__all__)


@pytest.mark.parametrize("kind", ONE_OF_EACH_RING)
def test_every_number_shown_has_working_and_a_source_that_exists(
    kind: str, assessed_starter: Callable[[str], Assessment]
) -> None:
    found = assessed_starter(kind)
    for verdict in found.verdicts:
        made = verdict.state is not State.NOT_MADE
        assert verdict.sentence[:1].isupper() or verdict.sentence[:1].isdigit(), verdict.sentence
        assert verdict.sentence.endswith("."), verdict.sentence
        assert (verdict.value is not None) == (verdict.limit is not None) == made, verdict.name
        if made:
            assert verdict.working.equation
            assert verdict.working.numbers
            assert verdict.working.sources
    for key in (*found.source_keys, *(key for row in headlines(found) for key in row.working.sources)):
        assert source(key).line.endswith(")")
    keys = [row.key for row in headlines(found)]
    assert len(set(keys)) == len(keys)
    names = [verdict.name for verdict in found.verdicts]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("kind", ONE_OF_EACH_RING)
def test_arrays_of_results_cannot_be_written(kind: str, assessed_starter: Callable[[str], Assessment]) -> None:
    found = assessed_starter(kind)
    arrays = [
        found.set_shape.x_mm,
        found.set_shape.arc_mm,
        found.rings[0].space.radius_mm,
        found.rings[0].outline.points_mm,
    ]
    for array in arrays:
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_names_of_starters_are_stable() -> None:
    """Docs and people use them."""
    assert len(KINDS) == 19
    assert "belt-paired_rollers" in KINDS
    assert "metal_cup-cam_thin_bearing" in KINDS


def test_cautions_fit_the_load_and_the_material(assessed_starter: Callable[[str], Assessment]) -> None:
    from lobewright.assessment.cautions import cautions
    from lobewright.design.model import Load

    belt, steel = assessed_starter("belt-rollers").design, assessed_starter("metal_cup").design
    for design in (belt, steel):
        words = {load: " ".join(cautions(design.model_copy(update={"load": load}))) for load in Load}
        assert "can fall" in words[Load.ARM] and "can fall" not in words[Load.NONE]
        assert "sunlight burns" in words[Load.MIRROR] and "sunlight" not in words[Load.ARM]
        assert "keeps turning" in words[Load.TURNTABLE]
        assert all("Pinch points" in text and "licensed practice" in text for text in words.values())
    assert any("steel" in text for text in cautions(steel))
    assert any("ventilate" in text for text in cautions(belt))
    assert not any("ventilate" in text for text in cautions(steel))
