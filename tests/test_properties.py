"""What must not change a compartment: its side, its place, its axes, more stations, another order of cutting."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tapeloft.model.areas import areas_to_coat
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.errors import SurveyError
from tapeloft.model.solid import united
from tapeloft.model.survey.sheet import Datum, Obstruction, Space
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Survey
from tapeloft.model.volume import shares
from tapeloft.shapes.block import Box
from tapeloft.shapes.post import Post
from tapeloft.shapes.registry import Shape

SAME = 1e-9  # share of the gross volume, and m, within which two are one
often = settings(max_examples=25, deadline=None)
Span = tuple[float, float] | None


@dataclass(frozen=True)
class Scene:
    """A space and what stands in it, before anyone writes it down: whole 0.1 mm, so that half of it is on the grid.

    sections: distance and (y, z) of each corner, m. A flat scene's cells lie in planes: its sections are one figure
    at several sizes.
    """

    sections: tuple[tuple[float, tuple[tuple[float, float], ...]], ...]
    shapes: tuple[Shape, ...]

    def survey(self, mirrored: bool = False) -> Survey:
        stations = tuple(
            Station(str(k), x, tuple(Corner("ABCDEFGH"[i], (x, y, z)) for i, (y, z) in enumerate(section)))
            for k, (x, section) in enumerate(self.sections)
        )
        standing = tuple(Obstruction(str(k), shape=shape) for k, shape in enumerate(self.shapes))
        return Survey("locker", Space("locker"), Datum(), stations, obstructions=standing, mirrored=mirrored)

    def built(self) -> Compartment:
        try:
            return build(self.survey())
        except SurveyError as bad:
            words = ("outside", "nothing", "fills", "no size")
            assume(not any(word in problem.what for word in words for problem in bad.problems))
            raise

    def mapped(self, carry: Callable[[Any], Any]) -> "Scene":
        """The scene with every (x, y, z) of its corners and of its shapes carried elsewhere.

        *carry* takes spans as well as points: it may exchange, negate and shift coordinates, no more.
        """
        moved = []
        for x, section in self.sections:
            corners = [carry((x, y, z)) for y, z in section]
            moved.append((corners[0][0], tuple((y, z) for _, y, z in corners)))
        order = 1 if moved[0][0] < moved[-1][0] else -1
        return Scene(tuple(moved[::order]), tuple(_carried(shape, carry) for shape in self.shapes))


def _carried(shape: Shape, carry: Callable[[Any], Any]) -> Shape:
    assert isinstance(shape, Box | Post)
    x, y, z = carry((shape.x, shape.y, shape.z))
    if isinstance(shape, Box):
        return Box(x, y, z)
    axis = "xyz"[(x, y, z).index(None)]
    return replace(shape, x=x, y=y, z=z, axis=axis)  # type: ignore[arg-type]


def less(reading: Any) -> Any:
    """A reading, or a span, on the other side of nought."""
    if reading is None:
        return None
    return tuple(-r for r in reading[::-1]) if isinstance(reading, tuple) else -reading


def more(reading: Any, by: float) -> Any:
    if reading is None:
        return None
    return tuple(r + by for r in reading) if isinstance(reading, tuple) else reading + by


def tenths(low: int, high: int) -> st.SearchStrategy[float]:
    """Lengths of whole tenths of a millimetre, between readings in mm."""
    return st.integers(10 * low, 10 * high).map(lambda n: n / 1e4)


def spans(low: int, high: int) -> st.SearchStrategy[Span]:
    """From, to: at least 20 mm; one end may be the wall; or the whole way."""
    both = st.tuples(tenths(low, high), tenths(low, high)).map(lambda s: (min(s), max(s)))
    real = both.filter(lambda s: s[1] - s[0] > 0.02)
    ends = st.tuples(real, st.sampled_from(("", "low", "high"))).map(
        lambda s: {"": s[0], "low": (-math.inf, s[0][1]), "high": (s[0][0], math.inf)}[s[1]]
    )
    return st.one_of(st.none(), ends)


@st.composite
def scenes(draw: st.DrawFn, flat: bool = True) -> Scene:
    n = draw(st.integers(3, 7))
    angles = [2 * math.pi * (k + draw(st.floats(-0.3, 0.3))) / n for k in range(n)]
    x, sections = 0.0, []
    radii = [draw(tenths(300, 600)) for _ in range(n)]
    for _ in range(draw(st.integers(2, 3))):
        reach = [r * draw(st.sampled_from((0.9, 0.95, 1.0))) for r in radii] if not flat else radii
        figure = [
            (0.02 * round(50 * r * math.cos(a)), 0.02 * round(50 * r * math.sin(a)))
            for r, a in zip(reach, angles, strict=True)
        ]
        size = draw(st.sampled_from((0.5, 0.75, 1.0))) if flat else 1.0
        sections.append((round(x, 4), tuple((round(y * size, 4), round(z * size, 4)) for y, z in figure)))
        x += 2 * draw(tenths(100, 400))
    boxes = st.builds(Box, spans(-100, 1500), spans(-500, 500), spans(-500, 500))
    posts = st.builds(Post, x=tenths(50, 800), y=tenths(-150, 150), z=st.none(), diameter=tenths(20, 150))
    beams = st.builds(
        Post, x=tenths(50, 800), y=st.none(), z=tenths(-150, 150), axis=st.just("y"), diameter=tenths(20, 90)
    )
    return Scene(tuple(sections), tuple(draw(st.lists(st.one_of(boxes, posts, beams), max_size=4))))


def figures(built: Compartment) -> dict[str, float | list[float]]:
    """What a compartment comes to, in figures that do not depend on where it lies."""
    found = areas_to_coat(built).parts
    return {
        "gross": built.gross.volume,
        "net": built.net.volume,
        "inside": built.inside.volume,
        "outside": built.outside.volume,
        "shares": [share.share_m3 for share in shares(built.pieces)],
        "bays": sorted(bay.solid.volume for bay in built.bays),
        "walls": sorted(part.area_m2 for part in found if part.kind != "obstruction"),
        "on obstructions": sum(part.area_m2 for part in found if part.kind == "obstruction"),
    }


def assert_same(one: dict[str, Any], other: dict[str, Any], but: tuple[str, ...] = ()) -> None:
    for name in one.keys() - set(but):
        assert one[name] == pytest.approx(other[name], rel=SAME, abs=SAME), name


@often
@given(scenes(flat=False))
def test_the_sums_come_out(scene: Scene) -> None:
    """gross = net + union of what stands in it; shares, bays and areas by part sum; inside and outside enclose net."""
    built = scene.built()
    taken = united([piece.solid for piece in built.pieces]).volume
    assert built.net.volume + taken == pytest.approx(built.gross.volume, rel=SAME)
    assert sum(share.share_m3 for share in shares(built.pieces)) == pytest.approx(taken, abs=SAME)
    assert sum(bay.solid.volume for bay in built.bays) == pytest.approx(built.net.volume, abs=1e-5)  # slivers stay out
    assert sum(part.area_m2 for part in areas_to_coat(built).parts) == pytest.approx(built.net.area, rel=SAME)
    assert (built.inside - built.net).volume < SAME
    assert (built.net - built.outside).volume < SAME


@often
@given(scenes(flat=False))
def test_the_twin_is_the_same_space_on_the_other_side(scene: Scene) -> None:
    one, other = scene.built(), build(scene.survey(mirrored=True))
    assert_same(figures(one), figures(other))
    assert one.net.centroid * [1, -1, 1] == pytest.approx(other.net.centroid, abs=SAME)
    drawn = scene.mapped(lambda p: (p[0], less(p[1]), p[2])).built()
    assert_same(figures(one), figures(drawn))
    assert drawn.net.centroid == pytest.approx(other.net.centroid, abs=SAME)


@often
@given(scenes(flat=False), tenths(-3000, 9000), tenths(-3000, 3000), tenths(-3000, 3000))
def test_where_zero_is_does_not_matter(scene: Scene, x: float, y: float, z: float) -> None:
    by = (x, y, z)
    moved = scene.mapped(lambda p: tuple(more(r, b) for r, b in zip(p, by, strict=True))).built()
    one = scene.built()
    assert_same(figures(one), figures(moved))
    assert one.net.centroid + by == pytest.approx(moved.net.centroid, abs=SAME)


TURNS: dict[str, Callable[[Any], Any]] = {
    "end for end": lambda p: (less(p[0]), less(p[1]), p[2]),
    "on its side": lambda p: (p[0], less(p[2]), p[1]),
    "upside down": lambda p: (p[0], less(p[1]), less(p[2])),
}


@pytest.mark.parametrize("turn", TURNS)
@often
@given(scene=scenes(flat=False))
def test_turned_by_quarters_it_stays_what_it_is(turn: str, scene: Scene) -> None:
    one, turned = scene.built(), scene.mapped(TURNS[turn]).built()
    assert_same(figures(one), figures(turned))
    assert np.array(TURNS[turn](tuple(one.net.centroid.tolist()))) == pytest.approx(turned.net.centroid, abs=SAME)


@often
@given(scenes())
def test_more_stations_on_straight_lines_tell_nothing_new(scene: Scene) -> None:
    """Half-way between two stations, every corner half-way: whole hundredths, for the readings are whole fiftieths."""
    finer = []
    for (x, here), (far, there) in pairwise(scene.sections):
        middle = tuple(((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in zip(here, there, strict=True))
        finer += [(x, here), ((x + far) / 2, middle)]
    one, other = scene.built(), replace(scene, sections=(*finer, scene.sections[-1])).built()
    assert_same(figures(one), figures(other))
    assert one.net.centroid == pytest.approx(other.net.centroid, abs=SAME)


@often
@given(scenes(flat=False))
def test_gross_is_the_same_with_more_stations_however_twisted(scene: Scene) -> None:
    finer = []
    for (x, here), (far, there) in pairwise(scene.sections):
        middle = tuple(((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in zip(here, there, strict=True))
        finer += [(x, here), ((x + far) / 2, middle)]
    one, other = (Scene(s, ()).built().gross for s in (scene.sections, (*finer, scene.sections[-1])))
    assert one.volume == pytest.approx(other.volume, rel=1e-12)
    assert one.centroid == pytest.approx(other.centroid, abs=1e-5)


@often
@given(scenes(flat=False), st.randoms())
def test_the_order_of_what_is_cut_away_does_not_matter(scene: Scene, random: Any) -> None:
    """But for the shares: what is named first takes the overlap."""
    shuffled = list(scene.shapes)
    random.shuffle(shuffled)
    one, other = scene.built(), replace(scene, shapes=tuple(shuffled)).built()
    assert_same(figures(one), figures(other), but=("shares",))
    assert sum(figures(one)["shares"]) == pytest.approx(sum(figures(other)["shares"]), abs=SAME)  # type: ignore[arg-type]
