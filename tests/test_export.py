"""Meshes for the yard: what leaves is read back by other programs' readers, and is the same solid.

Readers, none of them ours: trimesh, VTK (through pyvista), libigl, lib3mf (the 3MF Consortium's own), and for
3MF and GLB the plain text of the standards (3MF Core Specification 1.2.3; glTF 2.0, ISO/IEC 12113).
"""

import io
import json
import os
import re
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sin
from pathlib import Path
from xml.etree import ElementTree

import igl
import lib3mf
import numpy as np
import pytest
import pyvista
import trimesh

import tapeloft.shapes
from tapeloft.model.compartment import Bay, Compartment, Piece, build
from tapeloft.model.errors import FileError, GeometryError, UnknownName
from tapeloft.model.export import CHOICES, encoded, exported, format_of
from tapeloft.model.files.formats.registry import FORMATS, Format, NamedSolid, register
from tapeloft.model.solid import Solid, closed
from tapeloft.model.survey.boat import read_survey

FLOAT32 = 2.0**-24  # half a unit in the last place, relative (IEEE 754 binary32)


def solid(mesh: trimesh.Trimesh) -> Solid:
    return closed(mesh.vertices, mesh.faces)


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Solid:
    return solid(trimesh.creation.box(bounds=(low, high)))


# A space 1.2 × 0.8 × 0.9 m with its floor raked 7 in 24, a post of 64 sides and 0.11 m radius through it, and a
# board that parts it at x = 2.7: nothing lies on round numbers once it is cut.
GROSS, _ = box((2.0, -0.3, 0.1), (3.2, 0.5, 1.0)).split((0.28, 0.0, 0.96), 1.0)
POST = solid(trimesh.creation.cylinder(0.11, 2.0, sections=64)).moved((2.35, 0.07, 0.5)) ^ GROSS
BOARD = box((2.7, -1.0, -1.0), (2.712, 1.0, 2.0)) ^ GROSS
NET = GROSS.cleared_of([POST, BOARD])
AFT, FORE = sorted(NET.parts(), key=lambda part: part.centroid[0])
PARTS = [NamedSolid("net", NET), NamedSolid("bay 1", AFT), NamedSolid("Pfosten & <Süd>", POST)]
LOCKER = Compartment(
    "sail locker",
    None,  # type: ignore[arg-type]  # an export asks nothing of the survey
    GROSS,
    (Piece("post", POST, POST, None), Piece("board", BOARD, BOARD, None)),  # type: ignore[arg-type]
    NET,
    (Bay("bay 1", AFT), Bay("bay 2", FORE)),
    {},
    (),
)


def test_the_solids_are_what_they_are_meant_to_be() -> None:
    """Over the floor 0.28 x + 0.96 z = 1 an upright prism holds its plan area times the height at its middle."""

    def height(x: float) -> float:
        return 1.0 - (1.0 - 0.28 * x) / 0.96

    assert pytest.approx(1.2 * 0.8 * height(2.6), rel=1e-9) == GROSS.volume
    post = 32 * 0.11**2 * sin(2 * pi / 64) * height(2.35)
    assert pytest.approx(post, rel=1e-9) == POST.volume
    board = 0.012 * 0.8 * height(2.706)
    assert pytest.approx(GROSS.volume - post - board, rel=1e-9) == NET.volume


# what readers make of a file: {name: (vertices, triangles)}, and how many metres its unit is

Bodies = dict[str, tuple[np.ndarray, np.ndarray]]


def by_trimesh(path: Path) -> Bodies:
    options = {"split_objects": True, "group_material": False} if path.suffix == ".obj" else {}
    scene = trimesh.load_scene(path, process=path.suffix == ".stl", **options)
    bodies = {}
    for node in scene.graph.nodes_geometry:
        turn, name = scene.graph[node]
        mesh = scene.geometry[name].copy().apply_transform(turn)
        bodies[node] = (np.asarray(mesh.vertices), np.asarray(mesh.faces))
    return bodies


def by_vtk(path: Path) -> Bodies:
    data = pyvista.read(path)
    if isinstance(data, pyvista.MultiBlock):
        data = data.combine().extract_surface(algorithm="dataset_surface")
    return {"": (np.asarray(data.points, np.float64), data.faces.reshape(-1, 4)[:, 1:])}


