"""Every command and Python example of README and docs is run, and prints what the page says."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [path for path in (ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md")))]
WITH_EXAMPLES = [p for p in PAGES if "```console" in p.read_text("utf-8") or "```python" in p.read_text("utf-8")]


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=lambda path: str(path.relative_to(ROOT)))
def test_page_runs_as_shown(page, sessions):
    found = sessions.run_page(page)
    assert not found, "\n".join(f"{one.page.name}, line {one.line}: {one.text}" for one in found)


def test_the_pages_with_examples_are_the_ones_expected():
    names = {str(p.relative_to(ROOT)) for p in WITH_EXAMPLES}
    assert {"README.md", "docs/tutorial/first_drive.md", "docs/how-to/install_offline.md"} <= names
    assert len([n for n in names if n.startswith("docs/how-to/")]) == 15


# The runner itself must be able to fail: each fault below is one that a page could have.
PAGE = """# A page

```console
$ lobewright new belt a.toml
a.toml: a starter for belt. Next: lobewright check a.toml
```

```console
$ lobewright check a.toml
…
  Radius of the neutral line                                47.746 mm
…
```

```python
print(6 * 7)
```

```text
42
```
"""
FAULTS = {
    "wrong number": ("47.746 mm", "47.846 mm"),
    "wrong words": ("a starter for belt", "a starter for cups"),
    "line that is not printed": ("$ lobewright check a.toml\n", "$ lobewright check a.toml\nnothing\n"),
    "file that is not there": ("$ lobewright check a.toml", "$ lobewright check b.toml"),
    "wrong Python output": ("\n42\n", "\n41\n"),
}


def test_a_true_page_passes(tmp_path, sessions):
    page = tmp_path / "page.md"
    page.write_text(PAGE, "utf-8")
    assert sessions.run_page(page) == []


@pytest.mark.parametrize("fault", FAULTS)
def test_a_false_page_is_found_out(tmp_path, sessions, fault):
    before, after = FAULTS[fault]
    assert before in PAGE
    page = tmp_path / "page.md"
    page.write_text(PAGE.replace(before, after), "utf-8")
    assert sessions.run_page(page)


def test_an_option_that_does_not_exist_is_found_out(tmp_path, sessions):
    page = tmp_path / "page.md"
    page.write_text(
        PAGE + "\n```console\n$ lobewright build a.toml --into out\n$ python3 start.py demo --wheel x\n```\n", "utf-8"
    )
    with pytest.raises(SystemExit):
        sessions.run_page(page)


def test_a_build_command_is_refused_when_its_option_is_wrong(tmp_path, sessions):
    page = tmp_path / "page.md"
    page.write_text(PAGE + "\n```console\n$ lobewright build a.toml --into out\n```\n", "utf-8")
    assert sessions.run_page(page)


@pytest.mark.parametrize(
    ("shown", "printed", "same"),
    [
        ("gap 0.080 mm", "gap 0.081 mm", True),  # one unit of the last place: rounding of another machine
        ("gap 0.080 mm", "gap 0.082 mm", False),
        ("gap 0.080 mm", "gap -0.080 mm", False),
        ("100 teeth", "101 teeth", False),  # whole numbers are counts
        ("gap 0.080 mm", "gap 0.08 mm", False),
    ],
)
def test_numbers_are_compared_to_their_last_place(sessions, shown, printed, same):
    assert (sessions.mismatch((shown,), [printed]) == "") is same


def test_left_out_lines_keep_order_and_ends(sessions):
    printed = ["a", "b", "c", "d"]
    assert sessions.mismatch(("a", "…", "c", "…"), printed) == ""
    assert sessions.mismatch(("…", "d"), printed) == ""
    assert sessions.mismatch(("…", "c"), printed)
    assert sessions.mismatch(("…", "c", "…", "b", "…"), printed)
    assert sessions.mismatch(("b", "…"), printed)
    assert sessions.mismatch(("a", "b"), printed)
