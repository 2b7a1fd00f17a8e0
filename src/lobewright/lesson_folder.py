"""`lesson`: pages, pictures, films and papers of a lesson, in one folder that is either whole or not there.

What only the teacher should see (answers, questions, plan) is in the folder ``teacher`` of it; the rest is for a class.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from lobewright import __version__
from lobewright.assessment.load import part_of
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.model import Design
from lobewright.design.named import files_of
from lobewright.errors import DesignFault, LobewrightError
from lobewright.mapper import Mapper
from lobewright.report.results_json import results_text
from lobewright.teach.cautions import cautions
from lobewright.teach.films import still_png, write_film
from lobewright.teach.language import Language
from lobewright.teach.lesson_file import Lesson, TextPart, figure_place, scene_faults
from lobewright.teach.lesson_page import Around, lesson_page, scene_page
from lobewright.teach.lesson_text import Told, told
from lobewright.teach.papers import TEACHER, file_names, papers
from lobewright.teach.reasons import in_english, why
from lobewright.teach.reel import Reel, chosen, places, reel, text_alternative, webvtt
from lobewright.teach.scene import Scene, Take
from lobewright.teach.scenes import scene
from lobewright.teach.shown import drive_line
from lobewright.teach.still import still_svg
from lobewright.teach.subject import Subject, subject
from lobewright.verdict import capital
from lobewright.whole_folder import RESULTS, check_target, replacing, time_stamp

LEFT_OUT = "left out by lesson; ask load, life or build"
PAGE, SCENES, STILLS, CAPTIONS, FILMS, FRAMES, README, STARTER = (
    "lesson.html",
    "scenes",
    "stills",
    "captions",
    "films",
    "frames",
    "README.txt",
    f"{TEACHER}/lesson.toml",
)
PART = "folder"
Tell = Callable[[str, float], None]


@dataclass(frozen=True)
class LessonMade:
    """What was written: ``files`` relative to the folder, in order; ``not_shown``: title of every scene without a picture, and
    why it has none."""

    found: Assessment
    files: tuple[str, ...]
    not_shown: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class _Shown:
    """A take with its file name and what is asked of it."""

    scene: Scene
    take: Take
    film: Reel
    stills: tuple[str, ...]
    kinds: tuple[str, ...]

    @property
    def name(self) -> str:
        return f"{self.scene.name}_{self.take.name}"


def _scene(name: str, about: Subject, language: Language) -> Scene:
    """A scene of the lesson. What cannot be computed is told in its place and does not take the other scenes with it."""
    try:
        return scene(name, about, language)
    except LobewrightError as error:
        reason = why(error).words(language)
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        reason = language.say(PART, "slip", what=in_english(f"{type(error).__name__}: {error}", language))
    return Scene(name, language.say(name, "title"), (), (), not_shown=capital(reason))


def _computed(lesson: Lesson, about: Subject, language: Language, say: Tell) -> dict[str, Scene]:
    """The lesson's scenes by name. Raises DesignFault where the lesson asks for what they do not have."""
    scenes = {}
    for count, part in enumerate(lesson.scenes):
        say(f"scene {part.scene}", count / len(lesson.scenes))
        scenes[part.scene] = _scene(part.scene, about, language)
    faults = scene_faults(lesson, scenes)
    if faults:
        raise DesignFault(faults, lesson.file)
    for part in lesson.scenes:
        whole = scenes[part.scene]
        takes = tuple(take for take in whole.takes if not part.takes or take.name in part.takes)
        scenes[part.scene] = replace(whole, takes=takes)
    return scenes


def _shown(lesson: Lesson, scenes: dict[str, Scene]) -> Iterator[_Shown]:
    for part in lesson.scenes:
        one = scenes[part.scene]
        for take in one.takes:
            own = places(take)
            stills = part.stills if part.stills is not None else chosen(take)
            film = reel(one, take, [stop for stop in part.stops if stop in own], part.stop_seconds)
            yield _Shown(one, take, film, tuple(name for name in stills if name in own), part.films)


def _parts(lesson: Lesson, scenes: dict[str, Scene]) -> Iterator[Scene | Told]:
    def figure(name: str) -> str:
        found = figure_place(name, scenes)
        assert not isinstance(found, str)
        take, moment = found
        return still_svg(take, places(take)[moment])

    for part in lesson.parts:
        yield told(part.text, part.folder, figure) if isinstance(part, TextPart) else scenes[part.scene]


def _still_files(shown: _Shown) -> Iterator[tuple[str, float]]:
    at = places(shown.take)
    for name in shown.stills:
        yield f"{STILLS}/{shown.name}_{name}", at[name]


def _still(one: tuple[str, Reel, float]) -> tuple[str, str, bytes]:
    name, film, u = one
    return name, still_svg(film.take, u), still_png(film, u)


def _write(fresh: Path, name: str, content: str | bytes) -> None:
    path = fresh / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content.encode() if isinstance(content, str) else content)


def _films(fresh: Path, takes: Iterable[_Shown], say: Tell, mapper: Mapper) -> None:
    asked = [(one, kind) for one in takes for kind in one.kinds]
    seconds = sum(one.film.seconds for one, _ in asked)
    done = 0.0
    for one, kind in asked:
        folder = fresh / (FRAMES if kind == "frames" else FILMS)
        folder.mkdir(exist_ok=True)

        def tell(share: float, one: _Shown = one, kind: str = kind, done: float = done) -> None:
            say(f"film {one.name}, {kind}", (done + share * one.film.seconds) / seconds)

        tell(0.0)
        write_film(one.film, folder, one.name, kind, tell, mapper)
        done += one.film.seconds


