"""An outline drawn in from its walls: gaps, the cutter's radius in inside corners, necks too narrow to stand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.walls import Kind, Walled, rings

SHARP = 5.0  # a mitre longer than so many gaps is cut off square, no nearer than the gap
ROUND = 32  # sides of a quarter circle
CIRCUMSCRIBED = 1 / math.cos(math.pi / 4 / ROUND)
SEEN = 1e-4  # m: a relief that takes no more than a tenth of a millimetre is not cut


@dataclass(frozen=True)
class Gaps:
    """How far a board stays off its walls, m, in its own plane: hull and linings, ends, what stands in the way."""

    side: float = 0.003
    end: float = 0.003
    obstruction: float = 0.003

    @property
    def widest(self) -> float:
        """The widest of them, m."""
        return max(self.side, self.end, self.obstruction)

    @property
    def least(self) -> float:
        """The least of them, m."""
        return min(self.side, self.end, self.obstruction)

    def of(self, kind: Kind) -> float:
        """Return the gap to a kind of wall."""
        return {"side": self.side, "end": self.end, "obstruction": self.obstruction}[kind]


def inset(area: MultiPolygon, edges: Sequence[Walled], gaps: Gaps) -> MultiPolygon:
    """Return *area* without what lies nearer to an edge than its wall's gap; the corners stay sharp.

    Of a convex outline with perimeter P, inset by c all round, A − P·c + c²·Σcot(θ/2) is left, θ its corners' angles.
    """
    strips = []
    for gap, those in groupby(sorted(edges, key=lambda e: gaps.of(e.kind)), key=lambda e: gaps.of(e.kind)):
        if gap > 0:
            lines = shapely.line_merge(shapely.MultiLineString([LineString([e.start, e.end]) for e in those]))
            reach = gap * CIRCUMSCRIBED
            strip = shapely.buffer(
                lines, reach, quad_segs=ROUND, cap_style="round", join_style="mitre", mitre_limit=SHARP
            )
            strips.append(strip)
    return polygons(shapely.difference(area, shapely.union_all(strips)))


def relieved(area: MultiPolygon, radius: float) -> MultiPolygon:
    """Return *area* with every inside corner opened for a cutter of *radius*, m, so that it reaches the very corner.

    The cutter's circle is put through the corner, on its bisector, as the trade's relief has it; nothing is added.
    """
    discs = []
    for ring in rings(area) if radius > 0 else []:
        points = np.array(ring[:-1])
        arriving, leaving = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        arriving /= np.linalg.norm(arriving, axis=1)[:, None]
        leaving /= np.linalg.norm(leaving, axis=1)[:, None]
        turn = np.arctan2(arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0], (arriving * leaving).sum(1))
        for k in np.flatnonzero((turn < 0) & (radius * (1 - np.cos(turn / 2)) > SEEN)):
            waste = leaving[k] - arriving[k]  # on the bisector, away from the material
            middle = points[k] + radius * waste / np.linalg.norm(waste)
            discs.append(shapely.buffer(Point(middle), radius * CIRCUMSCRIBED, quad_segs=ROUND))
    return polygons(shapely.difference(area, shapely.union_all(discs)))


def without_necks(area: MultiPolygon, web: float) -> MultiPolygon:
    """Return *area* without necks, tongues and strips that are narrower than *web*, m; it may fall into several."""
    if web <= 0:
        return area
    cores = polygons(shapely.buffer(area, -web / 2, join_style="mitre", mitre_limit=SHARP)).geoms
    grown = [
        shapely.intersection(shapely.buffer(one, web / 2 + SEEN, join_style="mitre", mitre_limit=SHARP), area)
        for one in cores
    ]
    apart = []
    for k, core in enumerate(cores):
        others = shapely.union_all([*grown[:k], *grown[k + 1 :]])
        if not others.is_empty:  # what two have of a neck between them is neither's
            both = shapely.buffer(shapely.intersection(grown[k], others), SEEN)
            own = polygons(shapely.difference(grown[k], both))
            apart.append(shapely.union_all([part for part in own.geoms if part.intersects(core)]))
        else:
            apart.append(grown[k])
    return polygons(shapely.union_all(apart))
