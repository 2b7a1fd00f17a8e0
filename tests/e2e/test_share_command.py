"""`lobewright lesson … --share`: written, shown in the network that there is, ended by the stop key."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx

DESIGN = Path(__file__).parents[2] / "examples" / "azimuth_belt.toml"
LESSON = (
    sys.executable,
    "-m",
    "lobewright.cli",
    "lesson",
    str(DESIGN),
    "--scene",
    "racks",
    "--no-paper",
    "--no-stills",
)


def test_the_lesson_is_shown_only_when_asked_for_and_until_the_stop_key(tmp_path):
    out = tmp_path / "lesson"
    command = [*LESSON, "--out", str(out), "--share"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            told = ""
            while not (met := re.search(r"^(http://[\d.]+:\d+/)  \(stop with Ctrl\+C\)$", told, re.MULTILINE)):
                line = process.stdout.readline()
                assert line, told + process.stderr.read()
                told += line
            assert "Not shown: teacher, results.json" in told and "lesson.html" in told
            assert ("everybody who reaches" in told) is not met.group(1).startswith("http://127.")
            with httpx.Client(base_url=met.group(1), trust_env=False) as asking:
                assert 'href="lesson.html"' in asking.get("/").text
                assert asking.get("lesson.html").content == (out / "lesson.html").read_bytes()
                assert (out / "teacher" / "lesson.toml").exists() and asking.get(
                    "teacher/lesson.toml"
                ).status_code == 404
            process.send_signal(signal.SIGINT)
            assert process.wait(60) == 0 and process.stderr.read().replace("…", "").count("Traceback") == 0
        finally:
            process.kill()


def test_an_address_of_others_is_refused(tmp_path):
    command = [*LESSON, "--out", str(tmp_path / "lesson"), "--share", "8.8.8.8"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=100, check=False)
    assert done.returncode == 2 and "local networks only" in done.stderr and "Shown to read" not in done.stdout
    assert not (tmp_path / "lesson").exists(), "it is said before anything is written"
