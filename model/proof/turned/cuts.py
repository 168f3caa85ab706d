"""Cuts put together and chosen."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.turned.relaxed import Cuts

NO_CUTS = Cuts(np.empty((0, 3)), np.empty(0, np.int64), np.empty(0))


def joined(several: Sequence[Cuts]) -> Cuts:
    """Return all of several cuts."""
    points, faces, senses = zip(*several, strict=True)
    return Cuts(np.concatenate(points), np.concatenate(faces), np.concatenate(senses))


def chosen(cuts: Cuts, which: NDArray[np.int64]) -> Cuts:
    """Return some of the cuts."""
    return Cuts(cuts.points[which], cuts.faces[which], cuts.senses[which])
