"""Pages of lessons: one HTML file with moving scenes, and an instructor's text between them.

The file works from a stick without a network: its content security policy forbids every request and lets exactly one
script run, named by its SHA-256. Words and pictures that come from a design or a lesson file go in as text. The same parts
give the same bytes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from html import escape
from importlib.resources import files
from typing import Any

from lobewright.design.starters import starter_about
from lobewright.picture.page import digest, module_text, script_json
from lobewright.picture.palette import PALETTE, Theme, css_variables
from lobewright.picture.score import score_json
from lobewright.teach import terms
from lobewright.teach.language import Language
from lobewright.teach.lesson_text import Told
from lobewright.teach.reasons import parted
from lobewright.teach.scene import Scene

PART = "page"
OPEN = 3
"""Cautions that stand open at the top of a lesson; the rest is folded under them."""
_PLAYER_WORDS = (
    *("play", "stop", "home", "way", "speed", "full", "takes", "stops", "lead", "skip", "again", "right", "slip"),
    *("other", "words", "hands", "by_keys", "drag", "big", "paper"),
)


@dataclass(frozen=True)
class Around:
    """What a page says round its scenes, all plain text. ``drive``: what it is about, in one line under the title; ``before``:
    cautions of the drive, most serious first; ``below``: paragraphs at the foot; ``written``: what the design's author says of
    it, in a language of his own."""

    drive: str = ""
    before: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    written: str = ""


NOTHING = Around()


def scene_json(scene: Scene) -> dict[str, Any]:
    """What the player takes: the takes of a scene, with their scores."""
    return {
        "name": scene.name,
        "takes": [
            {
                "name": take.name,
                "title": take.title,
                "score": score_json(take.score),
                "ask": None if take.ask is None else asdict(take.ask),
                "lists": [asdict(one) for one in take.lists],
            }
            for take in scene.takes
        ],
    }


def player_words(language: Language) -> dict[str, str]:
    """What the player says itself."""
    return {key: language.say(PART, key, what="{what}") for key in _PLAYER_WORDS}


def scene_page(scene: Scene, language: Language, around: Around = NOTHING) -> str:
    """A page with one scene; see :func:`lesson_page`."""
    return lesson_page(scene.title, (scene,), language, around)


def lesson_page(title: str, parts: Sequence[Scene | Told], language: Language, around: Around = NOTHING) -> str:
    """The whole HTML file as text: scenes and told text in their order.

    Cautions stand at the top and not again beside the scenes: ``OPEN`` of them open, the rest folded under them. On a page of one
    scene the most serious one and those of the scene stand open above the picture, the rest folded under them. Words of the trade
    stand folded at the end. Raises LobewrightError where a scene holds a number that is not finite.
    """
    alone = len(parts) == 1 and isinstance(parts[0], Scene)
    numbered = list(enumerate(parts, 1))
    body = "".join(_part(place, part, language, alone, around.before) for place, part in numbered)
    top = "" if alone else _before(around.before, [part for part in parts if isinstance(part, Scene)], language)
    under = f'<p class="drive">{escape(around.drive)}</p>' if around.drive else ""
    below = _written(around.written, language) + "".join(f"<p>{escape(line)}</p>\n" for line in around.below)
    data = "".join(
        _data(f"scene-{place}", scene_json(part)) for place, part in numbered if isinstance(part, Scene) and part.takes
    )
    module, style = module_text("player.js"), _style()
    policy = (
        f"default-src 'none'; script-src {digest(module)}; style-src {digest(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return (
        f'<!DOCTYPE html>\n<html lang="{language.code}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n"
        f'<header><div><h1>{escape(title)}</h1>{under}</div><lobewright-look words="words"></lobewright-look></header>\n'
        f"{top}{_contents(numbered, language)}{body}"
        f"{_terms(language)}"
        f"{f'<footer>{below}</footer>' if below else ''}</main>\n"
        f"{_data('words', player_words(language))}{data}"
        f'<script type="module">{module}</script>\n</body>\n</html>\n'
    )


def _data(name: str, data: Any) -> str:
    return f'<script type="application/json" id="{name}">{script_json(data)}</script>\n'


def _contents(numbered: Sequence[tuple[int, Scene | Told]], language: Language) -> str:
    """Where to find each scene; nothing for a page of one."""
    scenes = [(place, part) for place, part in numbered if isinstance(part, Scene)]
    if len(scenes) < 2:
        return ""
    lines = "".join(f'<li><a href="#part-{place}">{escape(part.title)}</a></li>' for place, part in scenes)
    words = escape(language.say(PART, "contents"))
    return f'<nav aria-labelledby="contents"><h2 id="contents">{words}</h2><ol>{lines}</ol></nav>\n'


def _part(place: int, part: Scene | Told, language: Language, alone: bool, before: Sequence[str]) -> str:
    if isinstance(part, Told):
        return f'<section class="told" id="part-{place}">\n{part.html}\n</section>\n'
    heading = "" if alone else f"<h2>{escape(part.title)}</h2>\n"
    own = list(part.cautions) if alone else [line for line in part.cautions if line not in before]
    if alone and before:
        own = list(dict.fromkeys((before[0], *own)))
    rest = [line for line in before if line not in own] if alone else []
    return (
        f'<section class="scene" id="part-{place}">\n{heading}{_lines("cautions", own, language)}'
        f"{_folded('before_more', rest, language)}{_player(place, part, language)}</section>\n"
    )


def _around(scene: Scene, language: Language) -> str:
    """What is said before it moves and what is to be seen: of the scene, and of takes that have their own. The element puts
    each where it belongs, by its slot; that of a take has the take's name behind it."""
    own = [(f"-{take.name}", take.intro, take.points) for take in scene.takes]
    parts = ""
    for name, intro, points in [("", scene.intro, scene.points), *own]:
        lines = "".join(f"<p>{escape(line)}</p>\n" for line in intro)
        for slot, text in (("intro", lines), ("points", _folded("points", points, language))):
            parts += f'<div slot="{slot}{name}">{text}</div>\n' if text else ""
    wrong = _lines("wrong", scene.wrong, language)
    return parts + (f'<div slot="wrong">{wrong}</div>\n' if wrong else "")


