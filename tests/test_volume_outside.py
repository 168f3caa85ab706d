"""Volumes, centroids and areas held to figures from outside: closed forms, three other kernels, published bodies.

Figures "from memory" were typed without the book at hand, and each was worked out again from its formula. Where a
round body is drawn with straight sides, its name says how; such a figure is compared at two finenesses and carried
to the limit by Richardson's rule, the error of straight sides going with the square of their length.
"""

import gzip
import json
import math
import os
import subprocess
from collections.abc import Callable
from pathlib import Path

import igl
import numpy as np
import pytest
import pyvista
import trimesh
from numpy.typing import NDArray

from tapeloft.model.capacity import filled_to
from tapeloft.model.facets import body
from tapeloft.model.solid import Solid, closed
from tapeloft.model.units import FOOT
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

Points = NDArray[np.float64]


# ---- solids


def between(low: Points, high: Points) -> Solid:
    """The solid between two polygons of as many corners, (n, 3), whose sides are plane."""
    n = len(low)
    walls = tuple((k, (k + 1) % n, n + (k + 1) % n, n + k) for k in range(n))
    return body(Polyhedron(np.vstack([low, high]), (tuple(range(n))[::-1], tuple(range(n, 2 * n)), *walls)))


def level(outline: Points, z: float) -> Points:
    return np.column_stack([outline, np.full(len(outline), z)])


def oblong(length: float, breadth: float, z: float) -> Points:
    x, y = length / 2, breadth / 2
    return np.array([[-x, -y, z], [x, -y, z], [x, y, z], [-x, y, z]])


def rod(radius: float, axis: int, sides: int) -> Solid:
    return body(prism(circle((0, 0), radius, Round.EQUAL_AREA, sides), -2, 2, axis))


def wedge() -> Solid:
    base = oblong(4, 3, 0)
    ridge = np.array([[-1, 0, 6], [1, 0, 6.0]])
    faces = ((3, 2, 1, 0), (0, 1, 5, 4), (1, 2, 5), (2, 3, 4, 5), (3, 0, 4))
    return body(Polyhedron(np.vstack([base, ridge]), faces))


def tetrahedron(corners: Points) -> Solid:
    a, b, c, d = corners
    if np.dot(np.cross(b - a, c - a), d - a) < 0:
        corners = corners[[0, 2, 1, 3]]
    return body(Polyhedron(corners, ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3))))


def ball(radius: float, n: int) -> Solid:
    """A ball about the origin, of n belts between its poles and 2n segments."""
    down, round_ = np.pi * np.arange(1, n) / n, np.pi * np.arange(2 * n) / n
    side = np.stack(
        [
            np.outer(np.sin(down), np.cos(round_)),
            np.outer(np.sin(down), np.sin(round_)),
            np.outer(np.cos(down), 0 * round_ + 1),
        ]
    )
    vertices = radius * np.vstack([side.reshape(3, -1).T, [[0, 0, 1.0], [0, 0, -1.0]]])
    here = np.arange(len(vertices) - 2).reshape(n - 1, 2 * n)
    beside = np.roll(here, -1, axis=1)
    top, bottom = np.full(2 * n, len(vertices) - 2), np.full(2 * n, len(vertices) - 1)
    walls = [(here[:-1], here[1:], beside[1:]), (here[:-1], beside[1:], beside[:-1])]
    walls += [(top, here[0], beside[0]), (bottom, beside[-1], here[-1])]
    return closed(vertices, np.vstack([np.stack(wall, axis=-1).reshape(-1, 3) for wall in walls]))


def wigley(length: float, breadth: float, draught: float, n: int) -> Solid:
    """Wigley's hull, y = B/2 (1 − (2x/L)²)(1 − (z/T)²), up to its waterline at z = 0, on a grid of 2n by n."""
    x, z = np.linspace(-1, 1, 2 * n + 1), np.linspace(-1, 0, n + 1)
    half = breadth / 2 * np.outer(1 - x**2, 1 - z**2)
    grid = np.stack(
        [np.broadcast_to(x[:, None] * length / 2, half.shape), half, np.broadcast_to(z * draught, half.shape)], axis=-1
    )
    port = np.arange(half.size).reshape(half.shape)
    starboard = np.where(half > 0, port + half.size, port)  # one vertex on stem, stern and keel
    vertices = np.vstack([grid.reshape(-1, 3), (grid * [1, -1, 1]).reshape(-1, 3)])
    quads = []
    for side, turn in ((port, -1), (starboard, 1)):
        quad = np.stack([side[:-1, :-1], side[1:, :-1], side[1:, 1:], side[:-1, 1:]], axis=-1).reshape(-1, 4)
        quads.append(quad[:, ::turn])
    quads.append(np.stack([starboard[:-1, -1], starboard[1:, -1], port[1:, -1], port[:-1, -1]], axis=-1))
    triangles = np.vstack([np.vstack([quad[:, [0, 1, 2]], quad[:, [0, 2, 3]]]) for quad in quads])
    plain = [len(set(t)) == 3 for t in triangles.tolist()]
    triangles = triangles[plain]
    used, numbers = np.unique(triangles, return_inverse=True)
    return closed(vertices[used], numbers.reshape(-1, 3))


