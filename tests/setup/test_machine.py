"""The look at the machine: each thing that can be missing gives its own sentence with the one command that mends it."""

from dataclasses import replace
from pathlib import Path

import pytest

from bootstrap import machine

ROOT = Path("/somewhere")
GOOD = machine.Facts(
    system="Linux",
    processor="x86_64",
    pointer_bits=64,
    free_threaded=False,
    libc=("glibc", (2, 36)),
    macos=(),
    python=(3, 11),
    missing_modules=(),
    missing_libraries=(),
    free_mb=5000,
    manager="apt-get",
    is_root=False,
)


def fault(needed_mb=1700, **changes):
    return machine.first_fault(replace(GOOD, **changes), needed_mb, ROOT)


def test_a_good_machine_has_no_fault():
    assert fault() is None
    assert fault(libc=("glibc", (2, 28))) is None
    assert fault(system="Darwin", processor="arm64", libc=("", ()), macos=(12, 0)) is None
    assert fault(system="Windows", processor="AMD64", libc=("", ()), manager="winget") is None


@pytest.mark.parametrize(
    "changes",
    [
        {"processor": "armv7l"},
        {"pointer_bits": 32},
        {"system": "Darwin", "processor": "x86_64", "macos": (14, 0)},
        {"system": "Windows", "processor": "ARM64"},
        {"system": "FreeBSD"},
    ],
)
def test_machines_without_wheels_are_refused_by_name(changes):
    sentence = fault(**changes)
    assert machine.SUPPORTED_WORDS in sentence
    assert str(changes.get("processor", GOOD.processor)) in sentence


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"libc": ("glibc", (2, 27))}, "glibc 2.27"),
        ({"libc": ("", ())}, "another C library"),
        ({"system": "Darwin", "processor": "arm64", "macos": (11, 7)}, "11.7"),
        ({"free_threaded": True}, "free-threaded"),
    ],
)
def test_old_systems_and_other_builds_are_refused(changes, words):
    assert words in fault(**changes)


def test_missing_venv_names_the_package_of_this_python():
    sentence = fault(missing_modules=("ensurepip",), python=(3, 12))
    assert "`sudo apt-get install -y python3.12-venv`" in sentence


def test_a_python_built_without_ssl_is_not_cured_by_a_package():
    sentence = fault(missing_modules=("ssl",))
    assert "ssl" in sentence and "apt-get" not in sentence


@pytest.mark.parametrize(
    ("manager", "is_root", "command"),
    [
        ("apt-get", False, "`sudo apt-get install -y libgl1 libx11-6`"),
        ("apt-get", True, "`apt-get install -y libgl1 libx11-6`"),
        ("dnf", False, "`sudo dnf install -y 'libGL.so.1()(64bit)' 'libX11.so.6()(64bit)'`"),
        ("zypper", False, "`sudo zypper install -y 'libGL.so.1()(64bit)' 'libX11.so.6()(64bit)'`"),
        ("pacman", False, "`sudo pacman -S --needed libglvnd libx11`"),
        ("", False, "install the system packages that hold libGL.so.1, libX11.so.6"),
    ],
)
def test_missing_libraries_name_one_command(manager, is_root, command):
    sentence = fault(missing_libraries=("libGL.so.1", "libX11.so.6"), manager=manager, is_root=is_root)
    assert command in sentence


def test_a_package_that_holds_two_libraries_is_named_once():
    sentence = fault(missing_libraries=("libstdc++.so.6", "libgcc_s.so.1"), manager="pacman")
    assert sentence.count("gcc-libs") == 1


def test_windows_names_the_runtime():
    changes = {"system": "Windows", "processor": "AMD64", "libc": ("", ()), "missing_libraries": ("msvcp140.dll",)}
    assert "`winget install Microsoft.VCRedist.2015+.x64`" in fault(**changes)


def test_every_needed_library_has_a_package_name_where_names_are_kept():
    for name in machine.NEEDED_LIBRARIES["Linux"]:
        assert machine.APT_PACKAGES[name] and machine.PACMAN_PACKAGES[name]


def test_a_small_disk_is_named_in_numbers():
    sentence = fault(free_mb=1699)
    assert "1700 MB" in sentence and "1699 MB" in sentence
    assert fault(free_mb=1700) is None


def test_the_first_fault_is_the_one_that_must_be_mended_first():
    changes = {"missing_libraries": ("libGL.so.1",), "free_mb": 1, "missing_modules": ("venv",)}
    assert "venv" in fault(**changes)
    assert "libGL" in fault(**(changes | {"missing_modules": ()}))


def test_loading_is_real(tmp_path):
    broken = tmp_path / "libGL.so.1"
    broken.write_text("not a library")
    assert not machine.loads(str(broken))
    assert not machine.loads("libnowhere-at-all.so.9")
    assert machine.missing_libraries(["a", "b"], loader=lambda name: name == "a") == ("b",)


@pytest.mark.parametrize(
    ("message", "library"),
    [
        ("ImportError: libGL.so.1: cannot open shared object file: No such file or directory", "libGL.so.1"),
        ("ImportError: libstdc++.so.6: cannot open shared object file: No such file", "libstdc++.so.6"),
        ("ImportError: libTKernel-2f987288.so.8.0.1: cannot open shared object file: No such file", None),
        ("ModuleNotFoundError: No module named 'ezdxf'", None),
    ],
)
def test_a_loader_message_gives_the_system_library(message, library):
    assert machine.library_in_message(message) == library


@pytest.mark.parametrize(
    ("system", "env", "seen"),
    [
        ("Linux", {}, False),
        ("Linux", {"DISPLAY": ":0"}, True),
        ("Linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("Linux", {"DISPLAY": ":0", "CI": "true"}, False),
        ("Darwin", {}, True),
        ("Darwin", {"SSH_CONNECTION": "a b"}, False),
        ("Windows", {}, True),
        ("Windows", {"CI": "1"}, False),
    ],
)
def test_a_browser_is_opened_only_for_somebody(system, env, seen):
    assert machine.screen_exists(system, env) is seen


def test_looking_gathers_facts_of_this_machine(tmp_path):
    facts = machine.look(tmp_path)
    assert facts.free_mb > 0
    assert facts.pointer_bits in (32, 64)
    assert machine.platform_fault(facts) is None, "the tests run on a machine that the locks are made for"
