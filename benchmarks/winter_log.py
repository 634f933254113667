"""One winter at one wall, to be fitted with six free inputs: the case file, and a log made from a wall that differs.

    python benchmarks/winter_log.py FOLDER [SEED]

The example wall in fernmoor from October to March, past which a little rain and room air get in. The truth is drawn
from the priors of the six, four loggers read it with noise that holds on from hour to hour, a tenth of the hours and a
week are missing (demo data). Told are the truth and the command that fits it; `time` before it tells what that takes.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import drydown
import numpy as np
from drydown import read_case
from drydown.inverse.derivatives import observed
from drydown.inverse.free import free
from drydown.inverse.logs import sensor_of
from twins import Noise, of_first_order

EXAMPLE = Path(drydown.__file__).parent / "templates/library_wall.toml"
#: Free inputs and what nine in ten of the prior lie within.
INPUTS = {
    "rain_share.1.share": ("0.3 %", "3 %"),
    "air_leak.1.q50": ("1 m3/(m2 h)", "6 m3/(m2 h)"),
    "layer.OSB.start_water": ("60 kg/m3", "110 kg/m3"),
    "layer.OSB.permeability_factor": ("0.5", "2"),
    "layer.'polyamide film 0.05 mm'.permeance_factor": ("0.5", "2"),
    "outside.absorptance": ("0.4", "0.8"),
}
#: Heads of columns, their noise in their units and the printed digits.
LOGGERS = {
    "humidity at OSB inner [%]": (Noise(1.0, 0.8), 2),
    "temperature at OSB inner [degC]": (Noise(0.1, 0.5), 3),
    "moisture at OSB middle [%MC]": (Noise(0.3, 0.9), 3),
    "humidity at dense cellulose inner [%]": (Noise(1.0, 0.8), 2),
}


def wall() -> str:
    """Return the case file."""
    text = EXAMPLE.read_text(encoding="utf-8")
    head, _, _ = text.partition("[[wetting]]")
    head = head.replace("years = 2 ", "end = 2022-04-01 ").replace(
        "[climate]",
        'rain_share = [{ layer = "OSB", share = "1 %" }]\n'
        'air_leak = [{ q50 = "2.5 m3/(m2 h)", way = "flow", height = "2 m" }]\n\n[climate]',
        1,
    )
    assert tomllib.loads(head)["period"]["end"]
    return head


def main() -> None:
    """Write wall.toml and log.csv, and print the command."""
    from drydown.cli.fitting import _number

    folder, seed = Path(sys.argv[1]), int([*sys.argv[2:], "1126"][0])
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "wall.toml").write_text(wall(), encoding="utf-8")
    case = read_case(folder / "wall.toml")
    inputs = []
    for path, (low, high) in INPUTS.items():
        inputs.append(free(case, path, within=(_number(path, low), _number(path, high))))
    rng = np.random.default_rng(seed)
    truth = rng.normal(size=len(inputs))
    placed = [sensor_of(head) for head in LOGGERS]
    seen = observed(case, inputs, [sensor for sensor, _ in placed], truth)
    columns = []
    for k, ((_, (factor, added)), (noise, digits)) in enumerate(zip(placed, LOGGERS.values(), strict=True)):
        read = (seen.value[:, k] - added) / factor + of_first_order(rng, len(seen.time), noise)
        kept = rng.random(len(read)) >= 0.1
        kept[1000:1168] = False
        columns.append([f"{x:.{digits}f}" if y else "" for x, y in zip(read, kept, strict=True)])
    rows = [", ".join(("time", *LOGGERS))]
    rows += [",".join((str(t), *row)) for t, *row in zip(seen.time.astype("datetime64[m]"), *columns, strict=True)]
    (folder / "log.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    for x, z in zip(inputs, truth, strict=True):
        print(f"{x.path}: {x.value(float(z)):.5g} (SI)")
    options = " ".join(f'--free "{path} = {low} to {high}"' for path, (low, high) in INPUTS.items())
    print(f"cd {folder} && time drydown fit wall.toml --measured log.csv {options} -o fit.nc --page fit.html")


if __name__ == "__main__":
    main()
