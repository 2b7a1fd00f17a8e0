"""Films read back: by a reader of boxes of our own, and decoded by another library than wrote them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import cv2
import mp4_boxes
import numpy as np
import pytest
from PIL import Image

from lobewright.assessment.results import Assessment
from lobewright.errors import OutputFault
from lobewright.picture.display import Disc, RingArc
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.score import Figure, Reading, Said, Score, Words, course, plain
from lobewright.teach.film_frame import frame, layout
from lobewright.teach.films import Kind, still_png, write_film, write_frames, write_gif, write_mp4
from lobewright.teach.language import Language
from lobewright.teach.reel import LAST_SECONDS, QUESTION_SECONDS, Reel, reel
from lobewright.teach.scene import Ask, Choice, Take
from lobewright.teach.scenes import scene
from lobewright.teach.subject import subject

SMALL = Kind(180, 10, ".mp4")
COLOURS = {role: np.array(list(bytes.fromhex(colour[1:])), float) for role, colour in PALETTE[Theme.LIGHT].items()}


def short_film(seconds: float = 0.05, words: str = "") -> Reel:
    """A red mark that goes once about a ring, with a figure."""
    items = [
        *plain(RingArc((0.0, 0.0), 40.0, 48.0, 0.0, 7.0, fill=Role.RING_B)),
        {
            "kind": "group",
            "items": plain(Disc((30.0, 0.0), 6.0, fill=Role.TOOTH_MARK)),
            "placements": [[0, 0, course(slope=2 * math.pi)]],
        },
    ]
    turned = Reading("turned", "Turned", Words("{0}°", (Figure(course(slope=360.0), 0),)))
    score = Score(
        (-89.0, -50.0, 89.0, 50.0),
        tuple(items),
        "A mark",
        "A mark goes round.",
        seconds,
        {},
        readings=(turned,),
        said=(Said(0.0, words),) if words else (),
    )
    return Reel("A ring", Take("round", "A ring", score))


def marked(picture: np.ndarray, role: Role, within: np.ndarray | None = None) -> tuple[float, float]:
    """Middle of the pixels that have a role's colour: x to the right, y up."""
    rows, columns = np.nonzero(near(picture, role) & (True if within is None else within))
    assert len(rows) > 20, role
    return float(columns.mean()), -float(rows.mean())


def decoded(path: Path) -> list[np.ndarray]:
    """Every picture of a film, red, green, blue."""
    film, pictures = cv2.VideoCapture(str(path)), []
    while True:
        there, picture = film.read()
        if not there:
            return pictures
        pictures.append(picture[..., ::-1].astype(float))


@pytest.mark.parametrize("kind, size, rate", [("1080p60", (1920, 1080), 60), ("4k30", (3840, 2160), 30)])
def test_a_film_has_the_size_rate_and_pictures_that_its_kind_tells(
    tmp_path: Path, kind: str, size: tuple[int, int], rate: int
) -> None:
    film = short_film()
    path = write_film(film, tmp_path, "ring_round", kind)
    read = mp4_boxes.read(path.read_bytes())
    assert (read.codec, read.width, read.height) == ("avc1", *size)
    assert read.pictures == len(read.steps) == round(film.seconds * rate)
    assert set(read.steps) == {Fraction(1, rate)}
    assert read.order.index("moov") < read.order.index("mdat"), "it cannot play while it loads"
    assert read.whole_pictures == tuple(range(1, read.pictures + 1, 30)), "a place in it cannot be found quickly"
    assert read.matrix == 1, "colours are not told to be those of ITU-R BT.709"
    other = cv2.VideoCapture(str(path))
    told = [
        other.get(what)
        for what in (cv2.CAP_PROP_FRAME_WIDTH, cv2.CAP_PROP_FRAME_HEIGHT, cv2.CAP_PROP_FPS, cv2.CAP_PROP_FRAME_COUNT)
    ]
    assert told == [*size, rate, read.pictures]
    there, last = other.read()
    assert there
    assert np.abs(last[5, 5, ::-1] - COLOURS[Role.PAPER]).max() <= 3, "colours come back as they went in"


def test_readings_wait_until_the_question_is_over() -> None:
    film = short_film(10.0)
    asked = replace(film, take=replace(film.take, ask=Ask("Which way?", (Choice("left", True, "so"),))))
    place = layout(asked)
    left, top, right, bottom = (round(2 * edge) for edge in place.readings)
    for seconds, there in ((0.0, False), (QUESTION_SECONDS - 0.01, False), (QUESTION_SECONDS + 0.01, True)):
        panel = frame(asked, place, seconds, 1080)[top:bottom, left:right, :3]
        assert (np.ptp(panel, axis=(0, 1)).max() > 0) == there, seconds


