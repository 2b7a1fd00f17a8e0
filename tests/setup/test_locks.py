"""The locks and what they are made from agree, and nothing in them leads to one place only."""

import re
import tomllib
from importlib.metadata import distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from bootstrap.install import PROBES, STAGE_MB, STAGE_WORDS
from bootstrap.state import STAGES, Place, locked_version, normal, parse_lock

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def lock(stage):
    return parse_lock(Place(ROOT).lock(stage).read_text(encoding="utf-8"))


def direct(stage):
    extras = PROJECT["project"]["optional-dependencies"]
    lines = {"core": PROJECT["project"]["dependencies"] + PROJECT["build-system"]["requires"]}
    return [Requirement(line) for line in lines.get(stage) or extras[stage]]


@pytest.mark.parametrize("stage", STAGES)
def test_every_direct_dependency_is_locked_at_a_version_that_fits(stage):
    blocks = lock(stage)
    for requirement in direct(stage):
        assert requirement.specifier.contains(locked_version(blocks[normal(requirement.name)])), str(requirement)


@pytest.mark.parametrize("stage", STAGES)
def test_every_part_has_hashes_and_an_exact_version(stage):
    blocks = lock(stage)
    assert len(blocks) >= 10
    for name, block in blocks.items():
        assert re.fullmatch(r"[\w.+]+", locked_version(block)), name
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", block), name


@pytest.mark.parametrize(("small", "large"), [("core", "cad"), ("cad", "test")])
def test_a_larger_lock_holds_the_smaller_one(small, large):
    """With the same version and hashes; what the larger one asks for itself it may hold for more systems."""
    large_blocks = lock(large)
    for name, block in lock(small).items():
        for_all = re.sub(r" ;.*", " \\\\", block)
        assert large_blocks[name] in (block, for_all), name


def test_locks_name_no_address():
    for path in (ROOT / "requirements").iterdir():
        assert "://" not in path.read_text(encoding="utf-8"), path.name


def test_the_core_stays_light():
    assert not {"build123d", "cadquery-ocp-novtk", "lib3mf", "trimesh", "scipy"} & set(lock("core"))


def test_every_stage_has_words_room_and_a_probe():
    assert set(STAGES) == set(STAGE_MB) == set(STAGE_WORDS) == set(PROBES)


def test_every_direct_dependency_is_explained():
    text = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    for stage in STAGES:
        for requirement in direct(stage):
            name = re.escape(requirement.name)
            assert re.search(rf"^\| {name} \|", text, re.MULTILINE | re.IGNORECASE), (
                f"{requirement.name} is not in the page"
            )


def test_named_versions_of_the_page_are_the_locked_ones():
    text = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    blocks = lock("test")
    rows = re.findall(r"^\| ([\w.-]+) \| (\d[\w.]*) \|", text, re.MULTILINE)
    assert len(rows) >= 15
    for name, version in rows:
        assert version == locked_version(blocks[normal(name)]), name


def test_the_package_is_installed_as_the_project_says():
    assert distribution("lobewright").version == PROJECT["project"]["version"]
