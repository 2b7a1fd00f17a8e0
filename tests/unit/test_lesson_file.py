"""Lesson files and texts: every fault at once, and nothing of a text is run."""

from __future__ import annotations

import base64
import datetime
import shutil
from pathlib import Path

import pytest
from tests.class_lesson import CLASS, class_lesson

from lobewright.errors import DesignFault, FileFault
from lobewright.picture.score import Moment, Score
from lobewright.teach.lesson_file import Part, TextPart, figure_place, plain_lesson, read_lesson, scene_faults
from lobewright.teach.lesson_text import figures, text_faults, told
from lobewright.teach.scene import Scene, Take
from lobewright.teach.scenes import SCENES

PNG = b"\x89PNG\r\n\x1a\n"
EXAMPLE = Path(__file__).parents[2] / "examples" / "azimuth_belt.toml"


def written(folder: Path, lesson: str = CLASS, text: str = "# Hello\n\nLook at *this*.\n") -> Path:
    shutil.copy(EXAMPLE, folder)
    return class_lesson(folder, lesson, text)


def refused(path: Path) -> list[str]:
    with pytest.raises((DesignFault, FileFault)) as caught:
        read_lesson(path)
    return caught.value.sentences()


def test_a_lesson_file_says_what_is_wanted(tmp_path: Path) -> None:
    lesson = read_lesson(written(tmp_path))
    assert (lesson.design, lesson.language, lesson.date) == (
        tmp_path / "azimuth_belt.toml",
        "de",
        datetime.date(2026, 12, 7),
    )
    assert isinstance(lesson.parts[0], TextPart) and lesson.parts[0].text.startswith("# Hello")
    places = ("tooth_3",)
    assert lesson.scenes == (
        Part(scene="count", takes=("turn",), stills=places, stops=places, stop_seconds=3.0, films=("gif",)),
    )


def test_a_design_gives_a_lesson_with_all_scenes_in_order_and_no_films() -> None:
    lesson = read_lesson(EXAMPLE)
    assert [part.scene for part in lesson.scenes] == list(SCENES)
    assert not any(part.films for part in lesson.scenes) and lesson.written == ""


def test_all_faults_of_a_file_are_told_at_once_with_their_lines(tmp_path: Path) -> None:
    bad = """
design = "no_such.toml"
language = "fr"
tilte = "x"
date = 0001-01-05

[[part]]
scene = "cuont"
films = ["mpeg"]

[[part]]
text = "nowhere.md"
stops = ["half"]

[[part]]

[[part]]
scene = "count"
stop_seconds = -1.0

[[part]]
scene = "count"
text = "before.md"

[[part]]
scene = "count"
"""
    told_of = "\n".join(refused(written(tmp_path, bad)))
    for line, words in (
        (2, "design: there is no such design file (found no_such.toml)"),
        (3, "language: lessons are not written in this language (found fr); allowed: en, de"),
        (4, "tilte: no such key"),
        (5, "date: the value is out of range (found 0001-01-05); allowed: at least 2000-01-01"),
        (8, "part[1].scene: there is no such scene (found cuont)"),
        (9, "part[1].films: there is no such kind of film (found mpeg); allowed: 1080p60, 4k30, gif, frames"),
        (12, "part[2].text: the text cannot be used: there is no such file (found nowhere.md)"),
        (13, "part[2].stops: a text has no such key"),
        (15, "part[3]: a part is a scene or a text, one of both"),
        (19, "part[4].stop_seconds: the value is out of range (found -1.0)"),
        (21, "part[5]: a part is a scene or a text, one of both"),
        (26, "part[6].scene: this scene comes twice (found count)"),
    ):
        assert f"class.toml, line {line}: {words}" in told_of, words


@pytest.mark.parametrize(
    "text, line, words",
    [
        ("Fine.\n\n<script>alert(1)</script>\n", 3, "a tag cannot stand in a lesson's text"),
        ("Fine <img src=x onerror=alert(1)> so.", 1, "a tag cannot stand in a lesson's text"),
        ("a\n[here](javascript:alert(1))", 2, "this link may lead nowhere from a page"),
        ("[here](data:text/html;base64,PHNjcmlwdD4=)", 1, "this link may lead nowhere from a page"),
        ("a\n\nb\n\n![A ring](missing.png)", 5, "there is no such picture"),
        ("![A ring](../secret.png)", 1, "a picture must lie in the folder of the text or below it"),
        ("![A ring](https://example.org/a.png)", 1, "a picture comes from a file"),
        ("![A ring](before.md)", 1, "this is no picture that a page may hold"),
        ("![A ring](rolled/half)", 1, "this figure's scene is not in the lesson"),
        ("![](count/half)", 1, "this picture says nothing to those who do not see it"),
    ],
)
def test_what_a_text_may_not_say_is_told_with_its_line(tmp_path: Path, text: str, line: int, words: str) -> None:
    (found,) = refused(written(tmp_path, CLASS, text))
    assert f"class.toml, line 9: part[1].text: before.md, line {line}: {words}" in found


