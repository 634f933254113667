#!/usr/bin/env bash
# The lowest versions that pyproject.toml claims: installed together where Python is the oldest, and tested in part.
# What they need in turn comes in the newest versions that go with them. .ci/lowest.sh PYTHON, one that has `packaging`.
set -euo pipefail
tools=$(cd "$(dirname "${1:?a Python that has packaging}")" && pwd)/$(basename "$1")
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
. .ci/pythons.sh

python=$(python_of "$(oldest_claimed)")
if [[ -z $python ]]; then
  echo "Python $(oldest_claimed) is not on this machine: the lowest versions are not tested" >&2
  exit 1
fi
"$tools" .ci/lowest.py >"$work/lowest.txt"
"$python" -m venv "$work/venv"
"$work/venv/bin/pip" install -q -c "$work/lowest.txt" '.[test,cluster]'
"$work/venv/bin/pip" check
# Every direct dependency is there as low as claimed.
"$work/venv/bin/python" - "$work/lowest.txt" <<'PYTHON'
import sys
from importlib.metadata import PackageNotFoundError, version
from packaging.version import Version

held = 0
for line in open(sys.argv[1]):
    name, _, lowest = line.strip().partition("==")
    try:
        found = version(name)
    except PackageNotFoundError:  # of an extra that is not installed here
        continue
    held += 1
    assert Version(found) == Version(lowest), f"{name} {found} is installed, {lowest} was asked for"
print(f"{held} dependencies in their lowest versions")
PYTHON
# Reading, units, weather, sun, figures, the command, stores, the desk and budgets: what meets the libraries.
XDG_CACHE_HOME="$work/cache" MPLBACKEND=Agg "$work/venv/bin/pytest" -q -m "not slow" -p no:cacheprovider \
  tests/unit/test_quantities.py tests/unit/test_casefile.py tests/unit/test_weather_files.py tests/unit/test_exposure.py \
  tests/unit/test_figures.py tests/cli/test_commands.py tests/study/test_study_store.py tests/study/test_study_commands.py \
  tests/conservation tests/desk/test_server_guard.py tests/desk/test_server_answers.py