LOCKER = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
POST = body(prism(circle((0.6, 0.3), 0.05, Round.EQUAL_AREA, 64), -0.1, 0.6, 2))
STEP = body(box((-0.1, -0.1, -0.1), (0.4, 0.3, 0.25)))
TONON = np.array([[8.3322, -11.86875, 0.93355], [0.75523, 5, 16.37072], [52.61236, 5, -5.3858], [2, 5, 3]])
EDGE_ONE = np.array([[0, 0, 0], [1, 0, 0], [0.5, math.sqrt(3) / 2, 0], [0.5, math.sqrt(3) / 6, math.sqrt(2 / 3)]])

SOLIDS: dict[str, Solid] = {
    "frustum of a pyramid": between(oblong(4, 4, 0), oblong(2, 2, 6)),
    "frustum of a cone": between(
        level(circle((0, 0), 3, Round.EQUAL_AREA), 0), level(circle((0, 0), 2, Round.EQUAL_AREA), 5)
    ),
    "wedge": wedge(),
    "obelisk": between(oblong(5, 4, 0), oblong(3, 1, 6)),
    "tetrahedron of edge 1": tetrahedron(EDGE_ONE),
    "tetrahedron by coordinates": tetrahedron(TONON),
    "two cylinders": rod(1, 0, 128) ^ rod(1, 1, 128),
    "three cylinders": rod(1, 0, 128) ^ rod(1, 1, 128) ^ rod(1, 2, 128),
    "locker less post": LOCKER - POST,
    "locker less step": LOCKER - STEP,
    "locker less both": LOCKER.cleared_of([POST, STEP]),
    "ball": ball(5, 24),
    "Wigley hull": wigley(10, 1, 0.625, 16),
}
BICYLINDER, TRICYLINDER = 16 / 3, 8 * (2 - math.sqrt(2))


# ---- closed forms


@pytest.mark.parametrize(
    ("name", "volume", "height"),
    [
        ("frustum of a pyramid", 56, 2.357142857),  # Moscow Mathematical Papyrus, problem 14: h/3 (a² + ab + b²)
        ("frustum of a cone", 99.48376737, 2.171052632),  # any handbook of mensuration; sides of the circle's area
        ("wedge", 30, 1.8),  # b h (2a + c) / 6; h/2 (a + c) / (2a + c): mensuration, from memory
        ("obelisk", 63, 2.19047619),  # prismatoid, h/6 (A₁ + 4Aₘ + A₂), from memory; end areas alone would give 69
        ("tetrahedron of edge 1", 0.1178511302, math.sqrt(2 / 3) / 4),  # √2/12; a quarter of the height
    ],
)
def test_mensuration(name: str, volume: float, height: float) -> None:
    assert SOLIDS[name].volume == pytest.approx(volume, rel=1e-9)
    assert SOLIDS[name].centroid[2] == pytest.approx(height, rel=1e-9)


def test_tetrahedron_by_coordinates() -> None:
    """F. Tonon, J. Math. Stat. 1(1), 2004, pp. 8–11, as quoted in trimesh's tests."""
    solid = SOLIDS["tetrahedron by coordinates"]
    assert solid.volume == pytest.approx(1873.233364, rel=1e-9)
    assert solid.centroid == pytest.approx([15.92492, 0.78281, 3.72962], abs=4e-5)


def test_half_height_frustum_of_a_tetrahedron() -> None:
    assert filled_to(SOLIDS["tetrahedron of edge 1"], [math.sqrt(2 / 3) / 2]).volume_m3[0] == pytest.approx(
        0.1031197389, rel=1e-9
    )


def test_cylinders_through_each_other() -> None:
    """Steinmetz: 16/3 for two of radius 1, 8 (2 − √2) for three (from memory); drawn with sides of the same area."""
    assert SOLIDS["two cylinders"].volume == pytest.approx(BICYLINDER, rel=1e-6)
    assert SOLIDS["three cylinders"].volume == pytest.approx(TRICYLINDER, rel=1e-6)
    assert SOLIDS["two cylinders"].area == pytest.approx(16, rel=1e-3)


