"""Scans as a phone takes them: rays from where a person held it, so that near walls are dense and things cast shadows.

A prism of five sides with two leaning ends; truth is its closed form. How a phone's scan errs (a few mm of noise that
grows with distance, passes some mm apart, patches of a glossy wall that are lost or put behind it) is common practice,
no source.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from shapely import Polygon

from tapeloft.model import build, read_survey
from tapeloft.model.reread import reread
from tapeloft.model.scan.scan import Scanned, scanned
from tapeloft.model.scan.stations import stations_of
from tapeloft.model.scan.targets import Targets, read_targets
from tapeloft.model.scan.written import written

Array = NDArray[np.float64]
Where = Callable[[Array], NDArray[np.bool_]]
FIVE = Polygon([(0.4, 0.0), (1.0, 0.05), (1.35, 0.4), (1.4, 0.85), (0.45, 0.9)])
AFT, FORWARD = (0.0, -0.1), (2.0, 0.15)  # x at height 0, and what it gains a metre up
TURN = Rotation.from_euler("zxy", [40, 90, 5], degrees=True).as_matrix()
SHIFT = np.array([1.2, -0.4, 0.3])
HELD = [
    (0.5, 0.9, 0.7), (1.0, 0.8, 0.75), (1.5, 0.9, 0.7), (1.0, 0.7, 0.4),
    (0.4, 0.7, 0.5), (1.6, 0.8, 0.5), (1.0, 1.1, 0.6), (1.2, 0.6, 0.7),
]  # fmt: skip


def end(wall: tuple[float, float]) -> Array:
    """Return the corners of an end, (5, 3) m."""
    return np.array([(wall[0] + wall[1] * z, y, z) for y, z in FIVE.exterior.coords[:-1]])


def volume() -> float:
    """Return the section's area times the distance of the ends at its centroid (closed form)."""
    z = FIVE.centroid.y
    return float(FIVE.area) * (FORWARD[0] - AFT[0] + (FORWARD[1] - AFT[1]) * z)


def walls() -> Array:
    """Return the walls and ends as triangles, (n, 3, 3)."""
    aft, ahead = end(AFT), end(FORWARD)
    sides = [
        triangle
        for k in range(5)
        for triangle in (
            (aft[k - 1], aft[k], ahead[k]),
            (aft[k - 1], ahead[k], ahead[k - 1]),
        )
    ]
    fans = [(ring[0], ring[k], ring[k + 1]) for ring in (aft, ahead) for k in range(1, 4)]
    return np.array([*sides, *fans])


def hits(triangles: Array, eye: Array, rays: Array) -> tuple[Array, Array]:
    """Return how far along each ray the first triangle is, and how squarely it is met: the cosine.

    Möller and Trumbore, Journal of Graphics Tools 2 (1997), from memory.
    """
    far, square = np.full(len(rays), np.inf), np.zeros(len(rays))
    for a, b, c in triangles:
        e, f = b - a, c - a
        p = np.cross(rays, f)
        size = p @ e
        with np.errstate(divide="ignore", invalid="ignore"):
            u = p @ (eye - a) / size
            q = np.cross(eye - a, e)
            v = rays @ q / size
            t = (q @ f) / size
            met = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1e-4) & (t < far)
        normal = np.cross(e, f)
        far[met] = t[met]
        square[met] = np.abs(rays[met] @ normal) / np.linalg.norm(normal)
    return far, square


def nowhere(spots: Array) -> NDArray[np.bool_]:
    return np.zeros(len(spots), bool)


