"""Pictures: where things fall on paper, which edges are drawn, what is written, and that a file comes out whole."""

import math
import os
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import pyvista as pv
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from scipy.spatial import ConvexHull

import tapeloft.shapes
from tapeloft.model.capacity import filled_to
from tapeloft.model.compartment import Compartment, Piece, build
from tapeloft.model.errors import FileError, UnknownName
from tapeloft.model.facets import body
from tapeloft.model.solid import Solid
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.units import NEARLY, UNITS, length
from tapeloft.shapes.polyhedron import Round, circle, prism
from tapeloft.viewer import device
from tapeloft.viewer.dimensions import figures, overall
from tapeloft.viewer.drawing import composed
from tapeloft.viewer.edges import creases, edges_seen, normals, soft_normals
from tapeloft.viewer.eye import VIEWS, Eye, eye_for
from tapeloft.viewer.labels import Label, overlap
from tapeloft.viewer.look import KEYS, Look, chosen, keyed, said
from tapeloft.viewer.paint import hold, painted
from tapeloft.viewer.plate import Plate
from tapeloft.viewer.scene import Scene, cut, filled, scene_of, upright
from tapeloft.viewer.still import draw_still, inked
from tapeloft.viewer.window import Window

DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
NAMES = ("sail locker", "chain locker", "cockpit locker, port", "cockpit locker, starboard", "gas locker", "lazarette",
         "berth locker")  # fmt: skip


@dataclass(frozen=True)
class Box:
    low: tuple[float, float, float]
    high: tuple[float, float, float]


@pytest.fixture(scope="module")
def demo() -> dict[str, Compartment]:
    return {survey.name: build(survey) for survey in read_survey(DEMO).compartments}


@pytest.fixture(scope="module")
def port(demo: dict[str, Compartment]) -> Compartment:
    return demo["cockpit locker, port"]


def small_box(compartment: Compartment) -> Box:
    """A box about the centre, a fifth of the space long, broad and high: it need not be the largest to be drawn."""
    low, high = compartment.gross.bounds
    centre, size = compartment.gross.centroid, (high - low) / 5
    return Box(tuple((centre - size / 2).tolist()), tuple((centre + size / 2).tolist()))


def plain(things: dict[str, Solid] | None = None) -> Scene:
    """A space 2 × 1 × 1 m with things in it."""
    space = upright((0, 0, 0), (2, 1, 1))
    bare = SimpleNamespace(openings=(), mirrored=False)
    pieces = tuple(Piece(name, solid ^ space, solid, None) for name, solid in (things or {}).items())
    net = space.cleared_of([piece.body for piece in pieces])
    bays = tuple(type("Bay", (), {"name": f"bay {k}", "solid": part}) for k, part in enumerate(net.parts(), start=1))
    return scene_of(Compartment("plain", bare, space, pieces, net, bays, {}, ()))


def off_screen() -> Iterator[pv.Plotter]:
    with device.drawing_with(device.off_screen_window()):
        plotter = pv.Plotter(off_screen=True, window_size=[640, 400])
        yield plotter
        plotter.close()


plotter = pytest.fixture(off_screen)


# where things fall on paper
@pytest.mark.parametrize("orthographic", [True, False])
@pytest.mark.parametrize("view", VIEWS)
def test_points_fall_where_the_camera_puts_them(
    plotter: pv.Plotter, port: Compartment, view: str, orthographic: bool
) -> None:
    """Outside check: the display coordinates that VTK computes for its own camera."""
    points = port.gross.vertices
    eye = eye_for(points, view, (640, 400), margins=(40, 30, 50, 60), orthographic=orthographic)
    plotter.add_mesh(pv.PolyData(np.array(points)))
    hold(plotter, eye)
    plotter.render()
    for point, ours in zip(points, eye.seen(points), strict=True):
        plotter.renderer.SetWorldPoint(*point, 1.0)
        plotter.renderer.WorldToDisplay()
        x, y, _ = plotter.renderer.GetDisplayPoint()
        assert (x, 400 - y) == pytest.approx(ours, abs=1e-3)


