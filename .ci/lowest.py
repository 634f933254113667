"""Print the lowest versions that pyproject.toml claims, one `name==version` a line: constraints for pip.

With `--check` nothing is printed; every dependency must have a lower and an upper bound.
"""

import sys
import tomllib
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]


def requirements() -> list[Requirement]:
    """Return all direct dependencies, those of the extras too."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    return [Requirement(line) for lines in (project["dependencies"], *extras) for line in lines]


def bound(given: Requirement, sign: str) -> str:
    """Return the version behind a sign; empty where there is none."""
    return next((each.version for each in given.specifier if each.operator == sign), "")


def main() -> None:
    """Print the constraints, or name what lacks a bound."""
    found = requirements()
    open_ended = [str(r) for r in found if not bound(r, ">=") or not bound(r, "<")]
    if open_ended:
        sys.exit(f"without a lower or an upper bound: {', '.join(open_ended)}")
    if "--check" not in sys.argv:
        print(*sorted({f"{r.name}=={bound(r, '>=')}" for r in found}), sep="\n")


if __name__ == "__main__":
    main()
