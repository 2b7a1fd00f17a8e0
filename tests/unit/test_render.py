"""Pictures of parts, held against what geometry says of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lobewright.errors import LobewrightError
from lobewright.make.bodies import Body, Drill, Part, Slab, Turned, exact
from lobewright.make.outlines import circle, polygon
from lobewright.make.placing import Place
from lobewright.make.render import View, frame, picture, placed_corners, plain_mesh, png
from lobewright.make.solids import Mesh

RED, BLUE = "#c02020", "#2020c0"


def box(x: float, y: float, z: float) -> Mesh:
    """A closed box from 0 to (x, y, z)."""
    corners = np.array([(i, j, k) for k in (0, z) for j in (0, y) for i in (0, x)], dtype=float)
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    rows = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    made = Mesh(corners, np.array(rows))
    assert made.open_edges == 0 and made.volume_mm3 == pytest.approx(x * y * z)
    return made


@pytest.mark.parametrize(("right", "above"), [(0.0, 0.0), (-42.0, 26.0), (35.0, -20.0), (130.0, 60.0)])
def test_a_box_covers_the_area_of_its_shadow(right: float, above: float) -> None:
    x, y, z = 30.0, 20.0, 10.0
    view, things = View(right, above), [(box(x, y, z), Place(), RED, False)]
    where = frame(things, view, 700)
    eye = np.abs(view.axes[2])
    shadow = y * z * eye[0] + x * z * eye[1] + x * y * eye[2]
    seen = picture(things, view, 700)
    covered = np.count_nonzero((seen < 255).any(axis=2)) / where.px_per_mm**2
    # A line lies half a fine pixel outside, all round.
    round_mm = 2 * (x + y + z)
    assert covered == pytest.approx(shadow, abs=round_mm * 1.2 / where.px_per_mm)


def test_the_nearer_thing_hides_the_farther_in_any_order() -> None:
    near, far = (box(10, 10, 1), Place(z_mm=20.0), RED, False), (box(10, 10, 1), Place(), BLUE, False)
    for things in ([near, far], [far, near]):
        image = picture(things, View(0.0, 0.0), 200)
        middle = image[image.shape[0] // 2, 100]
        assert middle[0] > middle[2]


@pytest.mark.cad
def test_edges_are_dark_and_round_sides_are_not() -> None:
    ridge = [(box(20, 20, 20), Place(), "#ffffff", False)]
    view = View(-45.0, 0.0)
    image = picture(ridge, view, 400)
    where = frame(ridge, view, 400)
    x, y = where.at((0.0, 10.0, 20.0))
    assert image[int(y), int(x) - 1 : int(x) + 2].min() < 120
    assert image[int(y), int(x) + 40].min() > 120
    part = Part("post", "post", 1, Body((Slab(exact(circle(10.0)), (), 0.0, 30.0),)), "")
    bar = [(plain_mesh(part), Place(), "#ffffff", False)]
    seen = picture(bar, View(90.0, 0.0), 400)
    inside = seen[20:-20, 100:300]
    assert inside.min() > 100, "no line runs along the side of a cylinder"


def test_a_place_moves_corners_as_it_moves_points() -> None:
    mesh = box(3.0, 4.0, 5.0)
    place = Place(1.0, -2.0, 7.0, 0.6, over=True)
    wanted = [place.of(*corner) for corner in mesh.corners_mm]
    assert placed_corners(mesh, place) == pytest.approx(np.array(wanted), abs=1e-12)


@pytest.mark.cad
def test_the_mesh_of_a_body_has_its_volume() -> None:
    plate = Slab(exact(circle(20.0)), (exact(circle(4.0)), exact(circle(2.0, 12.0))), 0.0, 6.0)
    pocket = Slab(exact(polygon([(-14, -3), (-8, -3), (-8, 3), (-14, 3)])), (), 2.0, 6.0)
    boss = Turned(polygon([(4.0, 6.0), (9.0, 6.0), (7.0, 11.0), (4.0, 11.0)]))
    body = Body((plate, boss), (pocket,))
    made = plain_mesh(Part("hub", "hub", 1, body, ""))
    assert made.open_edges == 0
    assert made.volume_mm3 == pytest.approx(body.volume_mm3, rel=2e-3)
    block = Slab(exact(polygon([(-10, -10), (10, -10), (10, 10), (-10, 10)])), (), 0.0, 10.0)
    bored = Body((block,), (), (Drill((-10.0, 0.0, 5.0), 0.0, 4.0, 20.0),))
    drilled = plain_mesh(Part("block", "block", 1, bored, ""))
    assert drilled.volume_mm3 == pytest.approx(20 * 20 * 10 - math.pi * 4 * 20, rel=2e-3)


@pytest.mark.cad
def test_the_same_things_give_the_same_bytes() -> None:
    things = [(box(10, 20, 30), Place(turn_rad=0.3), RED, True)]
    first, second = (png(picture(things, View(), 160)) for _ in range(2))
    assert first == second and first.startswith(b"\x89PNG")


def test_a_faded_thing_is_paler() -> None:
    means = [picture([(box(9, 9, 9), Place(), RED, faded)], View(), 120).mean() for faded in (False, True)]
    assert means[1] > means[0] + 20


def test_nothing_to_show_is_refused() -> None:
    with pytest.raises(LobewrightError, match="a picture needs things"):
        picture([], View(), 400)
    with pytest.raises(LobewrightError, match="16 to"):
        frame([(box(1, 1, 1), Place(), RED, False)], View(), 4)
