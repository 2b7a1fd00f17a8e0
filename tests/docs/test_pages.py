"""Generated pages are up to date, links resolve, and pages say nothing about the machine that they were written on."""

import re
from pathlib import Path

import pytest

from lobewright import errors
from lobewright.design import base, model, workshop

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", *sorted(DOCS.rglob("*.md"))]
IDS = [str(p.relative_to(ROOT)) for p in PAGES]
LINK = re.compile(r"!?\[[^\]\n]*\]\(([^)\s]+)\)")


def prose(text: str) -> str:
    """A page without its fenced blocks."""
    return re.sub(r"^\s*```.*?^\s*```$", "", text, flags=re.M | re.S)


def slugs(path: Path) -> set[str]:
    """Anchors that a page's headings get when it is rendered."""
    heads = re.findall(r"^#+ (.*)$", prose(path.read_text("utf-8")), flags=re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


def broken_links(path: Path) -> list[str]:
    broken = []
    for target in LINK.findall(prose(path.read_text("utf-8"))):
        if re.match(r"[a-z]+:", target):
            continue
        file, _, anchor = target.partition("#")
        there = (path.parent / file).resolve() if file else path
        if not there.exists() or not there.is_relative_to(ROOT) or (anchor and anchor not in slugs(there)):
            broken.append(target)
    return broken


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_links_resolve(page):
    assert broken_links(page) == []


def test_a_broken_link_and_a_broken_anchor_are_found(tmp_path, monkeypatch):
    monkeypatch.setattr("test_pages.ROOT", tmp_path)
    page = tmp_path / "page.md"
    page.write_text("# Head of it\n[a](page.md#head-of-it) [b](page.md#tail) [c](none.md)\n", "utf-8")
    assert broken_links(page) == ["page.md#tail", "none.md"]


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_no_paths_of_a_machine(page):
    text = page.read_text("utf-8")
    found = re.findall(r"(?:^|[\s\"'`(=])(/(?:home|root|tmp|work|usr|var|opt|Users|mnt)\b[^\s`)]*|[A-Z]:\\\S*)", text)
    assert found == []


def test_every_page_is_in_the_contents():
    listed = set(LINK.findall((DOCS / "index.md").read_text("utf-8")))
    missing = [
        str(p.relative_to(DOCS))
        for p in sorted(DOCS.rglob("*.md"))
        if p.name != "index.md" and str(p.relative_to(DOCS)) not in listed
    ]
    assert missing == []


@pytest.mark.parametrize(
    "name",
    ["design_file", "command", "pairs", "errors", "catalogue", "verdicts"],
)
def test_generated_page_is_up_to_date(name, generate):
    path = f"reference/{name}.md"
    assert (DOCS / path).read_text("utf-8") == generate.PAGES[path](), "run: python docs/generate.py"


def test_all_generated_pages_are_tested(generate):
    marked = {str(p.relative_to(DOCS)) for p in DOCS.rglob("*.md") if p.read_text("utf-8").startswith(generate.MADE)}
    assert marked == set(generate.PAGES)


def _models() -> list[type]:
    todo, found = [base.Frozen], []
    while todo:
        one = todo.pop()
        found.append(one)
        todo += one.__subclasses__()
    rooms = {base.__name__, model.__name__, workshop.__name__}
    return [one for one in found if one.__module__ in rooms and one is not base.Frozen]


@pytest.mark.parametrize("one", _models(), ids=lambda one: one.__name__)
def test_every_key_has_its_meaning_and_no_meaning_is_left_over(one, generate):
    assert set(generate.meanings().get(one.__name__, {})) == set(generate.own_keys(one))


def test_every_model_stands_in_the_reference(generate):
    shown = {c for _, _, classes in (*generate.DESIGN_SECTIONS, *generate.WORKSHOP_SECTIONS) for c in classes}
    assert {one for one in _models() if generate.own_keys(one)} == shown
    assert set(generate.meanings()) == {one.__name__ for one in shown}


def test_every_error_class_has_its_row():
    text = (DOCS / "reference" / "errors.md").read_text("utf-8")
    names = [n for n, c in vars(errors).items() if isinstance(c, type) and issubclass(c, errors.LobewrightError)]
    assert len(names) >= 9
    assert all(f"| `{name}` |" in text for name in names)


def test_readme_commands_for_a_fresh_machine_are_those_that_are_checked():
    readme, checks = (ROOT / "README.md").read_text("utf-8"), (ROOT / ".ci" / "run").read_text("utf-8")
    shown = re.findall(r"^\$ (python3 start\.py \w+)$", readme, flags=re.M)
    assert shown == ["python3 start.py demo", "python3 start.py test"]
    assert all(re.search(rf"^(?:expect 0 .*)?{re.escape(line)}\b", checks, flags=re.M) for line in shown)


def test_readme_states_the_pythons_that_are_accepted():
    import start

    readme = (ROOT / "README.md").read_text("utf-8")
    assert f"Python {'.'.join(map(str, start.OLDEST))} to {'.'.join(map(str, start.NEWEST))}" in readme


def test_changelog_tells_numbers_that_change_for_every_version():
    text = (ROOT / "CHANGELOG.md").read_text("utf-8")
    versions = re.split(r"^## ", text, flags=re.M)[1:]
    assert versions and all("### Numbers that change" in one for one in versions)
