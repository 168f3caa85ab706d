"""One of each shape, and each of them held to the same things."""

import math
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from itertools import pairwise
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tapeloft.model.facets import body, standing
from tapeloft.model.solid import Solid, united
from tapeloft.shapes.block import Box
from tapeloft.shapes.cylinder import Cylinder
from tapeloft.shapes.mesh import Mesh
from tapeloft.shapes.panel import Panel
from tapeloft.shapes.pipe import Pipe
from tapeloft.shapes.polyhedron import OVER, SIDES, Bounds, Polyhedron, Round
from tapeloft.shapes.post import Post
from tapeloft.shapes.prism import Prism
from tapeloft.shapes.readings import Breadth, Choice, Height, Reading, Station
from tapeloft.shapes.registry import SHAPES, Shape
from tapeloft.shapes.steps import Steps
from tapeloft.shapes.wedge import Wedge

SPACE = Bounds((0, 0, 0), (2, 1, 1))
BOTTOM, TOP = -math.inf, math.inf
LONG, BROAD, HIGH = 2 + 2 * OVER, 1 + 2 * OVER, 1 + 2 * OVER  # the space, and 1 mm through each wall

# Each with its volume, m³, by the rules of mensuration (from memory): prism = area of base × height; cylinder = πr²h;
# wedge with two upright ends = mean height × plan; pyramid = a third of base × height; a bent pipe, cut square at its
# ends, = section × length of its centreline (Pappus for a run of prisms that meet on their bisecting planes).
CASES: dict[str, tuple[Shape, float]] = {
    "box": (Box((0.2, 0.6), (0.5, 0.9), (0.0, 0.34)), 0.4 * 0.4 * 0.34),
    "box, readings the other way round": (Box((0.6, 0.2), (0.9, 0.5), (0.34, 0.0)), 0.4 * 0.4 * 0.34),
    "box, named walls": (Box((BOTTOM, 0.5), None, (0.7, TOP)), (0.5 + OVER) * BROAD * (0.3 + OVER)),
    "panel": (Panel((1.0, 1.012), None, None), 0.012 * BROAD * HIGH),
    "panel, part of the way": (Panel(None, (0.3, 0.309), (BOTTOM, 0.42)), LONG * 0.009 * (0.42 + OVER)),
    "shelf": (Panel(None, None, (0.5, 0.515)), LONG * BROAD * 0.015),
    "post": (Post(x=0.96, y=0.505, diameter=0.06), math.pi * 0.03**2 * HIGH),
    "post, athwartships": (Post(x=0.9, y=None, z=0.4, axis="y", diameter=0.1), math.pi * 0.05**2 * BROAD),
    "post, square": (Post(x=1.0, y=0.5, z=(0, 0.8), section="square", side=0.07), 0.07**2 * 0.8),
    "tube, closed": (Post(x=1.0, y=0.5, section="tube", diameter=0.114), math.pi * 0.057**2 * HIGH),
    "tube, open": (
        Post(x=None, y=0.5, z=0.3, axis="x", section="tube", diameter=0.1, wall=0.004, bore="open"),
        math.pi * (0.05**2 - 0.046**2) * LONG,
    ),
    "steps": (
        Steps("forward", x=0.5, y=(0.2, 0.8), z=0.1, risers=(0.2, 0.15), treads=(0.3, 0.4)),
        0.6 * (0.3 * (0.3 + OVER) + 0.4 * (0.45 + OVER)),
    ),
    "steps, aft to the wall": (
        Steps("aft", x=1.5, y=None, z=None, risers=(0.2, 0.15), treads=(0.3,)),
        BROAD * (0.3 * (0.2 + OVER) + (1.2 + OVER) * (0.35 + OVER)),
    ),
    "steps, one, to starboard": (
        Steps("starboard", x=(0.1, 0.6), y=0.4, z=0.0, risers=(0.25,), treads=None),
        0.5 * (0.4 + OVER) * (0.25 + OVER),
    ),
    "wedge": (Wedge("forward", (1.2, 1.9), (0.2, 0.8), 0.0, 0.1, 0.4), 0.7 * 0.6 * 0.25),
    "wedge, to a feather edge": (Wedge("port", (0.5, 1.0), (0.1, 0.9), 0.0, 0.0, 0.3), 0.5 * 0.8 * 0.15),
    "wedge, wall to wall": (Wedge("aft", None, (0.2, 0.8), 0.0, 0.1, 0.4), LONG * 0.6 * 0.25),
    "pipe": (Pipe(((0.2, 0.3, 0.15), (1.7, 0.3, 0.15)), 0.06), math.pi * 0.03**2 * 1.5),
    "pipe, bent": (
        Pipe(((0.2, 0.3, 0.15), (1.0, 0.3, 0.15), (1.3, 0.7, 0.15), (1.3, 0.7, 0.8)), 0.06),
        math.pi * 0.03**2 * (0.8 + 0.5 + 0.65),
    ),
    "prism, plan": (Prism(((0.2, 0.2), (1.0, 0.2), (0.2, 0.8)), z=(0.0, 0.35)), 0.24 * 0.35),
    "prism, profile": (Prism(None, ((0.0, 0.0), (0.3, 0.0), (0.0, 0.4)), y=(0.5, 0.52), z=None), 0.06 * 0.02),
    "prism, section, hollow": (
        Prism(None, None, ((0.0, 0.0), (1.0, 0.0), (1.0, 0.5), (0.5, 0.2), (0.0, 0.5)), z=None),
        (0.5 - 0.15) * LONG,
    ),
    "prism, to walls": (
        Prism(((0.5, BOTTOM), (1.0, BOTTOM), (1.0, TOP), (0.5, TOP)), z=(0.0, 0.5)),
        0.5 * BROAD * 0.5,
    ),
    "cylinder": (Cylinder("x", (0.6, 1.3), 0.6, 0.03, 0.3), math.pi * 0.15**2 * 0.7),
    "cylinder, athwartships": (Cylinder("y", 0.6, (0.1, 0.7), BOTTOM, 0.2), math.pi * 0.1**2 * 0.6),
    "mesh": (Mesh(unit="mm", at=(0.3, 0.2, 0.1)), 0.4 * 0.3 * 0.2 / 6),
    "mesh, inches": (Mesh(unit="in", at=None), 400 * 300 * 200 / 6 * 0.0254**3),
}
ALL = {**{name: case[0] for name, case in CASES.items()}, **{f"default {n}": kind() for n, kind in SHAPES.items()}}
each = pytest.mark.parametrize("shape", [pytest.param(shape, id=name) for name, shape in ALL.items()])