@pytest.mark.parametrize(
    "name", ["/etc/passwd", "../outside.md", "below/../../outside.md", "link.md", "room/outside.md"]
)
def test_a_text_from_elsewhere_is_refused_and_not_read(tmp_path: Path, name: str) -> None:
    (tmp_path / "outside.md").write_text("![](nothing.png) a secret", encoding="utf-8")
    folder = tmp_path / "lesson"
    (folder / "below").mkdir(parents=True)
    (folder / "link.md").symlink_to(tmp_path / "outside.md")
    (folder / "room").symlink_to(tmp_path)
    (found,) = refused(written(folder, CLASS.replace("before.md", name)))
    assert (
        f"class.toml, line 9: part[1].text: a text must lie in the folder of the lesson file or below it (found {name})"
        in found
    )


def test_a_picture_that_is_a_link_to_elsewhere_is_refused(tmp_path: Path) -> None:
    (tmp_path / "outside.png").write_bytes(b"\x89PNG\r\n\x1a\n secret")
    folder = tmp_path / "lesson"
    folder.mkdir()
    (folder / "link.png").symlink_to(tmp_path / "outside.png")
    (found,) = refused(written(folder, CLASS, "![A ring](link.png)"))
    assert "before.md, line 1: a picture must lie in the folder of the text or below it" in found


def test_a_text_and_a_picture_below_the_lesson_file_may_be_named(tmp_path: Path) -> None:
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "a.png").write_bytes(PNG)
    (tmp_path / "below" / "in.md").write_text("![A ring](a.png)", encoding="utf-8")
    lesson = read_lesson(written(tmp_path, CLASS.replace("before.md", "below/in.md")))
    assert isinstance(lesson.parts[0], TextPart) and lesson.parts[0].text == "![A ring](a.png)"


def test_a_slip_in_a_scene_does_not_make_its_figures_unknown(tmp_path: Path) -> None:
    slip = CLASS.replace("stop_seconds = 3.0", "stop_seconds = -1.0")
    (found,) = refused(written(tmp_path, slip, "![A tooth](count/tooth_3)"))
    assert "stop_seconds: the value is out of range" in found


def test_a_tag_that_should_be_read_may_stand_between_back_quotes(tmp_path: Path) -> None:
    assert text_faults("Write `<script>` so.", tmp_path, ()) == []
    assert "<code>&lt;script&gt;</code>" in told("Write `<script>` so.", tmp_path, str).html


def test_nothing_of_a_text_becomes_a_tag_even_unchecked(tmp_path: Path) -> None:
    html = told("# A\n\n<script>alert(1)</script>\n\n<b>x</b> & y", tmp_path, str).html
    assert html.startswith("<h2>A</h2>") and "<script" not in html and "<b>" not in html and "&lt;script&gt;" in html


def test_figures_of_scenes_become_pictures_of_the_page(tmp_path: Path) -> None:
    text = "Look: ![A tooth](count/tooth_3)\n"
    assert text_faults(text, tmp_path, ("count",)) == []
    assert [(one.name, one.line, one.words) for one in figures(text)] == [("count/tooth_3", 1, "A tooth")]
    html = told(text, tmp_path, lambda name: f"<svg>{name}</svg>").html
    assert '<img src="data:image/svg+xml;base64,' in html and 'alt="A tooth"' in html


def a_scene(*takes: str) -> Scene:
    score = Score((0.0, 0.0, 1.0, 1.0), (), "t", "d", 1.0, {}, moments=(Moment("tooth_3", 0.1, "Third"),))
    return Scene(
        "count", "C", (), tuple(Take(name, name, score) for name in takes), not_shown="" if takes else "No ring."
    )


def test_takes_moments_and_figures_are_held_against_the_scenes(tmp_path: Path) -> None:
    lesson = read_lesson(written(tmp_path, CLASS, "![A](count/tooth_3) ![B](count/turn/end)\n\n![C](count/tooth_4)\n"))
    (one,) = scene_faults(lesson, {"count": a_scene("turn")})
    assert one.what == "before.md, line 3: there is no such figure" and one.value == "count/tooth_4"
    assert one.allowed == "count/turn/start, count/turn/end, count/turn/tooth_3"
    wrong = CLASS.replace('stops = ["tooth_3"]', 'stops = ["tooth_9"]').replace('["turn"]', '["trun"]')
    faults = scene_faults(read_lesson(written(tmp_path, wrong)), {"count": a_scene("turn")})
    assert [(fault.place, fault.value, fault.allowed) for fault in faults][:1] == [("part[2].takes", "trun", "turn")]
    assert "tooth_9" in [fault.value for fault in faults]
    assert figure_place("count/half", {"count": a_scene()}) == "nothing: No ring."


