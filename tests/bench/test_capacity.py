"""A thousand heights at forty thousand triangles, against the boolean kernel cutting the solid at each."""

import time
from collections.abc import Callable

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64

from tapeloft.model.capacity import filled_to
from tapeloft.model.solid import Solid, closed

pytestmark = pytest.mark.bench
HEIGHTS, TRIMS, LEAST = 1000, 20, 300.0


def ball(rings: int, spokes: int) -> Solid:
    """A ball of 2 × spokes × rings triangles, 2 m across, hung a little askew so that no corners share a height."""
    down = np.pi * np.arange(1, rings + 1) / (rings + 1)
    round_ = 2 * np.pi * np.arange(spokes) / spokes
    side = np.stack(
        [
            np.outer(np.sin(down), np.cos(round_)),
            np.outer(np.sin(down), np.sin(round_)),
            np.outer(np.cos(down), 0 * round_ + 1),
        ],
        axis=-1,
    )
    vertices = np.vstack([side.reshape(-1, 3), [[0, 0, 1.0], [0, 0, -1.0]]])
    k = np.arange(rings * spokes).reshape(rings, spokes)
    here, next_ = k, np.roll(k, -1, axis=1)
    walls = [(here[:-1], here[1:], next_[1:]), (here[:-1], next_[1:], next_[:-1])]
    caps = [(np.full(spokes, k.size), here[0], next_[0]), (np.full(spokes, k.size + 1), next_[-1], here[-1])]
    triangles = np.vstack([np.stack(w, axis=-1).reshape(-1, 3) for w in walls + caps])
    c, s = np.cos(0.3), np.sin(0.3)
    return closed(vertices @ np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]), triangles)


def seconds(work: Callable[[], object], times: int) -> float:
    """The least of several goes: what the machine's other work adds is left out."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def test_capacity_against_trimming() -> None:
    solid = ball(142, 142)
    raw = Manifold(Mesh64(solid.vertices.copy(), solid.triangles.astype(np.uint64)))
    heights = np.linspace(-0.999, 0.999, HEIGHTS)
    chosen = heights[HEIGHTS // TRIMS // 2 :: HEIGHTS // TRIMS]
    held = filled_to(solid, heights)

    ours = seconds(lambda: filled_to(solid, heights), 7)
    volume = np.mean([seconds(lambda h=h: raw.trim_by_plane((0, 0, -1), -h).volume(), 3) for h in chosen])

    def cut(h: float) -> tuple[float, object]:
        part = solid.split((0, 0, -1), -h)[0]
        return part.volume, part.centroid

    like = np.mean([seconds(lambda h=h: cut(h), 3) for h in chosen])
    for h, here in zip(chosen, np.searchsorted(heights, chosen), strict=True):
        assert held.volume_m3[here] == pytest.approx(cut(h)[0], rel=1e-12)
    print(f"\n{HEIGHTS} heights, {len(solid.triangles)} triangles: {ours * 1e3:.0f} ms")
    print(f"  trimming for the volume alone: {volume * HEIGHTS:.1f} s, {volume * HEIGHTS / ours:.0f} times as long")
    print(f"  trimming for volume and centroid: {like * HEIGHTS:.1f} s, {like * HEIGHTS / ours:.0f} times as long")
    assert like * HEIGHTS / ours >= LEAST