def by_igl(path: Path) -> Bodies:
    vertices, triangles = igl.read_triangle_mesh(str(path))
    vertices, _, _, triangles = igl.remove_duplicate_vertices(vertices, triangles, 0.0)
    return {"": (vertices, triangles)}


def by_lib3mf(path: Path) -> Bodies:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    bodies, meshes = {}, model.GetMeshObjects()
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        assert mesh.IsManifoldAndOriented()
        vertices = np.array([list(corner.Coordinates) for corner in mesh.GetVertices()], np.float64)
        bodies[mesh.GetName()] = (vertices, np.array([list(t.Indices) for t in mesh.GetTriangleIndices()]))
    return bodies


def by_the_3mf_standard(path: Path) -> Bodies:
    core = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    with zipfile.ZipFile(path) as package:
        model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    assert model.get("unit") == "millimeter"
    objects = {o.get("id"): o for o in model.iter(f"{core}object")}
    assert [item.get("objectid") for item in model.iter(f"{core}item")] == list(objects)
    return {
        o.get("name", ""): (
            np.array([[float(v.get(axis, "")) for axis in "xyz"] for v in o.iter(f"{core}vertex")]),
            np.array([[int(t.get(f"v{n}", "")) for n in (1, 2, 3)] for t in o.iter(f"{core}triangle")]),
        )
        for o in objects.values()
    }


@dataclass(frozen=True)
class Reading:
    """A format, a reader of it, and the precision that reader keeps, relative to the furthest coordinate."""

    ending: str
    read: Callable[[Path], Bodies]
    precision: float


READINGS = [
    Reading("stl", by_trimesh, FLOAT32),
    Reading("stl", by_vtk, FLOAT32),
    Reading("stl", by_igl, FLOAT32),
    Reading("obj", by_trimesh, 0.0),
    Reading("obj", by_vtk, 0.0),
    Reading("obj", by_igl, 0.0),
    Reading("ply", by_trimesh, 0.0),
    Reading("ply", by_vtk, FLOAT32),  # VTK's reader keeps single precision
    Reading("ply", by_igl, 0.0),
    Reading("glb", by_trimesh, FLOAT32),
    Reading("glb", by_vtk, FLOAT32),
    Reading("3mf", by_lib3mf, FLOAT32),  # lib3mf keeps single precision
    Reading("3mf", by_the_3mf_standard, 0.0),
]
METRES = {"mm": 1e-3, "m": 1.0}


def volume(vertices: np.ndarray, triangles: np.ndarray) -> float:
    return float(trimesh.Trimesh(vertices, triangles, process=False).volume)


