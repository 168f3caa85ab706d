"""Things put in, taken out and slid along: the loops of the packer.

A lattice of places is laid for each turned thing, and what the walls rule out is left off. Everything that is put in
then rules out, in each lattice, the places inside one convex body (`forms.Pairs`): counted up when a thing goes in
and down when it comes out. What is in may stand between the places of the lattice, since it slides until it touches.
"""

import numpy as np

from tapeloft.model.packing.forms import TOUCH, Indices, Pairs
from tapeloft.model.packing.frame import Frame, Load
from tapeloft.model.packing.touching import CLEAR, hindrance
from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.walls import Numbers

RUN_IN = 1e-6  # m: how near to touching a thing is slid where it does not come to lie on the grid
HALF_GRID = 2e5  # per metre, the same as forms.FINEST


@part
def put_in(frame: Frame, load: Load, turn: int, place: Numbers) -> None:
    """Put a thing in at a place that is clear."""
    number = load.many[0]
    load.turns[number] = turn
    for i in range(3):
        load.places[number, i] = place[i]
    load.many[0] += 1
    load.held[frame.bodies.kind[turn]] += 1
    _ruled_out(frame, load.taken, turn, load.places[number], 1)


@part
def take_out(frame: Frame, load: Load, number: int) -> None:
    """Take a thing out; the last one gets its number."""
    turn, last = load.turns[number], load.many[0] - 1
    _ruled_out(frame, load.taken, turn, load.places[number], -1)
    load.held[frame.bodies.kind[turn]] -= 1
    load.turns[number] = load.turns[last]
    for i in range(3):
        load.places[number, i] = load.places[last, i]
    load.many[0] = last


@part
def _ruled_out(frame: Frame, taken: Indices, turn: int, place: Numbers, by: int) -> None:
    """Add *by* to the count of each cell that a thing at a place rules out."""
    first = frame.bodies.first
    many = first[-1]
    for other in range(first.size - 1):
        if frame.lattice.first_cell[other] == frame.lattice.first_cell[other + 1]:
            continue
        for a in range(first[turn], first[turn + 1]):
            for b in range(first[other], first[other + 1]):
                _ruled_out_by(frame, taken, other, a * many + b, place, by)


@part
def _ruled_out_by(frame: Frame, taken: Indices, other: int, pair: int, place: Numbers, by: int) -> None:
    marks, start, span = frame.lattice.marks, frame.lattice.first_mark[3 * other :], frame.pairs.spans[pair]
    i0 = _after(marks, start[0], start[1], place[0] + span[0])
    j0 = _after(marks, start[1], start[2], place[1] + span[1])
    k0 = _after(marks, start[2], start[3], place[2] + span[2])
    if k0 == start[3]:
        return
    tops = frame.pairs.tops[frame.pairs.first_top[pair] : frame.pairs.first_top[pair + 1]]
    bottoms = frame.pairs.bottoms[frame.pairs.first_bottom[pair] : frame.pairs.first_bottom[pair + 1]]
    sheers = frame.pairs.sheers[frame.pairs.first_sheer[pair] : frame.pairs.first_sheer[pair + 1]]
    high = start[3] - start[2]
    for i in range(i0, start[1]):
        x = marks[i] - place[0]
        if x >= span[3]:
            break
        row = frame.lattice.first_cell[other] + (i - start[0]) * (start[2] - start[1]) * high - start[2]
        for j in range(j0, start[2]):
            y = marks[j] - place[1]
            if y >= span[4]:
                break
            if _is_between(sheers, x, y):
                low, top = place[2] + _highest(bottoms, x, y), place[2] + _lowest(tops, x, y)
                _counted(marks, k0, start[3], low, top, taken, row + (j - start[1]) * high, by)


@part
def _counted(marks: Numbers, start: int, end: int, low: float, top: float, taken: Indices, row: int, by: int) -> None:
    """Add *by* to the counts of the marks between two heights."""
    for k in range(start, end):
        if marks[k] >= top:
            break
        if marks[k] > low:
            taken[row + k] += by


@part
def _is_between(sheers: Numbers, x: float, y: float) -> bool:
    """Whether the upright line at x, y is within every upright side; see `forms.Pairs`."""
    least = 1.0
    for s in range(sheers.shape[0]):
        least = min(least, sheers[s, 0] - sheers[s, 1] * x - sheers[s, 2] * y)
    return least > 0


@part
def _lowest(tops: Numbers, x: float, y: float) -> float:
    low = 1e300
    for s in range(tops.shape[0]):
        low = min(low, tops[s, 0] - tops[s, 1] * x - tops[s, 2] * y)
    return low


@part
def _highest(bottoms: Numbers, x: float, y: float) -> float:
    high = -1e300
    for s in range(bottoms.shape[0]):
        high = max(high, bottoms[s, 0] - bottoms[s, 1] * x - bottoms[s, 2] * y)
    return high


@part
def _after(marks: Numbers, start: int, end: int, at: float) -> int:
    """Return the number of the first of marks[start:end] beyond *at*, or end."""
    while start < end:
        middle = (start + end) // 2
        if marks[middle] > at:
            end = middle
        else:
            start = middle + 1
    return start