@pytest.mark.parametrize(("shape", "volume"), [pytest.param(*case, id=name) for name, case in CASES.items()])
def test_the_volume_is_what_mensuration_says(shape: Shape, volume: float) -> None:
    assert standing(shape, SPACE, Round.EQUAL_AREA).volume == pytest.approx(volume, rel=1e-12)


def test_each_registered_shape_is_among_the_cases() -> None:
    assert {type(shape) for shape, _ in CASES.values()} == set(SHAPES.values())


@each
@pytest.mark.parametrize("how", Round)
def test_bodies_are_closed_plane_faced_and_face_outward(shape: Shape, how: Round) -> None:
    for polyhedron in shape.bodies(SPACE, how):
        for face in polyhedron.faces:
            corners = polyhedron.vertices[list(face)]
            flat = np.linalg.svd(corners - corners.mean(axis=0))[2][2]
            assert np.abs((corners - corners.mean(axis=0)) @ flat).max() < 1e-9
        solid = body(polyhedron)
        other = trimesh.Trimesh(solid.vertices, solid.triangles, process=False)
        assert other.is_watertight
        assert other.is_winding_consistent
        assert other.volume > 0
        assert other.volume == pytest.approx(solid.volume, rel=1e-9)


@each
def test_around_a_circle_is_more_and_within_it_less(shape: Shape) -> None:
    inside, same, outside = (standing(shape, SPACE, how) for how in (Round.INSIDE, Round.EQUAL_AREA, Round.OUTSIDE))
    assert inside.volume <= same.volume * (1 + 1e-12)
    assert same.volume <= outside.volume * (1 + 1e-12)
    assert (inside - outside).volume < 1e-12


@each
def test_no_circle_is_drawn_more_than_an_eighth_of_a_percent_off(shape: Shape) -> None:
    """Corners within and sides around a circle of 64 sides are 1 − cos(π/64) = 0.12 % of its radius apart."""
    inside, outside = (shape.bodies(SPACE, how) for how in (Round.INSIDE, Round.OUTSIDE))
    apart = max(
        float(np.linalg.norm(a.vertices - b.vertices, axis=1).max()) for a, b in zip(inside, outside, strict=True)
    )
    largest = max((getattr(shape, "diameter", None) or 0.0) / 2, 0.0)
    sharpest = 4.0  # a mitre's tip is at most 3.86 radii from the centreline
    assert apart <= largest * sharpest * (1 / math.cos(math.pi / SIDES) - 1) + 1e-12


