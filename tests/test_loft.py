"""The lofted surface against closed forms, Gauss quadrature of its ruled patches, and another kernel's lofts."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import igl
import numpy as np
import pytest
from numpy.typing import NDArray

from tapeloft.model.moments import volume_and_centroid
from tapeloft.model.solid import closed, open_edges
from tapeloft.model.surface.loft import joined
from tapeloft.model.surface.sections import Section
from tapeloft.model.surface.skin import FLATNESS, Surface, leaves, lofted

Points = NDArray[np.float64]
Loop = tuple[tuple[str, ...], Points]  # marks, "" where there is none, and corners (n, 3)
Rib = tuple[Points, Points]
KINDS = ("plain", "raked", "concave", "some corners missing", "no marks", "some marks", "pointed", "edged")
TIMES = 40  # of each kind: 320 lofts
GAUSS = (0.5 - 0.5 / math.sqrt(3), 0.5 + 0.5 / math.sqrt(3))


def surface(loops: Sequence[Loop]) -> Surface:
    run = [Section(str(k), marks, corners, len(corners) == 1) for k, (marks, corners) in enumerate(loops)]
    return lofted(run, [joined(aft, forward) for aft, forward in pairwise(run)])


# ---- an oracle that shares no line with the model


def ribs(aft: Loop, forward: Loop) -> list[Rib]:
    """Straight lines from section to section: shared marks meet; between them, equal shares of the girth."""
    n = max(len(aft[1]), len(forward[1]))
    if len(aft[1]) == 1 or len(forward[1]) == 1:
        return [(aft[1][k % len(aft[1])], forward[1][k % len(forward[1])]) for k in range(n)]
    shared = [mark for mark in aft[0] if mark and mark in forward[0]]
    found: list[Rib] = []
    for one, other in zip(spans(aft, shared), spans(forward, shared), strict=True):
        s, t = shares(one), shares(other)
        every = np.unique(np.concatenate([s, t]))
        every = every[:-1][np.diff(every) > 1e-9]
        found += [(at(one, s, u), at(other, t, u)) for u in every]
    return found


def spans(loop: Loop, shared: Sequence[str]) -> Iterator[Points]:
    marks, corners = loop
    lowest_inboard = min(range(len(corners)), key=lambda k: (corners[k, 2], abs(corners[k, 1])))
    start = marks.index(shared[0]) if shared else lowest_inboard
    marks = (*marks[start:], *marks[: start + 1])
    corners = np.vstack([corners[start:], corners[: start + 1]])
    knots = [k for k, mark in enumerate(marks[:-1]) if mark in shared] or [0]
    yield from (corners[a : b + 1] for a, b in pairwise([*knots, len(corners) - 1]))


def shares(line: Points) -> Points:
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    return along / along[-1] if along[-1] else np.linspace(0, 1, len(line))


def at(line: Points, share: Points, wanted: float) -> Points:
    return np.array([np.interp(wanted, share, line[:, axis]) for axis in range(3)])


def quadrature(loops: Sequence[Loop]) -> tuple[float, Points]:
    """Volume and centroid by the divergence theorem: 2 × 2 Gauss points a bilinear patch, fans for the ends.

    Exact: on a patch r·(r_u × r_v) is of degree 2 in u and in v, and x² n_x of degree 3; two points do for 3.
    """
    middle = np.vstack([corners for _, corners in loops]).mean(axis=0)
    bits = [bit for pair in pairwise(loops) for patch in patches(*pair) for bit in gauss_points(*patch)]
    bits += [(r, -area) for r, area in fan_points(loops[0][1])] + list(fan_points(loops[-1][1]))
    r, area = np.array([r - middle for r, _ in bits]), np.array([area for _, area in bits])
    volume = float((r * area).sum()) / 3
    return volume, middle + (r**2 * area).sum(axis=0) / 2 / volume


def patches(aft: Loop, forward: Loop) -> Iterator[tuple[Points, Points, Points, Points]]:
    """The corners of each patch: two on the aft section, two on the forward one."""
    lines = ribs(aft, forward)
    yield from ((a, b, c, d) for (a, d), (b, c) in zip(lines, [*lines[1:], lines[0]], strict=True))


def gauss_points(a: Points, b: Points, c: Points, d: Points) -> Iterator[tuple[Points, Points]]:
    for u, v in ((u, v) for u in GAUSS for v in GAUSS):
        across, along = (1 - v) * (b - a) + v * (c - d), (1 - u) * (d - a) + u * (c - b)
        yield (1 - u) * ((1 - v) * a + v * d) + u * ((1 - v) * b + v * c), np.cross(across, along) / 4


def fan_points(loop: Points) -> Iterator[tuple[Points, Points]]:
    """Middles of the edges of a fan's triangles, a third of the area each: exact for degree 2."""
    for b, c in pairwise(loop[1:]):
        area = np.cross(b - loop[0], c - loop[0]) / 6
        yield from ((r / 2, area) for r in (loop[0] + b, b + c, c + loop[0]))


