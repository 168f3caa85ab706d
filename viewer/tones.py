"""The tones of a drawing, and how they are dealt out so that what stands side by side is told apart."""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.moments import Points

# Pale for walls, middling for what stands before them, so that grey paper keeps them apart; hues that stay apart for
# the colour-blind too, warm and cold in turn, dark and light in turn.
WALLS = ("#f6f1e6", "#e3ecf1", "#efe6ec", "#e9efdf")
THINGS = ("#8fabc3", "#e0c489", "#c78c74", "#aec2a4", "#9c89a8", "#d5d8be", "#7fa09c", "#dcb5a9")
QUIET = ("#b5b2aa", "#cdcac2", "#9f9c95", "#c1beb6")  # for what stands there, where what is stowed is the matter
GOODS = ("#eeb054", "#6db3c8", "#f5e2a0", "#93a0d6", "#e58a6f", "#b3dccf", "#d6a3c0", "#a3bf6c")
BUILT_IN = ("#d8a866", "#b98a52", "#ecd09c", "#a87648")  # parts, as new timber
WATER = "#5d9cc0"
BOX = "#b8451f"
OPENING = "#5b3a9b"
CLEARANCE = "#a1122f"


def apart(bounds: Sequence[Points], kinds: Sequence[int]) -> list[str]:
    """Return a tone for each of the things stowed whose upright boxes are *bounds*, (2, 3) m each.

    kinds: the number of the kind that each is of; where there are several, each keeps to tones of its own. A thing
    takes that tone whose nearest wearer is farthest away.

    >>> row = [np.array([[k, 0, 0], [k + 1, 1, 1.0]]) for k in range(9)]
    >>> len(set(apart(row, [0] * 9))), apart(row[:4], [0, 0, 1, 1]) == [GOODS[0], GOODS[2], GOODS[1], GOODS[3]]
    (8, True)
    """
    share = max(kinds, default=0) + 1
    worn: dict[str, list[Points]] = {tone: [] for tone in GOODS}
    tones = []
    for box, kind in zip(bounds, kinds, strict=True):
        own = GOODS[kind % len(GOODS) :: share]
        tone = max(own, key=lambda tone: min((_gap(box, other) for other in worn[tone]), default=np.inf))
        worn[tone].append(box)
        tones.append(tone)
    return tones


def _gap(one: Points, other: Points) -> float:
    """Return how far two upright boxes, (2, 3), are apart; less than nothing where they meet, by how much."""
    gaps = np.maximum(one[0], other[0]) - np.minimum(one[1], other[1])
    open_ = gaps[gaps > 0]
    return float(np.linalg.norm(open_)) if len(open_) else float(gaps.max())
