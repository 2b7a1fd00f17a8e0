"""Pages of lessons as text: what they hold, in what order, and that nothing in them is taken for markup."""

from __future__ import annotations

import dataclasses
import json
import re
from html.parser import HTMLParser

from tests.js.invented_score import invented_scene

from lobewright.design.starters import starter_data
from lobewright.picture.score import score_json
from lobewright.teach.language import Language
from lobewright.teach.lesson_page import Around, lesson_page, scene_page
from lobewright.teach.lesson_text import Told

NASTY = '</script><script>hit()</script><img src=x onerror="hit()">'
ENGLISH = Language("en")


class Read(HTMLParser):
    """Tags with what is said within, and JSON by its name."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.data: dict[str, str] = {}
        self.name = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.name = dict(attrs).get("id", "") if tag == "script" else ""

    def handle_data(self, data):
        if self.name:
            self.data[self.name] = self.data.get(self.name, "") + data


def test_scenes_and_texts_stand_in_their_order_with_a_way_to_each_scene():
    scene = invented_scene()
    page = lesson_page(
        "A lesson", (Told("<h2>First</h2>"), scene, Told("<h2>Then</h2>"), scene), ENGLISH, Around(below=("Below.",))
    )
    order = [page.index(words) for words in ("<h2>First", 'source="scene-2"', "<h2>Then", 'source="scene-4"', "Below.")]
    assert order == sorted(order)
    assert re.findall(r'href="(#[^"]*)"', page) == ["#part-2", "#part-4"]
    assert 'id="part-2"' in page and 'id="part-4"' in page
    assert page == lesson_page(
        "A lesson", (Told("<h2>First</h2>"), scene, Told("<h2>Then</h2>"), scene), ENGLISH, Around(below=("Below.",))
    )


def test_the_player_is_given_the_scores_whole():
    scene = invented_scene()
    read = Read(scene_page(scene, ENGLISH))
    given = json.loads(read.data["scene-1"])
    assert [take["name"] for take in given["takes"]] == ["turned", "slid"]
    assert given["takes"][0]["score"] == json.loads(json.dumps(score_json(scene.takes[0].score)))
    assert sum(choice["right"] for choice in given["takes"][0]["ask"]["choices"]) == 1


def test_words_of_a_design_are_shown_and_never_markup():
    take = invented_scene().takes[0]
    nasty = dataclasses.replace(
        invented_scene(),
        title=NASTY,
        intro=(NASTY,),
        points=(NASTY,),
        wrong=(NASTY,),
        cautions=(NASTY,),
        takes=(dataclasses.replace(take, title=NASTY, score=dataclasses.replace(take.score, description=NASTY)),),
    )
    alone, two = (
        Read(page)
        for page in (scene_page(nasty, ENGLISH, Around(below=(NASTY,))), lesson_page(NASTY, (nasty, nasty), ENGLISH))
    )
    assert alone.tags.count("script") == 3 and two.tags.count("script") == 4
    assert "img" not in alone.tags + two.tags
    assert json.loads(alone.data["scene-1"])["takes"][0]["title"] == NASTY


def test_a_scene_that_cannot_be_shown_says_why_in_the_language():
    scene = dataclasses.replace(invented_scene("de"), takes=(), not_shown="Beide Ringe haben gleich viele Zähne.")
    page = scene_page(scene, Language("de"))
    assert "Hier gibt es kein Bild:</strong> Beide Ringe haben gleich viele Zähne." in page
    assert "lobewright-scene" not in Read(page).tags and '<html lang="de">' in page


def test_without_scripts_the_pictures_are_told_in_words():
    scene = invented_scene()
    without = re.search(r"<noscript>(.*?)</noscript>", scene_page(scene, ENGLISH), re.DOTALL)
    assert without and scene.takes[1].score.description in without[1]


def test_only_the_one_script_and_style_may_run_and_nothing_may_be_asked_for():
    page = scene_page(invented_scene(), ENGLISH)
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)[1]
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in policy and "http" not in policy and "connect" not in policy


def test_what_a_design_says_of_itself_is_told_as_its_own_and_a_starters_words_in_the_language():
    made, german = invented_scene("de"), Language("de")
    own = scene_page(made, german, Around(written="Turns a <mirror>."))
    assert '<p>Im Entwurf steht dazu: <span lang="">Turns a &lt;mirror&gt;.</span></p>' in own
    begun = scene_page(made, german, Around(written=starter_data("belt")["about"]))
    assert "Starter:" not in begun and "Ausgangsentwurf: erfundene Zahlen" in begun