# ---- lofts of every kind, star-shaped about a line along the boat


def random_loft(kind: str, rng: np.random.Generator, alike: bool = False) -> list[Loop]:
    """Two to five sections; *alike* ones are one figure at several scales, so that every cell is flat."""
    n, count = int(rng.integers(3, 9)), int(rng.integers(2, 6))
    turn = 2 * np.pi / n
    angles, radii = turn * (np.arange(n) + rng.uniform(-0.3, 0.3, n)), rng.uniform(0.25, 0.6, n)
    loops = []
    for x in np.cumsum(rng.uniform(0.2, 0.8, count)):
        if not alike:
            angles, radii = angles + turn * rng.uniform(-0.05, 0.05, n), rng.uniform(0.25, 0.6, n)
        reach = radii * (rng.uniform(0.5, 1.0) if alike else 1.0)
        if kind == "concave":
            reach[0 if alike else rng.integers(n)] *= 0.3
        y, z = 0.8 + reach * np.cos(angles), 0.6 + reach * np.sin(angles)
        lean = rng.uniform(-0.15, 0.15, 2) if kind == "raked" else np.zeros(2)
        corners = np.column_stack([x + lean[0] * (y - 0.8) + lean[1] * (z - 0.6), y, z])
        marks = np.array(list("ABCDEFGH")[:n])
        if kind in ("no marks", "some marks"):
            marks[rng.random(n) < (0.5 if kind == "some marks" else 2)] = ""
        left = rng.permutation(n)[: int(rng.integers(3, n + 1))] if kind == "some corners missing" else np.arange(n)
        order = np.roll(np.sort(left), 0 if kind == "no marks" else int(rng.integers(n)))
        loops.append((tuple(marks[order].tolist()), corners[order]))
    return [*_begun(kind, rng, loops[0]), *loops, *_ended(kind, loops[-1])]


def _begun(kind: str, rng: np.random.Generator, first: Loop) -> list[Loop]:
    return [(("",), (first[1].mean(axis=0) - (0.3, 0, 0))[None])] if kind == "pointed" and rng.random() < 0.5 else []


def _ended(kind: str, last: Loop) -> list[Loop]:
    marks, corners = last
    if kind == "pointed":
        return [(("",), (corners.mean(axis=0) + np.array([0.3, 0, 0]))[None])]
    return [(marks, corners * [1, 0, 1] + [0.3, 0.8, 0])] if kind == "edged" else []


@pytest.mark.parametrize("kind", KINDS)
def test_volume_is_the_ruled_patches_to_the_last_digits_and_the_centroid_to_microns(kind: str) -> None:
    """Where a cell is twisted its four triangles hold the patch's volume, but not quite its first moment.

    On a parallelogram the two moments square to it differ by area · w² / 576, w = |a−b+c−d|: with w up to 8 mm
    (`FLATNESS`) that is a tenth of a micron times area over volume, and a few times that on other cells.
    """
    for seed in range(TIMES):
        loops = random_loft(kind, np.random.default_rng(seed))
        expected, centre = quadrature(loops)
        skin = surface(loops)
        assert not len(open_edges(skin.triangles))
        volume, centroid = volume_and_centroid(skin.vertices, skin.triangles)
        assert volume == pytest.approx(expected, rel=1e-12)
        assert closed(skin.vertices, skin.triangles).volume == pytest.approx(expected, rel=1e-12)
        assert centroid == pytest.approx(centre, abs=5e-6)


