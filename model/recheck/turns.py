"""The cells of turns that a rule needs looked at, and whether a cell needs to be."""

import math

import numpy as np

from tapeloft.model.recheck.rows import Numbers, rotation

Needed = tuple[Numbers, Numbers, Numbers]  # first turned so, (3, 3); then base (3, 3) · rotation(g), |g_i| ≤ half (3,)
EIGHTH = math.sqrt(2) - 1  # tan of a sixteenth of a whole turn: g of an eighth


def _quarter(axis: int, quarters: int) -> Numbers:
    step = rotation(np.eye(3)[axis])
    return np.linalg.matrix_power(step, quarters).round() + 0.0


def of_box(rule: str, alike: tuple[bool, bool, bool]) -> tuple[list[Needed], float]:
    """Return the cells that a box needs, and the order of the norm of g that is at most one in those needed of them.

    alike: whether a quarter turn about x, y, z only renames its sides; half turns always do. The 24 turns of a cube
    leave |g|∞ ≤ √2 − 1, |g|₁ ≤ 1; the half turns alone |g|∞ ≤ 1.
    """
    stand = np.eye(3)
    if rule == "as given":
        return [(stand, stand, np.zeros(3))], math.inf
    if rule == "upright":
        return [(stand, stand, np.array([0, 0, EIGHTH if alike[2] else 1.0]))], math.inf
    if all(alike):
        return [(stand, stand, np.full(3, EIGHTH))], 1
    return [(stand, stand, np.ones(3))], math.inf


def of_thing(rule: str, same: str) -> tuple[list[Needed], float]:
    """Return the same for a thing. same: "box", half turns about its axes leave it as it is; "round", so does any turn
    about its z, and turning it over; "none".
    """
    stand, none, about = np.eye(3), np.zeros(3), np.array([0, 0, 1.0])
    if rule == "as given" or (rule == "upright" and same == "round"):
        return [(stand, stand, none)], math.inf
    if rule == "any tilt" and same == "round":
        return [(stand, stand, np.array([1.0, 1.0, 0.0]))], 2
    if rule == "any tilt":
        bases = [stand] if same == "box" else [stand, *(_quarter(axis, 2) for axis in range(3))]
        return [(stand, base, np.ones(3)) for base in bases], math.inf
    ways = [stand]
    if rule == "on any face":
        quarters = ((0, 1), (1, 1)) if same == "box" else ((0, 1), (0, 2), (0, 3), (1, 1), (1, 3))
        ways = [_quarter(0, 1)] if same == "round" else [stand, *(_quarter(*q) for q in quarters)]
    bases = [stand] if same in ("box", "round") else [stand, _quarter(2, 2)]
    cells = [(way, base, about) for way in ways for base in bases]
    return ([(stand, stand, none), *cells] if same == "round" else cells), math.inf


def is_needed(low: Numbers, high: Numbers, norm: float) -> bool:
    """Whether some g, low ≤ g ≤ high, has a norm of that order of at most one."""
    nearest = np.where(low > 0, low, np.where(high < 0, high, 0.0))
    return bool(np.linalg.norm(nearest, norm) <= 1 + 1e-12)


def holds(needed: Needed, way: Numbers, base: Numbers, low: Numbers, high: Numbers) -> bool:
    """Whether a cell holds all of a needed one."""
    alike = abs(needed[0] - way).max() < 1e-12 and abs(needed[1] - base).max() < 1e-12
    return bool(alike and (low <= -needed[2]).all() and (high >= needed[2]).all())
