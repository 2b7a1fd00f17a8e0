"""What is installed and what has to be done: locks, stamp, damage, decision."""

import base64
import hashlib
import json
from dataclasses import replace

import pytest

from bootstrap import state
from bootstrap.state import Action, Stamp, Venv

WANTED = Stamp("3.11", "/home/roof", "p", {"core": "c", "cad": "d"}, {"numpy": "2.0"})


def decide(stamp=WANTED, venv=Venv.WHOLE, stage="cad", broken=()):
    return state.decide(venv, stamp, WANTED, stage, broken)


def test_nothing_to_do_when_all_is_as_wanted():
    assert decide() is Action.NOTHING


@pytest.mark.parametrize(
    ("venv", "action"),
    [(Venv.ABSENT, Action.MAKE), (Venv.UNUSABLE, Action.REMAKE), (Venv.FOREIGN, Action.REMAKE)],
)
def test_the_environment_comes_first(venv, action):
    assert decide(venv=venv, broken=["numpy"]) is action


@pytest.mark.parametrize(
    ("change", "action"),
    [
        ({"python": "3.12"}, Action.REMAKE),
        ({"root": "/moved"}, Action.REMAKE),
        ({"stages": {"core": "c", "cad": "old"}}, Action.INSTALL),
        ({"stages": {"cad": "d"}}, Action.INSTALL),
        ({"stages": {}}, Action.INSTALL),
        ({"package": ""}, Action.INSTALL),
    ],
)
def test_a_stamp_that_differs_decides(change, action):
    assert decide(replace(WANTED, **change)) is action


def test_no_stamp_means_installing_into_what_is_there():
    assert decide(Stamp()) is Action.INSTALL


def test_a_later_stage_does_not_concern_an_earlier_one():
    assert decide(replace(WANTED, stages={"core": "c"}), stage="core") is Action.NOTHING


def test_damage_is_mended():
    assert decide(broken=["ezdxf"]) is Action.MEND


def test_stamp_round_trip(tmp_path):
    path = tmp_path / "stamp.json"
    state.write_stamp(path, WANTED)
    assert state.read_stamp(path) == WANTED
    assert [file.name for file in tmp_path.iterdir()] == ["stamp.json"]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"version": 1}', '{"version": 99}', '{"version": 1, "stages": 3}'])
def test_a_spoilt_stamp_counts_as_none(tmp_path, text):
    path = tmp_path / "stamp.json"
    path.write_text(text)
    assert state.read_stamp(path) == Stamp()


def test_a_stamp_of_another_version_counts_as_none(tmp_path):
    path = tmp_path / "stamp.json"
    state.write_stamp(path, WANTED)
    data = json.loads(path.read_text())
    path.write_text(json.dumps(data | {"version": state.STAMP_VERSION + 1}))
    assert state.read_stamp(path) == Stamp()


def test_line_ends_do_not_change_a_lock_key_but_versions_do():
    assert state.lock_key(b"a==1\nb==2\n") == state.lock_key(b"a==1\r\nb==2\r\n")
    assert state.lock_key(b"a==1\n") != state.lock_key(b"a==2\n")


def test_package_key_follows_the_project_and_not_the_linter():
    text = '[project]\nname = "x"\nversion = "1"\n'
    assert state.package_key(text) == state.package_key(text + "[tool.ruff]\nline-length = 90\n")
    assert state.package_key(text) != state.package_key(text.replace('"1"', '"2"'))
    assert state.package_key(text) != state.package_key(text + "[project.scripts]\nx = 'y:z'\n")


LOCK = """# made by a tool
Typing_Extensions==4.1 \\
    --hash=sha256:aa \\
    --hash=sha256:bb
    # via somebody
colorama==0.4 ; sys_platform == 'win32' \\
    --hash=sha256:cc
"""


def test_lock_is_read_in_blocks():
    blocks = state.parse_lock(LOCK)
    assert list(blocks) == ["typing-extensions", "colorama"]
    assert blocks["typing-extensions"].count("--hash") == 2
    assert "via" not in blocks["typing-extensions"]
    assert [state.locked_version(block) for block in blocks.values()] == ["4.1", "0.4"]


def put(site, name="small_part", version="1.0"):
    """A small installed distribution as installers leave it."""
    folder = site / f"{name}-{version}.dist-info"
    (site / name).mkdir(parents=True)
    folder.mkdir()
    (site / name / "__init__.py").write_text("value = 1\n")
    (folder / "METADATA").write_text("Name: small-part\n")
    rows = []
    for file in (site / name / "__init__.py", folder / "METADATA"):
        digest = base64.urlsafe_b64encode(hashlib.sha256(file.read_bytes()).digest()).rstrip(b"=").decode()
        rows.append(f"{file.relative_to(site).as_posix()},sha256={digest},{file.stat().st_size}")
    rows += [f"{name}/__pycache__/__init__.cpython-311.pyc,,", f"{folder.name}/RECORD,,"]
    (folder / "RECORD").write_text("\n".join(rows) + "\n")
    return folder


PARTS = {"small-part": "1.0"}


def test_a_whole_part_is_whole(tmp_path):
    put(tmp_path)
    assert state.broken_parts(tmp_path, PARTS) == []


def test_a_whole_part_of_another_version_is_not_the_one(tmp_path):
    put(tmp_path, version="0.9")
    assert state.broken_parts(tmp_path, PARTS) == ["small-part"]


@pytest.mark.parametrize(
    "damage",
    [
        lambda site, info: (site / "small_part" / "__init__.py").unlink(),
        lambda site, info: (site / "small_part" / "__init__.py").write_text(""),
        lambda site, info: (info / "RECORD").unlink(),
        lambda site, info: (info / "RECORD").write_text(""),
        lambda site, info: (info / "RECORD").write_text("half a li"),
        lambda site, info: (info / "METADATA").unlink(),
        lambda site, info: info.rename(site / "small_part-0.9.dist-info"),
        lambda site, info: (site / "small_part-1.1.dist-info").mkdir(),
        lambda site, info: info.rename(site / "elsewhere"),
    ],
    ids=[
        "file gone",
        "file cut",
        "no record",
        "empty record",
        "cut record",
        "no metadata",
        "old",
        "double",
        "unlisted",
    ],
)
def test_damage_is_seen(tmp_path, damage):
    damage(tmp_path, put(tmp_path))
    assert state.broken_parts(tmp_path, PARTS) == ["small-part"]


def test_a_folder_that_is_not_there_has_nothing(tmp_path):
    assert state.installed(tmp_path / "none") == {}
    assert state.broken_parts(tmp_path / "none", PARTS) == ["small-part"]
