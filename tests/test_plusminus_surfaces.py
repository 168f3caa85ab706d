"""The ± of areas, of what lies below a height, of clear lines and of parts, held by spaces drawn and built anew."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import tapeloft.shapes
from tapeloft.model.areas import areas_to_coat
from tapeloft.model.capacity import filled_to, height_of
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.board import Cut, board_at
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.offset import near_walls
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_station
from tapeloft.model.cutting.shelf import TOWARD, Shelving, Side, shelf_at
from tapeloft.model.cutting.told import cut_cautions
from tapeloft.model.facets import body
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.coated import coated
from tapeloft.model.plusminus.cutagain import Behind, OpenEdge, cut_off, worst
from tapeloft.model.plusminus.filling import filling, shifting
from tapeloft.model.plusminus.lined import lined_off
from tapeloft.model.plusminus.moving import moving
from tapeloft.model.plusminus.redrawn import redrawing
from tapeloft.model.plusminus.spread import Spread, spread
from tapeloft.model.plusminus.stated import Stated, _least, filled_off, stated
from tapeloft.model.runs.runs import clear_runs
from tapeloft.model.spaces import asked_space
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.sheet import Accuracy, Datum, Space
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.tapes.readings import moved
from tapeloft.model.tapes.settling import Settled
from tapeloft.model.volume import measured
from tapeloft.shapes.polyhedron import box

DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
LETTERS = "ABCDEFGH"
ACCURACY = Accuracy()
SHARES = np.array([0.2, 0.4, 0.6, 0.8])


def surveyed(sections: Points, checks: tuple[Check, ...] = (), **more: object) -> Survey:
    """Return a survey of corners, (stations, corners, 3) m, lettered in order."""
    stations = [
        Station(str(q), float(loop[0, 0]), tuple(Corner(LETTERS[k], tuple(at)) for k, at in enumerate(loop.tolist())))
        for q, loop in enumerate(sections)
    ]
    return Survey("locker", Space("locker"), Datum(), tuple(stations), checks=checks, side=1.0, **more)  # type: ignore[arg-type]


def block(length: float, breadth: float, height: float, off: float = 0.4) -> Survey:
    """Return a box: none of its corners at nought, so that every side of it is a reading."""
    loop = np.array([[off, off], [off + breadth, off], [off + breadth, off + height], [off, off + height]])
    return surveyed(np.stack([np.column_stack([np.full(4, x), loop]) for x in (off, off + length)]))


def hull() -> Points:
    """Return a locker along a hull that there is none of, (5, 6, 3) m."""
    loop = np.array([[0.35, 0.05], [0.7, 0.1], [1.0, 0.45], [1.1, 0.9], [0.7, 0.95], [0.33, 0.92]])
    xs = np.array([0.0, 0.4, 0.85, 1.3, 1.8])
    sizes = 1 - 0.04 * xs - 0.03 * xs**2
    return np.stack(
        [np.column_stack([np.full(6, x), loop * size + [0.01, 0.02]]) for x, size in zip(xs, sizes, strict=True)]
    )


def off_by(built: Compartment) -> Stated:
    return stated(built, measured(built))


def known(one: Settled) -> Spread:
    found = spread(one)
    assert found is not None
    return found


# independent: built again from readings a little off, with obstructions cut and parts told apart
@pytest.mark.parametrize("name", ["sail", "chain", "cockpit locker, port", "cockpit locker, starboard", "gas", "laz"])
def test_areas_and_what_lies_below_change_as_they_do_when_built_again(name: str) -> None:
    survey = read_survey(DEMO).compartment(name)
    built = build(survey)
    one = built.settled
    assert one is not None
    space = moving(built, one)
    coats, (low, high) = coated(space), built.net.bounds[:, 2]
    heights = (low + SHARES * (high - low)).tolist()
    fills, shifts = filling(space, space.net, heights), shifting(space, space.net, filled_to(space.net, heights))
    shifts = shifts * space.side
    spot = one.adjustment.unknowns if one.adjustment and one.basis in ("adjusted", "sister") else one.net.start
    bare = replace(survey, checks=(), sister=None)
    for off in known(one).drawn(2, np.random.default_rng(5)).T * 0.3:
        more, less = (build(replace(bare, stations=moved(one.survey, one.net, spot + s * off))) for s in (1, -1))
        a, b = ({part.name: part.area_m2 for part in areas_to_coat(each).parts} for each in (more, less))
        assert set(coats.names) == set(a)
        for told, part in zip(coats.areas.T, coats.names, strict=True):
            assert told @ off == pytest.approx((a[part] - b[part]) / 2, rel=0.02, abs=2.5e-5)
        up, down = (filled_to(each.net, heights) for each in (more, less))
        assert fills.volumes.T @ off == pytest.approx((up.volume_m3 - down.volume_m3) / 2, rel=0.02, abs=5e-6)
        moves = (up.centroid_m - down.centroid_m) / 2
        assert np.einsum("nhx,n->hx", shifts, off) == pytest.approx(moves, rel=0.02, abs=2e-5)
        assert fills.plan_areas.T @ off == pytest.approx((up.plan_area_m2 - down.plan_area_m2) / 2, rel=0.02, abs=5e-5)


# independent: 400 spaces drawn anew and measured; the spread of so many is known to 3.5 %, one sigma
@pytest.mark.parametrize("name", ["gas", "chain"])
def test_the_spread_of_areas_and_fillings_is_that_of_spaces_drawn_anew(name: str) -> None:
    built = build(replace(read_survey(DEMO).compartment(name), obstructions=()))  # else gaps behind a bracket open
    again = redrawing(asked_space(built))
    assert again is not None
    low, high = built.net.bounds[:, 2]
    heights = (low + SHARES * (high - low)).tolist()
    said, off = off_by(built), filled_off(built, None, heights)
    assert off is not None
    drawn = [(one.area, *filled_to(one, heights).volume_m3, height_of(one)) for one in again.spaces(400)]
    area, *volumes, half = np.std(drawn, axis=0, ddof=1)
    assert said.area_sd_m2 == pytest.approx(area, rel=0.12)
    assert said.half_full_sd_m == pytest.approx(half, rel=0.12)
    assert off.volume_sd_m3 == pytest.approx(volumes, rel=0.12)
    centroids = [filled_to(one, heights).centroid_m for one in again.spaces(400)]
    assert off.centroid_sd_m == pytest.approx(np.std(centroids, axis=0, ddof=1), rel=0.12)


def test_full_is_as_uncertain_as_the_whole_and_empty_is_not() -> None:
    built = build(read_survey(DEMO).compartment("gas"))
    low, high = built.net.bounds[:, 2].tolist()
    off, whole = filled_off(built, None, [low - 0.1, high, high + 1]), off_by(built).net
    assert off is not None
    assert whole is not None
    assert off.volume_sd_m3 == pytest.approx([0, whole.volume_sd_m3, whole.volume_sd_m3])
    assert np.isnan(off.centroid_sd_m[0]).all()
    assert off.centroid_sd_m[1:] == pytest.approx(np.array([whole.centroid_sd_m, whole.centroid_sd_m]))
    assert np.isnan(off.height_sd_m[[0, 2]]).all()


def test_a_level_in_a_box_is_as_uncertain_as_its_walls() -> None:
    """Closed form: half way up, each wall at a station is the mean of two corners, and the level of two stations."""
    off = filled_off(build(block(1.2, 0.6, 0.5)), None, [0.4 + 0.25])
    assert off is not None
    athwart, along = ACCURACY.half_breadth**2 / 2, 2 * ACCURACY.station**2
    assert off.plan_area_sd_m2[0] ** 2 == pytest.approx(1.2**2 * athwart + 0.6**2 * along)
    assert off.height_sd_m == pytest.approx(off.volume_sd_m3 / (1.2 * 0.6))
    sole = ACCURACY.height**2 / 4  # the mean of four corners: what lies on it rises by half as much
    flare = 2 * ACCURACY.half_breadth**2 / 0.5**2  # of the breadth with height: it shifts a depth's middle by h²/12 b
    assert off.centroid_sd_m[0, 2] ** 2 == pytest.approx(sole / 4 + flare * (0.25**2 / (12 * 0.6)) ** 2)


def skewed() -> Survey:
    """A locker no two walls of which are parallel: its longest lines lie in one place each."""
    aft = [[0.0, 0.4, 0.4], [0.0, 1.0, 0.42], [0.0, 1.05, 0.75], [0.0, 0.38, 0.95]]
    forward = [[1.4, 0.42, 0.43], [1.4, 0.9, 0.46], [1.4, 0.93, 0.7], [1.4, 0.41, 0.82]]
    return surveyed(np.add([aft, forward], [0.2, 0, 0]))


# independent: the search for the longest line anew in each of 300 spaces; their spread is known to 4 %, one sigma
@pytest.mark.parametrize("survey", [surveyed(hull()), skewed()], ids=["hull", "skewed"])
def test_the_spread_of_clear_lines_is_that_of_spaces_drawn_anew(survey: Survey) -> None:
    built = build(survey)
    again = redrawing(asked_space(built))
    assert again is not None
    drawn = np.array([[run.length_m for run in clear_runs(one)] for one in again.spaces(300)])
    assert off_by(built).runs_sd_m == pytest.approx(tuple(drawn.std(axis=0, ddof=1)), rel=0.13)


def test_of_several_figures_the_least_counts() -> None:
    """Closed form: the least of two alike that have nothing in common spreads √(1 − 1/π) times as much as each."""
    net = build(skewed()).settled
    assert net is not None
    two = Spread(net.net, None, np.array([3.0, 3.0]))
    assert _least(np.eye(2), two) == pytest.approx(3 * math.sqrt(1 - 1 / math.pi), rel=0.04)
    assert _least(np.array([[1.0, 1.0], [0.0, 0.0]]), two) == pytest.approx(3.0)
    assert _least(np.zeros((2, 0)), two) is None


def quads(count: int) -> Points:
    """Return the sections half way along of as many boxes, (count, 4, 2) m, as `block` may be read."""
    rng = np.random.default_rng(3)
    loop = np.array([[0.4, 0.4], [1.0, 0.4], [1.0, 0.9], [0.4, 0.9]])
    return loop + rng.normal(0, 0.003, (count, 2, 4, 2)).mean(axis=1)


def test_a_board_across_a_box_is_as_uncertain_as_the_corners_it_stands_between() -> None:
    built = build(block(1.2, 0.6, 0.5))
    again = redrawing(asked_space(built))
    assert again is not None
    plane, cut = at_station(1.0), Cut(Gaps(0.004, 0.004, 0.004), cutter=0.0, web=0.0)
    board = board_at(built, plane, 0.012, cut)
    pieces = [piece.outline for piece in board.pieces]
    off = cut_off(again.spaces(120), plane, 0.012, board.clear, pieces, cut.gaps.widest)
    assert off is not None
    areas = [shapely.Polygon(loop) for loop in quads(4000)]
    spread = float(np.std([one.area for one in areas]))
    touching = np.mean([not all(one.covers(piece) for piece in pieces) for one in areas])
    assert off.clear_sd_m2 == pytest.approx(spread, rel=0.25)  # 120: 6.5 %, one sigma
    assert off.area_sd_m2 == pytest.approx(spread, rel=0.25)
    assert off.touches / off.drawn == pytest.approx(
        touching, abs=3.5 * math.sqrt(touching * (1 - touching) / 120) + 0.02
    )
    assert 0.0015 < off.wall_sd_m < 0.0027  # a wall's end, half way between two corners: 3 mm/√2, the largest of many


@pytest.mark.parametrize("side", ["port", "starboard", "forward", "aft"])
def test_a_shelf_along_a_side_is_as_uncertain_as_shelves_cut_anew(side: Side) -> None:
    """Its open edge goes with the farthest of the side: areas of strips cut in the same spaces, to first order."""
    built = build(replace(read_survey(DEMO).compartment("cockpit locker, port"), obstructions=()))
    asked, (axis, sign) = Shelving(0.6, side, 0.25, 0.012, (0.0, 0.0)), TOWARD[side]
    made = shelf_at(built, asked, Cut(Gaps(0.003, 0.003, 0.003), cutter=0.0, web=0.0))
    again = redrawing(asked_space(built))
    assert again is not None
    spaces, board = list(again.spaces(40)), made.board
    pieces, clear = [piece.outline for piece in board.pieces], clear_outline(built.inside, board.plane, 0.012)
    off = cut_off(spaces, board.plane, 0.012, clear, pieces, 0.003, OpenEdge(axis, sign))
    assert off is not None
    areas = []
    for space in spaces:
        clear = clear_outline(space, board.plane, 0.012)
        x0, y0, x1, y1 = clear.bounds
        low, high = ((x0, x1), (y0, y1))[axis]
        low, high = (high - 0.25, high) if sign > 0 else (low, low + 0.25)
        strip = shapely.box(low, y0, high, y1) if axis == 0 else shapely.box(x0, low, x1, high)
        areas.append(clear.intersection(strip).area)
    assert off.area_sd_m2 == pytest.approx(np.std(areas, ddof=1), rel=0.1)


def test_a_board_that_stands_at_no_wall_hangs_on_none_whether_or_not_walls_are_known() -> None:
    built = build(block(1.2, 0.6, 0.5))
    plane, gap = at_station(1.0), 0.004
    clear = clear_outline(built.inside, plane, 0.012)
    x0, y0, x1, y1 = clear.bounds
    at_wall, free = (shapely.box(x0 + off, y0 + off, x1 - off, y1 - off) for off in (gap, 0.05))
    again = redrawing(asked_space(built))
    assert again is not None
    spaces, gaps = list(again.spaces(10)), Gaps(gap, gap, gap)
    for known in (spaces, None):
        alone = cut_off(known, plane, 0.012, clear, [free], gap)
        assert alone is not None
        assert (alone.wall_sd_m, alone.at_m, alone.area_sd_m2, alone.drawn) == (None, None, None, 0)
        assert not any("hardboard" in said for said in cut_cautions(built.survey, gaps, alone))
        cut = cut_off(known, plane, 0.012, clear, [at_wall], gap)
        assert any("hardboard" in said for said in cut_cautions(built.survey, gaps, cut))
        assert worst([alone, cut]) == cut
    assert cut is None


def test_what_lies_behind_a_board_touches_as_the_board_does() -> None:
    """Boxes 400 to 600 mm broad: a board 300 broad touches none, a strap 450 long on it those that are narrower."""
    broad = [0.4 + 0.02 * k for k in range(11)]
    spaces = [body(box((0.0, 0.0, 0.0), (1.0, one, 0.5))) for one in broad]
    plane, board = at_station(0.5), shapely.box(0.001, 0.1, 0.3, 0.4)
    strap = shapely.box(0.0, 0.2, 0.45, 0.26)
    clear = clear_outline(spaces[5], plane, 0.012)
    alone = cut_off(spaces, plane, 0.012, clear, [board], 0.003)
    both = cut_off(spaces, plane, 0.012, clear, [board], 0.003, behind=Behind(plane.shifted(-0.012), 0.012, (strap,)))
    assert alone is not None
    assert both is not None
    assert (alone.touches, both.touches) == (0, sum(one < 0.45 for one in broad))
    assert replace(both, touches=0) == alone


def test_a_liner_is_off_as_spaces_drawn_anew_and_shrunk_are() -> None:
    """What is claimed of thin walls, held to the offset itself; areas and volumes are held above, by many more."""
    bare = replace(read_survey(DEMO).compartment("gas"), obstructions=(), openings=())
    built, thick = build(bare), 0.006
    off, again, whole = lined_off(built, thick), redrawing(asked_space(built)), off_by(built).net
    assert off is not None
    assert again is not None
    assert whole is not None
    drawn = [(one.area, one.volume, (one - near_walls(one, thick)).volume) for one in again.spaces(40)]
    area, volume, left = np.array(drawn).T
    lost = np.std(volume - left) / np.std(area)
    assert off.lost_sd_m3 / off.area_sd_m2 == pytest.approx(lost, rel=0.04)
    assert off.left_sd_m3 / whole.volume_sd_m3 == pytest.approx(np.std(left) / np.std(volume), rel=0.04)
    assert off.area_sd_m2 == pytest.approx(np.std(area), rel=4 / np.sqrt(2 * 40))