def test_the_tube_too_thin_to_draw_has_no_body_within_itself() -> None:
    thin = Post(x=1.0, y=0.5, section="tube", diameter=1.0, wall=0.0005, bore="open")
    assert standing(thin, SPACE, Round.INSIDE).is_empty
    assert not standing(thin, SPACE, Round.OUTSIDE).is_empty


def test_a_round_post_clears_and_takes_what_the_true_one_does() -> None:
    """The sides of the outer polygon touch the circle; the corners of the inner one lie on it."""
    post = Post(x=1.0, y=0.5, diameter=0.06)
    outer, inner = (
        post.bodies(SPACE, how)[0].vertices[:SIDES, :2] - (1.0, 0.5) for how in (Round.OUTSIDE, Round.INSIDE)
    )
    middles = (outer + np.roll(outer, 1, axis=0)) / 2
    assert np.linalg.norm(middles, axis=1) == pytest.approx(np.full(SIDES, 0.03), rel=1e-12)
    assert np.linalg.norm(inner, axis=1) == pytest.approx(np.full(SIDES, 0.03), rel=1e-12)


def test_readings_lie_on_whole_hundredths_of_a_millimetre() -> None:
    """59 3/8 in and a sixteenth are 1509.7125 mm: two boxes that end and start there touch."""
    sixteenth = 0.0254 * (59 + 3 / 8 + 1 / 16)
    one = body(Box((0.1, sixteenth), None, None).bodies(SPACE, Round.INSIDE)[0])
    other = body(Box((sixteenth + 1e-9, 2.0), None, None).bodies(SPACE, Round.INSIDE)[0])
    assert one.bounds[1, 0] == other.bounds[0, 0] == 1.50971
    assert len((one + other).parts()) == 1


# moved and mirrored: as the markers of a shape's fields say what each number is, so they say how it moves


def numbers(hint: Any, value: Any, how: Callable[[Reading | None, float], float], marker: Reading | None = None) -> Any:
    """Return *value* with each number in it replaced by *how*(its marker, number)."""
    if get_origin(hint) is Annotated:
        bare, *marks = get_args(hint)
        return numbers(bare, value, how, next((m for m in marks if isinstance(m, Reading)), marker))
    if isinstance(value, tuple):
        listed = hint if get_origin(hint) is tuple else next(a for a in get_args(hint) if get_origin(a) is tuple)
        inner = get_args(listed)
        kinds = [inner[0]] * len(value) if inner[-1] is Ellipsis else inner
        return tuple(numbers(kind, part, how, marker) for kind, part in zip(kinds, value, strict=True))
    return how(marker, value) if isinstance(value, float | int) else value


def with_readings(shape: Any, how: Callable[[Reading | None, float], float]) -> Any:
    hints = get_type_hints(type(shape), include_extras=True)
    return replace(shape, **{f.name: numbers(hints[f.name], getattr(shape, f.name), how) for f in fields(shape)})


def differ(one: Solid, other: Solid) -> float:
    return (one - other).volume + (other - one).volume


@each
def test_moving_every_reading_moves_the_body(shape: Shape) -> None:
    by = {Station: 0.53, Breadth: -1.27, Height: 0.31}
    moved = with_readings(shape, lambda marker, number: number + by.get(type(marker), 0.0))  # type: ignore[arg-type]
    if isinstance(shape, Mesh) and shape.at is None:
        moved = replace(shape, at=tuple(by.values()))
    step = np.array(list(by.values()))
    space = Bounds(*(tuple((np.array(end) + step).tolist()) for end in (SPACE.low, SPACE.high)))
    there = standing(moved, space, Round.EQUAL_AREA)
    here = standing(shape, SPACE, Round.EQUAL_AREA)
    assert there.volume == pytest.approx(here.volume, rel=1e-9)
    assert there.centroid == pytest.approx(here.centroid + step, abs=1e-9)


@pytest.mark.parametrize("shape", [pytest.param(s, id=name) for name, s in ALL.items() if not isinstance(s, Mesh)])
def test_readings_on_the_other_side_give_the_mirrored_body(shape: Shape) -> None:
    other = with_readings(shape, lambda marker, number: -number if isinstance(marker, Breadth) else number)
    sides = {"port": "starboard", "starboard": "port"}
    if getattr(shape, "rises", "") in sides:
        other = replace(other, rises=sides[other.rises])
    space = Bounds((0, -1, 0), (2, 0, 1))
    assert differ(standing(other, space, Round.EQUAL_AREA).mirrored(), standing(shape, SPACE, Round.EQUAL_AREA)) < 1e-12


# what a person is told


