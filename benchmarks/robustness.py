"""Walls drawn at random, a month each or longer: no failure, states within bounds, water accounted for.

    python benchmarks/robustness.py --walls 1000
    python benchmarks/robustness.py --walls 300 --days 365

`--first N` begins at wall N, `--processes 2` runs that many side by side, `--plain` leaves out gaps, air flow, leaks
and shares of the rain. Ends with 1 if any wall fails.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from functools import partial

from drydown_validation.drawn_walls import DAYS, run

#: Walls between two lines that say how far it is.
EVERY = 100


def main() -> int:
    """Run the walls asked for and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walls", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--days", type=int, default=DAYS)
    parser.add_argument("--plain", action="store_true")
    asked = parser.parse_args()
    numbers = range(asked.first, asked.first + asked.walls)
    begin = time.perf_counter()
    with multiprocessing.get_context("spawn").Pool(asked.processes) as pool:
        outcomes = []
        for outcome in pool.imap(partial(run, loads=not asked.plain, days=asked.days), numbers, chunksize=4):
            outcomes.append(outcome)
            if outcome.wrong:
                print(f"wall {outcome.number}: {outcome.wrong}", flush=True)
            if len(outcomes) % EVERY == 0:
                failed, seconds = sum(bool(o.wrong) for o in outcomes), time.perf_counter() - begin
                print(f"{len(outcomes)} walls, {seconds:.0f} s: {failed} failed", flush=True)
    ran = [o for o in outcomes if o.steps]
    bad = [o for o in outcomes if o.wrong]
    print(
        f"{len(outcomes)} walls from {asked.first} on, {asked.days} days each, {time.perf_counter() - begin:.0f} s: "
        f"{len(bad)} failed"
    )
    if ran:
        print(
            f"humidity {min(o.humidity[0] for o in ran):.4f} to {max(o.humidity[1] for o in ran):.6f}, "
            f"temperature {min(o.temperature[0] for o in ran):.1f} to {max(o.temperature[1] for o in ran):.1f} K"
        )
        print(
            f"worst step leaves {max(o.closure_step for o in ran):.1e} kg/m2, worst run "
            f"{max(o.closure for o in ran):.1e} kg/m2; {sum(o.wetted for o in ran)} walls with a wetting, "
            f"{sum(o.loads > 0 for o in ran)} with loads, "
            f"{sum(o.failed for o in ran)} of {sum(o.steps for o in ran)} steps taken again after a failure"
        )
        slowest = max(ran, key=lambda o: o.steps)
        print(f"most steps: {slowest.steps} (wall {slowest.number})")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