def near(picture: np.ndarray, role: Role) -> np.ndarray:
    """Which pixels have about a role's colour."""
    return np.linalg.norm(picture - COLOURS[role], axis=-1) < 40.0


def darkness(picture: np.ndarray) -> np.ndarray:
    """How much darker than paper each pixel is. Films keep brightness for every pixel, colour for every fourth only."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    return np.maximum(COLOURS[Role.PAPER] @ weights - picture @ weights - 6.0, 0.0)


def middle_of(dark: np.ndarray) -> tuple[float, float]:
    """Middle of what is dark: x to the right, y up."""
    rows, columns = np.indices(dark.shape)
    return float((columns * dark).sum() / dark.sum()), -float((rows * dark).sum() / dark.sum())


def circle(picture: np.ndarray) -> tuple[float, float, float]:
    """Middle (x right, y up) and radius, in pixels, of the held ring's outer edge: least squares over its dark outline."""
    rows, columns = np.nonzero(near(picture, Role.RING_A))
    middle, radius = np.array([(columns.min() + columns.max()) / 2, -(rows.min() + rows.max()) / 2]), 0.0
    radius = (columns.max() - columns.min()) / 2
    rows, columns = np.indices(picture.shape[:2])
    x, y, dark = columns.ravel().astype(float), -rows.ravel().astype(float), darkness(picture).ravel()
    for _ in range(4):
        outer = np.abs(np.hypot(x - middle[0], y - middle[1]) - radius) < 3.0
        weight = np.sqrt(dark[outer])
        system = np.stack([2 * x[outer], 2 * y[outer], np.ones(outer.sum())], axis=1) * weight[:, None]
        found = np.linalg.lstsq(system, (x[outer] ** 2 + y[outer] ** 2) * weight, rcond=None)[0]
        middle, radius = found[:2], math.sqrt(found[2] + found[0] ** 2 + found[1] ** 2)
    return float(middle[0]), float(middle[1]), float(radius)


