"""Display lists as pixels."""

from __future__ import annotations

import numpy as np
import pytest

from lobewright.errors import LobewrightError
from lobewright.picture.display import Anchor, Arrow, Disc, Group, Path, Picture, Placement, RingArc, Text
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.pixels import Placed, pixels, text_width

VIEW = (-10.0, -5.0, 10.0, 5.0)


def painted(*items: object, scale: int = 20, **more: object) -> np.ndarray:
    picture = Picture(VIEW, items, "t", "d")  # type: ignore[arg-type]
    wide, high = 20 * scale, 10 * scale
    return pixels((Placed(picture, (0.0, 0.0, wide, high)),), wide, high, **more)  # type: ignore[arg-type]


def share(array: np.ndarray, role: Role, theme: Theme = Theme.LIGHT) -> np.ndarray:
    """Rows and columns of the pixels of a colour."""
    return np.argwhere((array[..., :3] == list(bytes.fromhex(PALETTE[theme][role][1:]))).all(axis=-1))


def area(array: np.ndarray, role: Role, scale: int = 20) -> float:
    return len(share(array, role)) / scale**2


def test_areas_and_places_of_all_fills_are_right() -> None:
    square = Path(
        (((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)), ((1.0, 1.0), (3.0, 1.0), (3.0, 3.0), (1.0, 3.0))),
        fill=Role.PASS,
    )
    array = painted(
        square, Disc((-6.0, 0.0), 2.0, fill=Role.FAIL), RingArc((6.0, -2.0), 1.0, 2.0, 0.0, np.pi / 2, fill=Role.WARN)
    )
    assert area(array, Role.PASS) == pytest.approx(12.0, rel=0.01), "the hole is even-odd"
    assert area(array, Role.FAIL) == pytest.approx(4 * np.pi, rel=0.04)
    assert area(array, Role.WARN) == pytest.approx(3 * np.pi / 4, rel=0.12)
    row, column = share(array, Role.WARN).mean(axis=0)
    assert column > 16 * 20 and row < 7 * 20, "angles run anticlockwise, y upward"
    assert area(painted(RingArc((0.0, 0.0), 1.0, 2.0, 0.0, -7.0, fill=Role.WARN)), Role.WARN) == pytest.approx(
        3 * np.pi, rel=0.1
    )


def test_groups_turn_then_shift_fade_and_clip() -> None:
    dot = Disc((3.0, 0.0), 1.0, fill=Role.FAIL)
    row, column = share(painted(Group((dot,), (Placement(-2.0, 1.0, np.pi / 2),))), Role.FAIL).mean(axis=0)
    assert (column / 20 - 10, 5 - row / 20) == pytest.approx((-2.0, 4.0), abs=0.05)
    clipped = painted(Group((dot,), clip=(3.0, -5.0, 10.0, 5.0)))
    assert area(clipped, Role.FAIL) == pytest.approx(np.pi / 2, rel=0.08)
    faded = painted(Group((dot, dot), fade=0.5))[100, 260, :3]
    colours = [np.array(list(bytes.fromhex(PALETTE[Theme.LIGHT][role][1:]))) for role in (Role.FAIL, Role.PAPER)]
    assert np.abs(faded - (colours[0] + colours[1]) / 2).max() <= 2, "a group fades as one"


def test_text_stands_upright_at_its_anchor_and_is_as_wide_as_told() -> None:
    for anchor, left in ((Anchor.START, 0.0), (Anchor.MIDDLE, -0.5), (Anchor.END, -1.0)):
        ink = share(painted(Text((0.0, 0.0), "Lll", 40.0, anchor=anchor), scale=40), Role.INK)
        wide = text_width("Lll", 40.0)
        assert ink[:, 1].min() == pytest.approx(400 + left * wide, abs=7)
        assert ink[:, 1].max() == pytest.approx(400 + (left + 1) * wide, abs=7)
        assert ink[:, 0].max() < 202 and ink[:, 0].min() > 160, "letters stand on their point"
    first = share(painted(Text((0.0, 0.0), "L", 40.0), scale=40), Role.INK)
    assert (first[:, 0] > 190).sum() > (first[:, 0] < 180).sum(), "the foot of the L is below"


def test_lines_keep_their_width_whatever_the_scale_and_hatches_are_there() -> None:
    line = Path((((-8.0, 0.0), (8.0, 0.0)),), closed=False, line=Role.INK, line_px=4.0)
    for scale in (10, 40):
        assert len(np.unique(share(painted(line, scale=scale), Role.INK)[:, 0])) == 4
    big = Path((((-8.0, -4.0), (8.0, -4.0), (8.0, 4.0), (-8.0, 4.0)),), hatch=Role.FAIL)
    hatched = painted(big)
    assert 0 < len(share(hatched, Role.PAPER)) < hatched.shape[0] * hatched.shape[1] * 0.9
    arrow = share(painted(Arrow((0.0, 0.0), (8.0, 0.0), colour=Role.FAIL, line_px=3.0)), Role.FAIL)
    assert np.ptp(arrow[arrow[:, 1] > 340][:, 0]) > np.ptp(arrow[arrow[:, 1] < 300][:, 0]), "the head is at its head"


def test_without_paper_nothing_is_behind_and_dark_is_another_paper() -> None:
    clear = painted(Disc((0.0, 0.0), 2.0, fill=Role.FAIL), transparent=True)
    assert tuple(clear[0, 0]) == (0, 0, 0, 0) and clear[100, 200, 3] == 255
    dark = painted(theme=Theme.DARK)
    assert len(share(dark, Role.PAPER, Theme.DARK)) == dark.shape[0] * dark.shape[1]


def test_a_picture_is_fitted_in_the_middle_of_its_box() -> None:
    placed = Placed(Picture(VIEW, (), "t", "d"), (100.0, 0.0, 300.0, 300.0))
    assert placed.scale == 10.0
    assert placed.pixel((0.0, 0.0)) == (200.0, 150.0) and placed.pixel((10.0, 5.0)) == (300.0, 100.0)


def test_what_cannot_be_painted_is_refused() -> None:
    with pytest.raises(LobewrightError, match=r"no font here has the letter"):
        text_width("\U0010fffd", 12.0)
    with pytest.raises(LobewrightError, match=r"width_px: a sheet of pixels cannot have this size \(found 0\)"):
        pixels((), 0, 10)
