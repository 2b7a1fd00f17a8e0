"""Lessons on a laptop: what belongs together is seen together, for every scene of every example in both languages."""

from __future__ import annotations

from typing import Any

import pytest
from live_page import EXAMPLES, drawn, wait

from lobewright import assess, read
from lobewright.teach.cautions import cautions
from lobewright.teach.language import LANGUAGES, Language
from lobewright.teach.lesson_page import Around, scene_page
from lobewright.teach.scenes import SCENES, scene
from lobewright.teach.shown import drive_line
from lobewright.teach.subject import subject

pytestmark = pytest.mark.browser

SIZES = ((1280, 800), (1366, 768))
PHONE = (390, 800)
BELOW = """(narrow) => {
  const one = document.querySelector("lobewright-scene"), root = one.shadowRoot, out = [];
  one.seen = false; // said, not painted
  const big = document.documentElement.hasAttribute("data-big");
  const told = (state) => {
    one.draw();
    const from = big ? one.getBoundingClientRect().top : -scrollY;
    for (const part of narrow ? [] : [".look", ".ask", ".said", ".keys", "dl", ".take"]) {
      const found = root.querySelector(part);
      const waits = one.locked && (part === ".said" || part === "dl");
      if (!found || waits || (part === ".ask" && found.hidden)) continue;
      const { bottom, right, height } = found.getBoundingClientRect();
      const over = Math.max(bottom - from - innerHeight, right - innerWidth);
      if (!(over <= 0.5) || height < 10) out.push([one.scene.takes[one.take].name, state, part, Math.round(over), height]);
    }
    const list = root.querySelector(".take");
    if (list) {
      const free = list.cloneNode(true);
      free.style.cssText = "position:absolute;max-width:none;width:max-content";
      free.replaceChildren(list.options[list.selectedIndex].cloneNode(true));
      list.after(free);
      if (free.offsetWidth > list.offsetWidth) out.push([one.scene.takes[one.take].name, "cut", list.value, free.offsetWidth]);
      free.remove();
    }
  };
  one.scene.takes.forEach(({ ask }, take) => {
    one.answers[take] = null;
    one.setTake(take);
    told("asked");
    for (const answer of ask ? [-1, ...ask.choices.keys()] : []) {
      one.answer(answer);
      told(`answer ${answer}`);
    }
  });
  return out;
}"""
"""What ends below the window or beside it: picture, question with its verdict, caption at its longest, keys, readings, choice of
takes. In usual type the page stands at its top, in big type the player's top at the window's. And titles of takes that their list
cuts; ``narrow``: these alone."""


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
def test_picture_question_caption_keys_and_readings_are_in_one_view(chromium: Any, tmp_path: Any, name: str) -> None:
    about = subject(assess(read(EXAMPLES / f"{name}.toml")))
    page = chromium.new_page(viewport={"width": SIZES[0][0], "height": SIZES[0][1]})
    found, seen = {}, 0
    for code in LANGUAGES:
        language = Language(code)
        around = Around(drive=drive_line(about, language), before=cautions(about.found, language))
        for one in SCENES:
            file = tmp_path / f"{one}.html"
            file.write_text(scene_page(scene(one, about, language), language, around), encoding="utf-8")
            page.goto(file.as_uri())
            wait(page, "() => document.querySelector('lobewright-scene')?.shadowRoot.querySelector('dd')?.textContent")
            for big in (False, True):
                if big:
                    page.locator("lobewright-look button").first.click()
                for wide, high in SIZES if big else (*SIZES, PHONE):
                    page.set_viewport_size({"width": wide, "height": high})
                    wait(page, "([wide, high]) => innerWidth === wide && innerHeight === high", [wide, high])
                    drawn(page)
                    seen += 1
                    if below := page.evaluate(BELOW, (wide, high) == PHONE):
                        found[code, one, "big" if big else "usual", wide] = below
    page.close()
    assert seen == len(LANGUAGES) * len(SCENES) * (2 * len(SIZES) + 1) and found == {}
