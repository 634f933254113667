"""Independent references: what checks the engine, computed without it.

No module here imports `drydown`: only numpy, scipy and each other. Each states its definition, where it
comes from and how surely ([V] read in a text that quotes the source, [M] from memory), and each is
checked by itself in ``tests/unit/test_references*.py``.
"""
