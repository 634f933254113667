"""Property curves into tables: sampled once, refined until the stated error bound holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from ..arrays import Array
from ..case.sides import Physics
from ..errors import InputError
from ..kernel.humidity import humidity_of
from ..kernel.layout import DELTA, FILM_COLUMNS, LAWS, MATERIAL_COLUMNS, Tables
from ..kernel.lines import on_lines
from ..materials.model import REFERENCE_TEMPERATURE, CurveLike, Film, Material, argument_of
from .laws import (
    T_HIGH,
    T_LOW,
    Z_DRY,
    Z_WET,
    by_reference,
    cubic_coefficients,
    logarithm,
    monotone_slopes,
    of_humidity,
    of_temperature,
    slope_of,
)

#: Wanted error of every table as a fraction of the range of its curve.
BOUND = 1.0e-6
_FIRST, _MOST = 512, 16384
#: Water beyond full pores is held at this slope [kg/m3 per unit of z] and reported.
OVERFULL = 1.0

Function = Callable[[Array], Array]


class Sampled(NamedTuple):
    """Tables of all materials and films of a wall, and the worst error met by any of them."""

    tables: Tables
    kappa: Array
    temperature_power: Array
    kappa_v: Array
    temperature_factor: np.ndarray
    conductivity_factor: np.ndarray
    liquid: np.ndarray
    resolve: np.ndarray
    film_temperature_factor: np.ndarray
    worst: float
    worst_name: str
    saturation: Array  # [material] water content with full pores


def _end_slopes(f: Function, x: Array, step: float) -> Array:
    """Return slopes of f, at the first and last node from inside alone."""
    e = step / 16.0
    out = np.empty_like(x)
    out[1:-1] = slope_of(f, x[1:-1], step)
    for i, way in ((0, 1.0), (-1, -1.0)):
        y = f(x[i] + way * e * np.arange(5.0))
        out[i] = way * float(np.dot((-25.0, 48.0, -36.0, 16.0, -3.0), y)) / (12.0 * e)
    return out


def _table(f: Function, a: float, b: float, n: int, bounded: bool = False) -> tuple[Array, float]:
    """Return coefficients of f on [a, b] and the greatest error over its range, seen at 3 points an interval.

    `bounded`: f is not defined beyond a and b.
    """
    x = np.linspace(a, b, n + 1)
    step = (b - a) / n
    y = f(x)
    c = cubic_coefficients(y, monotone_slopes(y, (_end_slopes if bounded else slope_of)(f, x, step), step), step)
    span = max(float(np.ptp(y)), 1e-3 * float(np.max(np.abs(y))), 1e-300)
    worst = 0.0
    for t in (0.25, 0.5, 0.75):
        exact = f(x[:-1] + t * step)
        seen = c[:, 0] + t * (c[:, 1] + t * (c[:, 2] + t * c[:, 3]))
        worst = max(worst, float(np.max(np.abs(seen - exact))) / span)
    return c, worst


_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(5)


def _potential(slope: Function, a: float, b: float, n: int, from_dry: bool) -> Array:
    """Return coefficients of the integral of `slope`, zero at the dry end, with the exact slope at the nodes."""
    x = np.linspace(a, b, n + 1)
    step = (b - a) / n
    mids = 0.5 * (x[:-1] + x[1:])
    points = mids[:, None] + 0.5 * step * _GAUSS_X[None, :]
    piece = (slope(points.ravel()).reshape(points.shape) * _GAUSS_W).sum(axis=1) * 0.5 * step
    if from_dry:
        y = -np.concatenate([np.cumsum(piece[::-1])[::-1], [0.0]])
    else:
        y = np.concatenate([[0.0], np.cumsum(piece)])
    return cubic_coefficients(y, monotone_slopes(y, slope(x), step), step)


def _curve(curve: CurveLike, name: str, prop: str) -> Function:
    """Return a checked call: same shape, finite."""

    def call(x: Array) -> Array:
        y = np.asarray(curve(x), dtype=float)
        if y.shape != x.shape:
            if y.shape != ():
                raise InputError(
                    f"{prop} returns shape {y.shape} for an argument of shape {x.shape}; return one value each",
                    f"material '{name}'",
                )
            y = np.full(x.shape, float(y))
        if not np.all(np.isfinite(y)):
            bad = x[~np.isfinite(y)].ravel()[0]
            raise InputError(f"{prop} is not finite at {argument_of(curve)} {bad:.6g}", f"material '{name}'")
        return y

    return call


class MaterialFunctions(NamedTuple):
    """A material's properties as functions of z at the reference temperature."""

    water: Function
    delta: Function
    psi_slope: Function
    theta_slope: Function | None
    conductivity: Function
    kappa: float
    kappa_v: float


