#!/usr/bin/env bash
# Wheel and sdist: built, checked, installed in empty environments of the oldest and the newest Python that pyproject.toml claims,
# and the README's first command run from there; and the bill of materials: what is installed beside drydown, with versions
# and licences (CycloneDX). Give a Python that has the extra `release`, and for a release where all of it goes:
# .ci/packaging.sh .venv/bin/python [FOLDER]
# A Python that the machine does not have is skipped and said; one of them must be there.
set -euo pipefail
tools=$(cd "$(dirname "${1:?a Python with build and twine}")" && pwd)/$(basename "$1")
cd "$(dirname "$0")/.."
. .ci/pythons.sh
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

"$tools" -m build -q --outdir "$work/dist" .
"$tools" -m twine check --strict "$work"/dist/*
wheel=$(echo "$work"/dist/*.whl)
sdist=$(echo "$work"/dist/*.tar.gz)
# What is in the sources and read at run time must be in the wheel.
"$tools" - "$wheel" <<'PYTHON'
import sys, zipfile, pathlib
held = set(zipfile.ZipFile(sys.argv[1]).namelist())
roots = ("engine", "materials", "climates", "benchmarks/validation")
there = {
    path.relative_to(root).as_posix()
    for root in roots
    for package in pathlib.Path(root).glob("drydown*")
    for path in package.rglob("*")
    if path.is_file() and "__pycache__" not in path.parts
}
missing = sorted(there - held)
assert not missing, f"not in the wheel: {missing}"
PYTHON

# The first command of the README, with a Python and what is to be installed put in; run where there are no sources.
first_command() {
  local python=$1 package=$2 folder=$3 command
  command=$(grep -m1 "drydown dryout" README.md)
  command=${command/python3 -m venv/$python -m venv}
  command=${command/install -q ./install -q $package}
  mkdir "$folder"
  (cd "$folder" && env -i HOME="$folder" PATH=/usr/bin:/bin LANG=C.UTF-8 MPLBACKEND=Agg ${PIP_INDEX_URL:+PIP_INDEX_URL="$PIP_INDEX_URL"} \
    ${PIP_CONFIG_FILE:+PIP_CONFIG_FILE="$PIP_CONFIG_FILE"} bash -euo pipefail -c "$command") | tee "$folder/said"
  grep -q "^Does it dry?" "$folder/said"
  [[ -s $folder/wall.png ]]
}

oldest=$(oldest_claimed)
newest=$(newest_claimed)
ran=0
for pair in "$oldest $wheel" "$newest $sdist"; do
  read -r version package <<<"$pair"
  python=$(python_of "$version")
  if [[ -z $python ]]; then
    echo "Python $version is not on this machine: skipped"
    continue
  fi
  echo "+ Python $version, $(basename "$package")"
  first_command "$python" "$package" "$work/python-$version"
  ran=$((ran + 1))
done
((ran > 0)) || { echo "neither Python $oldest nor $newest is on this machine" >&2; exit 1; }

# The bill of materials of the last of these environments: drydown and all that pip installed with it, and nothing unnamed.
bill=$work/dist/$(basename "$wheel" .whl).cdx.json
"$tools" -m cyclonedx_py environment --pyproject pyproject.toml --output-reproducible --of JSON -o "$bill" "$(echo "$work"/python-*/.venv/bin/python | tr ' ' '\n' | tail -n 1)"
"$tools" - "$bill" <<'PYTHON'
import json, re, sys, tomllib

bill = json.load(open(sys.argv[1]))
parts = {re.sub(r"[-_.]+", "-", part["name"]).lower(): part for part in bill["components"]}
asked = tomllib.load(open("pyproject.toml", "rb"))["project"]["dependencies"]
names = {re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", line)[0]).lower() for line in asked}
assert bill["metadata"]["component"]["name"] == "drydown", bill["metadata"]
assert names <= set(parts), f"not in the bill of materials: {sorted(names - set(parts))}"
assert all(part.get("version") for part in parts.values()), "a part has no version"
print(f"bill of materials: {len(parts)} parts, {sum(bool(p.get('licenses')) for p in parts.values())} with their licence")
PYTHON
if [[ -n ${2:-} ]]; then
  mkdir -p "$2"
  cp "$work"/dist/* "$2"
fi