def measured(picture: np.ndarray) -> tuple[float, float] | None:
    """Angles (degrees) of generator and output ring in a picture of the scene *count*, or None before anything can be measured.

    Seen from the middle of the held ring: the generator's from the arrow at its lobe; the ring's from the trail that it draws
    outside the drive and its own rim, whose middle lies at half of what it has turned.
    """
    left = picture[:, : picture.shape[1] * 45 // 100]
    x, y, radius = circle(left)
    rows, columns = np.indices(left.shape[:2])
    far = np.hypot(columns - x, -rows - y)
    trail = darkness(left) * (
        (far > 1.056 * radius) & (far < 1.092 * radius) & (columns > x) & (np.abs(-rows - y) < 0.2 * radius)
    )
    if trail.sum() < 5000.0:
        return None
    lobe, middle = marked(left, Role.LOBE_MARK, far < radius), middle_of(trail)
    generator, half = (math.degrees(math.atan2(at[1] - y, at[0] - x)) for at in (lobe, middle))
    return generator, 2.0 * half


def test_the_output_ring_turns_in_the_film_as_the_kinematics_say(
    tmp_path: Path, assessed_starter: Callable[[str], Assessment]
) -> None:
    """Both angles are measured from decoded pictures, and nothing else: neither u nor a clock comes in."""
    found = assessed_starter("belt")
    shown = scene("count", subject(found), Language("en"))
    path = tmp_path / "count.mp4"
    write_mp4(reel(shown, shown.takes[0]), path, Kind(1080, 1, ".mp4"))
    seen = [angles for picture in decoded(path) if (angles := measured(picture))]
    generator, ring = (np.array(one) for one in zip(*seen, strict=True))
    generator = np.degrees(np.unwrap(np.radians(generator)))
    assert len(seen) > 10 and generator[0] < 180.0 and generator[-1] > 350.0
    turns = found.motion.turns_in_generator_turn or found.motion.turns
    expected = float(turns[found.motion.read] / turns["generator"]) * generator
    assert np.abs(ring - expected).max() < 0.1, ring - expected


class Stop(Exception):
    """Somebody stops it."""


def stop(share: float) -> None:
    raise Stop


@pytest.mark.parametrize("write, name", [(write_mp4, "a.mp4"), (write_gif, "a.gif"), (write_frames, "a")])
def test_a_film_that_is_stopped_leaves_nothing(tmp_path: Path, write: Callable[..., None], name: str) -> None:
    with pytest.raises(Stop):
        write(short_film(5.0), tmp_path / name, SMALL, progress=stop)
    assert list(tmp_path.iterdir()) == []


def test_a_stopped_film_leaves_the_earlier_one(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    shares: list[float] = []
    write_mp4(short_film(5.0), path, SMALL, progress=shares.append)
    assert shares == sorted(shares) and shares[-1] == 1.0 and len(shares) > 1
    before = path.read_bytes()
    with pytest.raises(Stop):
        write_mp4(short_film(), path, SMALL, progress=stop)
    assert path.read_bytes() == before


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputFault, match=r"the film cannot be written: No such file"):
        write_mp4(short_film(), tmp_path / "no_folder" / "a.mp4", SMALL)


def test_a_gif_repeats_and_lasts_as_long_as_the_film(tmp_path: Path) -> None:
    film = short_film(2.0)
    write_gif(film, tmp_path / "a.gif", Kind(180, 20, ".gif"))
    with Image.open(tmp_path / "a.gif") as image:
        assert (image.size, image.info["loop"]) == ((320, 180), 0)
        lasts = 0
        for number in range(image.n_frames):
            image.seek(number)
            lasts += image.info["duration"]
            if number == 10:
                half = np.asarray(image.convert("RGB"), float)
    assert lasts == pytest.approx(film.seconds * 1000, abs=50)
    x0, y0 = marked(half, Role.RING_B)
    x, y = marked(half, Role.TOOTH_MARK)
    assert math.degrees(math.atan2(y - y0, x - x0)) == pytest.approx(90.0, abs=3.0), (
        "a quarter round after half a second of two"
    )


def test_single_pictures_have_no_background_and_true_colours(tmp_path: Path) -> None:
    film = short_film(0.5)
    write_frames(film, tmp_path / "a", SMALL)
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert names == [f"{number:04d}.png" for number in range(1, film.frames(10) + 1)]
    picture = np.asarray(Image.open(tmp_path / "a" / "0001.png"))
    assert picture.shape == (180, 320, 4)
    assert picture[0, 0, 3] == 0 and picture[90, 160, 3] == 0, "the paper is not painted"
    ring = picture[picture[..., 3] == 255]
    assert {tuple(int(part) for part in one[:3]) for one in ring} == {
        tuple(int(part) for part in COLOURS[role]) for role in (Role.RING_B, Role.TOOTH_MARK)
    }
    edge = picture[(picture[..., 3] > 100) & (picture[..., 3] < 200)]
    far = np.min([np.abs(edge[:, :3] - COLOURS[role]).max(axis=1) for role in (Role.RING_B, Role.TOOTH_MARK)], axis=0)
    assert far.max() <= 3, "colours at edges were left multiplied with their opacity"
    assert still_png(film, 0.0, 180) == (tmp_path / "a" / "0001.png").read_bytes()


def test_the_film_stands_at_its_end(tmp_path: Path) -> None:
    film = short_film(0.5)
    assert film.seconds >= 0.5 + LAST_SECONDS
    write_mp4(film, tmp_path / "a.mp4", SMALL)
    first, last = decoded(tmp_path / "a.mp4")[-8], decoded(tmp_path / "a.mp4")[-1]
    assert np.abs(first - last).mean() < 1.0


def test_the_encoder_is_told_of_in_the_docs() -> None:
    """Who makes films with it should find its licence."""
    page = (Path(__file__).parents[2] / "docs" / "dependencies.md").read_text("utf-8")
    assert re.search(r"x264.*GPL", page)


def test_a_remark_in_brackets_does_not_make_a_number_small() -> None:
    plain_film = short_film()
    turned = plain_film.score.readings[0]
    told = replace(turned, remark="minus: clockwise, as everywhere in these pictures")
    film = replace(plain_film, take=replace(plain_film.take, score=replace(plain_film.score, readings=(told,))))
    sizes = layout(plain_film)
    assert sizes == layout(film) and sizes.beside
    left, top = (round(edge) for edge in sizes.readings[:2])
    bare, remarked = (frame(one, sizes, 0.0, 540)[top:, left:] for one in (plain_film, film))
    number, below = slice(20, 41), slice(41, 80)
    assert (bare[number] == remarked[number]).all() and bare[number].min() < 100
    assert remarked[below].min() < 100 < bare[below].min()
