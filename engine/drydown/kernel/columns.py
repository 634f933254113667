"""Columns of the rows that the passes over a wall hand to each other.

``rows`` is one flat array: blocks of `BLOCK` cells, in each block one column after the other. The distance between two
columns is so a constant, the compiler sees that they do not overlap, and vectorises a pass over the cells of a layer.
A column of cell i stands at ``offset(i) + COLUMN``; a face has the offset of the cell to its right, the inner surface
that of the cell that would follow the last.
"""

from __future__ import annotations

from .jit import compiled

#: Cells in a block. A wall of up to 127 cells fits in one.
BLOCK = 128
#: How many cells a processor takes at once. A pass over a layer goes on to a multiple of it, so that no cells are left
#: over to be taken one by one: what it writes beyond the layer the passes over the next layers write anew.
AT_ONCE = 8
#: From a column to the next. Not a power of two: the columns of one cell would share a few sets of the cache, and drive
#: each other out of it.
STRIDE = BLOCK + AT_ONCE

# state and properties of a cell (see `cell.Cell`)
(
    U, T, PHI, PHI_U, PS, PS_T, DELTA, DELTA_Z, PSI, FAC, FAC_T, THETA, THETA_Z, THETA_ZZ, LAM, LAM_U, LAM_T,
    OPEN, OPEN_U, OPEN_T,
) = range(0, 20 * STRIDE, STRIDE)  # fmt: skip
# what a cell holds: water content [kg/m3]; water [kg/m2] and enthalpy [J/m2] with their derivatives by u and T
CONTENT, WATER, WATER_U, WATER_T, HEAT, HEAT_U, HEAT_T = range(20 * STRIDE, 27 * STRIDE, STRIDE)
# moisture [kg/(m2 s)] and enthalpy [W/m2] through the face on the left, positive inward, each with its derivatives by
# (u, T) on the left and on the right
G, G_UL, G_TL, G_UR, G_TR, Q, Q_UL, Q_TL, Q_UR, Q_TR = range(27 * STRIDE, 37 * STRIDE, STRIDE)
# what loads bring to a cell per area, with derivatives
GAIN_W, GAIN_W_U, GAIN_W_T, GAIN_H, GAIN_H_U, GAIN_H_T = range(37 * STRIDE, 43 * STRIDE, STRIDE)
# right-hand sides, what is left of them after elimination, eliminated upper blocks, inverses of the diagonal blocks
R_W, R_H, F_U, F_T, E_UU, E_UT, E_TU, E_TT, D_UU, D_UT, D_TU, D_TT = range(43 * STRIDE, 55 * STRIDE, STRIDE)
#: Width of a cell [m].
DX = 55 * STRIDE
# what limited sources offer a cell and what it takes up [kg/(m2 s)], enthalpy that comes with it [J/kg]; see `uptake`
OFFER, LESS, PIECE, UPTAKE, ARRIVES = range(56 * STRIDE, 61 * STRIDE, STRIDE)
COLUMNS = 61
#: Length of a block in the flat array.
SIZE = COLUMNS * STRIDE


@compiled(_nrt=False, forceinline=True)
def offset(i):
    """Return where the columns of cell i begin."""
    return i // BLOCK * (SIZE - BLOCK) + i


@compiled(_nrt=False, forceinline=True)
def whole(count):
    """Return the next multiple of `AT_ONCE`."""
    return (count + (AT_ONCE - 1)) & -AT_ONCE
