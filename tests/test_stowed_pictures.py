"""Pictures of what is stowed: each thing told from its neighbours, its clearances figured, boxes in any turn."""

import math
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from scipy.spatial.transform import Rotation

import tapeloft.shapes
from tapeloft.model.boxes import largest_box
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.facets import body
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import Solid, closed
from tapeloft.model.stowed import Span, Stowed
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.units import length
from tapeloft.shapes.polyhedron import Round, circle, prism
from tapeloft.viewer import device
from tapeloft.viewer.callouts import MOST, told
from tapeloft.viewer.captions import clear_of_others, stowed_marked
from tapeloft.viewer.dimensions import side_lengths, sides_along
from tapeloft.viewer.drawing import Drawing, composed
from tapeloft.viewer.eye import VIEWS
from tapeloft.viewer.inking import GHOSTS, MARK_INK
from tapeloft.viewer.labels import Label
from tapeloft.viewer.listing import listed
from tapeloft.viewer.look import Look, chosen, keyed
from tapeloft.viewer.paint import LIT, painted
from tapeloft.viewer.plate import dashes
from tapeloft.viewer.scene import Scene, box_corners, boxed, cut, scene_of, upright
from tapeloft.viewer.still import draw_still, inked
from tapeloft.viewer.tones import GOODS, QUIET, WALLS, apart
from tapeloft.viewer.window import Window

DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
BOAT = read_survey(DEMO).compartments
NAMES = [survey.name for survey in BOAT]
ENDS = ("the after end", "the forward end", "the starboard wall", "the port wall", "the sole", "the deck")


@pytest.fixture(scope="module")
def demo() -> dict[str, Compartment]:
    return {survey.name: build(survey) for survey in BOAT}


@pytest.fixture(scope="module")
def port(demo: dict[str, Compartment]) -> Compartment:
    return demo["cockpit locker, port"]


def turned(solid: Solid, turn: Rotation, to: Points) -> Solid:
    return closed(turn.apply(np.array(solid.vertices)) + to, solid.triangles, solid.faces)


def block(compartment: Compartment, share: float = 0.3) -> Solid:
    """A block about the centre of a space, a share of it long, broad and high, turned by ten degrees and leant."""
    size = np.ptp(compartment.gross.bounds, axis=0) * share / 2
    turn = Rotation.from_euler("zx", [10, 4], degrees=True)
    return turned(upright(-size, size), turn, compartment.gross.centroid)


def spans(solid: Solid, compartment: Compartment) -> tuple[Span, ...]:
    """A span from the middle of the thing's upright box each way to that of the space: right enough to be drawn."""
    low, high = solid.bounds
    found = []
    for side, name in enumerate(ENDS):
        axis, end = divmod(side, 2)
        start, stop = (low + high) / 2, (low + high) / 2
        start[axis], stop[axis] = solid.bounds[end, axis], compartment.gross.bounds[end, axis]
        found.append(Span(tuple(start.tolist()), tuple(stop.tolist()), abs(float(stop[axis] - start[axis])), name))
    return tuple(found)


def crates(compartment: Compartment, many: int, size: float = 0.16, gap: float = 0.01) -> list[Solid]:
    """So many cubes side by side and on one another about the middle of a space."""
    across = math.ceil(many ** (1 / 3))
    places = [(i, j, k) for k in range(across + 1) for j in range(across) for i in range(across)][:many]
    low = compartment.gross.centroid - across * (size + gap) / 2
    return [upright(low + np.array(p) * (size + gap), low + np.array(p) * (size + gap) + size) for p in places]


# tones and marks
@pytest.mark.parametrize("many", [8, 27, 40])
def test_no_two_crates_that_share_a_side_have_one_tone(port: Compartment, many: int) -> None:
    solids = crates(port, many)
    tones = apart([solid.bounds for solid in solids], [0] * many)
    for (one, tone), (other, its) in combinations(zip(solids, tones, strict=True), 2):
        centres = np.abs(one.bounds.mean(axis=0) - other.bounds.mean(axis=0))
        if centres.sum() < 0.18:
            assert tone != its


def test_each_kind_keeps_to_tones_of_its_own() -> None:
    boxes = [np.array([[k, 0, 0], [k + 1, 1, 1.0]]) for k in range(12)]
    tones = apart(boxes, [k % 3 for k in range(12)])
    worn = [{tone for k, tone in enumerate(tones) if k % 3 == kind} for kind in range(3)]
    assert all(not (one & other) for one, other in combinations(worn, 2))
    assert len(apart(boxes, list(range(12)))) == 12