def limit(measure: Callable[[int], float], n: int) -> float:
    coarse, fine = measure(n), measure(2 * n)
    return (4 * fine - coarse) / 3


def test_hoof() -> None:
    """A cylinder cut from its rim to a diameter of its base, 2 R² h / 3 (Archimedes, Method; from memory)."""

    def hoof(sides: int) -> float:
        upright = body(prism(circle((0, 0), 1, Round.EQUAL_AREA, sides), 0, 3, 2))
        return upright.split((2, 0, -1), 0)[0].volume

    assert limit(hoof, 128) == pytest.approx(4 / 3, rel=1e-6)


def test_spherical_cap() -> None:
    """R = 5, h = 2: π h² (3R − h) / 3 (any handbook)."""
    assert limit(lambda n: filled_to(ball(5, n), [-3.0]).volume_m3[0], 60) == pytest.approx(54.45427267, rel=2e-5)


@pytest.mark.parametrize(
    ("share_of_height", "share"),
    # The area of a circle's segment, R² acos((R − h)/R) − (R − h)√(2Rh − h²), over the circle's.
    [
        (0.1, 0.052044), (0.2, 0.142378), (0.25, 0.195501), (0.3, 0.252316), (0.4, 0.373530), (0.5, 0.5),
        (0.6, 0.626470), (0.7, 0.747684), (0.75, 0.804499), (0.8, 0.857622), (0.9, 0.947956),
    ],
)  # fmt: skip
def test_tank_on_its_side(share_of_height: float, share: float) -> None:
    """Half full it is 7.854 of 15.708 m³ by the tank calculator of processconvert.com too (2 m across, 5 m long)."""
    tank = body(prism(circle((0, 1), 1.0, Round.EQUAL_AREA, 2048), 0, 5, 0))
    assert tank.volume == pytest.approx(15.708, abs=5e-4)
    assert filled_to(tank, [2 * share_of_height]).volume_m3[0] / tank.volume == pytest.approx(share, abs=2e-6)


def test_box_less_post_and_less_step() -> None:
    assert SOLIDS["locker less post"].volume == pytest.approx(0.356073009183, rel=1e-11)
    assert SOLIDS["locker less post"].centroid == pytest.approx([0.6, 0.3, 0.25], rel=1e-12)
    stepped = SOLIDS["locker less step"]
    assert stepped.volume == pytest.approx(0.33, rel=1e-12)
    assert stepped.centroid == pytest.approx([0.6364, 0.3136, 0.2614], abs=5e-5)


# ---- ships


def test_wigley_hull() -> None:
    """W. C. S. Wigley's hull (from memory); its figures are integrals of polynomials, done by hand in sympy.

    V = 4LBT/9, waterplane 2LB/3, centre of buoyancy 3T/8 down, BM across 3B²/(35T), along 3L²/(40T), and the
    centre of each half 3/8 of the way out; wetted surface by quadrature.
    """
    found = []
    for n in (24, 48):
        hull = wigley(10, 1, 0.625, n)
        held = filled_to(hull, [0.0])
        volume = held.volume_m3[0]
        found.append(
            [
                volume,
                held.plan_area_m2[0],
                held.centroid_m[0, 2],
                held.transverse_m4[0] / volume,
                held.longitudinal_m4[0] / volume,
                hull.split((1, 0, 0), 0)[0].centroid[0],
                hull.area - held.plan_area_m2[0],
            ]
        )
        assert volume == pytest.approx(hull.volume, rel=1e-12)
        assert held.plan_centroid_m[0] == pytest.approx([0, 0], abs=1e-12)
    coarse, fine = np.array(found)
    expected = [2.777777778, 6.666666667, -0.234375, 0.137142857, 12, 1.875, 14.879063]
    assert (4 * fine - coarse) / 3 == pytest.approx(np.array(expected), rel=2e-5)
    assert fine == pytest.approx(np.array(expected), rel=2e-3)


def test_waterplane_of_a_ship_by_its_half_ordinates() -> None:
    """Derrett, Ship Stability for Masters and Mates, p. 74: 120 m, half-ordinates in metres.

    The book's 1207 m² is Simpson's rule, for a fair curve. Straight lines from ordinate to ordinate, as a survey is
    joined unless it says fair, are the trapezoidal rule: 1174.0 m².
    """
    half = np.array([0, 3.7, 5.9, 7.6, 7.5, 4.6, 0.1])
    x = 20.0 * np.arange(7)
    outline = np.vstack([np.column_stack([x, -half]), np.column_stack([x, half])[:0:-1]])
    area = filled_to(body(prism(outline, 0, 1, 2)), [1.0]).plan_area_m2[0]
    assert area == pytest.approx(1174.0, rel=1e-12)
    simpson = 20 / 3 * float(half @ [1, 4, 2, 4, 2, 4, 1]) * 2
    assert simpson == pytest.approx(1207, abs=0.5)
    assert area == pytest.approx(simpson, rel=0.03)