def closes(triangles: np.ndarray) -> bool:
    """Whether every directed edge is met by as many the other way: closed, and all facing one way."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    count: dict[tuple[int, int], int] = {}
    for a, b in edges.tolist():
        count[a, b] = count.get((a, b), 0) + 1
    return all(n == count.get((b, a)) for (a, b), n in count.items())


def may_differ(part: Solid, precision: float) -> float:
    """Return by how much a volume may differ, m³, when every corner is shifted by rounding.

    First order: surface × greatest shift (divergence theorem), a shift being at most √3 times the rounding of
    one coordinate; twice that leaves room for the second order. Floor 1e-9, relative, where nothing is rounded.
    """
    shift = 3**0.5 * precision * float(np.abs(part.vertices).max())
    return max(2 * part.area * shift, 1e-9 * part.volume)


@pytest.mark.parametrize("reading", READINGS, ids=lambda r: f"{r.ending} {r.read.__name__}")
def test_one_part_read_back(tmp_path: Path, reading: Reading) -> None:
    path = tmp_path / f"net.{reading.ending}"
    path.write_bytes(encoded([NamedSolid("net", NET)], reading.ending))
    ((vertices, triangles),) = reading.read(path).values()
    metres = METRES[FORMATS[reading.ending].unit]
    assert len(triangles) == len(NET.triangles)
    assert closes(triangles)
    read = volume(vertices * metres, triangles)
    assert read > 0  # faces outward
    assert abs(read - NET.volume) <= may_differ(NET, reading.precision)


@pytest.mark.parametrize(
    "reading", [r for r in READINGS if FORMATS[r.ending].named], ids=lambda r: f"{r.ending} {r.read.__name__}"
)
def test_several_parts_read_back(tmp_path: Path, reading: Reading) -> None:
    path = tmp_path / f"all.{reading.ending}"
    path.write_bytes(encoded(PARTS, reading.ending))
    bodies = reading.read(path)
    metres = METRES[FORMATS[reading.ending].unit]
    if len(bodies) == 1:  # a reader that knows no names gives all parts as one mesh, in their order
        ((vertices, triangles),) = bodies.values()
        ends = np.cumsum([0, *(len(part.solid.triangles) for part in PARTS)])
        found = [(vertices, triangles[a:b]) for a, b in pairwise(ends)]
    else:
        names = [part.name.replace(" ", "_" if reading.ending == "obj" else " ") for part in PARTS]
        assert set(bodies) == set(names)
        found = [bodies[name] for name in names]
    for part, (vertices, triangles) in zip(PARTS, found, strict=True):
        assert closes(triangles)
        difference = volume(vertices * metres, triangles) - part.solid.volume
        assert abs(difference) <= may_differ(part.solid, reading.precision)


@pytest.mark.parametrize("reading", READINGS, ids=lambda r: f"{r.ending} {r.read.__name__}")
def test_axes(tmp_path: Path, reading: Reading) -> None:
    """Forward, port and up stay x, y and z; in glTF they become z, x and y, for it has +y up and +z ahead."""
    path = tmp_path / f"net.{reading.ending}"
    path.write_bytes(encoded([NamedSolid("net", NET)], reading.ending))
    ((vertices, _),) = reading.read(path).values()
    order = [1, 2, 0] if reading.ending == "glb" else [0, 1, 2]
    metres = METRES[FORMATS[reading.ending].unit]
    found = np.stack([vertices.min(axis=0), vertices.max(axis=0)]) * metres
    assert found == pytest.approx(NET.bounds[:, order], abs=1e-6)


# each format, held against its standard


def test_stl() -> None:
    """80 bytes that do not begin "solid", a count, then 50 bytes a facet (3D Systems, StereoLithography, 1989)."""
    data = encoded([NamedSolid("solid Kojenfach süd", NET)], "stl")
    count = struct.unpack("<I", data[80:84])[0]
    assert count == len(NET.triangles)
    assert len(data) == 84 + 50 * count
    assert data[:80].isascii()
    assert data.startswith(b"tapeloft, unit mm: solid Kojenfach s?d")
    for at in range(84, len(data), 50):
        normal, corners = np.split(np.frombuffer(data, "<f4", 12, at).reshape(4, 3).astype(float), [1])
        across = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        # right-hand rule, as far as float32 corners tell it
        assert across / np.linalg.norm(across) == pytest.approx(normal[0], abs=0.02)
        assert np.linalg.norm(normal) == pytest.approx(1, abs=1e-6)


def test_stl_closes_where_float32_joins_corners() -> None:
    """A ledge a ten-thousandth of a millimetre deep, far from zero, vanishes in float32: what is left closes."""
    stepped = box((0, 0, 0), (1, 1, 1)) + box((0.2, 0.2, 0.5), (0.8, 0.8, 1 + 1e-7))
    far = stepped.moved((40, 40, 40))
    data = encoded([NamedSolid("ledge", far)], "stl")
    mesh = trimesh.load_mesh(io.BytesIO(data), file_type="stl")
    assert len(mesh.faces) < len(far.triangles)
    assert closes(np.asarray(mesh.faces))


def test_obj_names_its_groups() -> None:
    """A blank ends a group's name (Wavefront, Object Files, "g group_name1 group_name2 …")."""
    parts = [NamedSolid(name, POST) for name in ("bay 1", "bay_1", "Bay\n1")]
    lines = encoded(parts, "obj").decode().splitlines()
    assert lines[0].startswith("# tapeloft, unit mm")
    assert [line for line in lines if line[0] == "g"] == ["g bay_1", "g bay_1_2", "g Bay_1_2_2"]
    assert {line[0] for line in lines[1:]} == {"o", "g", "v", "f"}


