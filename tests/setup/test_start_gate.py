"""The first file of the set-up: it must refuse a wrong Python with a sentence, in grammar that old Pythons read."""

import ast
import importlib.util
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def start():
    spec = importlib.util.spec_from_file_location("start", ROOT / "start.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 12, 1), (3, 13, 9), (3, 14, 2)])
def test_locked_pythons_are_taken(start, version):
    assert start.python_refusal(version, "cpython") is None


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 10, 13), (3, 15, 0), (4, 0, 0)])
def test_other_pythons_are_refused_with_the_versions_that_work(start, version):
    sentence = start.python_refusal(version, "cpython")
    assert "3.11, 3.12, 3.13, 3.14" in sentence
    assert ".".join(map(str, version)) in sentence


def test_another_implementation_is_refused(start):
    assert "pypy 3.11.4" in start.python_refusal((3, 11, 4), "pypy")


def test_refusal_names_a_fitting_python_that_is_here(start):
    assert "`python3.13 start.py demo`" in start.python_refusal((3, 9, 1), "cpython", ["python3.12", "python3.13"])


def test_this_python_is_among_the_usable_ones_when_it_is_on_the_path(start):
    for command in start.usable_pythons():
        subprocess.run([*command.split(), "-c", "import venv, ensurepip"], check=True)


def test_range_is_the_one_of_the_package(start):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["requires-python"] == f">=3.{start.OLDEST[1]},<3.{start.NEWEST[1] + 1}"


def test_grammar_of_the_gate_is_old():
    tree = ast.parse((ROOT / "start.py").read_text(encoding="utf-8"), feature_version=(3, 4))
    new = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.AsyncFunctionDef, ast.Nonlocal, ast.Match)
    assert not [node for node in ast.walk(tree) if isinstance(node, new)]
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    assert functions
    for node in functions:
        arguments = node.args
        assert node.returns is None
        assert not arguments.kwonlyargs and not arguments.posonlyargs
        assert not [name for name in arguments.args if name.annotation is not None]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "demo|test"),
        (["paint"], "invalid choice"),
        (["demo", "--fast"], "--fast"),
        (["demo", "--wheels", "no such folder"], "is not a folder"),
    ],
)
def test_wrong_commands_end_with_2_and_words(arguments, words):
    done = subprocess.run([sys.executable, str(ROOT / "start.py"), *arguments], capture_output=True, text=True)
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
