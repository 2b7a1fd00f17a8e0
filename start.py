"""Set Lobewright up in this folder and run it: `python3 start.py demo` or `python3 start.py test`.

Only the standard library is used. This first file keeps to the grammar that every old Python can read,
so that a wrong Python gets a sentence instead of a syntax error; the work is in the folder bootstrap.
"""

import sys

OLDEST = (3, 11)
NEWEST = (3, 14)


def version_names():
    return ["3." + str(minor) for minor in range(OLDEST[1], NEWEST[1] + 1)]


def python_refusal(version, implementation, found=()):
    """The sentence for a Python that cannot be used, or None. `found`: usable commands on this machine."""
    if implementation == "cpython" and OLDEST <= tuple(version[:2]) <= NEWEST:
        return None
    sentence = (
        "This is " + implementation + " " + ".".join(str(part) for part in version[:3]) + "; "
        "Lobewright's pinned parts exist for cpython " + ", ".join(version_names()) + ": "
    )
    if found:
        return sentence + "run it with one that is here, for example `" + found[-1] + " start.py demo`."
    return sentence + "install one of them and run `start.py` with it."


def usable_pythons():
    """Commands on this machine that are a fitting and complete Python, oldest first."""
    import os
    import subprocess

    found = []
    with open(os.devnull, "w") as nowhere:
        for version in version_names():
            command = ["py", "-" + version] if sys.platform == "win32" else ["python" + version]
            try:
                code = subprocess.call(command + ["-c", "import ensurepip"], stdout=nowhere, stderr=nowhere)
            except OSError:
                continue
            if code == 0:
                found.append(" ".join(command))
    return found


def main():
    implementation = getattr(getattr(sys, "implementation", None), "name", "python")
    if python_refusal(sys.version_info, implementation):
        sys.stderr.write(python_refusal(sys.version_info, implementation, usable_pythons()) + "\n")
        return 2
    from bootstrap.run import main as run

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