def test_section_of_a_builders_sheet() -> None:
    """University of Southampton, exercise on the Cutty Sark's tonnage sheet: 20.4 ft deep, half-breadths in feet."""
    half = float(FOOT) * np.array([17.15, 17.40, 17.45, 17.30, 16.10, 10.65, 0.60])
    z = -float(FOOT) * 20.4 * np.arange(7) / 6
    outline = np.vstack([np.column_stack([half, z]), np.column_stack([-half, z])[::-1]])
    section = body(prism(outline, 0, 1, 0)).volume / float(FOOT) ** 2
    assert section == pytest.approx(596.87, abs=5e-3)  # trapezoidal; Simpson's rule gives 603.5


# ---- other kernels


def sides(solid: Solid) -> pyvista.PolyData:
    return pyvista.PolyData.from_regular_faces(solid.vertices, solid.triangles)


@pytest.mark.parametrize("name", SOLIDS)
def test_vtk_agrees(name: str) -> None:
    """vtkMassProperties."""
    seen = sides(SOLIDS[name])
    assert SOLIDS[name].volume == pytest.approx(seen.volume, rel=1e-9)
    assert SOLIDS[name].area == pytest.approx(seen.area, rel=1e-9)


@pytest.mark.parametrize("name", SOLIDS)
def test_libigl_agrees(name: str) -> None:
    solid = SOLIDS[name]
    centroid, volume = igl.centroid(np.array(solid.vertices), np.array(solid.triangles))
    size = float(np.ptp(solid.bounds, axis=0).max())
    assert solid.volume == pytest.approx(volume, rel=1e-12)
    assert solid.centroid == pytest.approx(centroid, abs=1e-12 * size)


def test_opencascade_agrees() -> None:
    """Cylinders and ruled lofts as such, with no facets, in OpenCASCADE (through netgen)."""
    occ = pytest.importorskip("netgen.occ", exc_type=ImportError)

    def cylinder(at: tuple[float, float, float], way: object, radius: float, height: float) -> object:
        return occ.Cylinder(occ.Pnt(*at), way, radius, height)

    def wire(corners: Points) -> object:
        ends = zip(corners.tolist(), np.roll(corners, -1, axis=0).tolist(), strict=True)
        return occ.Wire([occ.Segment(occ.Pnt(*a), occ.Pnt(*b)) for a, b in ends])

    locker = occ.Box(occ.Pnt(0, 0, 0), occ.Pnt(1.2, 0.6, 0.5))
    post = cylinder((0.6, 0.3, -0.1), occ.Z, 0.05, 0.7)
    step = occ.Box(occ.Pnt(-0.1, -0.1, -0.1), occ.Pnt(0.4, 0.3, 0.25))
    x, y, z = (cylinder(at, way, 1, 4) for at, way in (((-2, 0, 0), occ.X), ((0, -2, 0), occ.Y), ((0, 0, -2), occ.Z)))
    theirs = {
        "locker less post": (locker - post, 1e-11),
        "locker less step": (locker - step, 1e-11),
        "locker less both": (locker - post - step, 1e-11),
        "two cylinders": (x * y, 1e-6),
        "three cylinders": (x * y * z, 1e-6),
        "obelisk": (occ.ThruSections([wire(oblong(5, 4, 0)), wire(oblong(3, 1, 6))], solid=True), 1e-11),
        "frustum of a pyramid": (occ.ThruSections([wire(oblong(4, 4, 0)), wire(oblong(2, 2, 6))], solid=True), 1e-11),
    }
    for name, (shape, tolerance) in theirs.items():
        assert SOLIDS[name].volume == pytest.approx(shape.mass, rel=tolerance), name
        assert SOLIDS[name].centroid == pytest.approx(list(shape.center), abs=1e-6), name
    assert (locker - post).mass == pytest.approx(0.356073009183, rel=1e-11)