def material_functions(m: Material, physics: Physics) -> MaterialFunctions:
    """Return the properties of a material as functions of z (see `kernel.layout`)."""
    scale = physics.water_density * physics.vapour_gas_constant * REFERENCE_TEMPERATURE

    def suction_of(z: Array) -> Array:
        return scale * np.exp(z)

    def compose(curve: CurveLike, prop: str, water: Function | None) -> Function:
        f = _curve(curve, m.name, prop)
        of = argument_of(curve)
        if of == "humidity":
            return lambda z: f(humidity_of(z))
        if of == "suction":
            return lambda z: f(suction_of(z))
        if of == "water content" and water is not None:
            return lambda z: f(water(z))
        raise InputError(f"{prop} cannot be a function of {of!r}", f"material '{m.name}'")

    water = compose(m.storage, "storage", None)
    kappa = 1.0 if argument_of(m.storage) == "suction" else m.sorption_temperature_exponent
    delta = compose(m.permeability, "permeability", water)
    kappa_v = {"humidity": 0.0, "suction": 1.0, "water content": kappa}[argument_of(m.permeability)]

    def psi_slope(z: Array) -> Array:
        out: Array = -delta(z) * humidity_of(z) * np.exp(z)
        return out

    theta_slope: Function | None = None
    if m.liquid is not None:
        k = compose(m.liquid, "liquid", water)
        theta_slope = lambda z: k(z) * suction_of(z)  # noqa: E731
    elif m.diffusivity is not None:
        d = compose(m.diffusivity, "diffusivity", water)
        theta_slope = lambda z: -d(z) * slope_of(water, z, 0.01)  # noqa: E731
    return MaterialFunctions(
        water, delta, psi_slope, theta_slope, compose(m.conductivity, "conductivity", water), kappa, kappa_v
    )


_MEMORY: dict[tuple[int, float], tuple[object, object, tuple[Array, float, MaterialFunctions]]] = {}
#: Materials and films remembered: some 30 MB where all of the library are.
_MEMORY_SIZE = 256


def _make_room(memory: dict[Any, Any]) -> None:
    """Forget what was remembered first; threads of a study share it."""
    for key in list(memory)[: max(0, len(memory) - _MEMORY_SIZE + 1)]:
        memory.pop(key, None)


def sample_material(m: Material, physics: Physics, bound: float = BOUND) -> tuple[Array, float, MaterialFunctions]:
    """Return `_sample_material`, remembered while the same material is asked for, in an equal physics."""
    key = (id(m), bound)
    known = _MEMORY.get(key)
    if known is None or known[0] is not m or known[1] != physics:  # every case of a study brings a physics of its own
        _make_room(_MEMORY)
        known = (m, physics, _sample_material(m, physics, bound))
        _MEMORY[key] = known
    return known[2]