@pytest.mark.parametrize("orthographic", [True, False])
@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("name", NAMES)
def test_all_is_seen_within_the_margins_and_fills_them(
    demo: dict[str, Compartment], name: str, view: str, orthographic: bool
) -> None:
    points = demo[name].gross.vertices
    eye = eye_for(points, view, (900, 600), margins=(10, 20, 30, 40), orthographic=orthographic)
    left, top = eye.seen(points).min(axis=0)
    right, bottom = eye.seen(points).max(axis=0)
    assert left >= 10 - 0.01
    assert top >= 20 - 0.01
    assert right <= 870 + 0.01
    assert bottom <= 560 + 0.01
    assert right - left == pytest.approx(860, abs=0.01) or bottom - top == pytest.approx(540, abs=0.01)


@pytest.mark.parametrize("view", VIEWS)
def test_the_three_axes_are_foreshortened_as_an_orthogonal_projection_must(view: str) -> None:
    """The squares of the three foreshortenings sum to 2 (orthogonal axonometry, from memory)."""
    eye = eye_for(upright((0, 0, 0), (2, 1, 1)).vertices, view, (900, 600), margins=(0, 0, 0, 0))
    arms = eye.seen(np.eye(3)) - eye.seen(np.zeros(3))
    assert ((arms / eye.scale) ** 2).sum() == pytest.approx(2, abs=1e-12)


def test_views_stand_as_a_drawing_office_draws_them() -> None:
    """Plan and profile with the bow to the right; a section seen from aft has port on the left (common practice)."""
    points = upright((0, 0, 0), (2, 1, 1)).vertices

    def way(view: str, axis: int) -> list[float]:
        eye = eye_for(points, view, (400, 300), margins=(0, 0, 0, 0))
        step = eye.seen(np.eye(3)[axis]) - eye.seen(np.zeros(3))
        return np.sign(step.round(9)).tolist()

    assert (way("plan", 0), way("plan", 1)) == ([1, 0], [0, -1])
    assert (way("profile", 0), way("profile", 2)) == ([1, 0], [0, -1])
    assert (way("section", 1), way("section", 2)) == ([-1, 0], [0, -1])


def test_a_locker_is_looked_at_from_inboard(demo: dict[str, Compartment]) -> None:
    for name, side in (("cockpit locker, port", -1), ("cockpit locker, starboard", 1)):
        eye = eye_for(demo[name].gross.vertices, "three-quarter", (400, 300), margins=(0, 0, 0, 0))
        assert np.sign(eye.toward[1]) == side


def test_an_unknown_view_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownName, match='did you mean "section"'):
        eye_for(upright((0, 0, 0), (1, 1, 1)).vertices, "sektion", (400, 300), margins=(0, 0, 0, 0))


# which edges are drawn
def post() -> Solid:
    return body(prism(circle((0.5, 0.5), 0.1, Round.EQUAL_AREA), 0.0, 0.8, 2))


@pytest.mark.parametrize("name", NAMES)
def test_creases_are_those_another_library_finds(demo: dict[str, Compartment], name: str) -> None:
    """Outside check: VTK's feature edges at 25° on the same mesh, by total length."""
    solid = demo[name].net
    pairs = creases(solid.vertices, solid.triangles, np.zeros(len(solid.triangles), int))
    ours = np.linalg.norm(np.diff(solid.vertices[pairs], axis=1), axis=2).sum()
    mesh = pv.PolyData.from_regular_faces(np.array(solid.vertices), np.array(solid.triangles))
    theirs = mesh.extract_feature_edges(25, boundary_edges=False, non_manifold_edges=False, manifold_edges=False)
    assert ours == pytest.approx(theirs.compute_cell_sizes(area=False, volume=False)["Length"].sum(), rel=1e-6)


@pytest.mark.parametrize("solid", [upright((0, 0, 0), (2, 1, 0.5)), post()], ids=["box", "post"])
@pytest.mark.parametrize("view", VIEWS)
def test_the_outline_of_a_convex_body_is_the_hull_of_its_picture(solid: Solid, view: str) -> None:
    """Outside check: the perimeter of the convex hull of the projected corners, from Qhull."""
    eye = eye_for(solid.vertices, view, (900, 600), margins=(0, 0, 0, 0))
    outline = edges_seen(solid.vertices, solid.triangles, np.zeros(len(solid.triangles), int), eye).outline
    seen = eye.seen(solid.vertices)
    drawn = np.linalg.norm(np.diff(seen[outline], axis=1), axis=2).sum()
    assert drawn == pytest.approx(ConvexHull(seen).area, rel=1e-9)