def test_ply_tells_the_parts_in_its_header() -> None:
    header = encoded(PARTS, "ply").partition(b"end_header\n")[0].decode().splitlines()
    assert header[:3] == [
        "ply",
        "format binary_little_endian 1.0",
        "comment tapeloft, unit mm, x forward, y to port, z up",
    ]
    told = [re.fullmatch(r"comment faces (\d+) to (\d+): (.*)", line) for line in header[3:6]]
    assert [match[3] for match in told if match] == [part.name for part in PARTS]
    assert [int(match[2]) - int(match[1]) + 1 for match in told if match] == [len(p.solid.triangles) for p in PARTS]


def test_glb() -> None:
    """Chunks of whole words, positions with their span, indices in range (glTF 2.0, §3.6 and §4.4)."""
    data = encoded(PARTS, "glb")
    magic, version, length = struct.unpack("<4sII", data[:12])
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    assert size % 4 == 0
    scene = json.loads(data[20 : 20 + size])
    stored, kind = struct.unpack("<I4s", data[20 + size : 28 + size])
    assert kind == b"BIN\0"
    assert stored == scene["buffers"][0]["byteLength"] == len(data) - 28 - size
    block = data[28 + size :]
    root, *nodes = scene["nodes"]
    assert root["children"] == [1, 2, 3]
    assert [node["name"] for node in nodes] == [part.name for part in PARTS]
    for node, part in zip(nodes, PARTS, strict=True):
        (primitive,) = scene["meshes"][node["mesh"]]["primitives"]
        places = scene["accessors"][primitive["attributes"]["POSITION"]]
        corners = scene["accessors"][primitive["indices"]]
        views = [scene["bufferViews"][accessor["bufferView"]] for accessor in (places, corners)]
        assert all(view["byteOffset"] % 4 == 0 for view in views)
        points = np.frombuffer(block, "<f4", 3 * places["count"], views[0]["byteOffset"]).reshape(-1, 3)
        assert (points == part.solid.vertices.astype("<f4")).all()
        assert (points.min(axis=0) == np.array(places["min"], "<f4")).all()
        assert (points.max(axis=0) == np.array(places["max"], "<f4")).all()
        numbers = np.frombuffer(block, "<u4", corners["count"], views[1]["byteOffset"])
        assert numbers.max() == places["count"] - 1


def test_3mf() -> None:
    """A package of three parts, no date in it, numbers as the schema's ST_Number has them (core XSD 1.2.2)."""
    with zipfile.ZipFile(io.BytesIO(encoded(PARTS, "3mf"))) as package:
        assert package.testzip() is None
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        types, relations, model = (package.read(name).decode() for name in package.namelist())
    assert "application/vnd.ms-package.3dmanufacturing-3dmodel+xml" in types
    assert 'Target="/3D/3dmodel.model"' in relations
    number = re.compile(r"((\-|\+)?(([0-9]+(\.[0-9]+)?)|(\.[0-9]+))((e|E)(\-|\+)?[0-9]+)?)")
    coordinates = re.findall(r' [xyz]="([^"]*)"', model)
    assert len(coordinates) == 3 * sum(len(part.solid.vertices) for part in PARTS)
    assert all(number.fullmatch(text) for text in coordinates)
    assert "uuid" not in model.lower()


def test_coordinates_are_written_as_measured() -> None:
    """Whole hundredths of a millimetre leave as such, not as 1209.9999999999998."""
    text = encoded([NamedSolid("box", box((0.00001, -0.3, 0.07), (1.21, 0.29, 1.00007)))], "obj").decode()
    written = {float(word) for line in text.splitlines() if line.startswith("v") for word in line.split()[1:]}
    assert written == {0.01, 1210.0, -300.0, 290.0, 70.0, 1000.07}
    assert all(len(word) <= 7 for line in text.splitlines() if line.startswith("v") for word in line.split())


# the same bytes every time

SAME = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from test_export import FORMATS, PARTS, encoded
for ending, kind in FORMATS.items():
    parts = PARTS if kind.named else PARTS[:1]
    print(ending, hashlib.sha256(encoded(parts, ending)).hexdigest())
