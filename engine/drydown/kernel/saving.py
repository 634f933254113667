"""What is kept of a march."""

from __future__ import annotations

from .jit import compiled


@compiled(_nrt=False, forceinline=True)
def copy(to, what):
    """Copy an array into another of its shape, without the help of an allocator."""
    a = to.flat
    b = what.flat
    for i in range(to.size):
        a[i] = b[i]


@compiled(_nrt=False)
def save(record, row, state):
    """Write the state to a row of the record."""
    copy(record.u[row], state.u)
    copy(record.temperature[row], state.temperature)
    copy(record.water[row], state.water)
    copy(record.flow[row], state.flow)
    copy(record.added[row], state.added)
    copy(record.refused[row], state.refused)
    copy(record.load[row], state.load)
