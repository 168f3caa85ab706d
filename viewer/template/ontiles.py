"""What is written on a template, so that no line of it crosses two sheets of paper."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.viewer.template.block import Block, block_within
from tapeloft.viewer.template.lettering import Written
from tapeloft.viewer.template.template import Template
from tapeloft.viewer.template.tiling import Tile, Tiling

CLEAR = 1.0  # mm from the edge of a sheet
FREE = 4.0  # mm that a block keeps from it
READ = 3.0  # mm: letters that are no smaller need no better place
Box = tuple[float, float, float, float]


def on_tiles(template: Template, layout: Tiling) -> Template:
    """Return a template whose every word lies wholly on one of its tiles: moved as little as does, the block as one."""
    windows = [_window(tile, layout) for tile in layout.tiles]
    block = template.block
    if block is not None:
        held = any(_holds(window, block.outline.bounds) for window in windows)
        if not held or (block.read_as < READ and not block.beside):
            template = _with_block(template, block, _moved(block, windows, held))
    block = template.block
    own = block.written if block else ()
    rest = [one for one in template.written if one not in own]
    taken = block.outline if block else Polygon()
    return replace(template, written=(*own, *(_nudged(one, windows, taken) for one in rest)))


def _with_block(template: Template, block: Block, moved: Block) -> Template:
    """Return a template with its block moved."""
    others = [one for one in template.written if one not in block.written]
    marks = [one for one in template.marks if one not in block.marks]
    return replace(template, written=(*moved.written, *others), marks=(*marks, *moved.marks), block=moved)


def within(template: Template, layout: Tiling, tile: Tile) -> Template:
    """Return a template with the words and arrows that lie wholly on a tile, and the holes that it shows any of."""
    left, low, right, high = window = _window(tile, layout)
    block = template.block
    gone = block if block is not None and not _holds(window, block.outline.bounds) else None
    unsaid, undrawn = (gone.written, gone.marks) if gone else ((), ())
    written = tuple(one for one in template.written if one not in unsaid and _holds(window, one.box))
    shown = replace(template, written=written, marks=tuple(one for one in template.marks if one not in undrawn))
    if not template.holes:
        return shown
    every = template.bores
    beyond = np.abs(every[:, :2] - [(left + right) / 2, (low + high) / 2]) - every[:, 2:]
    near = every[(beyond < [(right - left) / 2, (high - low) / 2]).all(axis=1)]
    return replace(shown, holes=tuple(map(tuple, near.tolist())))


def _moved(block: Block, windows: Sequence[Box], held: bool) -> Block:
    """Return a block where a tile has most room for it, the nearer of those alike."""
    was = block.outline.centroid
    rooms = [block.room.within(_shrunk(window)) for window in windows]
    found = [one for room in rooms if (one := block_within(room, block.lines, block.ways))]
    best = max(found, key=lambda one: (one.read_as, -one.outline.centroid.distance(was)), default=block)
    if held and best.read_as <= block.read_as:
        return block
    return replace(best, room=block.room)


def _nudged(one: Written, windows: Sequence[Box], taken: Polygon) -> Written:
    """Return a line of text at a place of its own that a tile holds and nothing has taken, else shifted onto a tile."""
    places = [replace(one, at=at) for at in (one.at, *one.others)]
    held = [place for place in places if any(_holds(window, place.box) for window in windows)]
    free = [place for place in held if not shapely.box(*place.box).intersects(taken)]
    if held:
        return (free or held)[0]
    shifts = [_into(one.box, window) for window in windows]
    dx, dy = min(shifts, key=lambda shift: abs(shift[0]) + abs(shift[1]))
    return replace(one, at=(one.at[0] + dx, one.at[1] + dy))


def _into(box: Box, window: Box) -> tuple[float, float]:
    """Return the least shift that brings a box into a window that it is smaller than."""
    x = max(window[0] + CLEAR - box[0], 0.0) + min(window[2] - CLEAR - box[2], 0.0)
    y = max(window[1] + CLEAR - box[1], 0.0) + min(window[3] - CLEAR - box[3], 0.0)
    return x, y


def _window(tile: Tile, layout: Tiling) -> Box:
    return tile.left, tile.bottom, tile.left + layout.window[0], tile.bottom + layout.window[1]


def _shrunk(window: Box) -> Polygon:
    return shapely.box(window[0] + FREE, window[1] + FREE, window[2] - FREE, window[3] - FREE)


def _holds(window: Box, box: Box) -> bool:
    return window[0] <= box[0] and window[1] <= box[1] and box[2] <= window[2] and box[3] <= window[3]