def test_opencascade_fills_a_tank_to_the_same_height() -> None:
    occ = pytest.importorskip("netgen.occ", exc_type=ImportError)
    heights = np.array([0.21, 0.9, 1.4, 1.87])
    held = filled_to(body(prism(circle((0, 1), 1.0, Round.EQUAL_AREA, 2048), 0, 5, 0)), heights)
    whole = occ.Cylinder(occ.Pnt(0, 0, 1), occ.X, 1, 5)
    for k, h in enumerate(heights.tolist()):
        below = whole * occ.Box(occ.Pnt(-1, -3, -1), occ.Pnt(6, 3, h))
        assert held.volume_m3[k] == pytest.approx(below.mass, rel=1e-5)
        assert held.centroid_m[k] == pytest.approx(list(below.center), abs=1e-5)


# ---- published bodies


def folder() -> Path:
    named = os.environ.get("TAPELOFT_TEST_DATA")
    if not named:
        pytest.skip("TAPELOFT_TEST_DATA names no folder with meshes from elsewhere")
    return Path(named)


def read(path: Path) -> Solid:
    seen = trimesh.load_mesh(path)  # double precision, where VTK's own reader keeps single
    return closed(np.array(seen.vertices, np.float64), np.array(seen.faces, np.int64))


@pytest.mark.outside
def test_machine_parts_with_published_mass_properties() -> None:
    """Two parts and their mass properties as published with trimesh (MIT); a thousandth, for their tessellation."""
    parts = json.loads((folder() / "meshes" / "mass_properties.json").read_text())
    assert len(parts) == 2
    for part in parts:
        solid = read(folder() / "meshes" / part["filename"])
        size = float(np.ptp(solid.bounds, axis=0).max())
        assert solid.volume == pytest.approx(part["mass"] / part["density"], rel=1e-3)
        assert solid.area == pytest.approx(part["area"], rel=1e-3)
        assert solid.centroid == pytest.approx(part["center_mass"], abs=1e-3 * size)


@pytest.fixture(scope="module")
def container_ship(tmp_path_factory: pytest.TempPathFactory) -> Solid:
    """The DTC hull, scale 1 : 59.407, as Debian's openfoam-examples has it (GPL-3+): fetched, never kept."""
    name, where = "DTC-scaled.stl.gz", tmp_path_factory.mktemp("hull")
    if os.environ.get("TAPELOFT_FETCH") == "1":
        subprocess.run(["apt-get", "download", "openfoam-examples"], cwd=where, check=True, capture_output=True)
        subprocess.run(["dpkg-deb", "-x", *map(str, where.glob("*.deb")), str(where)], check=True, capture_output=True)
        packed = next(where.rglob(name))
    else:
        packed = folder() / name
        if not packed.exists():
            pytest.skip(f"no {name} in TAPELOFT_TEST_DATA, and TAPELOFT_FETCH is not 1")
    (where / "hull.stl").write_bytes(gzip.decompress(packed.read_bytes()))
    return read(where / "hull.stl")


@pytest.mark.outside
def test_container_ship_at_its_design_draught(container_ship: Solid) -> None:
    """O. el Moctar, V. Shigunov, T. Zorn, Ship Technology Research 59(3), 2012, pp. 50–65 (figures from memory)."""
    held, scale = filled_to(container_ship, [0.244]), 59.407
    wetted = container_ship.split((0, 0, -1), -0.244)[0].area - held.plan_area_m2[0]
    assert held.volume_m3[0] == pytest.approx(0.827, rel=1e-3)
    assert wetted == pytest.approx(6.243, rel=1e-3)
    assert held.volume_m3[0] * scale**3 == pytest.approx(173_467, rel=1e-3)
    assert wetted * scale**2 == pytest.approx(22_032, rel=1e-3)
    # the same mesh cut by trimesh, by VTK and by manifold3d, which agree to 1e-9
    assert held.volume_m3[0] == pytest.approx(0.826707, rel=1e-6)
    assert held.plan_area_m2[0] == pytest.approx(4.33858, rel=2e-6)
    assert held.centroid_m[0] == pytest.approx([2.92999, 0, 0.13445], abs=5e-6)
    assert container_ship.volume == pytest.approx(2.4363056137415, rel=1e-12)
    assert container_ship.area == pytest.approx(16.184589, rel=1e-7)


@pytest.mark.outside
def test_container_ship_by_draught(container_ship: Solid) -> None:
    """Volume and waterplane area of the same mesh by other kernels' cuts."""
    held = filled_to(container_ship, [0.1, 0.15, 0.2, 0.244, 0.3])
    assert held.volume_m3 == pytest.approx([0.278139, 0.451747, 0.643295, 0.826707, 1.080539], abs=1e-6)
    assert held.plan_area_m2 == pytest.approx([3.29551, 3.65021, 4.00804, 4.33858, 4.65739], abs=1e-5)