def starter_lesson(lesson: Lesson, scenes: dict[str, Scene]) -> str:
    """A lesson file that asks for what this lesson shows, with every moment, to be changed and kept beside the design."""
    say = partial(Language(lesson.language).say, PART)
    lines = [
        f"# {say('starter', command='lobewright lesson lesson.toml --out')}",
        "lesson_version = 1",
        f'design = "{lesson.design.name}"',
        f'language = "{lesson.language}"',
        "",
        f"# {say('starter_text')}",
        "# [[part]]",
        '# text = "before.md"',
    ]
    for part in lesson.scenes:
        lines += ["", "[[part]]", f'scene = "{part.scene}"']
        for key, names in (
            ("takes", [take.name for take in scenes[part.scene].takes]),
            ("stills", list(dict.fromkeys(name for take in scenes[part.scene].takes for name in chosen(take)))),
        ):
            lines.append(f"{key} = [{', '.join(f'{chr(34)}{name}{chr(34)}' for name in names)}]")
        lines += [
            f"# stops = []     # {say('starter_stops')}",
            f'# films = ["1080p60"]     # {say("starter_films", kinds="4k30, gif, frames")}',
        ]
    return "\n".join(lines) + "\n"


def _readme(title: str, language: Language, files: Iterable[str], scenes: Iterable[Scene]) -> str:
    there = {name.split("/")[0] for name in files}
    say = partial(language.say, PART)
    lines = [title, "", say("head"), ""]
    named = {PAGE: "page", SCENES: "scenes", STILLS: "stills", CAPTIONS: "captions", FILMS: "films", FRAMES: "frames"}
    named |= {"paper": "paper", TEACHER: "teacher"}
    lines += [f"{name}: {say(key)}" for name, key in named.items() if name in there]
    missing = [f"- {one.title}: {one.not_shown}" for one in scenes if one.not_shown]
    if missing:
        lines += ["", say("not_shown"), *missing]
    return "\n".join([*lines, "", say("made", version=__version__)]) + "\n"


def write_lesson(
    design: Design, lesson: Lesson, out: Path, progress: Tell | None = None, mapper: Mapper = map
) -> LessonMade:
    """Write a lesson about a design into ``out``: pages always, stills and papers unless left out, films where asked for.

    ``mapper`` spreads pictures over processes. Raises OutputFault (target not to be replaced, holds what is read or files of
    somebody's own, not writable, disk full), FileFault (names of students that cannot be used), DesignFault (the lesson asks for
    what its scenes do not have), PlatformFault (a library of the extra ``lesson`` is missing), or what
    :func:`lobewright.assessment.run.assess` raises.
    Whatever happens, ``out`` is as before or complete.
    """
    say = progress or (lambda word, share: None)
    check_target(out, (*files_of(lesson.design), *lesson.read))
    stamp, language = time_stamp(), Language(lesson.language)
    file_names(lesson.students)
    end = 0.3 if any(part.films for part in lesson.scenes) else 1.0

    def within(low: float, high: float) -> Tell:
        return part_of(say, end * low, end * high)

    found = assess(design, within(0.0, 0.1))
    about = subject(found)
    scenes = _computed(lesson, about, language, within(0.1, 0.6))
    takes = list(_shown(lesson, scenes))
    title, head = lesson.title or design.name, lesson.title or language.say("handout", "title")
    below = (language.say(PART, "from_design", name=design.name),)
    around = Around(drive_line(about, language), cautions(found, language), below, design.about)
    with replacing(out) as fresh:
        say("pages", end * 0.6)
        _write(fresh, PAGE, lesson_page(head, tuple(_parts(lesson, scenes)), language, around))
        for name, one in scenes.items():
            _write(fresh, f"{SCENES}/{name}.html", scene_page(one, language, around))
        for shown in takes:
            _write(fresh, f"{CAPTIONS}/{shown.name}.vtt", webvtt(shown.film))
            _write(fresh, f"{CAPTIONS}/{shown.name}.txt", text_alternative(shown.film, shown.scene, language))
        if lesson.stills:
            wanted = [(name, one.film, u) for one in takes for name, u in _still_files(one)]
            for count, (name, drawn, image) in enumerate(mapper(_still, wanted)):
                within(0.62, 0.85)("stills", count / len(wanted))
                _write(fresh, f"{name}.svg", drawn)
                _write(fresh, f"{name}.png", image)
        if lesson.paper:
            say("papers", end * 0.85)
            asked = (lesson.students, lesson.date, lesson.groups, datetime.date.today(), lesson.title)
            texts = sum(isinstance(part, TextPart) for part in lesson.parts)
            made = papers(about, language, tuple(scenes.values()), *asked, texts)
            for name, content in made.items():
                _write(fresh, name, content)
        if not lesson.written:
            _write(fresh, STARTER, starter_lesson(lesson, scenes))
        _films(fresh, takes, lambda word, share: say(word, end + (1.0 - end) * share), mapper)
        files = _listed(fresh)
        _write(fresh, README, _readme(title, language, files, scenes.values()))
        _write(fresh, RESULTS, results_text(found, stamp, LEFT_OUT, LEFT_OUT))
    missing = tuple((one.title, one.not_shown) for one in scenes.values() if one.not_shown)
    return LessonMade(found, (README, *files), missing)


def _listed(folder: Path) -> tuple[str, ...]:
    return tuple(
        sorted(Path(room, name).relative_to(folder).as_posix() for room, _, names in os.walk(folder) for name in names)
    )
