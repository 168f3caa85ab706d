"""At most how many boxes go in a box if all stand square to it: bounds from the literature on loading.

- Conservative scales: a dual feasible function f of the sizes along each axis keeps an orthogonal packing's volume
  within that of the space (Fekete and Schepers, "A general framework for bounds for higher-dimensional orthogonal
  packing problems", Math. Methods Oper. Res. 60 (2004) 311-329). Each choice of functions gives a linear inequality
  on how many boxes lie which way; the most that satisfy all is an integer program with one unknown a way.
- Waste of bars: whatever is packed with rods n × 1, n and the sizes of the rectangle whole numbers, leaves bare at
  least min(r s, (n − r)(n − s)), r and s the remainders of its sides by n (Barnes, "Packing the maximum number of
  m × n tiles in a large p × q rectangle", Discrete Math. 26 (1979) 93-100). A box a × b is so many rods of either.
- Layers: level planes a little less than a box's height apart meet every box that is upright, and each plane no
  more of them than go in the rectangle.
"""

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import product

import numpy as np

from tapeloft.shapes.polyhedron import PER_METRE

STEPS = 12  # of the functions u, k = 1 …
LOWER = 1 - 1e-12  # on coefficients, for rounding
ON = 1e-4  # of the unit: a size this near a whole one is that; else the space is made larger and boxes smaller

Sizes = tuple[int, int, int]


def boxed(space: Sequence[float], ways: Sequence[Sequence[float]]) -> int:
    """Return a limit on how many boxes, each lying one of some *ways*, go in an upright box, square to it.

    space (3,): its sizes, m; ways (k, 3): the sizes of the boxes along x, y and z, lying each way.

    >>> boxed((1, 1, 1), [(0.4, 0.4, 0.4)])
    8
    >>> boxed((0.49, 0.28, 0.1), [(0.08, 0.03, 0.1), (0.03, 0.08, 0.1)])
    57
    """
    room = _whole(space, math.ceil, -ON)
    turned = {_whole(way, math.floor, ON) for way in ways}
    fitting = sorted(way for way in turned if all(a <= b for a, b in zip(way, room, strict=True)))
    if not fitting:
        return 0
    limits = [math.prod(room) // math.prod(fitting[0]), _scaled(room, fitting)]
    for axis in range(3):
        if len({way[axis] for way in fitting}) == 1:
            limits.append(_layered(room, fitting, axis))
    return min(limits)


def _whole(sizes: Sequence[float], rounded: Callable[[float], int], nearly: float) -> Sizes:
    """Return sizes in whole hundredths of a millimetre, but for rounding those that they are."""
    x, y, z = (rounded(size * PER_METRE + nearly) for size in sizes)
    return x, y, z


def _layered(room: Sizes, ways: Sequence[Sizes], axis: int) -> int:
    """Return the limit by layers square to an axis along which all boxes have one size."""
    layers = room[axis] // ways[0][axis]
    length, breadth = (room[i] for i in range(3) if i != axis)
    rectangles = [tuple(way[i] for i in range(3) if i != axis) for way in ways]
    if len(rectangles) == 1:
        return layers * (length // rectangles[0][0]) * (breadth // rectangles[0][1])
    unit = math.gcd(*rectangles[0])
    a, b = (size // unit for size in rectangles[0])
    # pushed together, things lie at sums of their sizes, so whole units of the rectangle are all that counts
    wide, deep = length // unit, breadth // unit
    waste = max(_bare(wide, deep, n) for n in (a, b))
    return layers * ((wide * deep - waste) // (a * b))


def _bare(wide: int, deep: int, n: int) -> int:
    """Return the least area of a rectangle that rods n × 1 leave bare."""
    r, s = wide % n, deep % n
    return min(r * s, (n - r) * (n - s))


def _scaled(room: Sizes, ways: Sequence[Sizes]) -> int:
    """Return the limit by conservative scales."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    scales = [_scales(room[axis], [way[axis] for way in ways]) for axis in range(3)]
    rows = np.array([np.prod(chosen, axis=0) for chosen in product(*scales)]) * LOWER
    rows = np.unique(rows, axis=0)
    most = math.prod(room) // math.prod(ways[0])
    found = milp(
        -np.ones(len(ways)),
        constraints=LinearConstraint(rows, -np.inf, 1.0),
        bounds=Bounds(0, most),
        integrality=np.ones(len(ways)),
    )
    return most if found.mip_dual_bound is None else min(most, math.floor(-found.mip_dual_bound + 1e-6))


def _scales(length: int, sizes: Sequence[int]) -> list[tuple[float, ...]]:
    """Return what dual feasible functions make of sizes along one axis, as shares of its length, each once."""
    shares = [Fraction(size, length) for size in sizes]
    found = {tuple(map(float, shares))}
    for k in range(1, STEPS + 1):
        found.add(tuple(float(_stepped(share, k)) for share in shares))
    for least in [share for share in shares if share <= Fraction(1, 2)] + [Fraction(1, 2)]:
        found.add(tuple(float(_sifted(share, least)) for share in shares))
    return sorted(found)


def _stepped(share: Fraction, k: int) -> Fraction:
    """The function u of Fekete and Schepers: floor((k + 1) x) / k, but x where (k + 1) x is whole."""
    whole, rest = divmod((k + 1) * share, 1)
    return share if rest == 0 else Fraction(whole, k)


def _sifted(share: Fraction, least: Fraction) -> Fraction:
    """The function U of Fekete and Schepers: 0 below *least*, 1 above 1 − least, x between."""
    if share > 1 - least:
        return Fraction(1)
    return share if share >= least else Fraction(0)