def _sample_material(m: Material, physics: Physics, bound: float) -> tuple[Array, float, MaterialFunctions]:
    """Return coefficients [interval, column, 4] of a material, and the greatest error of its tables.

    Raises
    ------
    InputError
        If a property is not finite, not positive, or the storage falls with humidity.
    """
    f = material_functions(m, physics)
    where = f"material '{m.name}'"
    n = _FIRST
    while True:
        z = np.linspace(Z_WET, Z_DRY, n + 1)
        w = f.water(z)
        if np.any(np.diff(w) > 1e-9 * np.max(np.abs(w))):
            i = int(np.argmax(np.diff(w)))
            raise InputError(f"storage falls with humidity near {humidity_of(z[i + 1 : i + 2])[0]:.4g}", where)
        if np.any(w < 0.0):
            raise InputError("storage is negative", where)
        for prop, g in (("permeability", f.delta), ("conductivity", f.conductivity)):
            if np.any(g(z) <= 0.0):
                i = int(np.argmin(g(z)))
                raise InputError(f"{prop} is not positive at humidity {humidity_of(z[i : i + 1])[0]:.4g}", where)
        water, e0 = _table(f.water, Z_WET, Z_DRY, n)
        delta, e1 = _table(f.delta, Z_WET, Z_DRY, n)
        lam, e2 = _table(f.conductivity, Z_WET, Z_DRY, n)
        worst = max(e0, e1, e2)
        columns = [water, delta, _potential(f.psi_slope, Z_WET, Z_DRY, n, True)]
        if f.theta_slope is not None:
            if np.any(f.theta_slope(z) < 0.0):
                raise InputError("liquid conductivity or diffusivity is negative", where)
            theta = _potential(f.theta_slope, Z_WET, Z_DRY, n, True)
            worst = max(worst, _halving_error(f.theta_slope, theta, n))
            columns.append(theta)
        else:
            columns.append(np.zeros((n, 4)))
        columns.append(lam)
        if worst <= bound or n >= _MOST:
            out = np.stack(columns, axis=1)
            assert out.shape == (n, MATERIAL_COLUMNS, 4)
            return np.ascontiguousarray(out), worst, f
        n *= 2


def _halving_error(slope: Function, table: Array, n: int) -> float:
    """Return the error of a potential's table at the middles, over its range, by integrating half intervals."""
    x = np.linspace(Z_WET, Z_DRY, n + 1)
    step = (Z_DRY - Z_WET) / n
    points = x[:-1, None] + 0.25 * step * (1.0 + _GAUSS_X[None, :])
    half = (slope(points.ravel()).reshape(points.shape) * _GAUSS_W).sum(axis=1) * 0.25 * step
    seen = 0.5 * (table[:, 1] + 0.5 * (table[:, 2] + 0.5 * table[:, 3]))
    return float(np.max(np.abs(seen - half)) / max(float(np.max(np.abs(table[:, 0]))), 1e-300))


_FILM_MEMORY: dict[tuple[int, int], tuple[Film, tuple[Array, float]]] = {}


def sample_film(film: Film, n: int) -> tuple[Array, float]:
    """Return `_sample_film`, remembered for as long as the same film is asked for again."""
    key = id(film), n
    known = _FILM_MEMORY.get(key)
    if known is None or known[0] is not film:
        _make_room(_FILM_MEMORY)
        known = (film, _sample_film(film, n))
        _FILM_MEMORY[key] = known
    return known[1]


def _sample_film(film: Film, n: int) -> tuple[Array, float]:
    """Return coefficients [n, column, 4] of a film over humidity, and the greatest error of its tables."""
    columns = []
    worst = 0.0
    for curve in (film.permeance, film.permeance_outward if film.permeance_outward is not None else film.permeance):
        if argument_of(curve) != "humidity":
            raise InputError("the permeance of a film is a function of humidity", f"film '{film.name}'")
        f = _curve(curve, film.name, "permeance")

        def clipped(x: Array, f: Function = f) -> Array:
            return f(np.clip(x, 1e-9, 1.0 - 1e-12))

        if np.any(clipped(np.linspace(0.0, 1.0, 257)) <= 0.0):
            raise InputError("permeance is not positive everywhere between 0 and 1", f"film '{film.name}'")
        perm, e = _table(clipped, 0.0, 1.0, n, bounded=True)
        worst = max(worst, e)
        columns += [perm, _potential(clipped, 0.0, 1.0, n, False)]
    out = np.stack(columns, axis=1)
    assert out.shape == (n, FILM_COLUMNS, 4)
    return np.ascontiguousarray(out), worst