def walked(
    things: Sequence[trimesh.Trimesh] = (),
    *,
    drift: float = 0.0,
    open_at: Where = nowhere,
    glossy: Where = nowhere,
    noise: float = 0.003,
    rays: int = 96_000,
    seed: int = 1,
) -> Array:
    """Return what a phone held in eight places sees, (n, 3) m.

    drift: how far the later four lie off the first, m, and some tenths of a degree turned; open_at: where a lid was
    taken off, and what is beyond is seen; glossy: where most points are lost, and some lie behind the wall.
    """
    chance = np.random.default_rng(seed)
    triangles = np.concatenate([walls(), *(np.asarray(one.triangles) for one in things)])
    seen = []
    for number, held in enumerate(HELD):
        eye = np.array(held)
        way = chance.normal(size=(rays // len(HELD), 3))
        way /= np.linalg.norm(way, axis=1, keepdims=True)
        far, square = hits(triangles, eye, way)
        spots = eye + way * far[:, None]
        kept = square > 0.12
        out, shiny = open_at(spots), glossy(spots)
        behind = (out & (chance.random(len(way)) < 0.3)) | (shiny & (chance.random(len(way)) < 0.1))
        kept &= ~(out | shiny) | behind
        spots += way * (np.where(behind, chance.uniform(0.1, 1.0, len(way)), 0.0))[:, None]
        spots += way * (chance.normal(0, noise, len(way)) * (0.6 + 0.4 * far))[:, None]
        spots = spots[kept]
        if number >= len(HELD) // 2 and drift:
            off = chance.normal(size=3)
            turn = Rotation.from_rotvec(chance.normal(0, 0.004, 3)).as_matrix()
            middle = spots.mean(axis=0)
            spots = middle + (spots - middle) @ turn.T + off * drift / np.linalg.norm(off)
        seen.append(spots)
    return np.vstack(seen)


def targets(folder: Path) -> Targets:
    spots = np.vstack([end(AFT)[[0, 3]], end(FORWARD)[[1, 4]]])
    lines = ['format = "tapeloft-targets"', "version = 1", 'unit = "mm"', 'compartment = "locker"', 'side = "port"']
    for k, (spot, there) in enumerate(zip(spots, spots @ TURN.T + SHIFT, strict=True)):
        lines += [f"[target.T{k}]", f"scan = {there.round(5).tolist()}", f"taped = {(spot * 1000).round(2).tolist()}"]
    lines += ["[length]", f"T0-T2 = {np.linalg.norm(spots[2] - spots[0]) * 1000:.1f}"]
    (folder / "targets.toml").write_text("\n".join(lines) + "\n")
    return read_targets(folder / "targets.toml")


STATIONS = "end, 700, 1300, end"


def cut(points: Array, folder: Path) -> tuple[Scanned, Targets]:
    known = targets(folder)
    return scanned(points @ TURN.T + SHIFT, 1.0, known, [x for _, x in stations_of(STATIONS, known)]), known


def rope(x: float, y: float, seed: int) -> list[trimesh.Trimesh]:
    chance = np.random.default_rng(seed)
    balls = [trimesh.creation.icosphere(1, chance.uniform(0.08, 0.14)) for _ in range(4)]
    for ball in balls:
        ball.apply_translation(np.array([x, y, 0.15]) + chance.uniform(-0.1, 0.1, 3) * [1, 1, 0.3])
    return balls


def box(size: tuple[float, float, float], at: tuple[float, float, float]) -> list[trimesh.Trimesh]:
    return [trimesh.creation.box(size, trimesh.transformations.translation_matrix(at))]


FENDERS = [
    trimesh.creation.cylinder(0.1, sections=16, segment=[(0.3, y, 0.2), (1.0, y + 0.05, 0.2)]) for y in (0.7, 1.0)
]


def lid(spots: Array) -> NDArray[np.bool_]:
    return (spots[:, 2] > 0.8) & (abs(spots[:, 0] - 1.0) < 0.35) & (abs(spots[:, 1] - 0.85) < 0.25)


def glossy_side(spots: Array) -> NDArray[np.bool_]:
    return (spots[:, 1] > 1.3) & (abs(spots[:, 0] - 1.0) < 0.5)


def strays() -> Array:
    return np.random.default_rng(3).uniform([-2, -1, -1], [4, 3, 3], (4000, 3))


ROOMS: dict[str, tuple[Callable[[], Array], str]] = {
    "bare": (walked, ""),
    "two passes 5 mm apart": (lambda: walked(drift=0.005), ""),
    "two passes 10 mm apart": (lambda: walked(drift=0.010), ""),
    "two passes 15 mm apart": (lambda: walked(drift=0.015), ""),
    "10 mm of noise": (lambda: walked(noise=0.01), ""),
    "a heap of rope": (lambda: walked(rope(0.7, 0.65, 3)), "points stand within the section"),
    "fenders": (lambda: walked(FENDERS), "points stand within the section"),
    "the lid off": (lambda: walked(open_at=lid), "was not scanned all along"),
    "strays far outside": (lambda: np.vstack([walked(), strays()]), ""),
    "all of it": (lambda: walked([*FENDERS, *rope(1.6, 0.7, 4)], drift=0.008, open_at=lid), "points stand within"),
}


@pytest.mark.parametrize("name", ROOMS)
def test_a_walked_scan_gives_the_space(tmp_path: Path, name: str) -> None:
    """Corners within three of the stated standard deviations, volume within one in two hundred of the closed form."""
    seen, told = ROOMS[name]
    found, known = cut(seen(), tmp_path)
    assert not found.refused, [str(problem) for problem in found.refused]
    truth = np.array(FIVE.exterior.coords)[:-1]
    for section in found.sections:
        off = np.linalg.norm(section.corners[:, None] - truth, axis=2).min(axis=1)
        assert off.max() <= 3 * found.accuracy
        assert np.sqrt((off**2).mean() / 2) <= found.accuracy
    text = written(found, known, "a.ply", STATIONS.split(", "))
    assert reread(text, "locker.toml") == []
    (tmp_path / "locker.toml").write_text(text)
    assert build(read_survey(tmp_path / "locker.toml").compartments[0]).gross.volume == pytest.approx(
        volume(), rel=0.005
    )
    assert not told or any(told in note.what for note in found.notes)


HIDING: dict[str, tuple[Callable[[], Array], str]] = {
    "a box in the corner of the end": (
        lambda: walked(box((0.3, 0.5, 0.4), (1.85, 0.7, 0.2))),
        "points lie outside the outline",
    ),
    "a small box there": (
        lambda: walked(box((0.25, 0.3, 0.25), (1.9, 0.6, 0.12))),
        "points lie outside the outline",
    ),
    "a box right across the end": (
        lambda: walked(box((0.2, 0.9, 0.55), (1.85, 0.9, 0.25))),
        "may not be the end",
    ),
    "a glossy side": (lambda: walked(glossy=glossy_side), "cannot be told"),
    "two passes 60 mm apart": (lambda: walked(drift=0.06), ""),
}


@pytest.mark.parametrize("name", HIDING)
def test_what_hides_the_space_is_refused_and_never_made_up(tmp_path: Path, name: str) -> None:
    seen, told = HIDING[name]
    found, _ = cut(seen(), tmp_path)
    assert any(told in problem.what for problem in found.refused), [str(problem) for problem in found.refused]
    assert all(problem.mend for problem in found.refused)
