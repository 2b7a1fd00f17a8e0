#!/usr/bin/env bash
# Makes the three lock files anew: one version of every part for all supported systems and Pythons, with
# the hash of every wheel. Needs the command uv (a Python package). Keeps pinned versions that still fit;
# give --upgrade to move them.
set -euo pipefail
cd "$(dirname "$0")/.."
lock() {
    local name=$1
    shift
    uv pip compile --quiet --universal --fork-strategy fewest --python-version 3.11 --only-binary :all: \
        --generate-hashes --custom-compile-command "requirements/lock.sh" \
        pyproject.toml requirements/build.in "$@" --output-file "requirements/$name.txt"
}
lock test --extra cad --extra fe --extra lesson --extra web --extra test "$@"
# The smaller locks take their versions from the largest, so that one environment can hold all three.
sed -n 's/^\([A-Za-z0-9][^ ]*==[^ ]*\).*/\1/p' requirements/test.txt > requirements/.pins
trap 'rm -f requirements/.pins' EXIT
lock cad --extra cad --extra fe --extra lesson --extra web --constraint requirements/.pins
lock core --constraint requirements/.pins
