"""Accuracy of the default settings on twelve assemblies, against a mesh four times finer and a tight tolerance.

    python benchmarks/accuracy.py [ASSEMBLY ...]

Takes a few minutes; ends with 1 where a promise of DESIGN section 6 is not kept.
"""

from __future__ import annotations

import sys

from drydown_validation.accuracy import measure_all, table
from drydown_validation.assemblies import ASSEMBLIES


def main() -> int:
    """Measure the assemblies named (all by default) and print the table."""
    names = sys.argv[1:] or list(ASSEMBLIES)
    unknown = [n for n in names if n not in ASSEMBLIES]
    if unknown:
        print(f"no assembly is called '{unknown[0]}'; known: {', '.join(ASSEMBLIES)}")
        return 2
    rows = measure_all(names)
    print(table(rows))
    return 0 if all(a.kept for a in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
