"""Mesh files as yards get them: three formats, mended where there is one way to, refused in words otherwise."""

import math
import os
import struct
import time
import tracemalloc
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tapeloft.model.facets import body, standing
from tapeloft.model.files.meshes import obj, passing, ply, stl
from tapeloft.model.files.meshfile import MOST_TRIANGLES, BadMesh, read_mesh
from tapeloft.shapes.mesh import Mesh
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round

SPACE = Bounds((0, 0, 0), (9, 9, 9))
TETRAHEDRON = np.array([[0, 0, 0], [300, 0, 0], [0, 200, 0], [0, 0, 100.0]])
OUTWARD = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
VOLUME = 300 * 200 * 100 / 6  # a third of base × height


def stl_bytes(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    facets = np.zeros(len(triangles), stl.FACET)
    facets["corners"] = corners[triangles]
    return bytes(80) + struct.pack("<I", len(triangles)) + facets.tobytes()


def stl_text(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    loops = "".join(
        "facet normal 0 0 0\n outer loop\n"
        + "".join("  vertex {:.17g} {:.17g} {:.17g}\n".format(*corners[k]) for k in triangle)
        + " endloop\nendfacet\n"
        for triangle in triangles
    )
    return f"solid tank\n{loops}endsolid tank\n".encode()


def obj_text(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    lines = ["v {:.17g} {:.17g} {:.17g}".format(*corner) for corner in corners]
    return "\n".join(["o tank", *lines, *("f {} {} {}".format(*(t + 1)) for t in triangles)]).encode()


def ply_text(corners: np.ndarray, triangles: np.ndarray) -> bytes:
    head = ply_head("ascii", len(corners), len(triangles))
    lines = ["{:.17g} {:.17g} {:.17g}".format(*corner) for corner in corners]
    return head + "\n".join([*lines, *("3 {} {} {}".format(*t) for t in triangles)]).encode()


def ply_bytes(corners: np.ndarray, triangles: np.ndarray, order: str = "<") -> bytes:
    name = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    loops = b"".join(struct.pack(f"{order}B3i", 3, *t) for t in triangles.tolist())
    return ply_head(name, len(corners), len(triangles)) + corners.astype(f"{order}f8").tobytes() + loops


def ply_head(written: str, corners: int, faces: int) -> bytes:
    return (
        f"ply\nformat {written} 1.0\ncomment by hand\nelement vertex {corners}\n"
        "property double x\nproperty double y\nproperty double z\n"
        f"element face {faces}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()


WRITERS = {
    "binary.stl": stl_bytes,
    "text.stl": stl_text,
    "tank.obj": obj_text,
    "text.ply": ply_text,
    "little.ply": ply_bytes,
    "big.ply": lambda corners, triangles: ply_bytes(corners, triangles, ">"),
}
by_writer = pytest.mark.parametrize("name", WRITERS)


def written(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def box(low: tuple[float, ...], high: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    made = trimesh.creation.box(bounds=[low, high])
    return np.array(made.vertices), np.array(made.faces)


def together(*parts: tuple[np.ndarray, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    starts = np.cumsum([0, *(len(corners) for corners, _ in parts)])
    faces = [triangles + start for (_, triangles), start in zip(parts, starts, strict=False)]
    return np.concatenate([corners for corners, _ in parts]), np.concatenate(faces)


# read


@by_writer
def test_each_format_gives_the_body_that_was_written(tmp_path: Path, name: str) -> None:
    surface = read_mesh(written(tmp_path, name, WRITERS[name](TETRAHEDRON, OUTWARD)))
    assert surface.remarks == ()
    assert len(surface.vertices) == 4
    assert body(surface).volume == pytest.approx(VOLUME, rel=1e-12)


@pytest.mark.parametrize(
    ("suffix", "options", "close"),
    [
        ("stl", {}, 1e-6),
        ("stl_ascii", {}, 1e-7),
        ("obj", {}, 1e-7),
        ("ply", {}, 1e-6),
        ("ply", {"encoding": "ascii"}, 1e-6),
    ],
)
def test_files_by_another_program_are_read_as_it_meant_them(
    tmp_path: Path, suffix: str, options: dict[str, str], close: float
) -> None:
    """trimesh writes; what it holds itself is the measure, to the seven digits of its single-precision files."""
    there = trimesh.creation.annulus(r_min=30, r_max=50, height=80)
    made = there.export(file_type=suffix, **options)
    path = written(tmp_path, f"ring.{suffix[:3]}", made if isinstance(made, bytes) else made.encode())
    assert body(read_mesh(path)).volume == pytest.approx(there.volume, rel=close)


def test_trimesh_reads_the_same_from_the_files_written_here(tmp_path: Path) -> None:
    for name, writer in WRITERS.items():
        path = written(tmp_path, name, writer(TETRAHEDRON, OUTWARD))
        assert trimesh.load_mesh(path, process=True).volume == pytest.approx(VOLUME, rel=1e-7)


def test_faces_with_more_corners_are_filled_hollow_ones_too(tmp_path: Path) -> None:
    """A channel 40 × 30 × 100 with a slot 20 × 20: 80 000 mm³; six-cornered outlines as one face each."""
    outline = [(0, 0), (40, 0), (40, 30), (30, 30), (30, 10), (10, 10), (10, 30), (0, 30)]
    corners = [f"v {x} {y} {z}" for z in (0, 100) for x, y in outline]
    ends = ["f " + " ".join(map(str, range(8, 0, -1))), "f " + " ".join(map(str, range(9, 17)))]
    sides = [f"f {i + 1} {(i + 1) % 8 + 1} {(i + 1) % 8 + 9} {i + 9}" for i in range(8)]
    surface = read_mesh(written(tmp_path, "channel.obj", "\n".join([*corners, *ends, *sides]).encode()))
    assert body(surface).volume == pytest.approx((40 * 30 - 20 * 20) * 100, rel=1e-12)


def test_ply_passes_over_what_is_no_corner_or_face() -> None:
    head = b"""ply
format binary_big_endian 1.0
element camera 1
property float fov
property list uchar float matrix
element vertex 3
property float x
property uchar red
property float y
property float z
element face 2
property list uchar uint vertex_index
property float quality
end_header
"""
    camera = struct.pack(">fB2f", 60, 2, 1, 1)
    corners = b"".join(struct.pack(">fBff", x, 9, y, 0) for x, y in ((0, 0), (1, 0), (0, 1)))
    faces = struct.pack(">B3If", 3, 0, 1, 2, 0.5) + struct.pack(">B4If", 4, 0, 1, 2, 1, 0.5)
    places, (threes, fours) = ply.read(head + camera + corners + faces)
    assert places.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0]]
    assert (threes.tolist(), fours.tolist()) == ([[0, 1, 2]], [[0, 1, 2, 1]])


def test_obj_counts_back_and_goes_on_over_the_end_of_a_line() -> None:
    corners, (faces,) = obj.read(
        b"# tank\nmtllib tank.mtl\nv 0 0 0 1\nv 1 0 0\nv 0 \\\n 1 0\nvn 0 0 1\nf -3/1/1 -2/1/1 \\\r\n -1"
    )
    assert corners.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0]]
    assert faces.tolist() == [[0, 1, 2]]


@pytest.mark.parametrize(("unit", "metres"), [("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254)])
def test_the_unit_scales_and_the_place_moves(tmp_path: Path, unit: str, metres: float) -> None:
    surface = read_mesh(written(tmp_path, "tank.stl", stl_bytes(TETRAHEDRON, OUTWARD)))
    solid = standing(Mesh(surface, unit, (0.5, 0.2, 0.1)), SPACE, Round.OUTSIDE)  # type: ignore[arg-type]
    assert solid.volume == pytest.approx(VOLUME * metres**3, rel=1e-12)
    assert solid.bounds[0] == pytest.approx([0.5, 0.2, 0.1], abs=1e-12)


# mended


@by_writer
def test_a_surface_that_is_inside_out_is_turned(tmp_path: Path, name: str) -> None:
    surface = read_mesh(written(tmp_path, name, WRITERS[name](TETRAHEDRON, OUTWARD[:, ::-1])))
    assert surface.remarks == ("was inside out, and is turned",)
    assert body(surface).volume == pytest.approx(VOLUME, rel=1e-12)


def read_stl(folder: Path, *parts: tuple[np.ndarray, np.ndarray]) -> Polyhedron:
    return read_mesh(written(folder, "parts.stl", stl_bytes(*together(*parts))))


def test_two_bodies_stand_as_one_obstruction(tmp_path: Path) -> None:
    surface = read_stl(tmp_path, box((0, 0, 0), (1, 1, 1)), box((2, 0, 0), (3, 1, 2)))
    assert surface.remarks == ("holds 2 separate bodies, which stand as one obstruction",)
    assert body(surface).volume == pytest.approx(3, rel=1e-12)


def test_what_two_bodies_share_is_counted_once(tmp_path: Path) -> None:
    surface = read_stl(tmp_path, box((0, 0, 0), (2, 2, 2)), box((1, 1, 1), (3, 3, 3)))
    assert "counted once" in surface.remarks[1]
    assert body(surface).volume == pytest.approx(15, rel=1e-12)


def test_a_cavity_is_filled(tmp_path: Path) -> None:
    corners, triangles = box((1, 1, 1), (2, 2, 2))
    surface = read_stl(tmp_path, box((0, 0, 0), (3, 3, 3)), (corners, triangles[:, ::-1]))
    assert surface.remarks == ("has a cavity inside, which is no space to stow in",)
    assert body(surface).volume == pytest.approx(27, rel=1e-12)


def test_one_body_of_two_is_inside_out(tmp_path: Path) -> None:
    corners, triangles = box((4, 0, 0), (5, 1, 1))
    surface = read_stl(tmp_path, box((0, 0, 0), (3, 3, 3)), (corners, triangles[:, ::-1]))
    assert surface.remarks[0] == "was inside out, and is turned"
    assert body(surface).volume == pytest.approx(28, rel=1e-12)


def test_a_face_without_area_does_no_harm(tmp_path: Path) -> None:
    triangles = np.vstack([OUTWARD, [[0, 0, 1]]])
    surface = read_mesh(written(tmp_path, "tank.stl", stl_bytes(TETRAHEDRON, triangles)))
    assert len(surface.faces) == 4


# refused


def apart(corners: np.ndarray, triangles: np.ndarray, face: int) -> tuple[np.ndarray, np.ndarray]:
    return corners, np.delete(triangles, face, axis=0)


def nudged() -> tuple[np.ndarray, np.ndarray]:
    """A box one of whose corners is a hair off in one face: the file looks closed and is not."""
    corners, triangles = box((0, 0, 0), (1, 1, 1))
    loose = triangles.copy()
    loose[0, 0] = len(corners)
    return np.vstack([corners, corners[triangles[0, 0]] + 1e-6]), loose


def bow_tied() -> tuple[np.ndarray, np.ndarray]:
    """A prism on a crossing outline: every edge has two faces, and the surface runs through itself."""
    corners = np.array([(x, y, z) for z in (0, 1) for x, y in ((0, 0), (3, 2), (3, 0), (0, 1))], float)
    loops = [(0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)]
    loops += [t for i in range(4) for t in ((i, (i + 1) % 4, (i + 1) % 4 + 4), (i, (i + 1) % 4 + 4, i + 4))]
    return corners, np.array(loops)


PLATE = (np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]]), np.array([[0, 1, 2], [0, 2, 1]]))
STL_200 = bytes(80) + struct.pack("<I", 50_000_000) + bytes(116)
PLY_50M = ply_head("ascii", 50_000_000, 12)
TANK = (TETRAHEDRON, OUTWARD)

HOSTILE: dict[str, tuple[str, bytes, str]] = {
    "50 million triangles in 200 bytes, STL": ("a.stl", STL_200, "declares 50000000 triangles"),
    "the same, passing for text": ("a.stl", b"solid " + STL_200[6:], "declares 50000000 triangles"),
    "50 million corners in 200 bytes, PLY": ("a.ply", PLY_50M.ljust(200), 'declares 50000000 of "vertex"'),
    "10^30 corners": ("a.ply", PLY_50M.replace(b"50000000", b"9" * 30), "its head says"),
    "50 million faces of nothing": (
        "a.ply",
        b"ply\nformat ascii 1.0\nelement vertex 0\nelement face 50000000\nend_header\n" + b"\n" * 9,
        "declares 50000000",
    ),
    "a list of 4 billion": (
        "a.ply",
        b"ply\nformat binary_little_endian 1.0\nelement face 1\nproperty list uint int vertex_indices\nend_header\n"
        + b"\xff" * 12,
        'ends before its 1 of "face" do',
    ),
    "empty": ("a.stl", b"", "is empty"),
    "blank": ("a.obj", b" \n \n", "is empty"),
    "too short": ("a.stl", b"STL", "shorter than the head"),
    "not STL": ("a.stl", b"\x89PNG" * 40, "declares"),
    "not OBJ": ("a.obj", b"\x89PNG" * 40, "holds no faces"),
    "not PLY": ("a.ply", b"\x89PNG" * 40, "is no PLY file"),
    "another name": ("a.step", b"ISO-10303-21;", "has not the name of an STL, OBJ or PLY file"),
    "no name": ("mesh", b"solid", "has not the name"),
    "cut short, STL": ("a.stl", stl_bytes(*TANK)[:-7], "declares 4 triangles, which take 284 bytes, and has 277"),
    "cut short, text": ("a.stl", stl_text(*TANK)[:400], "middle of a face|three corners|no line of"),
    "cut short, OBJ": ("a.obj", obj_text(*TANK)[:-12], "has only 1 of its corners|is not closed"),
    "cut short, PLY": ("a.ply", ply_bytes(*TANK)[:-7], "ends before|more than"),
    "cut short, PLY text": ("a.ply", ply_text(*TANK)[:-12], 'declares 4 of "face", and has 3|numbers where'),
    "text in a number, STL": ("a.stl", stl_text(*TANK).replace(b"300", b"3oo", 1), '"3oo" is no number'),
    "text in a number, OBJ": ("a.obj", obj_text(*TANK).replace(b"300", b"3oo", 1), '"3oo" is no number'),
    "text in a number, PLY": ("a.ply", ply_text(*TANK).replace(b"300 ", b"3oo ", 1), "is not all numbers"),
    "a decimal comma": ("a.obj", obj_text(*TANK).replace(b"300", b"300,5", 1), '"300,5" is no number'),
    "prose": ("a.stl", b"solid as a rock\nand as heavy\nfacet\n", "line 2 is no line of an STL file"),
    "two corners in a face": ("a.stl", stl_text(*TANK).replace(b"  vertex 0 0 0\n", b"", 1), "three corners"),
    "no faces, STL": ("a.stl", bytes(84), "holds no faces"),
    "no faces, OBJ": ("a.obj", b"v 0 0 0\nv 1 0 0\nl 1 2\n", "holds no faces"),
    "no faces, PLY": ("a.ply", ply_head("ascii", 1, 0) + b"0 0 0\n", "holds no faces"),
    "NaN, STL": (
        "a.stl",
        stl_bytes(TETRAHEDRON * [[math.nan], [1], [1], [1]], OUTWARD),
        "no number \\(NaN or infinite\\)",
    ),
    "NaN, OBJ": ("a.obj", obj_text(*TANK).replace(b"300", b"nan", 1), "at corner 2"),
    "infinite": ("a.ply", ply_text(*TANK).replace(b"300", b"inf", 1), "NaN or infinite"),
    "too many digits": ("a.obj", obj_text(*TANK).replace(b"300", b"1e999", 1), "NaN or infinite"),
    "beyond all size": ("a.obj", obj_text(*TANK).replace(b"300", b"1e200", 1), "beyond all size, at corner 2"),
    "a corner that is not there": (
        "a.obj",
        obj_text(*TANK).replace(b"f 2 3 4", b"f 2 3 5"),
        "corner which is not there",
    ),
    "corner 0": ("a.obj", obj_text(*TANK).replace(b"f 2 3 4", b"f 2 3 0"), "names corner 0, which is not there"),
    "counted back too far": ("a.obj", obj_text(*TANK).replace(b"f 2 3 4", b"f 2 3 -9"), "names corner -9"),
    "a corner below zero, PLY": (
        "a.ply",
        ply_text(*TANK).replace(b"3 1 2 3", b"3 1 2 -1"),
        "corner which is not there",
    ),
    "half a corner": ("a.ply", ply_text(*TANK).replace(b"3 1 2 3", b"3 1 2 2.5"), "whole number"),
    "a word for a corner": ("a.obj", obj_text(*TANK).replace(b"f 2 3 4", b"f 2 3 x"), 'names no corner: "x"'),
    "a face of two corners": ("a.obj", obj_text(*TANK) + b"\nf 1 2", "face 5 has only 2 of its corners"),
    "a corner of two numbers": ("a.obj", b"v 0 0\n", "line 1 has not three numbers"),
    "no size": ("a.stl", stl_bytes(TETRAHEDRON * 0 + 7, OUTWARD), "has no size: all its corners lie in one place"),
    "a line": ("a.stl", stl_bytes(TETRAHEDRON * [[1, 0, 0]] * [[0], [1], [0], [0]], OUTWARD), "each of its faces"),
    "a sheet": ("a.stl", stl_bytes(*PLATE), "is flat, and encloses nothing"),
    "a flat leaf beside it": ("a.stl", stl_bytes(*together(TANK, (PLATE[0] + 900, PLATE[1]))), "is flat"),
    "a hole": (
        "a.stl",
        stl_bytes(*apart(*TANK, 3)),
        r"3 open edges in 1 hole, 900\.39\d* round, from \(0, .*\) to \(300, 0, 0\)",
    ),
    "two holes": (
        "a.stl",
        stl_bytes(*together(apart(*TANK, 3), apart(TETRAHEDRON / 2 + 900, OUTWARD, 0))),
        "6 open edges in 2 holes, the largest, 900.39",
    ),
    "open by a hair": ("a.obj", obj_text(*nudged()), "4 open edges"),
    "one face turned": ("a.stl", stl_bytes(TETRAHEDRON, np.vstack([OUTWARD[:3], OUTWARD[3:, ::-1]])), "turned against"),
    "a wall inside": (
        "a.obj",
        obj_text(TETRAHEDRON, np.vstack([OUTWARD, OUTWARD[3:], OUTWARD[3:, ::-1]])),
        "has 3 edges where more than two faces meet",
    ),
    "two that touch along an edge": (
        "a.stl",
        stl_bytes(*together(box((0, 0, 0), (1, 1, 1)), box((1, 1, 0), (2, 2, 1)))),
        r"has 1 edge where more than two faces meet, from \(1, 1, [01]\) to \(1, 1, [01]\)",
    ),
    "through itself": ("a.stl", stl_bytes(*bow_tied()), "runs through itself at|touches"),
    "too many": (
        "a.stl",
        bytes(80) + struct.pack("<I", MOST_TRIANGLES + 1) + bytes(50 * (MOST_TRIANGLES + 1)),
        "more than 500000",
    ),
}


@pytest.mark.parametrize(("name", "data", "words"), [pytest.param(*case, id=what) for what, case in HOSTILE.items()])
def test_what_gives_no_body_is_refused_in_words(tmp_path: Path, name: str, data: bytes, words: str) -> None:
    with pytest.raises(BadMesh, match=words) as refusal:
        read_mesh(written(tmp_path, name, data))
    assert refusal.value.what.startswith(f'"{name}" ')
    assert refusal.value.mend
    assert len(refusal.value.what) < 200


@pytest.mark.parametrize(("name", "data"), [("a.stl", STL_200), ("a.ply", PLY_50M)])
def test_nothing_is_made_for_a_count_that_the_file_cannot_hold(tmp_path: Path, name: str, data: bytes) -> None:
    path = written(tmp_path, name, data)
    tracemalloc.start()
    start = time.perf_counter()
    with pytest.raises(BadMesh):
        read_mesh(path)
    assert time.perf_counter() - start < 0.5
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()


def test_a_file_that_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(BadMesh, match=r'"gone\.stl" is not there'):
        read_mesh(tmp_path / "gone.stl")
    (tmp_path / "folder.stl").mkdir()
    with pytest.raises(BadMesh, match="is a folder"):
        read_mesh(tmp_path / "folder.stl")
    os.mkfifo(tmp_path / "pipe.ply")
    with pytest.raises(BadMesh, match="is no ordinary file"):
        read_mesh(tmp_path / "pipe.ply")
    with pytest.raises(BadMesh, match="is not there"):
        read_mesh(tmp_path / "a\0b.stl")
    with pytest.raises(BadMesh, match="cannot be read"):
        read_mesh(tmp_path / ("x" * 300 + ".stl"))


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    path = written(tmp_path, "locked.stl", stl_bytes(*TANK))
    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(BadMesh, match=r'"locked\.stl" cannot be read: Permission denied'):
        read_mesh(path)


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(sorted(WRITERS)), st.data())
def test_a_damaged_file_is_refused_or_is_a_closed_body(name: str, data: st.DataObject) -> None:
    whole = bytearray(WRITERS[name](TETRAHEDRON, OUTWARD))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(whole) - 1))
        match data.draw(st.sampled_from(["change", "cut", "double"])):
            case "change":
                whole[at] = data.draw(st.integers(0, 255))
            case "cut":
                del whole[at : at + data.draw(st.integers(1, 40))]
            case _:
                whole[at:at] = whole[at : at + data.draw(st.integers(1, 40))]
        if not whole:
            return
    with TemporaryDirectory() as folder:
        path = written(Path(folder), name, bytes(whole))
        try:
            surface = read_mesh(path)
        except BadMesh:
            return
    assert body(surface).volume > 0


# a surface that runs through itself


@settings(deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=3, max_size=3), st.floats(0.02, 0.9))
def test_two_balls_cross_where_their_centres_are_nearer_than_their_radii(way: list[float], near: float) -> None:
    """Two balls of radius 1 whose surfaces meet, or one clear of the other, told by the distance of their centres."""
    if np.linalg.norm(way) < 1e-3:
        return
    ball = trimesh.creation.icosphere(2)
    inner = ball.triangles_center
    least, most = float(np.linalg.norm(inner, axis=1).min()), 1.0
    unit = np.array(way) / np.linalg.norm(way)
    for distance, meets in ((2 * least * near, True), (2 * most + near, False)):
        corners, triangles = together((ball.vertices, ball.faces), (ball.vertices + unit * distance, ball.faces))
        assert (passing.crossing(corners, triangles) is not None) == meets


def test_sides_that_match_do_not_count_as_crossing() -> None:
    assert passing.crossing(*together(box((0, 0, 0), (1, 1, 1)), box((0, 0, 1), (1, 1, 2)))) is None


def test_a_foot_on_a_face_counts_as_touching() -> None:
    """Its corners and edges lie on the face: whether by design or by a hair, no count of edges tells."""
    assert passing.crossing(*together(box((0, 0, 0), (1, 1, 1)), box((0.25, 0.25, 1), (0.75, 0.75, 2)))) is not None


def test_boxes_that_share_a_face_plane_and_overlap_cross() -> None:
    assert passing.crossing(*together(box((0, 0, 0), (2, 2, 1)), box((1, 1, 0), (3, 3, 1)))) is not None
