"""A study on a card beside the same on the processor: interrupted, gone on with, compared.

    python benchmarks/gpu/study.py --walls 320 --days 60 --cards 2 --out study.txt

A case file of a wall with a film, a ventilated gap and water in its sheathing; axes of films, humidities, orientations
and amounts; outputs of runs and of criteria. The command runs it with ``--device cuda``; it is killed once the first
blocks are written, and begun again, by a process for each card, each with a part of the blocks. Then the processor runs
the same from nothing, and every value is compared. Needs a GPU.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import netCDF4
import numpy as np
import xarray as xr

CASE = """
title = "Wall of a hut"

[climate]
name = "fernmoor"

[outside]
orientation = "west"

[inside]
model = "constant"
temperature = "20 degC"
humidity = "45 %"

[period]
start = "october"
days = {days}

[start]
temperature = "10 degC"
humidity = "75 %"

[[layer]]
material = "spruce cladding"
thickness = "20 mm"

[[layer]]
material = "air gap 25 mm"
thickness = "25 mm"

[[layer]]
film = "weather-resistive membrane"

[[layer]]
material = "OSB"
thickness = "11 mm"

[[layer]]
material = "mineral wool"
thickness = "140 mm"

[[layer]]
film = "polyamide film 0.05 mm"

[[layer]]
material = "gypsum board"
thickness = "12.5 mm"

[[wetting]]
layer = "OSB"
amount = "0.3 kg/m2"
date = {wet}
duration = "6 h"

[[ventilated_gap]]
layer = "air gap 25 mm"
air_changes = "20 1/h"
"""

STUDY = """
title = "Hut"
base = "wall.toml"
block = 40
outputs = ["final_water"]

[[output]]
of = "maximum_humidity"
layer = "OSB"
place = "inner"

[[output]]
of = "monthly_water"
layer = "OSB"

[[output]]
of = "criterion"
criterion = "mould"

[[output]]
of = "criterion"
criterion = "wood moisture"

[[axis]]
name = "film"
path = 'layer."polyamide film 0.05 mm".film'
values = ["polyamide film 0.05 mm", "polyethylene 0.15 mm"]

[[axis]]
path = "outside.orientation"
values = ["north", "south", "west", "east"]

[[axis]]
path = "inside.humidity"
values = {humidities}

[[axis]]
name = "amount"
path = "wetting.1.amount"
values = ["0.1 kg/m2", "0.3 kg/m2", "0.5 kg/m2", "0.7 kg/m2"]
"""


def command(folder: Path, *words: str) -> list[str]:
    """Return the words of the command that runs the study of a folder."""
    code = "from drydown.cli import main; main(prog_name='drydown')"
    return [sys.executable, "-c", code, "study", "run", str(folder / "study.toml"), *words]


def interrupted(folder: Path, store: Path, after: int) -> int:
    """Run the study on the card and kill it once some blocks are written; return how many were."""
    log = (folder / "killed.txt").open("w")
    child = subprocess.Popen(command(folder, "--device", "cuda", "--store", str(store)), stdout=log, stderr=log)
    while child.poll() is None and len(list(store.glob("blocks/block-*.nc"))) < after:
        time.sleep(0.0005)
    child.send_signal(signal.SIGKILL)
    child.wait()
    log.close()
    return len(list(store.glob("blocks/block-*.nc")))


def main() -> None:
    """Run both and compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walls", type=int, default=320, help="a multiple of 32")
    parser.add_argument("--days", type=int, default=60)
    parser.add_argument("--cards", type=int, default=1, help="processes, a card each, that go on with the study")
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    lines: list[str] = []

    def say(text: str) -> None:
        lines.append(text)
        print(text, flush=True)

    with tempfile.TemporaryDirectory() as name:
        _both(Path(name), asked.walls, asked.days, asked.cards, say)
    if asked.out:
        asked.out.write_text("\n".join(lines) + "\n")


def _both(folder: Path, walls: int, days: int, cards: int, say: Callable[[str], None]) -> None:
    start = np.datetime64("2022-10-01")
    text = CASE.replace('"october"', str(start)).format(days=days, wet=start + np.timedelta64(5, "D"))
    (folder / "wall.toml").write_text(text)
    humidities = [f"{h:g} %" for h in np.linspace(30.0, 60.0, walls // 32)]
    (folder / "study.toml").write_text(STUDY.format(humidities=str(humidities).replace("'", '"')))
    card, processor = folder / "card", folder / "processor"
    before = interrupted(folder, card, 3)
    seconds = {}
    for store, parts in ((card, cards), (processor, 0)):
        begin = time.perf_counter()
        children = [_part(folder, store, k, parts) for k in range(max(parts, 1))]
        for child in children:
            out, err = child.communicate()
            if child.returncode:
                say(out[-1500:] + err[-3000:])
                sys.exit(child.returncode)
            say(f"{store.name}: {' | '.join(out.split(chr(10))).strip(' |')}")
        seconds[store] = time.perf_counter() - begin
    say(f"killed with {before} blocks written, then {seconds[card]:.1f} s; processor {seconds[processor]:.1f} s")
    with netCDF4.Dataset(sorted(card.glob("blocks/block-*.nc"))[0]) as block:
        say(f"a block says: {block.machine}")
    a, b = (_gathered(folder, store) for store in (card, processor))
    say(f"the same inputs: {a.attrs.get('study') == b.attrs.get('study')}; failed {int(a.failed.sum())}")
    for name in b.data_vars:
        x, y = a[name].values, b[name].values
        if y.dtype.kind == "f":
            d = np.abs(x - y) / max(float(np.nanmax(np.abs(y))), 1e-300)
            say(f"  {name:32s} {np.nanmax(d):9.2e} of the greatest, median {np.nanmedian(d):.1e}, {len(y)} cases")
        elif y.dtype.kind in "ib":
            say(f"  {name:32s} differs in {int(np.sum(x != y))} of {len(y)} cases")


def _part(folder: Path, store: Path, k: int, cards: int) -> subprocess.Popen[str]:
    """Begin part k of the study on a card of its own, the whole on the processor where there are none."""
    words: tuple[str, ...] = ("--store", str(store))
    environ = dict(os.environ)
    if cards:
        words += ("--device", "cuda", "--part", f"{k + 1}/{cards}")
        environ["CUDA_VISIBLE_DEVICES"] = str(k)
    pipe = subprocess.PIPE
    return subprocess.Popen(command(folder, *words), stdout=pipe, stderr=pipe, text=True, env=environ)


def _gathered(folder: Path, store: Path) -> xr.Dataset:
    from drydown.study import gather, read_study

    return gather(read_study(folder / "study.toml"), store)


if __name__ == "__main__":
    os.environ.setdefault("PYTHONUNBUFFERED", "1")
    main()
