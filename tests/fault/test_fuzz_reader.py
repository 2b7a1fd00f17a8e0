"""Whatever stands in a file, reading ends in a design or in sentences."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lobewright.design.files import design_from_data, read
from lobewright.design.model import Design
from lobewright.design.starters import KINDS, starter
from lobewright.errors import MOST_FAULTS_SHOWN, LobewrightError

TEXTS = [starter(kind) for kind in KINDS]
QUICK = settings(max_examples=150, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])

ODD_VALUES = st.sampled_from(
    (
        *(
            "nan",
            "inf",
            "-inf",
            "1e400",
            "-1",
            "0",
            "0.0",
            "true",
            "3",
            "2",
            "16",
            "600",
            "1e308",
            "1e-320",
            "[]",
            "{}",
        ),
        *("[nan]", "[[1.0]]", "{a=1}", "[{a=1},{b=2}]", "07:32:00", "1979-05-27", '""', '"x"', '"cam"', '"belt"'),
        *('"rollers"', '"608"', '"\\u0000"', '"../.."', "'''\n\n'''", f'"{"k" * 5000}"'),
        *("9" * 5000, "9" * 400, "0x" + "f" * 6000),
    )
)
ODD_LINES = st.sampled_from(
    (
        *("[flexible_ring]", "[[rigid_ring]]", "[rigid_ring]", "[x.y]", "[[duty]]", "[flexible_ring.second_row]", "["),
        *(
            "[checks_not_expected]",
            "[flexible_ring.measured]",
            "[generator]",
            "]",
            "=",
            "cam = 3",
            "belt = 3",
            "owned = 1",
        ),
        *(
            "points = [[1.0, 2.0]]",
            "lobes = 3",
            "file = 'no.csv'",
            "outline = '/'",
            "fit_mm = 1",
            '"qu oted" = 1',
            "é = 1",
        ),
        *(".".join("a" * 3000) + " = 1", "k" * 4000 + " = 1", "[" * 2000),
    )
)


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A starter with lines taken out, doubled, exchanged, and values of every wrong kind put in."""
    lines = draw(st.sampled_from(TEXTS)).split("\n")
    for _ in range(draw(st.sampled_from((1, 1, 2, 3, 8)))):
        at, other = draw(st.integers(0, len(lines) - 1)), draw(st.integers(0, len(lines) - 1))
        match draw(st.integers(0, 5)):
            case 0 if len(lines) > 2:
                del lines[at]
            case 1:
                lines.insert(at, draw(ODD_LINES))
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3 if "=" in lines[at] and "=" in lines[other]:
                lines[at] = lines[at].split("=")[0] + "=" + lines[other].split("=", 1)[1]
            case 4:
                letter = draw(st.characters(codec="utf-8"))
                place = draw(st.integers(0, len(lines[at])))
                lines[at] = lines[at][:place] + letter + lines[at][place:]
            case _ if "=" in lines[at]:
                lines[at] = lines[at].split("=")[0] + "= " + draw(ODD_VALUES)
    return "\n".join(lines)


def reads_or_says(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drive.toml"
        path.write_bytes(content)
        try:
            design = read(path)
        except LobewrightError as error:
            sentences = error.sentences()
            assert 1 <= len(sentences) <= MOST_FAULTS_SHOWN + 1
            assert all(len(sentence) < 1200 and "\n" not in sentence for sentence in sentences)
            assert len(error.as_json()["faults"]) == len(error.faults)  # type: ignore[arg-type]
        else:
            assert isinstance(design, Design)


@QUICK
@given(mutated())
def test_changed_starters(text: str) -> None:
    reads_or_says(text.encode("utf-8"))


@settings(QUICK, max_examples=60)
@given(st.binary(max_size=400))
def test_random_bytes(content: bytes) -> None:
    reads_or_says(content)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)


@settings(QUICK, max_examples=80)
@given(st.dictionaries(st.sampled_from(sorted(Design.model_fields)) | st.text(max_size=8), PLAIN, max_size=14))
def test_any_plain_data(data: dict[str, object]) -> None:
    with pytest.raises(LobewrightError):
        design_from_data(data)
