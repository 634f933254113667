"""A small study on a GPU that the processor plays, broken off and gone on with, beside the same on the processor.

Run by `test_gpu` on its own.
"""

from __future__ import annotations

import os

os.environ |= {"NUMBA_ENABLE_CUDASIM": "1", "NUMBA_DISABLE_JIT": "1"}

import tempfile
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from unittest import mock

import netCDF4
import numpy as np
from drydown import Case
from drydown.study import Axis, Output, Study, VariedCase, gather, on_card, run
from gpu_played import case


def wetted(base: Case, amount: float) -> Case:
    """Put some water in; what none can hold fails."""
    return replace(base, wettings=(replace(base.wettings[0], amount=amount),))


def main() -> None:
    """Print the greatest relative difference of any value, and what of the first run was kept."""
    outputs = (
        Output("final_water", "OSB"),
        Output("final_humidity", "OSB", "inner"),
        Output("criterion", criterion="mould"),
    )
    model = VariedCase(case(), wetted, outputs)
    study = Study((Axis("amount", values=(0.02, 0.05)),), model, block=1, name="played")
    with tempfile.TemporaryDirectory() as name:
        here, there = Path(name) / "here", Path(name) / "there"
        marched, broken = on_card.values_of, []

        def some(study: Study, cases: list[int]) -> dict[int, on_card.Values]:
            if 1 in cases and not broken:
                broken.append(cases)
                raise KeyboardInterrupt
            return marched(study, cases)

        patched = mock.patch.multiple(on_card, values_of=some, AT_ONCE=1)
        with patched, suppress(KeyboardInterrupt):
            run(study, there, device="cuda")
        done = run(study, there, device="cuda")
        run(study, here)
        with netCDF4.Dataset(sorted(there.glob("blocks/block-*.nc"))[0]) as block:
            said = block.machine
        a, b = gather(study, here), gather(study, there)
        assert set(a.data_vars) == set(b.data_vars)
        worst = 0.0
        for key, values in a.data_vars.items():
            if values.dtype.kind == "f":
                gap = np.abs(values.values - b[key].values) / np.maximum(np.abs(values.values), 1e-12)
                worst = max(worst, float(np.max(gap)))
            elif values.dtype.kind in "ib":
                assert np.array_equal(values.values, b[key].values)
        assert np.ptp(a["final_water_OSB"].values) > 0.01  # the water of both cases differs
        print(worst, done.present, done.computed, int(b["failed"].sum()), said, sep="|")


if __name__ == "__main__":
    main()
