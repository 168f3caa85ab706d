"""Least squares, its reliability and its tails, held to published nets, standards and independent libraries."""

import math
import time
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, sparse, stats

from tapeloft.model.tapes.adjusting import Adjustment, Predicted, adjusted
from tapeloft.model.tapes.levels import Array, Rows, Undetermined, factored, levels
from tapeloft.model.tapes.tails import NOTICEABLE, beyond, limit, two_sided


def rows_of(matrix: Any) -> Rows:
    found = sparse.coo_array(np.asarray(matrix, dtype=float))
    return Rows(found.row.astype(np.int64), found.col.astype(np.int64), found.data, found.shape)


def linear(matrix: Any, read: Any, sigmas: Any) -> Adjustment:
    slopes = rows_of(matrix)
    start = np.zeros(slopes.shape[1])
    return adjusted(lambda x: Predicted(slopes.times(x), slopes), start, np.array(read, float), np.array(sigmas, float))


# A levelled loop run twice: the input and the results that the GNU Gama project prints for its example,
# vrmapper.com/gama/1doutput.html. Heights m, 1a is fixed at 1000; sigma 5 mm. Unknowns: points 2, 3, 4.
GAMA = [
    ([0, 0, 1], -1.225 + 1000), ([0, 1, -1], -0.848), ([1, -1, 0], 1.342), ([-1, 0, 0], 0.720 - 1000),
    ([1, 0, 0], -0.724 + 1000), ([-1, 1, 0], -1.335), ([0, -1, 1], 0.842), ([0, 0, -1], 1.231 - 1000),
]  # fmt: skip


def test_the_published_level_net() -> None:
    found = linear([row for row, _ in GAMA], [read for _, read in GAMA], [0.005] * 8)
    assert found.unknowns.tolist() == pytest.approx([999.274875, 997.933250, 998.775125], abs=5e-10)
    assert (found.residuals @ found.residuals) * 1e6 == pytest.approx(146.625, abs=1e-6)
    unit = math.sqrt(found.chi2 / found.freedom) * 5
    assert round(unit, 2) == 5.42
    spread = np.sqrt(np.diag(found.covariance(np.eye(3)))) * 1000
    assert spread.tolist() == pytest.approx([3.06, 3.54, 3.06], abs=0.005)
    standing = np.abs(found.standing_out)
    assert (int(standing.argmax()) + 1, round(float(standing.max()), 2)) == (6, 1.68)


def test_a_text_book_level_net() -> None:
    """Ghilani and Wolf, Adjustment Computations, the differential levelling example (from memory)."""
    rows = [[1, 0, 0], [-1, 0, 0], [0, 0, 1], [0, 0, -1], [-1, 1, 0], [0, 1, 0], [0, -1, 1]]
    read = [105.10, 2.34 - 107.50, 107.50 - 1.25, -6.13 - 100.00, -0.68, 107.50 - 3.00, 1.70]
    plain = linear(rows, read, [1.0] * 7)
    assert plain.unknowns.round(3).tolist() == [105.141, 104.483, 106.188]
    assert math.sqrt(plain.chi2 / 4) == pytest.approx(0.050, abs=5e-4)
    weighted = linear(rows, read, np.sqrt(np.array([4, 3, 2, 3, 2, 2, 2]) / 12))
    assert weighted.unknowns.round(3).tolist() == [105.150, 104.489, 106.197]
    assert math.sqrt(weighted.chi2 / 4) == pytest.approx(0.107, abs=5e-4)