@pytest.mark.parametrize("name", SHAPES)
def test_each_shape_says_in_a_sentence_what_it_is(name: str) -> None:
    first, blank, *_ = (SHAPES[name].__doc__ or "").splitlines()
    assert first.endswith(".")
    assert len(first.split()) > 4
    assert not blank.strip()


@pytest.mark.parametrize("name", SHAPES)
def test_each_field_says_what_it_is(name: str) -> None:
    for field, hint in get_type_hints(SHAPES[name], include_extras=True).items():
        assert get_origin(hint) is Annotated, field
        assert get_args(hint)[1].about, field


@pytest.mark.parametrize("name", SHAPES)
def test_no_default_of_a_reading_is_taken_for_a_reading(name: str) -> None:
    """With all left out that may be, each shape but a box, which then fills the space, asks for a reading."""
    hints = get_type_hints(SHAPES[name], include_extras=True)
    asked = {k for k, hint in hints.items() if type(None) not in get_args(get_args(hint)[0])}
    asked -= {k for k, hint in hints.items() if any(isinstance(marker, Choice) for marker in get_args(hint))}
    if not asked and name != "box":
        bare = replace(
            SHAPES[name](), **{k: None for k, hint in hints.items() if type(None) in get_args(get_args(hint)[0])}
        )
        with pytest.raises(ValueError, match=r"missing|needs one outline|no thickness"):
            bare.bodies(SPACE, Round.INSIDE)


REFUSED = [
    (Box((0.5, 0.5), None, None), "no size in x"),
    (Box((BOTTOM, -0.5), None, None), "no size in x"),
    (Panel(None, None, None), "no thickness"),
    (Panel((BOTTOM, 1.0), None, None), "no thickness"),
    (Panel((1.0, 1.0), None, None), "no size in x"),
    (Post(diameter=None), "its diameter is missing"),
    (Post(diameter=0.0), "more than nothing"),
    (Post(diameter=-0.1), "more than nothing"),
    (Post(diameter=math.nan), "more than nothing"),
    (Post(x=None), "x, station of its centre, is missing"),
    (Post(x=(0.1, 0.2)), "must be one reading"),
    (Post(x=TOP), "not a wall"),
    (Post(z=0.5), "z must be from, to"),
    (Post(section="square"), "side of a square post is missing"),
    (Post(side=0.1), "section"),
    (Post(wall=0.004), "section"),
    (Post(bore="open"), "section"),
    (Post(section="tube", bore="open"), "wall thickness of a tube with an open bore is missing"),
    (Post(section="tube", bore="open", wall=0.03), "no bore"),
    (Steps(x=None), "where the first riser stands"),
    (Steps(x=(0.1, 0.2)), "where the first riser stands"),
    (Steps(y=0.4), "y must be from, to"),
    (Steps(risers=()), "give at least one riser"),
    (Steps(risers=(0.2, 0.2, 0.2), treads=(0.3,)), "each riser needs its tread"),
    (Steps(risers=(0.2, -0.2)), "each riser must be more than nothing"),
    (Steps(treads=(0.3, 0.0)), "each tread must be more than nothing"),
    (Steps(x=0.5, risers=(0.2, 0.2), treads=(1.6,)), "beyond the wall forward"),
    (Steps(rises="aft", x=-0.5, risers=(0.2,), treads=None), "beyond the wall aft"),
    (Steps(z=-0.5), "below the bottom"),
    (Wedge(low=0.4, high=0.4), "does not rise"),
    (Wedge(low=0.5, high=0.4), "does not rise"),
    (Wedge(high=TOP), "not a wall"),
    (Wedge(z=0.2), "below its underside"),
    (Wedge(x=(BOTTOM, 0.0)), "no size in x"),
    (Pipe(((0, 0, 0),)), "two points"),
    (Pipe(((0.1, 0, 0), (0.1, 0, 0))), "points 1 and 2 of the run are the same"),
    (Pipe(((0, 0, 0), (1, 0, 0), (0.1, 0.1, 0))), "turns back on itself at point 2"),
    (Pipe(((0, 0, 0), (1, 0, 0), (1, 0.05, 0), (0, 0.05, 0)), 0.06), "leg from point 2 to 3 is too short"),
    (Pipe(((0, 0, 0), (1, 0, 0), (1, 1, 0), (0.5, 1, 0), (0.5, -1, 0)), 0.06), "leg from point 1 to 2 and the one"),
    (Pipe(((0, 0, 0), (1, TOP, 0), (1, 1, 1))), "only the first and the last"),
    (Pipe(((0.5, 0.5, 0.5), (1.0, 0.5, 0.5), (1.5, 0.999, TOP)), diameter=0.0), "its diameter must be"),
    (Pipe(((0.5, 0.5, 3.0), (1.0, 0.5, TOP))), "last leg does not meet the wall"),
    (Prism(None, z=None), "needs one outline"),
    (Prism(profile=((0, 0), (1, 0), (0, 1))), "needs one outline"),
    (Prism(x=(0.0, 1.0)), "the plan already tells x and y"),
    (Prism(((0, 0), (1, 0))), "three points"),
    (Prism(((0, 0), (1, 1), (1, 0), (0, 1))), "crosses itself"),
    (Cylinder("x", 0.6), "x must be from, to"),
    (Cylinder("y", 0.6, 0.6), "y must be from, to"),
    (Cylinder(lies_on=TOP), "not a wall"),
    (Cylinder(diameter=0.0), "more than nothing"),
    (Mesh(at=(0.0, TOP, 0.0)), "cannot be placed by a wall"),
]


