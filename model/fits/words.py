"""A place in words that a person can act on."""

import math

import numpy as np

from tapeloft.model.fits.fitting import Pose
from tapeloft.model.gear.forms import Symmetry
from tapeloft.model.moments import Points
from tapeloft.model.units import figure

SIDES = (("its front down", "its back down"), ("its right side down", "its left side down"), ("upright", "upside down"))
LEVEL = 0.5  # degrees under which a turn is none


def posed(pose: Pose, sizes: tuple[float, float, float], symmetry: Symmetry, unit: str) -> str:
    """Return how a thing lies: which of its own sides is down, how it is turned and tilted, and where its middle is.

    sizes: along its own x (length), y (breadth) and z (height), m. symmetry: which turns leave it as it is.

    >>> place = Pose(((0, -1, 0), (1, 0, 0), (0, 0, 1)), (0.61, 0.1, 0.2))
    >>> posed(place, (0.6, 0.4, 0.3), "box", "mm")
    'upright, its length athwartships, its middle at x 610, y 100, z 200 mm'
    >>> posed(place, (0.4, 0.4, 0.3), "round", "mm")
    'upright, its middle at x 610, y 100, z 200 mm'
    """
    turn = np.array(pose.turn)
    own = _upright(turn)
    lies = SIDES[own][0 if turn[2, own] > 0 else 1]
    if symmetry != "none":
        lies = ("on end", "on its side", "upright")[own]
    tilt = math.degrees(math.acos(min(1.0, abs(float(turn[2, own])))))
    said = [lies if tilt < LEVEL else f"{lies} but tilted {tilt:.0f}°"]
    if symmetry != "round" or own != 2 or tilt >= LEVEL:  # what is round and stands has no heading
        said.append(_heading(turn, own, sizes))
    if tilt >= LEVEL:
        said.append(_raised(turn, own, sizes))
    middle = ", ".join(f"{axis} {figure(at, unit)}" for axis, at in zip("xyz", pose.place, strict=True))
    return ", ".join([*said, f"its middle at {middle} {unit}"])


def _upright(turn: Points) -> int:
    """Return which of its own axes stands most upright."""
    return int(np.abs(turn[2]).argmax())


def _longer(own: int, sizes: tuple[float, float, float]) -> int:
    """Return the longer of the two own axes that lie."""
    lying = [axis for axis in range(3) if axis != own]
    return max(lying, key=lambda axis: sizes[axis])


def _heading(turn: Points, own: int, sizes: tuple[float, float, float]) -> str:
    """Return how its longer lying side is turned from fore and aft."""
    axis = _longer(own, sizes)
    name = ("length", "breadth", "height")[axis]
    along = turn[:2, axis] * (1.0 if turn[0, axis] >= 0 else -1.0)
    angle = math.degrees(math.atan2(along[1], along[0]))
    if abs(angle) < LEVEL:
        return f"its {name} fore and aft"
    if 90 - abs(angle) < LEVEL:
        return f"its {name} athwartships"
    side = "port" if angle > 0 else "starboard"
    return f"its {name} turned {abs(angle):.0f}° from fore and aft, the forward end to {side}"


def _raised(turn: Points, own: int, sizes: tuple[float, float, float]) -> str:
    """Return how far its longer lying side is off the level."""
    axis = _longer(own, sizes)
    name = ("length", "breadth", "height")[axis]
    rise = float(turn[2, axis]) * (1.0 if turn[0, axis] >= 0 else -1.0)
    angle = math.degrees(math.asin(max(-1.0, min(1.0, rise))))
    if abs(angle) < LEVEL:
        return f"its {name} level"
    return f"the forward end of its {name} {'up' if angle > 0 else 'down'} {abs(angle):.0f}°"
