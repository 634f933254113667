"""How answers have changed since another checkout, and by what: the engine, the library or the invented weather.

    git worktree add ../before COMMIT
    python benchmarks/answers.py ../before

The twelve assemblies (water gained in their year, most water in it, dampest 30 days of a cell) and the examples of
`drydown new` (days until half and nine tenths of the water had left, share that left inward) are computed four times:
all of the other checkout; this engine with the other's library and weather; with its own library; all of this one. What
changes from one to the next is by the engine (loads, sides and mesh too), by the library, by the weather. Numbers of
criteria are not compared: their rules have changed.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path

import numpy as np
from drydown.text import table

HERE = Path(__file__).resolve().parents[1]
EXAMPLES = ("wall", "roof", "slab", "masonry")
#: Of the twelve: words and digits of each number; then of the examples.
OF_YEAR = (("gain", 3), ("most", 2), ("dampest", 1))
OF_TRIAL = (("half", 0), ("tenth", 0), ("inward", 1))

#: Writes the columns of the climates, with their time.
WEATHER = """
import sys
import numpy as np
from drydown.plugins import climate
kept = {}
for name in sys.argv[2:]:
    c = climate(name)
    kept |= {f"{name}|{k}": v for k, v in c.columns().items()}
    kept[f"{name}|time"] = c.time.astype("datetime64[s]")
np.savez(sys.argv[1], **kept)
"""

COMPUTE = """
import sys
from dataclasses import replace
from pathlib import Path
import numpy as np
from drydown import dryout, simulate
from drydown.casefile import read_case
from drydown_validation import assemblies
out, weather, folder = sys.argv[1:4]
kept = {}
stored = dict(np.load(weather)) if weather else {}
plain = assemblies.climate
def climate(name):
    c = plain(name)
    if not stored:
        return c
    names = "temperature humidity wind_speed wind_direction pressure direct_normal diffuse_horizontal global_horizontal"
    columns = {k: stored.get(f"{name}|{k}") for k in (names + " longwave_down rain").split()}
    return replace(c, time=stored[f"{name}|time"], **columns)
assemblies.climate = climate
def water(ds):
    return (ds["water_content"] * ds["width"]).sum("cell").values
for name, make in assemblies.ASSEMBLIES.items():
    try:
        ds = simulate(make())
    except Exception as error:
        print(name, error, file=sys.stderr)
        continue
    total = water(ds)
    damp = ds["humidity"].values if "humidity" in ds else ds["relative_humidity"].values
    sums = np.cumsum(np.vstack([np.zeros(damp.shape[1]), damp]), axis=0)
    kept[name] = [total[-1] - total[0], total.max(), 100.0 * ((sums[720:] - sums[:-720]) / 720.0).max()]
for name in sys.argv[4:]:
    try:
        case = read_case(Path(folder) / f"library_{name}.toml")
        place = getattr(getattr(case.outside, "climate", None), "name", None)
        if stored and place:
            case = replace(case, outside=replace(case.outside, climate=climate(place)))
        a = dryout(case).attrs
    except Exception as error:
        print(name, error, file=sys.stderr)
        continue
    half = a.get("days_to_half", a.get("days_to_50_percent_dry"))
    tenth = a.get("days_to_tenth", a.get("days_to_90_percent_dry"))
    kept[f"example {name}"] = [half, tenth, 100.0 * a["share_inward"]]
np.savez(out, **{k: np.array(v, dtype=float) for k, v in kept.items()})
"""


def _run(code: str, sources: tuple[Path, ...], *words: str) -> None:
    path = os.pathsep.join(str(p) for p in sources)
    env = {**os.environ, "PYTHONPATH": path, "PYTHONWARNINGS": "ignore"}
    subprocess.run([sys.executable, "-c", code, *words], env=env, check=True)


def _examples(engine: Path) -> str:
    """Return the folder of the case files of `drydown new`."""
    here = (engine / "engine/drydown" / name for name in ("templates", "cli/templates"))
    return str(next(folder for folder in here if folder.is_dir()))


def computed(other: Path) -> list[dict[str, np.ndarray]]:
    """Return the numbers of the four: all of the other, this engine, with this library, all of this one."""

    def sources(engine: Path, library: Path, climates: Path) -> tuple[Path, ...]:
        return engine / "engine", library / "materials", climates / "climates", engine / "benchmarks/validation"

    found = []
    with tempfile.TemporaryDirectory() as folder:
        names = ("fernmoor", "saltreed", "kelpwick", "thornvale", "rimefell", "ochreflat")
        weather = str(Path(folder) / "weather.npz")
        _run(WEATHER, sources(other, other, other), weather, *names)
        for k, (engine, library, stored) in enumerate(
            ((other, other, ""), (HERE, other, weather), (HERE, HERE, weather), (HERE, HERE, ""))
        ):
            out = str(Path(folder) / f"{k}.npz")
            climates = other if engine is other else HERE
            _run(COMPUTE, sources(engine, library, climates), out, stored, _examples(engine), *EXAMPLES)
            found.append(dict(np.load(out)))
    return found


def rows(found: list[dict[str, np.ndarray]]) -> list[tuple[str, ...]]:
    """Return a table: before, after, and what came by engine, library and weather."""
    out: list[tuple[str, ...]] = [("", "", "before", "after", "engine", "library", "weather")]
    for name in found[-1]:
        for j, (word, digits) in enumerate(OF_TRIAL if name.startswith("example") else OF_YEAR):
            values = [one[name][j] if name in one else np.nan for one in found]
            steps = [f"{b - a:+.{digits}f}" for a, b in pairwise(values)]
            out.append((name if j == 0 else "", word, f"{values[0]:.{digits}f}", f"{values[-1]:.{digits}f}", *steps))
    return out


def main() -> int:
    """Compute and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("other", type=Path, help="the checkout to compare with")
    asked = parser.parse_args()
    print(table(rows(computed(asked.other.resolve()))))
    return 0


if __name__ == "__main__":
    sys.exit(main())