def test_a_cube_shows_six_outline_edges_three_near_and_three_far() -> None:
    cube = upright((0, 0, 0), (1, 1, 1))
    eye = eye_for(cube.vertices, "three-quarter", (900, 600), margins=(0, 0, 0, 0))
    edges = edges_seen(cube.vertices, cube.triangles, np.zeros(12, int), eye)
    assert (len(edges.outline), len(edges.near), len(edges.far)) == (6, 3, 3)
    nearest = cube.vertices[np.argmax(cube.vertices @ eye.toward)]
    assert all((cube.vertices[pair] == nearest).all(axis=1).any() for pair in edges.near)


def test_a_soft_chine_is_drawn_where_its_two_strips_are_named(demo: dict[str, Compartment]) -> None:
    scene = scene_of(demo["berth locker"])
    bay = scene.of("bay")[0].solid
    unnamed = creases(bay.vertices, bay.triangles, np.zeros(len(bay.triangles), int))
    named = creases(bay.vertices, bay.triangles, scene.surface_of(bay))
    extra = {tuple(pair) for pair in named.tolist()} - {tuple(pair) for pair in unnamed.tolist()}
    along = np.array([bay.vertices[list(pair)] for pair in extra])
    assert len(extra) > 0
    assert np.ptp(along[..., 0]) == pytest.approx(np.ptp(bay.vertices[:, 0]), abs=0.002)


def test_normals_turn_evenly_round_a_post_and_stay_flat_on_its_ends() -> None:
    """A true cylinder's normal points from its axis; the ends are left alone."""
    solid = post()
    round_about = np.abs(normals(solid.vertices, solid.triangles)[:, 2]) < 0.5
    soft = soft_normals(solid.vertices, solid.triangles, round_about.astype(int))
    corners = solid.vertices[solid.triangles]
    radial = corners[round_about] * [1, 1, 0] - [0.5, 0.5, 0]
    radial /= np.linalg.norm(radial, axis=2, keepdims=True)
    flat_miss = math.cos(math.radians(180 / 64))  # half the turn from one side to the next: what flat shading misses by
    assert np.einsum("ijk,ijk->ij", soft[round_about], radial).min() > flat_miss
    assert np.abs(soft[~round_about][..., 2]).min() == pytest.approx(1)


# what is drawn
def test_a_panel_that_parts_two_bays_is_glass_and_hides_neither(demo: dict[str, Compartment]) -> None:
    scene = scene_of(demo["lazarette"])
    assert [part.name for part in scene.of("divider")] == ["fore-and-aft panel"]
    assert [part.name for part in scene.of("obstruction")] == ["rudder-stock tube"]
    (panel,) = scene.of("divider")
    y0, y1 = panel.solid.bounds[:, 1]
    for bay in scene.of("bay"):
        corners = bay.solid.vertices[bay.solid.triangles]
        on_panel = ((np.abs(corners[..., 1] - y0) < 1e-9).all(axis=1)) | (
            (np.abs(corners[..., 1] - y1) < 1e-9).all(axis=1)
        )
        assert on_panel.any()
        assert (bay.drawn == ~on_panel).all()


def test_bays_and_things_that_stand_side_by_side_differ_in_tone_and_in_grey() -> None:
    scene = plain({f"thing {k}": upright((0.2 * k, 0, 0), (0.2 * k + 0.1, 0.1, 0.1)) for k in range(6)})
    tones = [part.tone for part in scene.of("obstruction")]
    greys = [Image.new("RGB", (1, 1), tone).convert("L").getpixel((0, 0)) for tone in tones]
    walls = [Image.new("RGB", (1, 1), part.tone).convert("L").getpixel((0, 0)) for part in scene.of("bay")]
    assert len(set(tones)) == 6
    assert all(abs(a - b) >= 10 for a, b in pairwise(greys))
    assert min(walls) - max(greys) >= 15


@pytest.mark.parametrize("share", [0.1, 0.5, 0.93])
@pytest.mark.parametrize("name", NAMES)
def test_the_water_drawn_is_the_volume_asked_of_the_capacity(
    demo: dict[str, Compartment], name: str, share: float
) -> None:
    """Two ways to one volume: the solid that is drawn, cut by the kernel, and the fluxes that are read off."""
    compartment = demo[name]
    low, high = compartment.net.bounds[:, 2]
    level = float(low + share * (high - low))
    (water,) = filled(scene_of(compartment), level).of("water")
    assert water.solid.volume == pytest.approx(float(filled_to(compartment.net, [level]).volume_m3[0]), rel=1e-9)
    assert water.solid.bounds[1, 2] == pytest.approx(level, abs=1e-5)