def test_what_is_asked_on_the_command_line_is_known_or_told() -> None:
    with pytest.raises(FileFault) as caught:
        plain_lesson(EXAMPLE, "fr", ["cuont"], ["avi"])
    assert [fault.value for fault in caught.value.faults] == ["cuont", "avi", "fr"]


def test_the_files_of_a_lesson_are_known(tmp_path: Path) -> None:
    (tmp_path / "bild.png").write_bytes(PNG)
    path = written(tmp_path, CLASS, "![A tooth](count/tooth_3)\n\n![Ours](bild.png)\n")
    assert read_lesson(path).read == (path, tmp_path / "before.md", tmp_path / "bild.png")


@pytest.mark.parametrize(
    "name, named",
    [
        ("bänk.png", "bänk.png"),
        ("mein bild.png", "<mein bild.png>"),
        ("mein bild.png", "mein%20bild.png"),
        ("100%.png", "100%.png"),
        ("über all/zähne (2).jpg", "<über all/zähne (2).jpg>"),
    ],
)
def test_pictures_may_have_any_name(tmp_path: Path, name: str, named: str) -> None:
    place = tmp_path / name
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(PNG)
    text = f"Look: ![A ring]({named})"
    assert read_lesson(written(tmp_path, CLASS, text)).read[-1] == place
    assert f'src="data:image/png;base64,{base64.b64encode(PNG).decode()}"' in told(text, tmp_path, str).html


@pytest.mark.parametrize("name", ["%2e%2e/secret.png", "..%2fsecret.png", "%2fetc/secret.png", "a%00.png", "%ff.png"])
def test_signs_for_letters_lead_nowhere_else(tmp_path: Path, name: str) -> None:
    (tmp_path / "secret.png").write_bytes(PNG)
    folder = tmp_path / "lesson"
    folder.mkdir()
    (found,) = refused(written(folder, CLASS, f"![A ring]({name})"))
    assert "a picture must lie in the folder" in found or "there is no such picture" in found
    assert 'src=""' in told(f"![A ring]({name})", folder, str).html


def test_a_picture_in_a_folder_named_like_a_scene_is_a_picture(tmp_path: Path) -> None:
    (tmp_path / "count").mkdir()
    (tmp_path / "count" / "ours.png").write_bytes(PNG)
    lesson = read_lesson(written(tmp_path, CLASS, "![Ours](count/ours.png)"))
    assert scene_faults(lesson, {"count": a_scene("turn")}) == []


COMMENTED = """<!-- For me: fetch the models. -->

# Before <!-- not after -->

Look. <!-- slowly,
twice --> Then ask.

<!--
![Not yet](nowhere.png)

- a list for me
-->
![A ring](missing.png)
"""


def test_comments_are_for_who_writes_and_do_not_reach_the_class(tmp_path: Path) -> None:
    html = told(COMMENTED, tmp_path, str).html
    for words in ("For me", "not after", "slowly", "Not yet", "nowhere", "a list", "!--", "--&gt;"):
        assert words not in html, words
    assert "<h2>Before </h2>" in html and "<p>Look.  Then ask.</p>" in html
    (found,) = refused(written(tmp_path, CLASS, COMMENTED))
    assert "before.md, line 13: there is no such picture (found missing.png)" in found


@pytest.mark.parametrize(
    "text, line",
    [
        ("<!-- x --><script>alert(1)</script>", 1),
        ("a\n\n<!-- x --> and words", 3),
        ("a\n\n<!-- never closed\n\n# and all is gone", 3),
        ("<!-- a --><img src=x onerror=alert(1)> -->", 1),
    ],
)
def test_what_would_go_with_a_comment_is_told(tmp_path: Path, text: str, line: int) -> None:
    (found,) = refused(written(tmp_path, CLASS, text))
    assert f"before.md, line {line}: this comment is not closed, or something stands beside it" in found
    html = told(text, tmp_path, str).html
    assert "<script" not in html and "<img" not in html and "<!--" not in html


def test_control_letters_are_told(tmp_path: Path) -> None:
    (found,) = refused(written(tmp_path, CLASS, "Fine\tso.\r\n\r\nRing\x07 it.\n"))
    assert r"before.md, line 3: a control letter cannot stand in a lesson's text (found \x07)" in found
