"""Pieces on sheets and bars from stock: within, apart, all there, no fewer than their area asks; held by shapely."""

import math
from itertools import combinations, permutations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate, translate

from tapeloft.model.cutting.nesting import ACROSS, ALONG, ANY, Nest, Sheet, nested
from tapeloft.model.cutting.stock import stocked
from tapeloft.model.errors import GeometryError

PLY = Sheet(2.44, 1.22)
HULL = Polygon([(0, 0), (0.9, 0), (0.82, 0.3), (0.6, 0.42), (0.1, 0.42)])
NOTCHED = Polygon([(0, 0), (0.7, 0), (0.7, 0.5), (0.4, 0.5), (0.4, 0.2), (0, 0.2)])


def held(nest: Nest, pieces: list[tuple[str, Polygon]], kerf: float) -> None:
    """Every piece once, congruent and not turned over, in its sheet, a kerf from the edge and from the others."""
    by_name = dict(pieces)
    assert sorted(one.piece for filled in nest.sheets for one in filled.placed) == sorted(by_name)
    for filled in nest.sheets:
        inner = shapely.box(kerf, kerf, filled.sheet.length - kerf, filled.sheet.breadth - kerf)
        for one in filled.placed:
            assert one.outline.difference(shapely.buffer(inner, 2e-6)).is_empty
            again = translate(rotate(by_name[one.piece], one.turn_deg, origin=(0, 0)), *one.shift_m)
            assert again.symmetric_difference(one.outline).area < 1e-9
            assert one.outline.exterior.is_ccw == by_name[one.piece].exterior.is_ccw
        for a, b in combinations(filled.placed, 2):
            assert a.outline.distance(b.outline) >= kerf - 2e-6
        cut = sum(one.outline.area for one in filled.placed)
        assert filled.offcut == pytest.approx(1 - cut / (filled.sheet.length * filled.sheet.breadth))
    assert len(nest.sheets) >= 1


@pytest.mark.parametrize("turns", [ANY, ALONG])
def test_hull_shaped_pieces_on_one_sheet(turns: tuple[float, ...]) -> None:
    pieces = [("A", HULL), ("B", HULL), ("C", NOTCHED), ("D", shapely.box(0, 0, 0.6, 0.3))]
    nest = nested(pieces, [PLY], 0.004, turns)
    held(nest, pieces, 0.004)
    assert len(nest.sheets) == nest.at_least == 1
    assert all(one.turn_deg % 360 in {turn % 360 for turn in turns} for one in nest.sheets[0].placed)


def test_more_than_a_sheet_holds_goes_on_several() -> None:
    """Five of 1.2 × 1.0 m: two on a sheet of 2.44 × 1.22 and not three, for that is their area: three sheets."""
    pieces = [(name, shapely.box(0, 0, 1.2, 1.0)) for name in "ABCDE"]
    nest = nested(pieces, [PLY], 0.004, ANY)
    held(nest, pieces, 0.004)
    assert len(nest.sheets) == nest.at_least == 3


def test_the_smaller_sheet_is_taken_where_it_does() -> None:
    nest = nested([("A", shapely.box(0, 0, 0.5, 0.4))], [PLY, Sheet(1.22, 0.61)], 0.004, ANY)
    assert nest.sheets[0].sheet == Sheet(1.22, 0.61)


def test_grain_across_turns_a_quarter() -> None:
    plank = shapely.box(0, 0, 1.0, 0.2)
    (placed,) = nested([("A", plank)], [PLY], 0.004, ACROSS).sheets[0].placed
    assert placed.outline.bounds[3] - placed.outline.bounds[1] == pytest.approx(1.0)
    with pytest.raises(GeometryError, match="goes on no sheet"):
        nested([("A", shapely.box(0, 0, 2.0, 0.2))], [PLY], 0.004, ACROSS)


def test_a_piece_as_large_as_its_sheet_needs_its_kerf() -> None:
    whole = shapely.box(0, 0, 2.432, 1.212)
    held(nested([("A", whole)], [PLY], 0.004, ANY), [("A", whole)], 0.004)
    with pytest.raises(GeometryError, match="piece A, 2433 × 1212 mm, goes on no sheet"):
        nested([("A", shapely.box(0, 0, 2.433, 1.212))], [PLY], 0.004, ANY)
    two = [("A", whole), ("B", shapely.box(0, 0, 0.3, 0.2))]  # what fills a sheet goes alone, whatever the search says
    held(nested(two, [PLY], 0.004, ANY), two, 0.004)


@pytest.mark.parametrize(
    ("sheet", "kerf", "said"),
    [
        (Sheet(0.0, 1.0), 0.004, "a sheet of"), (Sheet(-2.0, 1.0), 0.004, "a sheet of"),
        (Sheet(math.nan, 1.0), 0.004, "a sheet of"), (PLY, -0.001, "kerf"), (PLY, math.inf, "kerf"),
    ],
)  # fmt: skip
def test_absurd_sheets(sheet: Sheet, kerf: float, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        nested([("A", HULL)], [sheet], kerf, ANY)


# bars


@settings(max_examples=60)
@given(st.lists(st.floats(0.1, 2.0), min_size=1, max_size=6), st.floats(0, 0.005))
def test_bars_go_in_their_lengths_and_hardly_more_are_taken_than_could_be(lengths: list[float], kerf: float) -> None:
    """Against every order put end to end in turn (the best of which is best): no better, and 11/9 + 6/9 at most."""
    bars = [(str(k), length) for k, length in enumerate(lengths)]
    found = stocked(bars, (0.04, 0.02), 2.0, kerf)
    sizes = dict(bars)
    assert sorted(name for one in found.lengths for name in one.bars) == sorted(sizes)
    for one in found.lengths:
        assert sum(sizes[name] for name in one.bars) + kerf * (len(one.bars) - 1) <= 2.0 + 1e-9

    def in_turn(order: tuple[float, ...]) -> int:
        count, left = 1, 2.0
        for length in order:
            if length > left:
                count, left = count + 1, 2.0
            left -= length + kerf
        return count

    best = min(map(in_turn, permutations(lengths)))
    assert found.at_least <= best <= len(found.lengths) <= 11 / 9 * best + 6 / 9 + 1e-9


def test_a_bar_longer_than_its_stock() -> None:
    with pytest.raises(GeometryError, match="bar A is 2500 mm long"):
        stocked([("A", 2.5)], (0.04, 0.02), 2.4, 0.004)
    for stock in (0.0, -1.0, math.nan, 1e6):
        with pytest.raises(GeometryError, match="a length of stock of"):
            stocked([("A", 0.5)], (0.04, 0.02), stock, 0.004)
