"""What all tests share: the same examples each time, no clock that decides, an order in which little is done twice."""

import os
from pathlib import Path

# Before numpy is loaded: threads of its linear algebra, one for each processor, would wait for those of other tests.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

#: DRYDOWN_SEED draws others, printed by hypothesis where one fails.
settings.register_profile("drydown", deadline=None, derandomize="DRYDOWN_SEED" not in os.environ)
settings.load_profile("drydown")

HERE = Path(__file__).parent
#: What takes long and needs no compiled kernel: the second of two processes begins with it while the first compiles.
WITHOUT_KERNEL = ("contract/test_house_rules.py", "contract/test_public_names.py", "unit/test_tour.py")
#: What takes longest comes next, so that it is not left for the end, where one process waits for the other.
LONGEST = ("verification/", "unit/test_gpu.py")


@pytest.hookimpl(tryfirst=True, optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Give each process one stretch of the tests: what the tests of a module share is made once."""
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log) if config.getvalue("dist") == "load" else None


def pytest_collection_modifyitems(items):
    """Put at the middle, where the second of two processes begins, what is named above."""
    if os.environ.get("PYTEST_XDIST_WORKER_COUNT") != "2":
        return
    names = [item.path.relative_to(HERE).as_posix() for item in items]
    without = [item for item, name in zip(items, names, strict=True) if name in WITHOUT_KERNEL]
    longest = [item for item, name in zip(items, names, strict=True) if name.startswith(LONGEST)]
    first = {id(item) for item in without + longest}
    rest = [item for item in items if id(item) not in first]
    middle = min(len(items) // 2, len(rest))
    items[:] = [*rest[:middle], *without, *longest, *rest[middle:]]