def test_filling_to_the_bottom_draws_no_water() -> None:
    assert filled(plain(), 0.0).of("water") == ()
    assert filled(plain(), 9.0).of("water")[0].litres == pytest.approx(2000)


def test_a_cut_takes_the_forward_part_off_and_leaves_the_bay_open_there() -> None:
    scene = cut(plain({"block": upright((0.5, 0, 0), (1.5, 0.5, 0.5))}), 0.8)
    (bay,), (block,) = scene.of("bay"), scene.of("obstruction")
    assert block.litres == pytest.approx(300 * 0.5 * 0.5)
    assert bay.litres == pytest.approx(800 - 300 * 0.5 * 0.5)
    forward = (np.abs(bay.solid.vertices[bay.solid.triangles][..., 0] - 0.8) < 1e-6).all(axis=1)
    assert forward.any()
    assert (bay.drawn == ~forward).all()
    assert block.drawn.all()


# figures and labels
@given(st.floats(0.001, 20), st.sampled_from(UNITS))
def test_a_figure_rounded_down_is_never_more_than_the_thing(metres: float, unit: str) -> None:
    """What is built to the figure must still go in; a tape's step, 1 mm or 1/16 in, is the most that is lost."""
    text = figures(metres, unit, down=True)
    read = length(text if unit == "ft" else f"{text} in" if unit == "in" else text, unit)
    step = 0.001 if unit in ("mm", "cm", "m") else 0.0254 / 16
    assert metres - step - 1e-6 < read <= metres + step * NEARLY


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("view", VIEWS)
def test_dimension_lines_stand_clear_of_the_thing(demo: dict[str, Compartment], name: str, view: str) -> None:
    """No dimension line crosses the picture of the space: all its corners lie on one side of each."""
    gross = demo[name].gross
    eye = eye_for(gross.vertices, view, (900, 600), margins=(90, 90, 90, 90))
    lines = overall(gross.bounds, eye, "mm")
    assert len(lines) == (3 if view == "three-quarter" else 2)
    for line in lines:
        a, b = eye.seen(np.array([line.start, line.end]) + line.away * 0.05)
        seen = eye.seen(gross.vertices)
        side = (b[0] - a[0]) * (seen[:, 1] - a[1]) - (b[1] - a[1]) * (seen[:, 0] - a[0])
        assert (side > 0).all() or (side < 0).all()
        assert line.figures == f"{round(float(np.ptp(gross.bounds, axis=0)[line.axis]) * 1000)}"


CASES = [(name, "three-quarter", "mm") for name in NAMES] + [
    ("cockpit locker, port", view, unit) for view, unit in (("plan", "in"), ("profile", "ft"), ("section", "ft-in-8"))
]


@pytest.mark.parametrize(("name", "view", "unit"), CASES)
def test_no_label_lies_on_another(demo: dict[str, Compartment], name: str, view: str, unit: str) -> None:
    """Outside check: every label's rectangle is filled in on a raster, and no pixel is filled twice."""
    drawing = composed(scene_of(demo[name], small_box(demo[name])), view=view, unit=unit)
    lettering = drawing.lettering
    labels = [m.label for m in lettering.measures] + list(lettering.box) + [b.label for b in lettering.balloons]
    assert len(lettering.measures) == (3 if view == "three-quarter" else 2)
    assert len(lettering.balloons) + len(lettering.out_of_sight) == len(demo[name].pieces)
    width, height = drawing.eye.size
    for one, other in combinations([mask_of(label, width, height) for label in labels], 2):
        assert not (one & other).any()
    for label in labels:
        assert label.corners().min() >= 0
        assert (label.corners() <= (width, height)).all()


def mask_of(label: Label, width: int, height: int) -> np.ndarray:
    image = Image.new("1", (width, height))
    shrunk = label.corners().mean(axis=0) + (label.corners() - label.corners().mean(axis=0)) * 0.98
    ImageDraw.Draw(image).polygon([tuple(corner) for corner in shrunk.tolist()], fill=1)
    return np.array(image)