def test_the_thermometer_of_the_gum() -> None:
    """JCGM 100:2008, H.3: data as at gtc.readthedocs.io/en/latest/API/GUM_H3.html, results from memory."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    found = linear(np.column_stack([np.ones(11), t]), b, [1.0] * 11)
    scale = math.sqrt(found.chi2 / found.freedom)
    weights = np.array([[1.0, 0.0, 1.0], [0.0, 1.0, 10.0]])
    covariance = found.covariance(weights) * scale**2
    spread = np.sqrt(np.diag(covariance))
    assert [round(float(x), d) for x, d in zip(found.unknowns, (4, 5), strict=True)] == [-0.1712, 0.00218]
    assert [round(float(x), d) for x, d in zip(spread, (4, 5, 4), strict=True)] == [0.0029, 0.00067, 0.0041]
    assert round(float(covariance[0, 1] / spread[0] / spread[1]), 3) == -0.930
    assert round(scale, 4) == 0.0035
    assert round(float(weights[:, 2] @ found.unknowns), 4) == -0.1494


@pytest.mark.parametrize(("weights", "shares"), [((1, 1, 1), (2, 2, 2)), ((1, 1 / 2, 1 / 3), (1, 2, 3))])
def test_a_misclosure_is_shared_by_weight(weights: tuple[float, ...], shares: tuple[float, ...]) -> None:
    """A loop of three legs that misses by 6 mm: closed form, each leg takes its share of the inverse weights."""
    found = linear([[1, 0], [-1, 1], [0, -1]], [1.000, 0.500, -1.506], 1 / np.sqrt(weights))
    assert (found.residuals * 1000).tolist() == pytest.approx(shares, abs=1e-9)


def trilaterated(known: Array, read: Array, start: Array) -> Adjustment:
    def model(x: Array) -> Predicted:
        away = x - known
        lengths = np.linalg.norm(away, axis=1)
        return Predicted(lengths, rows_of(away / lengths[:, None]))

    return adjusted(model, start, read, np.ones(len(read)))


def test_a_point_by_three_distances_and_another_library() -> None:
    """Figures like those of a text book's trilateration (from memory); held to scipy's own least squares."""
    known = np.array([[865.40, 4527.15], [2432.55, 2047.25], [2865.22, 27.15]])
    read = np.array([6049.00, 4736.83, 5446.49])
    ours = trilaterated(known, read, np.array([6000.0, 4000.0]))
    theirs = optimize.least_squares(
        lambda x: np.linalg.norm(x - known, axis=1) - read, [6000.0, 4000.0], xtol=1e-15, ftol=1e-15
    )
    assert ours.unknowns == pytest.approx(theirs.x, abs=1e-5)
    assert ours.covariance(np.eye(2)) == pytest.approx(np.linalg.inv(theirs.jac.T @ theirs.jac), rel=1e-6)


nets = st.integers(0, 2**32 - 1)


@given(nets, st.integers(2, 9), st.integers(1, 4))
def test_levels_give_what_the_dense_matrix_gives(seed: int, stations: int, each: int) -> None:
    """A banded net, every figure held to numpy's pseudo-inverse of the dense matrix."""
    rng = np.random.default_rng(seed)
    size = stations * each
    near = [(a, b) for a in range(size) for b in range(size) if 0 < abs(a - b) <= each]
    rows = np.eye(size)
    for a, b in [near[k] for k in rng.integers(0, len(near), 2 * size)]:
        row = np.zeros(size)
        row[a], row[b] = rng.normal(size=2)
        rows = np.vstack([rows, row])
    rows = rows[rng.permutation(len(rows))]
    read, sigmas = rng.normal(size=len(rows)), rng.uniform(0.5, 2, len(rows))
    found = linear(rows, read, sigmas)
    dense = rows / sigmas[:, None]
    inverse = np.linalg.pinv(dense)
    assert found.unknowns == pytest.approx(inverse @ (read / sigmas), abs=1e-8)
    assert found.redundancies == pytest.approx(1 - np.diag(dense @ inverse), abs=1e-7)
    assert found.covariance(np.eye(size)) == pytest.approx(inverse @ inverse.T, abs=1e-8)
    along = rng.normal(size=(len(rows), 3))
    along[: len(rows) // 2] = 0.0
    weighed = along / sigmas[:, None]
    shows, shown = found.shown(along)
    left = np.eye(len(rows)) - dense @ inverse
    assert shows == pytest.approx(weighed.T @ left @ weighed, abs=1e-7)
    assert shown == pytest.approx(-weighed.T @ (dense @ found.unknowns - read / sigmas), abs=1e-7)
    alone = found.shown_alone(along)
    assert np.array(alone) == pytest.approx(np.array([np.diag(shows), shown]), abs=1e-9)


def test_a_place_by_distances_is_the_same_whatever_factor_it_was_come_near_with() -> None:
    """Held to scipy's least squares: a point by its distances from six others, one distance allowed to be off."""
    rng = np.random.default_rng(5)
    fixed, sigmas = rng.uniform(-1, 1, (6, 3)), rng.uniform(0.002, 0.004, 6)

    def model(place: Array) -> Predicted:
        away = place - fixed
        far = np.linalg.norm(away, axis=1)
        return Predicted(far, rows_of(away / far[:, None]))

    read = np.linalg.norm(np.array([0.3, -0.2, 0.5]) - fixed, axis=1) + rng.normal(0, 0.003, 6)
    first = adjusted(model, np.array([0.25, -0.2, 0.45]), read, sigmas)
    for off in (0.001, 0.05, 0.6):
        read[0] += off
        alone = adjusted(model, first.unknowns, read, sigmas)
        near = adjusted(model, first.unknowns, read, sigmas, first.factor)
        outside = optimize.least_squares(
            lambda place: (model(place).values - read) / sigmas, first.unknowns, xtol=1e-15, ftol=1e-15, gtol=1e-15
        )
        assert near.unknowns == pytest.approx(outside.x, abs=1e-6)
        assert near.chi2 == pytest.approx(2 * outside.cost, rel=1e-6)
        assert near.unknowns == pytest.approx(alone.unknowns, abs=1e-6)


@given(nets)
def test_no_reading_reaches_past_the_next_level(seed: int) -> None:
    rng = np.random.default_rng(seed)
    matrix = Rows(rng.integers(0, 40, 70), rng.integers(0, 60, 70), np.ones(70), (40, 60))
    order = levels(matrix)
    level = {unknown: k for k, here in enumerate(order) for unknown in here.tolist()}
    assert sorted(level) == list(range(60))
    for row in range(40):
        touched = {level[c] for c in matrix.columns[matrix.rows == row].tolist()}
        assert not touched or max(touched) - min(touched) <= 1


def test_redundancies_sum_to_the_freedom() -> None:
    """Σ r = m − n: the trace of the projection (Baarda 1968)."""
    found = linear([row for row, _ in GAMA], [read for _, read in GAMA], [0.005] * 8)
    assert found.redundancies.sum() == pytest.approx(5)


def test_a_reading_set_aside_is_off_by_its_slip() -> None:
    """−v/r is what the others, adjusted without it, say that the reading is off by: closed form, by deletion."""
    rows, read = [row for row, _ in GAMA], [read for _, read in GAMA]
    whole = linear(rows, read, [0.005] * 8)
    for k in range(8):
        others = linear(np.delete(rows, k, axis=0), np.delete(read, k), [0.005] * 7)
        assert whole.slips[k] == pytest.approx(read[k] - float(np.array(rows[k]) @ others.unknowns), abs=1e-9)


# what cannot be adjusted, or not checked


def test_no_reading_to_spare() -> None:
    found = linear(np.eye(3), [1.0, 2.0, 3.0], [1.0] * 3)
    assert (found.freedom, found.chance) == (0, 1.0)
    assert np.isinf(found.noticeable).all()
    assert np.isnan(found.slips).all()
    assert not found.standing_out.any()


def test_one_corner_by_one_reading_and_the_rest_checked() -> None:
    found = linear([[1, 0], [1, 0], [0, 1]], [1.0, 1.1, 5.0], [0.1] * 3)
    assert found.redundancies.tolist() == pytest.approx([0.5, 0.5, 0.0])
    assert found.noticeable[:2].tolist() == pytest.approx([0.1 * 4.132 * math.sqrt(2)] * 2, abs=1e-4)
    assert math.isinf(found.noticeable[2])


@pytest.mark.parametrize(
    ("rows", "loose"),
    [([[1, -1, 0], [0, 1, -1], [-1, 0, 1]], 1), ([[1, 0], [1, 0]], 1), ([[1, 1], [1, 1], [1, 1]], 1)],
    ids=["no datum", "an unknown that nothing reads", "two that only their sum is read of"],
)
def test_a_net_that_does_not_hold_together_is_refused(rows: list[list[float]], loose: int) -> None:
    with pytest.raises(Undetermined, match="no reading tells") as refused:
        linear(rows, [0.1] * len(rows), [1.0] * len(rows))
    assert len(refused.value.unknowns) == loose


def test_thousands_of_readings_take_a_moment() -> None:
    """A chain of 10,000 readings, as long as no boat: its solution is held to scipy's sparse solver."""
    rng = np.random.default_rng(4)
    size = 4000
    chain = sparse.vstack(
        [sparse.eye_array(size), *(sparse.diags_array([1.0, -1.0], offsets=[0, k], shape=(size, size)) for k in (1, 7))]
    ).tocoo()[:10_000]
    matrix = Rows(*(part.astype(np.int64) for part in chain.coords), chain.data, chain.shape)
    read = rng.normal(size=matrix.shape[0])
    start = time.process_time()
    factor, found = factored(matrix, read, levels(matrix))
    factor.leverages(matrix)
    assert time.process_time() - start < 5
    theirs = sparse.linalg.spsolve((chain.T @ chain).tocsc(), chain.T @ read)
    assert found == pytest.approx(theirs, abs=1e-8)


# tails


@given(st.integers(1, 400), st.floats(1e-3, 2000))
def test_chi_square_tail(freedom: int, chi2: float) -> None:
    assert beyond(chi2, freedom) == pytest.approx(float(stats.chi2.sf(chi2, freedom)), abs=1e-10)


@pytest.mark.parametrize("share", [0.05, 0.02, 0.001])
@pytest.mark.parametrize("freedom", [1, 2, 47, 5000])
def test_chi_square_limit(share: float, freedom: int) -> None:
    assert limit(share, freedom) == pytest.approx(float(stats.chi2.isf(share, freedom)), rel=1e-9)


def test_baarda_critical_values() -> None:
    """Baarda 1968: 1.9600, 2.5758, 3.2905 for 5, 1 and 0.1 %, and δ0 = 4.132 for 0.1 % and a power of 80 %."""
    assert [round(two_sided(share), 4) for share in (0.05, 0.01, 0.001)] == [1.96, 2.5758, 3.2905]
    assert round(NOTICEABLE, 3) == 4.132
