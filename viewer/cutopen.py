"""A hollow part cut open, so that a picture shows its walls and what is within."""

from tapeloft.model.solid import Solid
from tapeloft.viewer.eye import eye_for


def cut_open(solid: Solid) -> Solid:
    """Return the half of a solid, cut upright through its middle, that lies away from the three-quarter eye.

    >>> from tapeloft.model.solid import prism
    >>> box = prism([[[0, 1], [2, 1], [2, 2], [0, 2]]], 0.0, 1.0)  # to port: seen from aft, above and starboard
    >>> cut_open(box).bounds.round(6).tolist(), cut_open(box.mirrored()).bounds.round(6).tolist()
    ([[0.0, 1.5, 0.0], [2.0, 2.0, 1.0]], [[0.0, -2.0, 0.0], [2.0, -1.5, 1.0]])
    """
    toward = eye_for(solid.bounds, "three-quarter", (100, 100), margins=(0, 0, 0, 0)).toward
    axis = int(abs(toward[1]) > abs(toward[0]))
    normal = [0.0, 0.0, 0.0]
    normal[axis] = -1.0 if toward[axis] > 0 else 1.0
    kept, _ = solid.split(normal, float(solid.bounds[:, axis].mean()) * normal[axis])
    return kept