def _player(place: int, scene: Scene, language: Language) -> str:
    """The moving picture with what is said around it, and its words for a reader without scripts; or why there is no picture."""
    around = _around(scene, language)
    if not scene.takes:
        words = escape(language.say(PART, "not_shown"))
        return f'{around}<p class="note"><strong>{words}:</strong> {_told(scene.not_shown, language)}</p>\n'
    told = "".join(f"<p>{escape(take.title)}: {escape(take.score.description)}</p>" for take in scene.takes)
    without = f"<noscript><p>{escape(language.say(PART, 'no_script'))}</p>{told}</noscript>"
    return f'<lobewright-scene source="scene-{place}" words="words">\n{around}</lobewright-scene>\n{without}\n'


def _told(text: str, language: Language) -> str:
    """A text whose English sentences are marked as such, where the page is in another language."""
    return "".join(
        f'<span lang="en">{escape(piece)}</span>' if english else escape(piece)
        for piece, english in parted(text, language)
    )


def _items(lines: Sequence[str], language: Language) -> str:
    return f"<ul>{''.join(f'<li>{_told(line, language)}</li>' for line in lines)}</ul>"


def _lines(key: str, lines: Sequence[str], language: Language) -> str:
    """A short list under a word of the page, a single line after it; nothing for no lines."""
    if not lines:
        return ""
    words = escape(language.say(PART, key))
    if len(lines) == 1:
        return f'<div class="{key}"><p><strong>{words}:</strong> {_told(lines[0], language)}</p></div>\n'
    return f'<div class="{key}"><p><strong>{words}</strong></p>{_items(lines, language)}</div>\n'


def _before(before: Sequence[str], scenes: Sequence[Scene], language: Language) -> str:
    """Cautions of the drive: the most serious ones open, the last of them the one that belongs to most of the scenes."""
    if len(before) <= OPEN + 1:
        return _lines("before", before, language)
    own = Counter(line for scene in scenes for line in scene.cautions)
    first = (*before[: OPEN - 1], max(before[OPEN - 1 :], key=own.__getitem__))
    rest = [line for line in before if line not in first]
    words = escape(language.say(PART, "before"))
    folded = _folded("before_rest", rest, language)
    return f'<div class="before"><p><strong>{words}</strong></p>{_items(first, language)}{folded}</div>\n'


def _folded(key: str, lines: Sequence[str], language: Language) -> str:
    """A folded list: what is to be seen would answer the question that is put before the picture moves."""
    if not lines:
        return ""
    words = escape(language.say(PART, key, count=len(lines)))
    return f'<details class="more {key}"><summary>{words}</summary>{_items(lines, language)}</details>\n'


def _written(about: str, language: Language) -> str:
    """What the design says of itself, marked as its author's, who may write in another language; a starter's words are ours."""
    if not about:
        return ""
    if about == starter_about():
        return f"<p>{escape(language.say(PART, 'starter'))}</p>\n"
    return f'<p>{escape(language.say(PART, "written"))} <span lang="">{escape(about)}</span></p>\n'


def _terms(language: Language) -> str:
    """Words of the trade, folded."""
    rows = "".join(
        f"<li><strong>{escape(word)}</strong>: {escape(means)}</li>" for word, means in terms.terms(language)
    )
    return f'<details class="terms"><summary>{escape(terms.title(language))}</summary><ul>{rows}</ul></details>\n'


def _style() -> str:
    """Colours for the device's choice and for the page's own switch, then how the page is set."""

    def paper(theme: Theme) -> str:
        rows = "".join(f"--lw-{str(role).replace('_', '-')}:{colour};" for role, colour in PALETTE[theme].items())
        return f"html[data-paper={theme}]{{color-scheme:{theme};{rows}}}\n"

    own = files("lobewright.teach").joinpath("lesson_page.css").read_text(encoding="utf-8")
    return css_variables() + "".join(paper(theme) for theme in Theme) + own