def sample(materials: Sequence[Material], films: Sequence[Film], physics: Physics) -> Sampled:
    """Sample every curve of a wall.

    Parameters
    ----------
    materials, films : sequences
        Without repeats.
    physics : Physics

    Returns
    -------
    Sampled

    Raises
    ------
    InputError
        If a property cannot be used; the message names it.
    """
    laws: list[Callable[[Array], Array] | None] = []

    def law_index(law: Callable[[Array], Array] | None) -> int:
        for i, known in enumerate(laws):
            if known is law:
                return LAWS + i
        laws.append(law)
        return LAWS + len(laws) - 1

    of_air = by_reference(physics.air_permeability)
    worst, worst_name = 0.0, ""
    pieces, counts, kappa, power, kappa_v, factor, liquid, saturation, resolve = [], [], [], [], [], [], [], [], []
    for m in materials:
        c, e, f = sample_material(m, physics)
        if e > worst:
            worst, worst_name = e, m.name
        pieces.append(c)
        counts.append(len(c))
        kappa.append(f.kappa)
        power.append(1.0 - f.kappa if m.liquid is not None else 0.0)
        kappa_v.append(f.kappa_v)
        factor.append(law_index(m.permeability_temperature or of_air))
        liquid.append(0 if f.theta_slope is None else 1)
        saturation.append(c[0, 0, 0])
        steady = float(np.ptp(c[:, DELTA, 0])) <= 1e-3 * float(np.max(c[:, DELTA, 0]))
        resolve.append(0 if steady and f.theta_slope is None else 1)
    n_film = 512
    while True:
        film_tables = [sample_film(film, n_film) for film in films]
        if all(e <= BOUND for _, e in film_tables) or n_film >= _MOST:
            break
        n_film *= 2
    for film, (_, e) in zip(films, film_tables, strict=True):
        if e > worst:
            worst, worst_name = e, film.name
    conducting = [
        -1 if m.conductivity_temperature is None else law_index(m.conductivity_temperature) for m in materials
    ]
    film_factor = [law_index(film.permeance_temperature or np.ones_like) for film in films]

    air = [of_temperature(law) for law in (physics.saturation_pressure, logarithm, *laws) if law is not None]
    tables = Tables(
        material=on_lines(np.concatenate(pieces)),
        offset=np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.int64),
        count=np.array(counts, dtype=np.int64),
        z0=Z_WET,
        z1=Z_DRY,
        phi=on_lines(of_humidity()),
        film=on_lines(np.concatenate([c for c, _ in film_tables]) if films else np.zeros((1, FILM_COLUMNS, 4))),
        film_count=n_film if films else 1,
        air=on_lines(np.stack(air, axis=1)),
        t0=T_LOW,
        t1=T_HIGH,
        overfull=OVERFULL,
    )
    return Sampled(
        tables=tables,
        kappa=np.array(kappa),
        temperature_power=np.array(power),
        kappa_v=np.array(kappa_v),
        temperature_factor=np.array(factor, dtype=np.int64),
        conductivity_factor=np.array(conducting, dtype=np.int64),
        liquid=np.array(liquid, dtype=np.int64),
        resolve=np.array(resolve, dtype=np.int64),
        film_temperature_factor=np.array(film_factor or [LAWS], dtype=np.int64),
        worst=worst,
        worst_name=worst_name,
        saturation=np.array(saturation),
    )