"""


def test_the_same_bytes_in_every_process() -> None:
    told = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", SAME, str(Path(__file__).parent)],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": "UTC+11" if seed == "1" else "UTC-13"},
            capture_output=True,
            text=True,
            check=True,
        )
        told.add(done.stdout)
    (only,) = told
    assert len(only.splitlines()) == len(FORMATS)


@pytest.mark.parametrize("ending", FORMATS)
def test_the_same_bytes_when_built_again(ending: str) -> None:
    def built() -> Solid:
        gross, _ = box((2.0, -0.3, 0.1), (3.2, 0.5, 1.0)).split((0.28, 0.0, 0.96), 1.0)
        post = solid(trimesh.creation.cylinder(0.11, 2.0, sections=64)).moved((2.35, 0.07, 0.5))
        return gross.cleared_of([post, box((2.7, -1.0, -1.0), (2.712, 1.0, 2.0))])

    assert encoded([NamedSolid("net", built())], ending) == encoded([NamedSolid("net", built())], ending)


# what is asked for


def written(folder: Path) -> Iterator[str]:
    return iter(sorted(os.listdir(folder)))


@pytest.mark.parametrize("what", [one for one in CHOICES if one != "parts"])  # LOCKER has none: tests of parts
def test_what_is_chosen(tmp_path: Path, what: str) -> None:
    told = exported(LOCKER, tmp_path / "locker.3mf", what)
    expected = {
        "net": {"net": NET},
        "gross": {"gross": GROSS},
        "bays": {"bay 1": AFT, "bay 2": FORE},
        "obstructions": {"post": POST, "board": BOARD},
    }
    expected["all"] = {name: body for one in list(expected.values()) for name, body in one.items()}
    bodies = by_the_3mf_standard(tmp_path / "locker.3mf")
    assert list(bodies) == list(expected[what])
    for name, body in expected[what].items():
        assert volume(*bodies[name]) * 1e-9 == pytest.approx(body.volume, rel=1e-9)
    (file,) = told.files
    assert file.size_bytes == (tmp_path / "locker.3mf").stat().st_size
    assert [(part.name, part.volume_m3) for part in file.parts] == [(n, b.volume) for n, b in expected[what].items()]


def test_a_single_bay_is_not_written_twice(tmp_path: Path) -> None:
    undivided = Compartment(**{**LOCKER.__dict__, "bays": (Bay("whole", NET),)})
    (file,) = exported(undivided, tmp_path / "locker.glb", "all").files
    assert [part.name for part in file.parts] == ["net", "gross", "post", "board"]


@pytest.mark.parametrize("reading", [READINGS[3], READINGS[9], READINGS[12]], ids=lambda r: r.ending)
@pytest.mark.parametrize("sheet", ["lazarette", "cockpit-locker"])
def test_surveyed_compartments(tmp_path: Path, sheet: str, reading: Reading) -> None:
    """Lofted sides, tubes, steps and boards of the demo boat, laid in her axes."""
    for survey in read_survey(Path(tapeloft.shapes.__path__[0], "demo", f"{sheet}.toml")).compartments:
        compartment = build(survey)
        path = tmp_path / f"{survey.name}.{reading.ending}"
        exported(compartment, path, "all", placed=survey.placement)
        bodies = reading.read(path)
        parts = {"net": compartment.net, "gross": compartment.gross}
        parts |= {piece.name: piece.solid for piece in compartment.pieces}
        for name, part in parts.items():
            vertices, triangles = bodies[name.replace(" ", "_") if reading.ending == "obj" else name]
            assert closes(triangles)
            read = volume(vertices * METRES[FORMATS[reading.ending].unit], triangles)
            assert abs(read - part.volume) <= may_differ(part.moved(survey.placement), reading.precision)


def test_each_part_to_its_own_file(tmp_path: Path) -> None:
    told = exported(LOCKER, tmp_path / "locker.stl", "all", each=True)
    stems = ["net", "gross", "bay-1", "bay-2", "post", "board"]
    assert [Path(file.path).name for file in told.files] == [f"locker-{stem}.stl" for stem in stems]
    assert list(written(tmp_path)) == sorted(f"locker-{stem}.stl" for stem in stems)
    for file in told.files:
        ((vertices, triangles),) = by_trimesh(Path(file.path)).values()
        assert volume(vertices * 1e-3, triangles) == pytest.approx(file.parts[0].volume_m3, rel=1e-6)


def test_names_of_files_do_not_meet(tmp_path: Path) -> None:
    """Three names that are one on a disk that does not tell capitals apart, or takes no slash."""
    bays = tuple(Bay(name, AFT) for name in ("port/aft", "Port aft", "../port:aft"))
    meeting = Compartment(**{**LOCKER.__dict__, "bays": bays})
    exported(meeting, tmp_path / "locker.ply", "bays", each=True)
    assert list(written(tmp_path)) == ["locker-Port-aft-2.ply", "locker-port-aft-3.ply", "locker-port-aft.ply"]


def test_in_the_axes_of_the_boat(tmp_path: Path) -> None:
    told = exported(LOCKER, tmp_path / "locker.obj", placed=(3.25, -0.4, 0.6))
    assert told.axes == "boat"
    ((vertices, triangles),) = by_igl(tmp_path / "locker.obj").values()
    assert volume(vertices, triangles) * 1e-9 == pytest.approx(NET.volume, rel=1e-9)
    found = np.stack([vertices.min(axis=0), vertices.max(axis=0)]) * 1e-3
    assert found == pytest.approx(NET.bounds + np.array([3.25, -0.4, 0.6]), abs=1e-11)


# what is refused


def test_a_format_without_names_takes_one_part(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"2 parts would run together\n.*--each.*\.obj.*\.3mf"):
        exported(LOCKER, tmp_path / "locker.stl", "bays")
    assert list(written(tmp_path)) == []


@pytest.mark.parametrize(("name", "hint"), [("locker.stp", 'did you mean "stl"'), ("locker", "known: ")])
def test_a_format_that_there_is_not(tmp_path: Path, name: str, hint: str) -> None:
    with pytest.raises(UnknownName, match=hint):
        exported(LOCKER, tmp_path / name)


def test_a_choice_that_there_is_not(tmp_path: Path) -> None:
    with pytest.raises(UnknownName, match='did you mean "obstructions"'):
        exported(LOCKER, tmp_path / "locker.stl", "obstruction")


def test_nothing_to_write(tmp_path: Path) -> None:
    bare = Compartment(**{**LOCKER.__dict__, "pieces": ()})
    with pytest.raises(GeometryError, match="sail locker has no obstructions"):
        exported(bare, tmp_path / "locker.obj", "obstructions")
    with pytest.raises(GeometryError, match="hollow encloses nothing"):
        encoded([NamedSolid("hollow", NET - GROSS)], "obj")
    with pytest.raises(GeometryError, match="nothing to write"):
        encoded([], "obj")


def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    exported(LOCKER, tmp_path / "locker.stl")
    before = (tmp_path / "locker.stl").read_bytes()
    with pytest.raises(FileError, match="there already"):
        exported(LOCKER, tmp_path / "locker.stl", "gross")
    assert (tmp_path / "locker.stl").read_bytes() == before
    exported(LOCKER, tmp_path / "locker.stl", "gross", force=True)
    assert (tmp_path / "locker.stl").read_bytes() != before


def test_the_ending_may_be_in_capitals() -> None:
    assert format_of(Path("LOCKER.OBJ")) is FORMATS["obj"]


def test_an_ending_belongs_to_one_format() -> None:
    with pytest.raises(ValueError, match="two formats"):
        register(Format("stl", "", "mm", False, True, lambda parts: b""))


def test_writing_meshes_needs_no_mesh_library() -> None:
    code = "import sys, tapeloft.model.files.formats; print(sorted({'trimesh', 'pyvista', 'scipy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_file_that_reads_back_otherwise_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kind = FORMATS["stl"]

    def short(parts: object) -> bytes:
        whole = kind.encode(parts)  # type: ignore[arg-type]
        count = int.from_bytes(whole[80:84], "little") - 1
        return whole[:80] + count.to_bytes(4, "little") + whole[84 : 84 + 50 * count]

    monkeypatch.setitem(FORMATS, "stl", Format("stl", "", "mm", False, True, short))
    with pytest.raises(GeometryError, match=r"locker\.stl reads back as .* nothing is written"):
        exported(LOCKER, tmp_path / "locker.stl")
    assert list(written(tmp_path)) == []


def test_what_was_read_back_is_told(tmp_path: Path) -> None:
    (told,) = exported(LOCKER, tmp_path / "locker.stl").files
    assert told.read_back_m3 == pytest.approx(NET.volume, rel=1e-5)
    assert told.parts[0].size_m == pytest.approx(np.ptp(NET.vertices, axis=0), rel=1e-12)
