"""Twin experiments: readings are made with noise from known inputs, fitted, and the bands counted that hold the truth.

    python benchmarks/twins.py [TWINS] [DAYS] [FIRST]

A wall of a sheathing, wool, a film that opens with humidity and a board stands between two chambers, one of which rains
on it; a leak and a share of the rain get in (demo data). The truth is drawn from the priors, the noise of four loggers
holds on from hour to hour, a day is missing and a tenth of the rest. Told of every input is in how many twins the band
of nine in ten holds the truth: Laplace's and the sampler's. The fifth input does nothing that a logger feels: it should
be named as not learned every time, and no other.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer
from drydown.case.loads import AirLeak, RainShare
from drydown.inverse.derivatives import observed
from drydown.inverse.fitting import fit
from drydown.inverse.free import TO_EDGE, free
from drydown.inverse.logs import Log
from drydown.inverse.noise import Noise
from drydown.inverse.sampling import sample
from drydown.inverse.sensors import Sensor
from drydown.lowering.problem import mesh_of
from drydown.plugins import film, material

START = np.datetime64("2022-01-01T00:00:00")
#: Free inputs, and the factor that nine in ten of the prior lie within.
INPUTS = {
    "leak": ("air_leak.1.q50", 3.0),
    "rain share": ("rain_share.1.share", 3.0),
    "start water": ("layer.OSB.start_water", 1.3),
    "permeance factor": ('layer."polyamide film 0.05 mm".permeance_factor', 2.0),
    "without effect": ("layer.gypsum board.liquid_factor", 3.0),
}
SENSORS = {
    Sensor("wool", "relative_humidity", "mineral wool", "inner"): Noise(0.01, 0.8),
    Sensor("board", "relative_humidity", "OSB", "inner"): Noise(0.01, 0.8),
    Sensor("warmth", "temperature", "OSB", "inner"): Noise(0.1, 0.5),
    Sensor("moisture", "moisture_content", "OSB", "middle"): Noise(0.003, 0.9),
}


def wall(days: int) -> Case:
    """Return the wall."""
    assembly = Assembly(
        (
            Layer(material("OSB"), 0.011, cells=8),
            Layer(material("mineral wool"), 0.14, cells=8),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125, cells=5),
        )
    )
    outside = Chamber(278.15, 0.80, rain=2.0e-6)
    leak = AirLeak.from_keys(
        {"way": "flow", "q50": 3.0 / 3600.0, "orientation": 0.0, "wind_factor": 0.7}, assembly, outside
    )
    return Case(
        assembly=assembly,
        outside=outside,
        inside=Chamber(294.15, 0.55),
        start=START,
        end=START + np.timedelta64(days, "D"),
        initial=Initial(283.15, 0.7),
        loads=(RainShare("OSB", 0.02, "inner"), leak),
        name="twin",
    )


def of_first_order(rng: np.random.Generator, count: int, noise: Noise) -> np.ndarray:
    """Return noise that holds on from hour to hour."""
    out = np.empty(count)
    out[0] = rng.normal()
    for i in range(1, count):
        out[i] = noise.rho * out[i - 1] + np.sqrt(1.0 - noise.rho**2) * rng.normal()
    return noise.sd * out


def main() -> None:
    """Print how often the bands hold the truth."""
    given = [int(x) for x in sys.argv[1:]]
    twins, days = [*given, 100][0], [*given[1:], 14][0]
    first = given[2] if len(given) > 2 else int(time.time())
    case = wall(days)
    inputs = [free(case, path, factor=factor, name=name) for name, (path, factor) in INPUTS.items()]
    grid = mesh_of(case)
    laplace, drawn = np.zeros(len(inputs)), np.zeros(len(inputs))
    unlearned, pulls, widths = np.zeros(len(inputs)), [], []
    begin = time.perf_counter()
    for seed in range(first, first + twins):
        rng = np.random.default_rng([20261126, seed])
        truth = rng.normal(size=len(inputs))
        seen = observed(case, inputs, list(SENSORS), truth, grid=grid)
        logs = []
        for k, (sensor, noise) in enumerate(SENSORS.items()):
            read = seen.value[:, k] + of_first_order(rng, len(seen.time), noise)
            kept = rng.random(len(read)) >= 0.1
            kept[100:124] = False
            logs.append(Log(sensor, seen.time[kept], read[kept]))
        got = fit(case, inputs, logs, grid=grid)
        low, high = np.quantile(sample(got, seed, check=0).z, [0.05, 0.95], axis=0)
        laplace += np.abs(truth - got.z) < TO_EDGE * got.sd
        drawn += (truth > low) & (truth < high)
        unlearned += [x.name in got.not_learned for x in inputs]
        pulls.append((truth - got.z) / got.sd)
        widths.append(got.sd)
    print(f"{twins} twins of {days} days, seeds from {first}; {time.perf_counter() - begin:.0f} s")
    print(f"{'':18s}{'Laplace':>9s}{'sampler':>9s}{'not learned':>13s}{'sd of pulls':>13s}{'sd of prior':>13s}")
    for j, x in enumerate(inputs):
        numbers = f"{np.std([p[j] for p in pulls]):13.2f}{np.median([w[j] for w in widths]):13.2f}"
        print(f"{x.name:18s}{laplace[j]:9.0f}{drawn[j]:9.0f}{unlearned[j]:13.0f}{numbers}")


if __name__ == "__main__":
    main()