@pytest.mark.parametrize("kind", ["plain", "concave", "pointed", "no marks"])
def test_where_every_cell_is_flat_the_centroid_is_exact_too(kind: str) -> None:
    for seed in range(TIMES):
        loops = random_loft(kind, np.random.default_rng(seed), alike=True)
        expected, centre = quadrature(loops)
        skin = surface(loops)
        assert volume_and_centroid(skin.vertices, skin.triangles)[0] == pytest.approx(expected, rel=1e-12)
        assert closed(skin.vertices, skin.triangles).centroid == pytest.approx(centre, rel=1e-12)


@pytest.mark.parametrize("kind", ["plain", "raked", "concave", "some corners missing", "pointed", "edged"])
def test_no_point_of_the_mesh_leaves_the_ruled_surface_by_more_than_half_a_millimetre(kind: str) -> None:
    """Both ways: points of every patch to the mesh, points of the mesh to patches cut 40 × 40 (2 µm off)."""
    share = np.linspace(0, 1, 41)
    u, v = (grid.ravel()[:, None] for grid in np.meshgrid(share, share, indexing="ij"))
    corner = (np.arange(40)[:, None] * 41 + np.arange(40)).ravel()
    cells = np.vstack([corner[:, None] + (0, 41, 42), corner[:, None] + (0, 42, 1)])
    twisted = 0
    for seed in range(6):
        loops = random_loft(kind, np.random.default_rng(seed))
        skin = surface(loops)
        points, fine = [], []
        for aft, forward in pairwise(loops):
            for a, b, c, d in patches(aft, forward):
                twisted += float(np.linalg.norm(a - b + c - d)) / 16 > FLATNESS
                fine.append(cells + 41 * 41 * len(points))
                points.append((1 - u) * ((1 - v) * a + v * d) + u * ((1 - v) * b + v * c))
        every, sides = np.vstack(points), skin.triangles[skin.faces >= 2]
        there = igl.point_mesh_squared_distance(every, skin.vertices, sides)[0]
        middles = skin.vertices[sides] @ np.eye(3)
        mesh = np.vstack([middles.mean(axis=1), (middles + np.roll(middles, 1, axis=1)).reshape(-1, 3) / 2])
        back = igl.point_mesh_squared_distance(mesh, every, np.vstack(fine))[0]
        assert math.sqrt(max(there.max(), back.max())) <= FLATNESS + 5e-6
    assert twisted > 20  # uncut, these would leave it farther


def test_flat_bands_are_not_cut() -> None:
    figure = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    ends = [Section(str(k), tuple("ABCD"), figure * scale + (k, 0, 0)) for k, scale in ((0, 1.0), (1, 0.7))]
    assert leaves(joined(*ends).ends) < 1e-15
    assert len(lofted(ends, [joined(*ends)]).triangles) == 4 * 2 + 2 * 2


# ---- closed forms


def rectangle(x: float, breadth: float, height: float) -> Loop:
    y, z = breadth / 2, height / 2
    return tuple("ABCD"), np.array([[x, -y, -z], [x, y, -z], [x, y, z], [x, -y, z]])


def prismoid_cutting(x: float, height: float) -> Loop:
    return tuple("ABCD"), np.array([[x, -5, 0], [x, 5, 0], [x, 5 + height, height], [x, -5 - height, height]])


def tetrahedron(*corners: Sequence[float]) -> list[Loop]:
    *base, tip = (np.array(corner, np.float64) for corner in corners)
    return [(("A", "B", "C"), np.array(base)), (("",), tip[None])]


TONON = tetrahedron((2, 5, 3), (0.75523, 5, 16.37072), (8.3322, -11.86875, 0.93355), (52.61236, 5, -5.3858))
REGULAR = tetrahedron((0, 0, 0), (0, 1, 0), (0, 0.5, math.sqrt(0.75)), (math.sqrt(2 / 3), 0.5, math.sqrt(1 / 12)))
HALF = [REGULAR[0], (("A", "B", "C"), (REGULAR[0][1] + REGULAR[1][1]) / 2)]