def test_letters_can_be_read_on_every_tone_even_in_shade() -> None:
    """WCAG 2.1: contrast of text is at least 4.5 to 1, (L₁ + 0.05) / (L₂ + 0.05), L from sRGB as it says there."""
    shade, _ = LIT["stowed"]
    for tone in GOODS:
        assert (luminance(tone, shade) + 0.05) / (luminance(MARK_INK, 1.0) + 0.05) >= 4.5


def luminance(tone: str, light: float) -> float:
    parts = np.array([int(tone[k : k + 2], 16) / 255 * light for k in (1, 3, 5)])
    linear = np.where(parts <= 0.03928, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_what_is_stowed_stands_out_from_what_stands_there(port: Compartment) -> None:
    scene = scene_of(port, stowed=[Stowed("crate", block(port))])
    greys = [int(part.tone[1:3], 16) - int(part.tone[5:], 16) for part in scene.of("obstruction")]
    assert max(greys) < 16
    assert not {part.tone for part in scene.of("stowed")} & {*QUIET, *WALLS}


def test_marks_are_letters_for_kinds_and_numbers_for_things_alike(port: Compartment) -> None:
    solid = block(port)

    def marks(*names: str) -> list[str]:
        return [part.mark for part in scene_of(port, stowed=[Stowed(name, solid) for name in names]).of("stowed")]

    assert marks("bike") == ["A"]
    assert marks("crate", "crate", "crate") == ["1", "2", "3"]
    assert marks("crate", "bike", "crate") == ["A1", "B", "A2"]


@pytest.mark.parametrize("view", VIEWS)
def test_every_mark_stands_on_the_thing_it_marks(port: Compartment, view: str) -> None:
    scene = scene_of(port, stowed=[Stowed("crate", solid) for solid in crates(port, 24)])
    drawing = composed(scene, view=view)
    assert len(drawing.lettering.marks) >= 4
    for mark in drawing.lettering.marks:
        corners = mark.label.corners().round().astype(int)
        (part,) = (part for part in scene.of("stowed") if part.mark == mark.label.text)
        x0, y0 = corners.min(axis=0)
        x1, y1 = corners.max(axis=0)
        assert (drawing.painting.seen[y0 + 3 : y1 - 3, x0 + 1 : x1 - 1] == scene.parts.index(part)).all()


def test_things_that_others_hide_are_counted_in_the_key(port: Compartment) -> None:
    """A cube of 27 seen from one corner shows all but the 8 behind (3³ − 2³ = 19)."""
    drawing = composed(scene_of(port, stowed=[Stowed("crate", solid) for solid in crates(port, 27, gap=0.0)]))
    assert len(drawing.lettering.unseen) == 8
    assert "27 × crate (8 out of sight)" in [entry.text for entry in entries(drawing)]


def entries(drawing: Drawing) -> list:
    return listed(drawing.scene, drawing.lettering, drawing.unit, drawing.lines)


@pytest.mark.parametrize("kinds", [1, 3, 9, 40])
def test_the_key_has_a_line_a_kind_and_says_what_it_leaves_out(port: Compartment, kinds: int) -> None:
    stowed = [Stowed(f"thing {k % kinds}", solid) for k, solid in enumerate(crates(port, 40, 0.1))]
    drawing = composed(scene_of(port, stowed=stowed))
    key = entries(drawing)
    assert len(key) <= drawing.lines
    shown = [entry for entry in key if entry.stripes]
    left = [int(entry.text.split()[1]) for entry in key if "more kinds" in entry.text]
    assert len(shown) + sum(left) == kinds
    assert inked(drawing).size == (1600, 1100)


def test_a_single_thing_out_of_sight_is_said_and_drawn_in_outline(port: Compartment) -> None:
    low, high = port.pieces[0].solid.bounds
    inside = upright(low * 0.75 + high * 0.25, low * 0.25 + high * 0.75)
    drawing = composed(scene_of(port, stowed=[Stowed("bag", inside)]))
    assert [part.name for part in drawing.lettering.unseen] == ["bag"]
    assert "bag (out of sight)" in [entry.text for entry in entries(drawing)]
    assert GHOSTS >= 1
    with_it, without = (np.array(inked(one)) for one in (drawing, composed(scene_of(port))))
    assert (with_it != without).any(axis=2).sum() > 100


# where things are seen
@pytest.mark.parametrize("angles", [(0, 0, 0), (20, 0, 0), (20, 35, 10)])
def test_a_thing_stowed_covers_the_paper_its_box_must(demo: dict[str, Compartment], angles: tuple[float, ...]) -> None:
    """A box shows Σ Aᵢ|nᵢ·t| of paper to an orthographic eye in direction t (projected area of a convex body)."""
    locker = demo["lazarette"]
    turn = Rotation.from_euler("zyx", angles, degrees=True)
    solid = turned(upright((-0.2, -0.1, -0.05), (0.2, 0.1, 0.05)), turn, np.array([-0.5, -0.6, 0.35]))
    drawing = composed(scene_of(locker, stowed=[Stowed("crate", solid)]))
    number = next(k for k, part in enumerate(drawing.scene.parts) if part.kind == "stowed")
    area = float(np.abs(turn.inv().apply(drawing.eye.toward)) @ [0.2 * 0.1, 0.4 * 0.1, 0.4 * 0.2])
    assert (drawing.painting.seen == number).sum() / drawing.eye.scale**2 == pytest.approx(area, rel=0.01)


@pytest.mark.parametrize("orthographic", [True, False])
@pytest.mark.parametrize("view", VIEWS)
def test_the_depth_of_the_picture_is_that_of_what_is_seen(port: Compartment, view: str, orthographic: bool) -> None:
    """At the pixel where a corner that nothing hides falls, what is seen is as near as the corner is."""
    solid = block(port, 0.4)
    drawing = composed(scene_of(port, stowed=[Stowed("crate", solid)]), view=view, orthographic=orthographic)
    number = next(k for k, part in enumerate(drawing.scene.parts) if part.kind == "stowed")
    nearest = solid.vertices[np.argmax(solid.vertices @ drawing.eye.toward)]
    middle = nearest + (solid.centroid - nearest) * 0.02
    column, row = drawing.eye.seen(middle).round().astype(int)
    assert drawing.painting.seen[row, column] == number
    assert drawing.painting.near[row, column] == pytest.approx(
        float((nearest - drawing.eye.focal) @ drawing.eye.toward), abs=0.03
    )


def test_a_clearance_behind_a_thing_is_told_from_one_before_it(port: Compartment) -> None:
    low, high = np.array([0.9, 0.75, 0.2]), np.array([1.3, 1.05, 0.5])
    middle = (low + high) / 2
    ways = {"before": (low[1], low[1] - 0.1), "behind": (high[1], high[1] + 0.1)}  # the locker is seen from inboard
    lines = [
        Span((middle[0], start, middle[2]), (middle[0], end, middle[2]), 0.1, name)
        for name, (start, end) in ways.items()
    ]
    drawing = composed(scene_of(port, stowed=[Stowed("crate", upright(low, high), tuple(lines))]))
    hidden = {one.said.label.text: one.hidden for one in drawing.lettering.clearances}
    assert hidden == {"100 to before": False, "100 to behind": True}


# figures
@given(st.floats(0, 3), st.sampled_from(["mm", "cm", "m", "in", "ft", "ft-in-8"]))
def test_a_clearance_is_never_said_to_be_more_than_it_is(metres: float, unit: str) -> None:
    figure = told(Span((0, 0, 0), (metres, 0, 0), metres, "it"), unit).removesuffix(" to it")
    if figure.startswith("< "):
        assert 0 < metres < length(f"{figure[2:]}{' in' if unit == 'in' else ''}", unit)
    else:
        assert length(f"{figure}{' in' if unit == 'in' and figure != '0' else ''}", unit) <= metres + 1e-5


CASES = [(name, "three-quarter", "mm") for name in NAMES] + [
    ("cockpit locker, starboard", view, unit)
    for view, unit in (("plan", "in"), ("profile", "ft"), ("section", "ft-in-8"))
]


@pytest.mark.parametrize(("name", "view", "unit"), CASES)
def test_no_figure_name_or_mark_lies_on_another(
    demo: dict[str, Compartment], name: str, view: str, unit: str
) -> None:  # fmt: skip
    """Outside check: every label's rectangle is filled in on a raster, and no pixel is filled twice."""
    solid = block(demo[name])
    stowed = [Stowed("folded bike", solid, spans(solid, demo[name]))]
    drawing = composed(scene_of(demo[name], stowed=stowed), view=view, unit=unit)
    lettering = drawing.lettering
    clear = 6 if view == "three-quarter" else 4
    assert len(lettering.clearances) + lettering.unsaid == clear
    assert len(lettering.clearances) >= clear - 1
    assert len(lettering.holes) == len(demo[name].survey.openings)
    words = [one.said for one in (*lettering.clearances, *lettering.holes) if one.said is not None]
    words += lettering.marks
    labels = [m.label for m in lettering.measures] + [one.label for one in (*words, *lettering.balloons)]
    width, height = drawing.eye.size
    filled = np.zeros((height, width), int)
    for label in labels:
        filled += mask_of(label, width, height)
        assert label.corners().min() >= 0
        assert (label.corners() <= (width, height)).all()
    assert filled.max() == 1


def mask_of(label: Label, width: int, height: int) -> np.ndarray:
    image = Image.new("1", (width, height))
    middle = label.corners().mean(axis=0)
    corners = middle + (label.corners() - middle) * 0.98
    ImageDraw.Draw(image).polygon([tuple(corner) for corner in corners.tolist()], fill=1)
    return np.array(image)


def test_more_clearances_than_can_be_read_are_left_out_and_counted(port: Compartment) -> None:
    stowed = [Stowed("crate", solid, spans(solid, port)) for solid in crates(port, 12)]
    drawing = composed(scene_of(port, stowed=stowed))
    assert 0 < len(drawing.lettering.clearances) <= MOST
    assert len(drawing.lettering.clearances) + drawing.lettering.unsaid == 72
    assert any(f"and {drawing.lettering.unsaid} more clearances" in entry.text for entry in entries(drawing))
    smallest = sorted(span.length_m for one in stowed for span in one.spans)[:3]
    shown = {one.said.label.text.split()[0] for one in drawing.lettering.clearances}
    assert {f"{math.floor(length * 1000 + 1e-6)}" for length in smallest} <= shown


def test_touching_is_a_dot_with_a_nought(port: Compartment) -> None:
    at = (1.0, 0.9, 0.4)
    stowed = Stowed("crate", upright((0.9, 0.8, 0.2), (1.1, 1.0, 0.4)), (Span(at, at, 0.0, "the shelf"),))
    drawing = composed(scene_of(port, stowed=[stowed]))
    (touch,) = drawing.lettering.clearances
    assert touch.said.label.text == "0 to the shelf"
    x, y = (drawing.eye.seen(np.array(at)) + 22).round().astype(int)
    red, green, _ = np.array(inked(drawing))[y, x]
    assert (red > 120, green < 60) == (True, True)


# boxes in any turn
@given(st.tuples(*[st.floats(-180, 180)] * 3), st.tuples(*[st.floats(0.1, 2)] * 3))
def test_a_turned_box_has_the_sides_and_the_volume_of_an_upright_one(
    angles: tuple[float, ...], size: tuple[float, float, float]
) -> None:
    turn = Rotation.from_euler("zyx", angles, degrees=True)
    corners = turn.apply(box_corners((0, 0, 0), size)) + np.array([0.3, -0.2, 0.1])
    assert side_lengths(corners) == pytest.approx(size)
    for axis in range(3):
        for start, end in sides_along(corners, axis):
            assert end - start == pytest.approx(turn.apply(np.eye(3)[axis] * size[axis]), abs=1e-9)
    assert boxed(corners).volume == pytest.approx(math.prod(size), rel=1e-3)


@pytest.mark.parametrize("view", VIEWS)
def test_a_turned_box_is_figured_along_its_own_edges(port: Compartment, view: str) -> None:
    turn = Rotation.from_euler("zyx", [25, 15, 10], degrees=True)
    corners = turn.apply(box_corners((-0.3, -0.2, -0.1), (0.3, 0.2, 0.1))) + port.gross.centroid
    drawing = composed(scene_of(port, corners), view=view)
    assert sorted(label.text for label in drawing.lettering.box) == ["200", "400", "600"]
    for label in drawing.lettering.box:
        axis = {"600": 0, "400": 1, "200": 2}[label.text]
        start, end = drawing.eye.seen(np.array(sides_along(corners, axis)[0]))
        along = math.atan2(-(end - start)[1], (end - start)[0])
        assert math.sin(label.angle - along) == pytest.approx(0, abs=1e-6)
    assert "largest box 600 × 400 × 200, 48.0 L" in [entry.text for entry in entries(drawing)]


def test_an_upright_box_is_the_same_whichever_way_it_is_given(port: Compartment) -> None:
    class Found:
        low, high = (0.8, 0.7, 0.2), (1.4, 1.1, 0.6)

    one, other = (composed(scene_of(port, box)) for box in (Found, box_corners(Found.low, Found.high)))
    assert one.lettering.box == other.lettering.box
    assert (one.painting.pixels == other.painting.pixels).all()


@pytest.mark.usefixtures("warmed")
@pytest.mark.parametrize("rule", [Turn.AS_GIVEN, Turn.UPRIGHT])
def test_the_largest_box_is_drawn_as_it_was_found(demo: dict[str, Compartment], rule: Turn) -> None:
    locker = demo["gas locker"]
    found = largest_box(locker.inside, locker.outside, turn=rule)
    assert found is not None
    (drawn,) = [part for part in scene_of(locker, box=found.corners).parts if part.corners is not None]
    assert drawn.solid.volume == pytest.approx(found.volume_m3, rel=1e-9)
    assert drawn.corners is not None
    assert side_lengths(drawn.corners) == pytest.approx(np.subtract(found.high, found.low), abs=1e-9)


def test_several_boxes_each_have_their_sizes(port: Compartment) -> None:
    low = box_corners((0.7, 0.7, 0.2), (1.0, 1.1, 0.5))
    drawing = composed(scene_of(port, np.array([low, low + np.array([0.5, 0, 0])])))
    assert [part.name for part in drawing.scene.of("box")] == ["box 1", "box 2"]
    sizes = ["300", "300", "300", "300", "400", "400"]
    assert sorted(label.text for label in drawing.lettering.box) == [*sizes, "box 1", "box 2"]


# openings
@pytest.mark.parametrize("name", NAMES)
def test_openings_are_drawn_where_they_are(demo: dict[str, Compartment], name: str) -> None:
    drawing = composed(scene_of(demo[name]))
    for opening, hole in zip(clear_openings(demo[name]), drawing.lettering.holes, strict=True):
        assert hole.outline == pytest.approx(drawing.eye.seen(opening.outline))
        assert hole.said is not None
        assert hole.said.label.text.startswith(opening.name)


def test_an_openings_clear_size_stands_by_its_name(demo: dict[str, Compartment]) -> None:
    texts = {
        name: [hole.said.label.text for hole in composed(scene_of(demo[name]), unit=unit).lettering.holes]
        for name, unit in (("lazarette", "mm"), ("chain locker", "mm"), ("berth locker", "in"))
    }
    assert texts == {
        "lazarette": ["port lid 480 × 560", "starboard lid 480 × 620"],
        "chain locker": ["spurling pipe Ø 100"],
        "berth locker": ["bunk board 24 × 16"],
    }


# files
def test_what_is_stowed_drawn_twice_is_the_same_to_the_byte(port: Compartment, tmp_path: Path) -> None:
    solid = block(port)
    for name in ("one.png", "two.png"):
        draw_still(port, tmp_path / name, stowed=[Stowed("bike", solid, spans(solid, port))], size=(800, 550))
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_a_small_picture_still_draws(port: Compartment, tmp_path: Path) -> None:
    stowed = [Stowed("crate", solid, spans(solid, port)) for solid in crates(port, 10)]
    draw_still(port, tmp_path / "small.png", stowed=stowed, size=(320, 220))
    with Image.open(tmp_path / "small.png") as picture:
        assert picture.size == (320, 220)


def test_a_round_thing_is_shaded_evenly(demo: dict[str, Compartment]) -> None:
    """A drum lying athwartships is lit in steps of a few greys from facet to facet, not of dozens."""
    solid = body(prism(circle((-0.5, 0.35), 0.2, Round.INSIDE, 24), -0.9, -0.3, 1))
    scene = scene_of(demo["lazarette"], stowed=[Stowed("drum", solid)])
    drawing = composed(scene, view="plan")
    number = next(k for k, part in enumerate(scene.parts) if part.kind == "stowed")
    rows, columns = np.nonzero(drawing.painting.seen == number)
    row = int(np.median(rows))
    grey = drawing.painting.pixels[::2, ::2].astype(int).sum(axis=2)[row, columns.min() + 6 : columns.max() - 6] // 3
    assert np.abs(np.diff(grey)).max() <= 4
    assert np.ptp(grey) > 10


def test_dashes_are_half_of_a_line_and_run_round_its_corners() -> None:
    square = np.array([[0, 0], [36, 0], [36, 34], [0, 34], [0, 0.0]])
    pieces = dashes(square, 7.0)
    assert sum(np.linalg.norm(np.diff(piece, axis=0), axis=1).sum() for piece in pieces) == pytest.approx(70)
    assert len(pieces) == 10
    assert max(len(piece) for piece in pieces) == 3


# the window
@pytest.fixture
def window(port: Compartment) -> Iterator[Window]:
    solid = block(port)
    stowed = [Stowed("bike", solid, spans(solid, port))]
    with device.drawing_with(device.off_screen_window()):
        shown = Window(scene_of(port, stowed=stowed), off_screen=True)
        yield shown
        shown.plotter.close()


def test_the_window_shows_and_hides_what_is_stowed(window: Window) -> None:
    assert "stowed" in [part.kind for part in window.drawn]
    assert "clearances" in window.plotter.actors
    window.key("s")
    assert "stowed" not in [part.kind for part in window.drawn]
    assert "clearances" not in window.plotter.actors
    window.key("s")
    window.key("d")
    assert "stowed" in [part.kind for part in window.drawn]
    assert "clearances" not in window.plotter.actors


def test_the_window_shows_and_hides_lids_and_doors(window: Window) -> None:
    assert "openings" in window.plotter.actors
    window.key("l")
    assert "openings" not in window.plotter.actors
    window.key("l")
    assert "openings" in window.plotter.actors
    window.key("c")
    window.cut_at(0.5)
    assert "openings" not in window.plotter.actors


@pytest.mark.parametrize("view", ["1", "2", "4"])
def test_the_window_sees_points_where_its_camera_puts_them(window: Window, view: str) -> None:
    """Outside check: the display coordinates that VTK computes."""
    window.key(view)
    window.plotter.render()
    renderer, height = window.plotter.renderer, window.plotter.window_size[1]
    for point in window.scene.gross.vertices[:8]:
        renderer.SetWorldPoint(*point, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        assert window._eye().seen(point) == pytest.approx((x, height - y), abs=0.01)


def test_marks_in_the_window_are_of_things_in_sight_and_clear_of_each_other(port: Compartment) -> None:
    scene = scene_of(port, stowed=[Stowed("crate", solid) for solid in crates(port, 27)])
    drawing = composed(scene)
    shown = stowed_marked(scene.parts, drawing.eye)
    in_sight = {part.mark for part in scene.of("stowed") if part not in drawing.lettering.unseen}
    assert {caption.words for caption in shown} <= in_sight
    assert len(shown) >= 15
    twice = clear_of_others([*shown, *shown], drawing.eye)
    assert len(twice) == len(clear_of_others(shown, drawing.eye))


def test_keys_leave_out_what_is_not_chosen(port: Compartment) -> None:
    scene = scene_of(port, stowed=[Stowed("bike", block(port))])
    assert chosen(scene, keyed(Look(), "s", scene)).of("stowed") == ()
    assert chosen(scene, keyed(Look(), "l", scene)).openings == ()
    assert chosen(scene, Look()).openings == scene.openings
    assert cut(scene, 0.5).openings == ()


def test_a_scene_filled_keeps_what_is_stowed_and_its_openings(port: Compartment) -> None:
    scene: Scene = scene_of(port, level=0.3, stowed=[Stowed("bike", block(port))])
    assert len(scene.of("stowed")) == len(scene.of("water")) == len(scene.openings) == 1
    assert painted(scene, composed(scene).eye, 1.0).seen.max() >= 0


def test_a_number_stands_at_its_thing_however_little_of_it_shows(demo: dict[str, Compartment]) -> None:
    """Where a plate hides all but the top of a post, the number is led to that, and not to the plate's corner."""
    plate = upright((0.0, -0.912, 0.0), (2.1, -0.9, 0.84))
    drawing = composed(scene_of(demo["cockpit locker, starboard"], stowed=[Stowed("plate", plate)]))
    things, seen = dict(drawing.numbered), drawing.painting.seen
    assert drawing.lettering.balloons
    for balloon in drawing.lettering.balloons:
        column, row = map(round, balloon.thing)
        assert seen[row, column] == drawing.scene.parts.index(things[int(balloon.label.text)])
