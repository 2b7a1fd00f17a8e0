"""What load and life ask tells its progress as one course, whatever its stages tell of themselves."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from lobewright.asking import ask_life, ask_load


@pytest.fixture
def stages(monkeypatch):
    """Stages that each tell that they are nearly done."""

    def stage(answer):
        def run(*arguments):
            say = next((one for one in arguments if callable(one) and one is not map), None)
            if say is not None:
                say("nearly", 0.95)
            return answer

        return run

    nothing = SimpleNamespace(design=None, verdicts=())
    for name, answer in (
        ("assessment.run.assess", nothing),
        ("assessment.load.load", nothing),
        ("assessment.load.judged", nothing),
        ("assessment.life.check_materials", None),
        ("assessment.life.life", nothing),
        ("assessment.loaded_states.states_of", nothing),
        ("load_advice.load_suggestions", ()),
        ("life_advice.what_ifs", ()),
        ("life_advice.life_suggestions", ()),
    ):
        monkeypatch.setattr(f"lobewright.{name}", stage(answer))


@pytest.mark.parametrize("ask", [ask_load, ask_life])
def test_no_stage_tells_the_share_of_all(stages, ask):
    told: list[float] = []
    ask(None, lambda word, share: told.append(share), map)
    assert told == sorted(told) and len(told) == 3
    assert told[0] < 0.05 < 0.5 < told[1] < 0.9 < told[2] <= 1.0