@pytest.mark.parametrize("angle", [0, 30, -75, 90])
def test_the_ink_of_a_label_stays_in_its_rectangle(angle: float) -> None:
    label = Label("4-11-3+ g½k", (200, 150), 40, math.radians(angle))
    plate = Plate(400, 300)
    plate.write(label)
    rows, columns = np.nonzero(np.array(plate.finished().convert("L")) < 128)
    corners = label.corners()
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        assert ((b[0] - a[0]) * (rows - a[1]) - (b[1] - a[1]) * (columns - a[0]) > 0).all()
    assert len(rows) > 200


@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0, math.pi))
def test_overlap_agrees_with_sampling(x: float, y: float, turn: float) -> None:
    """Where a fine grid of points of one square lies in the other they overlap; where they do not, none does."""
    square = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    grid = np.stack(np.meshgrid(*[np.linspace(-0.499, 0.499, 40)] * 2), axis=-1).reshape(-1, 2) @ spin.T + (x, y)
    if (np.abs(grid) < 0.499).all(axis=1).any():
        assert overlap(square, square @ spin.T + (x, y))
    if not overlap(square, square @ spin.T + (x, y)):
        assert not (np.abs(grid) < 0.499).all(axis=1).any()


# the picture
def test_the_picture_of_a_box_covers_the_area_it_must() -> None:
    """A box shows Σ Aᵢ|nᵢ·t| of paper to an orthographic eye in direction t (projected area of a convex body)."""
    scene = plain()
    eye = eye_for(scene.gross.vertices, "three-quarter", (800, 500), margins=(50, 50, 50, 50))
    seen = painted(scene, eye, 1.0).seen
    area = float(np.abs(eye.toward) @ [1.0, 2.0, 2.0])
    assert (seen >= 0).sum() / eye.scale**2 == pytest.approx(area, rel=0.005)


def test_what_stands_before_hides_what_stands_behind() -> None:
    things = {"screen": upright((0.2, 0.1, 0), (1.8, 0.2, 0.9)), "block": upright((0.8, 0.5, 0), (1.0, 0.7, 0.2))}
    from_starboard = composed(plain(things), view="profile")
    from_above = composed(plain(things), view="plan")
    assert from_starboard.lettering.out_of_sight == {2}
    assert from_above.lettering.out_of_sight == frozenset()


def test_the_near_sides_are_off_and_the_far_ones_on(port: Compartment) -> None:
    """Every obstruction shows some of itself from where the demo locker is looked at."""
    drawing = composed(scene_of(port))
    shown = set(np.unique(drawing.painting.seen).tolist())
    assert shown == {-1, *range(len(drawing.scene.parts))}


def test_a_thing_drawn_twice_is_the_same_to_the_byte(port: Compartment, tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        draw_still(port, tmp_path / name, box=small_box(port), level=0.3, size=(800, 550))
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_a_still_is_a_png_on_white_small_enough_for_a_page(port: Compartment, tmp_path: Path) -> None:
    draw_still(port, tmp_path / "still.png", box=small_box(port), boat="Saltmarsh Heron")
    assert (tmp_path / "still.png").stat().st_size < 300_000
    with Image.open(tmp_path / "still.png") as picture:
        assert (picture.format, picture.size, picture.info["Title"]) == ("PNG", (1600, 1100), "cockpit locker, port")
        pixels = np.array(picture.convert("RGB"))
    assert (pixels == 255).all(axis=2).mean() > 0.5
    assert (pixels[5, 5] == 255).all()


def test_a_file_that_is_there_is_kept_unless_forced(tmp_path: Path) -> None:
    compartment = build(read_survey(DEMO / "gas-locker.toml").compartments[0])
    file = tmp_path / "still.png"
    file.write_bytes(b"an older picture")
    with pytest.raises(FileError, match="already"):
        draw_still(compartment, file, size=(320, 220))
    assert file.read_bytes() == b"an older picture"
    draw_still(compartment, file, size=(320, 220), force=True)
    assert file.read_bytes()[:4] == b"\x89PNG"
    assert os.listdir(tmp_path) == ["still.png"]


def test_a_still_that_is_not_called_a_png_is_refused(port: Compartment, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"ends in \.png"):
        draw_still(port, tmp_path / "still.jpg")
    assert os.listdir(tmp_path) == []


def test_many_things_and_a_long_name_still_make_a_drawing() -> None:
    things = {f"bracket {k}": upright((0.03 * k, 0.4, 0.1), (0.03 * k + 0.02, 0.5, 0.15)) for k in range(60)}
    drawing = composed(plain(things))
    assert len(drawing.lettering.balloons) == 9
    assert inked(drawing).size == (1600, 1100)


# where nothing can be drawn
def run(code: str, **environment: str | None) -> subprocess.CompletedProcess[str]:
    """Run *code* in a process of its own, with variables set, or taken away where None."""
    variables = {key: value for key, value in {**os.environ, **environment}.items() if value is not None}
    command = [sys.executable, "-c", textwrap.dedent(code)]
    return subprocess.run(command, env=variables, capture_output=True, text=True, timeout=120, check=False)


DRAW = f"""
    from tapeloft.model.compartment import build
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.survey.boat import read_survey
    from tapeloft.viewer.still import draw_still
    from tapeloft.viewer.window import open_window
    locker = build(read_survey({str(DEMO / "gas-locker.toml")!r}).compartments[0])
    try:
        ACTION
        print("done")
    except TapeloftError as refused:
        print(refused)
"""
on_linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="about X and EGL, which only Linux has")