@pytest.mark.parametrize(
    ("shape", "words"), [pytest.param(*case, id=f"{case[1]} {k}") for k, case in enumerate(REFUSED)]
)
def test_readings_that_make_no_body_are_refused_in_words(shape: Shape, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        shape.bodies(SPACE, Round.EQUAL_AREA)


# runs of pipe


def test_an_end_that_names_a_wall_is_wholly_through_it() -> None:
    run = Pipe(((0.5, 0.5, 0.4), (0.9, 0.7, BOTTOM)), diameter=0.1)
    (pipe,) = run.bodies(SPACE, Round.OUTSIDE)
    end = pipe.vertices[SIDES:]
    assert end[:, 2].max() <= -OVER + 1e-12
    assert end[:, 2].max() > -0.01


def test_a_run_may_name_a_wall_at_both_ends() -> None:
    run = Pipe(((BOTTOM, 0.5, 0.4), (TOP, 0.5, 0.4)), diameter=0.1)
    assert standing(run, SPACE, Round.EQUAL_AREA).volume == pytest.approx(math.pi * 0.05**2 * LONG, rel=1e-12)


def test_a_jog_shorter_than_the_pipe_is_thick_is_parted_by_its_mitres() -> None:
    run = Pipe(((0, 0.5, 0.5), (1, 0.5, 0.5), (1, 0.52, 0.5), (2, 0.52, 0.5)), diameter=0.06)
    assert standing(run, SPACE, Round.EQUAL_AREA).volume == pytest.approx(math.pi * 0.03**2 * 2.02, rel=1e-12)


def runs() -> st.SearchStrategy[Pipe]:
    spot = st.tuples(*[st.integers(0, 20).map(lambda n: n / 10)] * 3)
    return st.lists(spot, min_size=2, max_size=6).map(lambda points: Pipe(tuple(points), 0.04))


@settings(deadline=None)
@given(runs())
def test_a_run_is_its_section_times_its_length_or_is_refused(run: Pipe) -> None:
    try:
        (pipe,) = run.bodies(SPACE, Round.EQUAL_AREA)
    except ValueError:
        return
    length = sum(math.dist(a, b) for a, b in pairwise(run.points))
    assert body(pipe).volume == pytest.approx(math.pi * 0.02**2 * length, rel=1e-9)
    legs = [leg_of(pipe, k) for k in range(len(run.points) - 1)]
    assert united(legs).volume == pytest.approx(math.pi * 0.02**2 * length, rel=1e-9)


def leg_of(pipe: Polyhedron, k: int) -> Solid:
    """Return one leg of a run alone: were it to meet another, their union would be less than the run."""
    rings = pipe.vertices[k * SIDES : (k + 2) * SIDES]
    start = tuple(range(SIDES))
    sides = [(i, (i + 1) % SIDES, SIDES + (i + 1) % SIDES, SIDES + i) for i in range(SIDES)]
    return body(Polyhedron(rings, (start[::-1], tuple(i + SIDES for i in start), *sides)))


def test_bodies_are_equal_by_what_they_hold() -> None:
    one, other = (Box().bodies(SPACE, Round.INSIDE)[0] for _ in range(2))
    assert one == other
    assert hash(one) == hash(other)
    assert one != Polyhedron(one.vertices + 1e-3, one.faces)
    assert one != "box"
    with pytest.raises(ValueError, match="read-only"):
        one.vertices[0, 0] = 1.0


def walls() -> Iterator[tuple[float, float]]:
    for axis in range(3):
        yield SPACE.low[axis], SPACE.high[axis]


def test_a_side_left_out_runs_one_millimetre_through_both_walls() -> None:
    for axis, (low, high) in enumerate(walls()):
        assert SPACE.reach(axis, None) == pytest.approx((low - OVER, high + OVER), abs=1e-15)
