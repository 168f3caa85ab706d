"""Cuts put together and chosen."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.relaxed import Cuts


def witnesses(points: Numbers, faces: NDArray[np.int64], senses: Numbers) -> Cuts:
    """Return cuts by witness points."""
    many = len(faces)
    return Cuts(points, faces, senses, np.full(many, -1), np.zeros((many, 3)))


NO_CUTS = witnesses(np.empty((0, 3)), np.empty(0, np.int64), np.empty(0))


def joined(several: Sequence[Cuts]) -> Cuts:
    """Return all of several cuts."""
    points, faces, senses, kinds, edges = zip(*several, strict=True)
    return Cuts(
        np.concatenate(points), np.concatenate(faces), np.concatenate(senses), np.concatenate(kinds),
        np.concatenate(edges),
    )  # fmt: skip


def chosen(cuts: Cuts, which: NDArray[np.int64] | slice) -> Cuts:
    """Return some of the cuts."""
    return Cuts(cuts.points[which], cuts.faces[which], cuts.senses[which], cuts.kinds[which], cuts.edges[which])
