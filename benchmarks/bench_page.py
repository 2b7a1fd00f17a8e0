"""The moving page's own work: ``python benchmarks/bench_page.py``.

A two-ring drive with 120 teeth is opened from disk in headless Chromium and turned, frame by frame. Told is the time that
the page's script needs for a frame (8 ms at the 95th percentile is wanted) with all three pictures in view and with each
alone, the time to show other parameters, and the memory that is in use before and after a thousand of those. The browser
paints afterwards, in processes of its own; the time from frame to frame while playing tells that too. Numbers are
printed, nothing is judged by the exit status.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from lobewright.assessment.run import assess
from lobewright.make.moving_page import motion_json
from lobewright.make.moving_scene import moving
from lobewright.picture.page import moving_page
from lobewright.published.designs import belt_drive

TEETH = 120
WANTED_MS = 8.0
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--js-flags=--expose-gc", "--enable-precise-memory-info"]
DRAW = """async ([frames, hidden, width]) => {
  const drive = document.querySelector("lobewright-moving"), times = [];
  drive.glance.disconnect();
  drive.unseen = new Set(hidden.map((name) => drive.at[name]));
  drive.look.width_mm = width * drive.pitch;
  for (let k = 0; k < frames; k += 1) {
    await new Promise(requestAnimationFrame);
    const begun = performance.now();
    drive.turned += 0.013;
    drive.draw();
    times.push(performance.now() - begun);
  }
  return times;
}"""
ONCE = """async () => {
  const drive = document.querySelector("lobewright-moving");
  drive.turned += 0.013;
  drive.draw();
  for (let k = 0; k < 2; k += 1) await new Promise(requestAnimationFrame);
}"""
PLAY = """async (frames) => {
  const drive = document.querySelector("lobewright-moving"), times = [];
  drive.setSpeed(7);
  drive.play(true);
  let before = await new Promise(requestAnimationFrame);
  for (let k = 0; k < frames; k += 1) {
    const now = await new Promise(requestAnimationFrame);
    times.push(now - before);
    before = now;
  }
  drive.play(false);
  return times;
}"""
SHOW = """async ([count, parameters]) => {
  const drive = document.querySelector("lobewright-moving"), times = [], memory = [];
  for (let k = 0; k <= count; k += 1) {
    if (k % (count / 4) === 0) {
      gc();
      memory.push(performance.memory.usedJSHeapSize / 1e6);
    }
    const begun = performance.now();
    drive.show({ parameters: structuredClone(parameters[k % 2]) });
    drive.draw();
    times.push(performance.now() - begun);
    if (k % 5 === 0) await new Promise(requestAnimationFrame);
  }
  return { times, memory };
}"""


def told(what: str, times: list[float]) -> None:
    """One line of figures."""
    middle, late, most = (float(np.percentile(times, share)) for share in (50, 95, 100))
    print(f"{what}: middle {middle:.1f} ms, 95th percentile {late:.1f} ms, most {most:.1f} ms")


def on_processor_ms(page: Page, frames: int) -> list[float]:
    """Time of the page's thread on the processor for a frame with everything that follows from it (style, layout, painting
    without a graphics processor) and two empty frames: others at work on the machine do not count."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")

    def now() -> float:
        found = session.send("Performance.getMetrics")["metrics"]
        return 1e3 * next(float(one["value"]) for one in found if one["name"] == "ThreadTime")

    times = []
    for _ in range(frames):
        before = now()
        page.evaluate(ONCE)
        times.append(now() - before)
    return times


def measure(page: Page, frames: int, shows: int, both: list[dict[str, Any]]) -> None:
    """All figures of one open page."""
    every = ["round", "sheet", "near"]
    page.evaluate(DRAW, [30, [], 3.2])
    for width, words in ((3.2, "three teeth close up"), (14.0, "fourteen teeth close up")):
        told(f"a frame, all in view, {words} (wanted {WANTED_MS:g})", page.evaluate(DRAW, [frames, [], width]))
    for name, words in zip(every, ("round picture", "unrolled picture", "close picture"), strict=True):
        hidden = [other for other in every if other != name]
        told(f"  {words} alone", page.evaluate(DRAW, [frames // 2, hidden, 3.2]))
    page.evaluate(DRAW, [1, [], 3.2])
    told("script, layout and painting on the processor, all in view", on_processor_ms(page, frames // 4))
    told("from frame to frame while playing", page.evaluate(PLAY, frames // 2))
    found = page.evaluate(SHOW, [shows, both])
    told("other parameters and their frame", found["times"])
    print(f"memory in use over {shows} of them: " + ", ".join(f"{size:.1f}" for size in found["memory"]) + " MB")


def main() -> None:
    """Print all figures."""
    options = argparse.ArgumentParser(description="Time the moving page.")
    options.add_argument("--frames", type=int, default=200)
    options.add_argument("--shows", type=int, default=1000)
    asked = options.parse_args()
    one = motion_json(moving(assess(belt_drive("C2M", TEETH))))
    both = [one, json.loads(json.dumps(one))]
    both[1]["rings"][0]["outer_radius_mm"] += 0.5
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        file = Path(folder) / "motion.html"
        file.write_text(moving_page("Two rings, 120 teeth", {"parameters": one}), encoding="utf-8")
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        print(
            f"{os.cpu_count()} cores, {os.getloadavg()[0]:.1f} at work before this: more than cores makes late frames later"
        )
        for width in (1280, 360):
            page = browser.new_page(viewport={"width": width, "height": 900})
            page.goto(file.as_uri())
            page.wait_for_timeout(500)
            print(f"window {width} wide")
            measure(page, asked.frames, asked.shows, both)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