# Sections square to x; the centroid's x is given where the source gives it.
CLOSED_FORMS: dict[str, tuple[list[Loop], float, float | None]] = {
    # Moscow Mathematical Papyrus, problem 14 (from memory): h/3 (a² + ab + b²)
    "frustum of a square pyramid": ([rectangle(0, 4, 4), rectangle(6, 2, 2)], 56.0, 2.357142857),
    # mensuration handbooks (from memory): b h (2a + c) / 6, and h/2 (a + c) / (2a + c) above the base
    "wedge": ([rectangle(0, 4, 3), rectangle(6, 2, 0)], 30.0, 1.8),
    # prismatoid formula h/6 (A₁ + 4 Aₘ + A₂), from memory; the mean of the end areas would give 69
    "obelisk": ([rectangle(0, 5, 4), rectangle(6, 3, 1)], 63.0, 2.19047619),
    # surveying text, prismoidal correction of a level section: 730, where the end areas give 750
    "railway cutting": ([prismoid_cutting(0, 3), prismoid_cutting(30, 1)], 730.0, None),
    # F. Tonon, J. Math. Stat. 1(1), 2004, pp. 8–11, by its corners
    "tetrahedron by its corners": (TONON, 1873.233364, 15.92492),
    "regular tetrahedron": (REGULAR, math.sqrt(2) / 12, math.sqrt(2 / 3) / 4),
    "its lower half": (HALF, math.sqrt(2) / 12 * 7 / 8, None),
}


@pytest.mark.parametrize(("loops", "volume", "along"), CLOSED_FORMS.values(), ids=CLOSED_FORMS)
def test_mensuration(loops: list[Loop], volume: float, along: float | None) -> None:
    skin = surface(loops)
    solid = closed(skin.vertices, skin.triangles)
    assert solid.volume == pytest.approx(volume, rel=1e-9)
    if along is not None:
        assert solid.centroid[0] == pytest.approx(along, abs=4e-5 if loops is TONON else 1e-8)


# ---- a straight-sided body measured again and again, and another kernel


def measured_again(ends: tuple[Loop, Loop], rng: np.random.Generator) -> list[Loop]:
    """The same body at other stations, its corners begun anywhere, with corners of no account read on its edges."""
    (marks, aft), (_, forward) = ends
    loops = []
    for share in (0.0, *np.sort(rng.random(int(rng.integers(0, 5)))), 1.0):
        corners, names = [], []
        for mark, here, following in zip(
            marks, *((p := aft + share * (forward - aft)), np.roll(p, -1, axis=0)), strict=True
        ):
            corners += [
                here,
                *(here + part * (following - here) for part in np.sort(rng.random(int(rng.integers(0, 3))))),
            ]
            names += [mark] + [""] * (len(corners) - len(names) - 1)
        turn = int(rng.integers(len(names)))
        loops.append(((*names[turn:], *names[:turn]), np.array(corners[turn:] + corners[:turn])))
    return loops


def test_named_corners_find_the_same_body_however_it_is_measured() -> None:
    """40 re-measurings of twisted bodies with straight lines fore and aft: nothing but rounding differs."""
    worst = 0.0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        aft, forward = random_loft("plain", rng)[:2]
        forward = (aft[0], np.roll(forward[1], forward[0].index(aft[0][0]) * -1, axis=0))
        expected, _ = quadrature([aft, forward])
        skin = surface(measured_again((aft, forward), rng))
        worst = max(worst, abs(volume_and_centroid(skin.vertices, skin.triangles)[0] / expected - 1))
    assert worst < 2e-15


@pytest.mark.parametrize("kind", ["plain", "raked", "concave"])
def test_opencascade_lofts_the_same_volume(kind: str, occ: Any) -> None:
    for seed in range(4):
        loops = random_loft(kind, np.random.default_rng(seed))[:3]
        wires = []
        for marks, corners in loops:
            points = [occ.add_point(*corners[marks.index(mark)]) for mark in sorted(marks)]
            lines = [occ.add_line(p, q) for p, q in zip(points, [*points[1:], points[0]], strict=True)]
            wires.append(occ.add_wire(lines))
        (body,) = [tag for dim, tag in occ.add_thru_sections(wires, makeRuled=True) if dim == 3]
        skin = surface(loops)
        solid = closed(skin.vertices, skin.triangles)
        assert solid.volume == pytest.approx(occ.get_mass(3, body), rel=1e-12)
        assert quadrature(loops)[1] == pytest.approx(occ.get_center_of_mass(3, body), rel=1e-12)
        assert solid.centroid == pytest.approx(occ.get_center_of_mass(3, body), abs=5e-6)
