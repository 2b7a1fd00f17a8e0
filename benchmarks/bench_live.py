"""The live page measured in the system's Chromium: `python benchmarks/bench_live.py`. Prints figures; passes no judgement.

Everything runs through the real command on copies of the examples. Wanted is a quiet machine: the load is printed first. The
figures of a page are milliseconds of its own clock, from before a value is moved until the number that follows from it stands in
the page.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from statistics import median
from typing import Any

import psutil
from playwright.sync_api import sync_playwright

EXAMPLES = Path(__file__).parents[1] / "examples"
DRIVES = ("azimuth_belt", "elevation_printed", "focus_steel")
MOVES, MANY_MOVES, TABS = 200, 1000, 10
PLACE = "rigid_ring[1].clearance_mm"
"""What is moved: every number of geometry of the ring's teeth follows from it."""
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--js-flags=--expose-gc", "--enable-precise-memory-info"]
MOVE = """async ([place, moves]) => {
  const slider = document.getElementById(`entry-${place}-slider`);
  const [low, high] = [Number(slider.min), Number(slider.max)];
  const numbers = () => [...document.querySelectorAll("[data-number]")].map((one) => one.textContent).join("|");
  const times = [];
  for (let k = 0; k < moves; k += 1) {
    const before = numbers();
    const begun = performance.now();
    slider.value = low + (high - low) * ((k * 0.381966) % 1);
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    while (numbers() === before && performance.now() - begun < 3000) await new Promise(requestAnimationFrame);
    times.push(performance.now() - begun);
  }
  return times;
}"""
LOAD_MOVES = 40
MOVE_LOAD = """async ([slider, moves, reach]) => {
  const [low, high] = [Number(slider.min), Number(slider.max)];
  const numbers = () => document.querySelector("#load .push").textContent;
  const times = [];
  for (let k = 0; k < moves; k += 1) {
    await new Promise((resolve) => { setTimeout(resolve, 600); });
    const before = numbers();
    const begun = performance.now();
    slider.value = low + (high - low) * (0.5 + reach * (((k * 0.381966) % 1) - 0.5));
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    while (numbers() === before && performance.now() - begun < 3000) await new Promise(requestAnimationFrame);
    times.push(performance.now() - begun);
  }
  return times;
}"""
HEAP = "() => { globalThis.gc?.(); return performance.memory.usedJSHeapSize / 1e6; }"


def begun(folder: Path, drive: str) -> tuple[subprocess.Popen[str], str, float]:
    """The command, its address, and the seconds until it was printed."""
    start = time.perf_counter()
    command = [sys.executable, "-m", "lobewright.cli", "open", str(folder / f"{drive}.toml"), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    found = re.match(r"http://\S+", process.stdout.readline())
    assert found
    return process, found.group(), time.perf_counter() - start


def resident_mb(pid: int) -> float:
    """Memory of the command and all its processes."""
    all_of_it = [psutil.Process(pid), *psutil.Process(pid).children(recursive=True)]
    return sum(one.memory_info().rss for one in all_of_it) / 1e6


def ready(page: Any, address: str) -> float:
    """Opens the page; seconds until every part of it has begun."""
    start = time.perf_counter()
    page.goto(address)
    while not page.evaluate("() => document.documentElement.dataset.ready && document.querySelector('[data-number]')"):
        page.wait_for_timeout(20)
    return time.perf_counter() - start


def paint_ms(page: Any) -> float:
    """First paint with content, by the browser's own clock."""
    return float(page.evaluate("""() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? NaN"""))


def spread(times: list[float]) -> str:
    """Median, 95 % and the longest of times in ms."""
    ordered = sorted(times)
    return f"median {median(ordered):.0f}, 95 % {ordered[int(0.95 * len(ordered))]:.0f}, longest {ordered[-1]:.0f} ms"


def one_drive(browser: Any, folder: Path, drive: str) -> None:
    """Start, first paint and moves of one example."""
    process, address, printed_s = begun(folder, drive)
    try:
        start = time.perf_counter()
        with urllib.request.urlopen(address) as answer:
            answer.read()
        print(f"{drive}: address after {printed_s:.2f} s, first answer {time.perf_counter() - start:.2f} s later")
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        whole_s = ready(page, address)
        print(f"{drive}: first paint {paint_ms(page):.0f} ms, whole page {whole_s:.2f} s")
        page.reload()
        ready(page, address)
        print(f"{drive}: first paint {paint_ms(page):.0f} ms when it is opened again")
        page.wait_for_timeout(1000)
        for name, slider, reach in (
            ("ring's clearance", f"entry-{PLACE}-slider", 0.2),
            ("torque", "torque-slider", 0.5),
        ):
            handle = page.evaluate_handle("(id) => document.getElementById(id)", slider)
            times = page.evaluate(MOVE_LOAD, [handle, LOAD_MOVES, reach])
            print(f"{drive}: {LOAD_MOVES} moves of the {name}, each to the loads: {spread(times)}")
            page.evaluate("(one) => one.dispatchEvent(new Event('change', { bubbles: true }))", handle)
            page.wait_for_timeout(3000)
        page.evaluate(MOVE, [PLACE, 5])
        print(f"{drive}: {MOVES} moves to all numbers: {spread(page.evaluate(MOVE, [PLACE, MOVES]))}")
        page.close()
    finally:
        process.send_signal(signal.SIGINT)
        process.wait()


def tabs_and_memory(browser: Any, folder: Path) -> None:
    """Ten tabs at once; memory while one of them moves."""
    process, address, _ = begun(folder, DRIVES[0])
    try:
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        pages = [context.new_page() for _ in range(TABS)]
        start = time.perf_counter()
        for page in pages:
            ready(page, address)
        print(
            f"{TABS} tabs: all whole after {time.perf_counter() - start:.1f} s, {resident_mb(process.pid):.0f} MB in the command"
        )
        page = pages[-1]
        print(f"{TABS} tabs: {MOVES} moves to all numbers: {spread(page.evaluate(MOVE, [PLACE, MOVES]))}")
        for other in pages[:-1]:
            other.close()
        for count in range(0, MANY_MOVES + 1, MANY_MOVES // 4):
            if count:
                page.evaluate(MOVE, [PLACE, MANY_MOVES // 4])
            print(
                f"after {count} moves: {page.evaluate(HEAP):.1f} MB in the page, {resident_mb(process.pid):.0f} MB in the command"
            )
    finally:
        process.send_signal(signal.SIGINT)
        process.wait()


def main() -> None:
    """All figures, one line each."""
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores before it begins")
    with tempfile.TemporaryDirectory() as room, sync_playwright() as driver:
        folder = Path(room) / "garden"
        folder.mkdir()
        for path in EXAMPLES.iterdir():
            if path.suffix in (".toml", ".csv"):
                shutil.copy(path, folder)
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for drive in DRIVES:
            one_drive(browser, folder, drive)
        tabs_and_memory(browser, folder)
        browser.close()
    print(f"load {os.getloadavg()[0]:.1f} after it; 50 kills during saves: tests/web/test_project.py")


if __name__ == "__main__":
    main()