@on_linux
@pytest.mark.usefixtures("draws")
@pytest.mark.parametrize("display", [None, ":77"])
def test_a_still_needs_no_display_and_says_nothing_on_the_terminal(tmp_path: Path, display: str | None) -> None:
    ended = run(DRAW.replace("ACTION", f"draw_still(locker, {str(tmp_path / 'still.png')!r})"), DISPLAY=display)
    assert (ended.stdout, ended.stderr, ended.returncode) == ("done\n", "", 0)
    assert (tmp_path / "still.png").exists()


@on_linux
@pytest.mark.skipif(any(device._loaded(name) for name in device.OSMESA), reason="OSMesa is here and would draw")
def test_where_nothing_can_draw_it_is_said_in_words(tmp_path: Path) -> None:
    """Without a device to draw on the library below would crash the process."""
    action = f"draw_still(locker, {str(tmp_path / 'still.png')!r})"
    ended = run(DRAW.replace("ACTION", action), DISPLAY=None, __EGL_VENDOR_LIBRARY_FILENAMES="/nonexistent")
    assert ended.stdout.startswith("no picture can be drawn here")
    assert "mend:" in ended.stdout
    assert (ended.stderr, ended.returncode) == ("", 0)
    assert not (tmp_path / "still.png").exists()


@on_linux
@pytest.mark.parametrize("display", [None, ":77"])
def test_a_window_without_a_display_is_refused_in_words(display: str | None) -> None:
    ended = run(DRAW.replace("ACTION", "open_window(locker)"), DISPLAY=display)
    assert ended.stdout.startswith("there is no display here")
    assert "--still FILE.png" in ended.stdout
    assert ended.stderr == ""


# the window
def test_keys_choose_what_is_shown() -> None:
    screen = {"panel": upright((1.0, -0.1, -0.1), (1.1, 1.1, 1.1)), "block": upright((0, 0, 0), (0.2, 0.2, 0.2))}
    scene = plain(screen)
    bays = [part.name for part in scene.of("bay")]
    seen = []
    look = Look()
    for _ in range(4):
        seen.append([part.name for part in chosen(scene, look).of("bay")])
        look = keyed(look, "b", scene)
    assert seen == [bays, bays[:1], bays[1:], []]
    assert look == Look()
    assert chosen(scene, keyed(look, "o", scene)).of("obstruction", "divider") == ()
    assert keyed(keyed(look, "o", scene), "o", scene) == look
    assert keyed(look, "k", scene) == look
    assert [keyed(look, key, scene).view for key in "1234"] == list(VIEWS)


def test_what_has_not_changed_stays_the_same_object() -> None:
    scene = plain()
    assert chosen(scene, Look(level=0.5)).of("bay")[0] is scene.of("bay")[0]


def test_the_words_say_what_the_capacity_says(port: Compartment) -> None:
    words = said(scene_of(port), Look(level=0.3), "mm")
    below = float(filled_to(port.net, [0.3]).volume_m3[0]) * 1000
    assert words.splitlines()[0] == port.name
    assert f"filled to 300: {below:.1f} L" in words


@pytest.fixture
def window(port: Compartment) -> Iterator[Window]:
    with device.drawing_with(device.off_screen_window()):
        shown = Window(scene_of(port, small_box(port)), off_screen=True)
        yield shown
        shown.plotter.close()


def kinds(window: Window) -> list[str]:
    return sorted(part.kind for part in window.drawn)


