"""Is this machine able to run the pinned parts? Facts are gathered once; the judgements are pure functions."""

import ctypes
import importlib.util
import os
import platform
import re
import shlex
import shutil
import struct
import sys
import sysconfig
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

SUPPORTED = {("Linux", "x86_64"), ("Linux", "aarch64"), ("Darwin", "arm64"), ("Windows", "AMD64")}
SUPPORTED_WORDS = "Linux on x86_64 or aarch64 (glibc 2.28 or newer), macOS 12 or newer on arm64, Windows on x86_64"
OLDEST_GLIBC = (2, 28)
OLDEST_MACOS = (12, 0)

# What the wheels of the CAD kernel and of the film painter load from the system and do not bring along (read off the wheels' own
# import tables; docs/dependencies.md has the list). macOS wheels need nothing beyond the system.
NEEDED_LIBRARIES: dict[str, tuple[str, ...]] = {
    "Linux": (
        "libGL.so.1",
        "libEGL.so.1",
        "libX11.so.6",
        "libexpat.so.1",
        "libstdc++.so.6",
        "libgcc_s.so.1",
        "libz.so.1",
    ),
    "Windows": ("msvcp140.dll", "vcruntime140_1.dll"),
    "Darwin": (),
}

APT_PACKAGES = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libX11.so.6": "libx11-6",
    "libexpat.so.1": "libexpat1",
    "libstdc++.so.6": "libstdc++6",
    "libgcc_s.so.1": "libgcc-s1",
    "libz.so.1": "zlib1g",
}
PACMAN_PACKAGES = {
    "libGL.so.1": "libglvnd",
    "libEGL.so.1": "libglvnd",
    "libX11.so.6": "libx11",
    "libexpat.so.1": "expat",
    "libstdc++.so.6": "gcc-libs",
    "libgcc_s.so.1": "gcc-libs",
    "libz.so.1": "zlib",
}


@dataclass(frozen=True)
class Facts:
    """What was found on this machine. `manager` is the package manager's command, or an empty string."""

    system: str
    processor: str
    pointer_bits: int
    free_threaded: bool
    libc: tuple[str, tuple[int, ...]]
    macos: tuple[int, ...]
    python: tuple[int, int]
    missing_modules: tuple[str, ...]
    missing_libraries: tuple[str, ...]
    free_mb: int
    manager: str
    is_root: bool