@part
def meets(frame: Frame, load: Load, number: int, turn: int, place: Numbers) -> bool:
    """Whether a thing at a place would meet the one of that number."""
    first, there = frame.bodies.first, load.turns[number]
    for a in range(first[there], first[there + 1]):
        for b in range(first[turn], first[turn + 1]):
            pair = a * first[-1] + b
            inside = not _beside(frame.pairs, pair, place, load.places, number)
            if not inside:
                continue
            for s in range(frame.pairs.first[pair], frame.pairs.first[pair + 1]):
                side, along = frame.pairs.sides[s], 0.0
                for i in range(3):
                    along += side[i] * (place[i] - load.places[number, i])
                if along >= side[3] - TOUCH:
                    inside = False
                    break
            if inside:
                return True
    return False


@part
def _beside(pairs: Pairs, pair: int, place: Numbers, places: Numbers, number: int) -> bool:
    """Whether the difference of two places lies outside the upright box around the body of a pair."""
    for i in range(3):
        off = place[i] - places[number, i]
        if off <= pairs.spans[pair, i] or off >= pairs.spans[pair, 3 + i]:
            return True
    return False


@part
def slid(frame: Frame, load: Load, skip: int, turn: int, place: Numbers, axis: int, sign: float, reach: float) -> None:
    """Move *place* along an axis until the thing touches something, by *reach* m at most.

    skip: the number that the thing itself has if it is in, else −1.
    """
    far = reach
    for number in range(load.many[0]):
        if number != skip:
            far = min(far, _way_to(frame, load, number, turn, place, axis, sign))
    piece = frame.bodies.first[turn]
    step = 0.4 * (frame.bodies.spans[piece, 3 + axis] - frame.bodies.spans[piece, axis])
    start, gone, last = place[axis], 0.0, -1
    while gone < far:
        ahead = min(gone + step, far)
        place[axis] = start + sign * ahead
        last = hindrance(frame.bodies, turn, place, frame.room, last)
        if last != CLEAR:
            gone = _run_in(frame, turn, place, axis, start, sign, gone, ahead)
            break
        gone = ahead
    place[axis] = start + sign * gone
    _settled_on_grid(frame, load, skip, turn, place, axis, sign)


@part
def _run_in(
    frame: Frame, turn: int, place: Numbers, axis: int, start: float, sign: float, clear: float, met: float
) -> float:
    """Halve the way between a clear place and one that is not; return how far the thing can go."""
    last = -1
    while met - clear > RUN_IN:
        middle = 0.5 * (clear + met)
        place[axis] = start + sign * middle
        hit = hindrance(frame.bodies, turn, place, frame.room, last)
        if hit == CLEAR:
            clear = middle
        else:
            met, last = middle, hit
    return clear


@part
def _settled_on_grid(frame: Frame, load: Load, skip: int, turn: int, place: Numbers, axis: int, sign: float) -> None:
    """Put a place that was come to from the grid on it again: where it touches if it does so there, else just before.

    So upright boxes that touch do so exactly.
    """
    if not frame.bodies.exact[turn, axis]:
        return
    found = place[axis] * HALF_GRID
    place[axis] = np.round(found) / HALF_GRID
    if not is_clear(frame, load, skip, turn, place):
        place[axis] = sign * np.floor(sign * found) / HALF_GRID


@part
def is_clear(frame: Frame, load: Load, skip: int, turn: int, place: Numbers) -> bool:
    """Whether a thing at a place is inside and meets neither walls nor anything that is in but *skip*."""
    for number in range(load.many[0]):
        if number != skip and meets(frame, load, number, turn, place):
            return False
    return hindrance(frame.bodies, turn, place, frame.room, -1) == CLEAR


@part
def _way_to(frame: Frame, load: Load, number: int, turn: int, place: Numbers, axis: int, sign: float) -> float:
    """Return how far along an axis a thing can go before it meets the one of that number, m."""
    first, there, least = frame.bodies.first, load.turns[number], 1e300
    for a in range(first[there], first[there + 1]):
        for b in range(first[turn], first[turn + 1]):
            pair = a * first[-1] + b
            if not _passes(frame.pairs, pair, place, load.places, number, axis):
                least = min(least, _entry(frame.pairs, pair, place, load.places, number, axis, sign))
    return least


@part
def _entry(pairs: Pairs, pair: int, place: Numbers, places: Numbers, number: int, axis: int, sign: float) -> float:
    """Return how far along an axis the difference of two places goes before it is in the body of a pair."""
    enter, leave = -1e300, 1e300
    for s in range(pairs.first[pair], pairs.first[pair + 1]):
        side, along = pairs.sides[s], 0.0
        for i in range(3):
            along += side[i] * (place[i] - places[number, i])
        room, pace = side[3] - TOUCH - along, sign * side[axis]
        if pace > 1e-12:
            leave = min(leave, room / pace)
        elif pace < -1e-12:
            enter = max(enter, room / pace)
        elif room <= 0:
            return 1e300
    return max(enter, 0.0) if enter < leave and leave > 0 else 1e300


@part
def _passes(pairs: Pairs, pair: int, place: Numbers, places: Numbers, number: int, axis: int) -> bool:
    """Whether a thing moved along an axis passes beside the upright box around the body of a pair."""
    for i in range(3):
        off = place[i] - places[number, i]
        if i != axis and (off <= pairs.spans[pair, i] or off >= pairs.spans[pair, 3 + i]):
            return True
    return False