def test_the_window_shows_and_hides(window: Window) -> None:
    assert kinds(window) == ["bay", "box", "obstruction", "obstruction", "obstruction"]
    window.key("o")
    assert kinds(window) == ["bay", "box"]
    window.key("x")
    window.key("b")
    assert kinds(window) == []
    for key in "oxb":
        window.key(key)
    assert kinds(window) == ["bay", "box", "obstruction", "obstruction", "obstruction"]
    assert "lines" in window.plotter.actors
    window.key("d")
    assert "lines" not in window.plotter.actors


def test_the_sliders_fill_and_cut(window: Window, port: Compartment) -> None:
    """The slider itself is moved, as a hand would, and what is drawn follows."""
    slide(window, "fill", 0.4)
    (water,) = (part for part in window.drawn if part.kind == "water")
    assert water.solid.volume == pytest.approx(float(filled_to(port.net, [0.4]).volume_m3[0]), rel=1e-6)
    slide(window, "fill", float(port.net.bounds[0, 2]))
    assert "water" not in kinds(window)
    window.key("c")
    slide(window, "cut", 0.5)
    assert max(float(part.solid.bounds[1, 0]) for part in window.drawn) == pytest.approx(0.5, abs=1e-6)
    window.key("c")
    assert max(float(part.solid.bounds[1, 0]) for part in window.drawn) == pytest.approx(float(port.gross.bounds[1, 0]))


def slide(window: Window, title: str, value: float) -> None:
    slider = window._sliders[title]
    slider.GetRepresentation().SetValue(value)
    slider.InvokeEvent("InteractionEvent")


def test_views_turn_the_camera(window: Window) -> None:
    for key, direction in (("2", (0, 0, -1)), ("3", (0, 1, 0)), ("4", (1, 0, 0))):
        window.key(key)
        assert window.plotter.camera.direction == pytest.approx(direction)
        assert window.plotter.camera.parallel_projection
    window.key("1")
    assert not window.plotter.camera.parallel_projection


def test_keys_are_those_on_the_screen_and_none_of_the_librarys_own(window: Window) -> None:
    """3 would turn on stereo, w draw wires and e leave, if the library's own keys were still heard."""
    press(window, "3")
    assert window.look.view == "profile"
    assert not window.plotter.render_window.GetStereoRender()
    press(window, "w")
    assert all(actor.prop.style == "Surface" for actors in window.drawn.values() for actor in actors[:1])
    shown = window.plotter.actors["keys"].input
    assert [line.split()[0] for line in shown.splitlines()] == list(KEYS)


def press(window: Window, key: str) -> None:
    interactor = window.plotter.iren.interactor
    interactor.SetKeyEventInformation(0, 0, key, 1, key)
    for event in ("KeyPressEvent", "CharEvent", "KeyReleaseEvent"):
        interactor.InvokeEvent(event)


@pytest.fixture
def display() -> Iterator[str]:
    if shutil.which("Xvfb") is None:
        pytest.skip("Xvfb, which gives a display to test the window on, is not installed")
    ours, theirs = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(theirs), "-screen", "0", "1400x1000x24"], pass_fds=[theirs],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(theirs)
    with os.fdopen(ours) as told:
        number = told.readline().strip()
    yield f":{number}"
    server.terminate()
    server.wait()


@on_linux
def test_the_window_opens_on_a_display_and_q_closes_it(display: str) -> None:
    action = """import pyvista
        shown = pyvista.Plotter.show
        def press_q(plotter, **given):
            def pressed(step):
                print("window", type(plotter.render_window).__name__)
                plotter.iren.interactor.SetKeyEventInformation(0, 0, "q", 1, "q")
                plotter.iren.interactor.InvokeEvent("KeyPressEvent")
            plotter.add_timer_event(max_steps=1, duration=200, callback=pressed)
            shown(plotter, **given)
        pyvista.Plotter.show = press_q
        open_window(locker)"""
    ended = run(DRAW.replace("ACTION", action), DISPLAY=display)
    assert (ended.stdout, ended.stderr) == ("window vtkXOpenGLRenderWindow\ndone\n", "")


def test_the_eye_of_the_window_is_where_its_camera_is(window: Window) -> None:
    window.key("4")
    eye = window._eye()
    assert isinstance(eye, Eye)
    assert eye.toward == pytest.approx([-1, 0, 0])
    assert eye.right == pytest.approx([0, -1, 0])