def numbers(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d+", text))


def loads(name: str) -> bool:
    """Whether the system's loader finds and accepts a library: it is loaded for real."""
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


def missing_libraries(names: Iterable[str], loader: Callable[[str], bool] = loads) -> tuple[str, ...]:
    return tuple(name for name in names if not loader(name))


def package_manager(which: Callable[[str], str | None] = shutil.which) -> str:
    for name in ("apt-get", "dnf", "zypper", "pacman", "apk", "brew", "winget"):
        if which(name):
            return name
    return ""


def look(root: Path) -> Facts:
    """Gathers the facts about the running Python and the machine. Raises nothing foreseeable."""
    libc_name, libc_version = platform.libc_ver()
    modules = ("venv", "ensurepip", "ssl", "ctypes")
    system = platform.system()
    return Facts(
        system=system,
        processor=platform.machine(),
        pointer_bits=struct.calcsize("P") * 8,
        free_threaded=bool(sysconfig.get_config_var("Py_GIL_DISABLED")),
        libc=(libc_name, numbers(libc_version)),
        macos=numbers(platform.mac_ver()[0]),
        python=(sys.version_info.major, sys.version_info.minor),
        missing_modules=tuple(name for name in modules if importlib.util.find_spec(name) is None),
        missing_libraries=missing_libraries(NEEDED_LIBRARIES.get(system, ())),
        free_mb=shutil.disk_usage(root).free // 2**20,
        manager=package_manager(),
        is_root=hasattr(os, "geteuid") and os.geteuid() == 0,
    )


def install_command(facts: Facts, packages: Iterable[str]) -> str:
    """The one command that installs system packages with this machine's package manager."""
    verbs = {
        "apt-get": "apt-get install -y",
        "dnf": "dnf install -y",
        "zypper": "zypper install -y",
        "pacman": "pacman -S --needed",
        "apk": "apk add",
        "brew": "brew install",
        "winget": "winget install",
    }
    names = " ".join(shlex.quote(name) for name in dict.fromkeys(packages))
    ask = "" if facts.is_root or facts.manager in ("brew", "winget") else "sudo "
    return f"{ask}{verbs[facts.manager]} {names}"


def library_cure(facts: Facts, libraries: tuple[str, ...]) -> str:
    """What to do about missing system libraries: one command where the package manager is known."""
    if facts.system == "Windows":
        return "install the C++ runtime with `winget install Microsoft.VCRedist.2015+.x64`"
    if facts.manager == "apt-get":
        packages = [APT_PACKAGES.get(name, "") for name in libraries]
    elif facts.manager == "pacman":
        packages = [PACMAN_PACKAGES.get(name, "") for name in libraries]
    elif facts.manager in ("dnf", "zypper"):
        packages = [f"{name}()(64bit)" for name in libraries]  # both take a library's own name
    else:
        packages = [""]
    if not all(packages):
        return "install the system packages that hold " + ", ".join(libraries)
    return f"install with `{install_command(facts, packages)}`"


def platform_fault(facts: Facts) -> str | None:
    """The sentence for a machine for which the pinned wheels do not exist, or None."""
    if facts.pointer_bits != 64 or (facts.system, facts.processor) not in SUPPORTED:
        here = f"{facts.system} on {facts.processor}, {facts.pointer_bits} bit"
        return (
            f"The pinned parts exist for {SUPPORTED_WORDS}; this Python runs on {here}: use such a machine or Python."
        )
    if facts.free_threaded:
        return "This is a free-threaded Python, for which the pinned parts do not exist: use the ordinary build of it."
    name, version = facts.libc
    if facts.system == "Linux" and (name != "glibc" or version < OLDEST_GLIBC):
        here = f"{name} {'.'.join(map(str, version))}".strip() or "another C library"
        return (
            f"The pinned parts need glibc 2.28 or newer; this system has {here}: use a newer distribution with glibc."
        )
    if facts.system == "Darwin" and facts.macos < OLDEST_MACOS:
        return f"The pinned parts need macOS 12 or newer; this is {'.'.join(map(str, facts.macos))}: update the system."
    return None


def module_fault(facts: Facts) -> str | None:
    """The sentence for a Python that was shipped without modules we need, or None."""
    if not facts.missing_modules:
        return None
    missing = ", ".join(facts.missing_modules)
    version = f"{facts.python[0]}.{facts.python[1]}"
    if facts.manager == "apt-get" and set(facts.missing_modules) <= {"venv", "ensurepip"}:
        cure = f"install with `{install_command(facts, [f'python{version}-venv'])}`"
    else:
        cure = "install a complete Python of this version"
    return f"This Python lacks the module(s) {missing}: {cure}, then run start.py again."


def disk_fault(free_mb: int, needed_mb: int, root: Path) -> str | None:
    if free_mb >= needed_mb:
        return None
    return f"Installing needs {needed_mb} MB free on the disk of {root}; {free_mb} MB are: make room and run it again."


def library_fault(facts: Facts) -> str | None:
    if not facts.missing_libraries:
        return None
    names = ", ".join(facts.missing_libraries)
    cure = library_cure(facts, facts.missing_libraries)
    return f"The CAD kernel needs the system library {names}: {cure}, then run start.py again."


def first_fault(facts: Facts, needed_mb: int, root: Path) -> str | None:
    """The first thing that stands in the way, in the order in which a person would mend it."""
    return (
        platform_fault(facts)
        or module_fault(facts)
        or library_fault(facts)
        or disk_fault(facts.free_mb, needed_mb, root)
    )


def library_in_message(text: str) -> str | None:
    """The system library a loader's error message misses; None for other errors and for a wheel's own libraries."""
    found = re.search(r"(lib[\w+.-]+?\.so(?:\.\d+)*): cannot open shared object file", text)
    if found is None or re.search(r"-[0-9a-f]{8}\.so", found.group(1)):  # wheels mark what they bring with a hash
        return None
    return found.group(1)


def screen_exists(system: str, env: Mapping[str, str]) -> bool:
    """Whether a browser window can be shown to somebody."""
    if env.get("CI") or (env.get("SSH_CONNECTION") and system != "Linux"):
        return False
    if system == "Linux":
        return bool(env.get("DISPLAY") or env.get("WAYLAND_DISPLAY"))
    return system in ("Darwin", "Windows")
