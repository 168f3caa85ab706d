"""What is written on a template, so that no line of it crosses two sheets of paper."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.model.cutting.outline import polygons
from tapeloft.viewer.form.ink import POINT, Words
from tapeloft.viewer.template.template import Block, Template, Written, block_in
from tapeloft.viewer.template.tiling import MARGIN, Tile, Tiling

INK = 0.72  # of the size of letters: how high their capitals are
CLEAR = 1.0  # mm from the edge of a sheet
Box = tuple[float, float, float, float]


def on_tiles(template: Template, layout: Tiling) -> Template:
    """Return a template whose every word lies wholly on one of its tiles: moved as little as does, the block as one."""
    windows = [_window(tile, layout) for tile in layout.tiles]
    block = template.block
    if block is not None and not any(_holds(window, _around(block)) for window in windows):
        moved = _moved(block, windows)
        others = [one for one in template.written if one not in block.written]
        marks = [one for one in template.marks if one not in block.marks]
        template = replace(template, written=(*moved.written, *others), marks=(*marks, *moved.marks), block=moved)
    return replace(template, written=tuple(_nudged(one, windows) for one in template.written))


def within(template: Template, layout: Tiling, tile: Tile) -> Template:
    """Return a template with the words that lie wholly on a tile, and the holes that it shows any of."""
    left, low, right, high = window = _window(tile, layout)
    written = tuple(one for one in template.written if _holds(window, _extent(one)))
    if not template.holes:
        return replace(template, written=written)
    every = template.bores
    beyond = np.abs(every[:, :2] - [(left + right) / 2, (low + high) / 2]) - every[:, 2:]
    shown = every[(beyond < [(right - left) / 2, (high - low) / 2]).all(axis=1)]
    return replace(template, written=written, holes=tuple(map(tuple, shown.tolist())))


def _moved(block: Block, windows: Sequence[Box]) -> Block:
    """Return a block where a tile shows most of its room round one spot."""
    rooms = [one for window in windows for one in polygons(shapely.intersection(block.room, _shrunk(window))).geoms]
    if not rooms:
        return block
    return block_in(max(rooms, key=_roominess), block.lines, block.ways)


def _roominess(room: Polygon) -> float:
    return float(shapely.maximum_inscribed_circle(room, tolerance=1.0).length)


def _nudged(one: Written, windows: Sequence[Box]) -> Written:
    box = _extent(one)
    if any(_holds(window, box) for window in windows):
        return one
    shifts = [_into(box, window) for window in windows]
    dx, dy = min(shifts, key=lambda shift: abs(shift[0]) + abs(shift[1]))
    return replace(one, at=(one.at[0] + dx, one.at[1] + dy))


def _into(box: Box, window: Box) -> tuple[float, float]:
    """Return the least shift that brings a box into a window that it is smaller than."""
    x = max(window[0] + CLEAR - box[0], 0.0) + min(window[2] - CLEAR - box[2], 0.0)
    y = max(window[1] + CLEAR - box[1], 0.0) + min(window[3] - CLEAR - box[3], 0.0)
    return x, y


def _around(block: Block) -> Box:
    spots = [spot for line in block.marks for spot in line]
    boxes = [*map(_extent, block.written), *((x, y, x, y) for x, y in spots)]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def _extent(one: Written) -> Box:
    left, top, right, low = Words(one.text, (one.at[0], -one.at[1]), one.height / INK / POINT).extent
    return left, -low, right, -top


def _window(tile: Tile, layout: Tiling) -> Box:
    return tile.left, tile.bottom, tile.left + layout.window[0], tile.bottom + layout.window[1]


def _shrunk(window: Box) -> Polygon:
    return shapely.box(window[0] + MARGIN, window[1] + MARGIN, window[2] - MARGIN, window[3] - MARGIN)


def _holds(window: Box, box: Box) -> bool:
    return window[0] <= box[0] and window[1] <= box[1] and box[2] <= window[2] and box[3] <= window[3]
