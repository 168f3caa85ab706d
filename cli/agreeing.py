"""How well the tapes agree, in a boatbuilder's words: the short of it, what to measure again, what is not known."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tapeloft.cli.printing import Table
from tapeloft.model.survey.told import on_paper
from tapeloft.model.units import format_length

if TYPE_CHECKING:
    from tapeloft.model.tapes.checked import Again, Checked, TapeRead


FAR, FEWEST = 3.0, 3
"""Standard deviations of a tape off its corners as read, from which it is shown, and how many are where none is."""


def lines(one: "Checked", unit: str) -> Iterator[str]:
    """Yield what the tapes of a compartment say, in *unit*, line by line."""
    yield f"{one.compartment}: {_short(one, unit)}"
    for wrong in one.again:
        yield from _again(wrong.best, unit, "measure again")
        for other in wrong.or_else:
            yield from _again(other, unit, "  or, as likely")
    if one.again and not one.explained:
        yield "  that does not explain all of it: measure the compartment again"
    elif not one.explained:
        yield from _senseless(one, unit)
    yield from (f"  {said}" for said in one.doubted)
    yield from _unseen(one, unit)
    yield from _next(one, unit)


def _short(one: "Checked", unit: str) -> str:
    count = len(one.tapes)
    own = f"{count} check tape{'' if count == 1 else 's'} of her own"
    if one.basis == "sister":
        return f"her sister mirrored, within what tapes and building do, by {own}"
    if one.basis == "unlike":
        return f"not her sister mirrored, by {own}"
    if not count and not one.agrees:
        return "the check tapes of her sister, where the readings were taken, do not agree"
    if not count:
        return "no check tapes, so nothing would show a slip"
    tapes = f"{count} check tape{'' if count == 1 else 's'}"
    if one.agrees:
        all_ = "within" if count == 1 else "all within"
        return f"{tapes}, {all_} what such tapes do; typically {_length(one.typical_m, unit)} off the corners as read"
    return f"{tapes}, and {'it does' if count == 1 else 'they do'} not agree with the readings"


def _again(one: "Again", unit: str, how: str) -> Iterator[str]:
    where = f"{one.problem.file}:{one.problem.line}" if one.problem.line else one.problem.file
    place = f" ({where})" if where else ""
    yield f"  {how}: {one.measure}{place}: {one.problem.what}"
    for slip in one.probably if any(slip.meant is not None for slip in one.probably) else ():
        share = f"{slip.probability * 100:.0f} %"
        meant = f"{format_length(slip.meant, unit)} was meant, " if slip.meant is not None else ""
        yield f"      {share:>5}  {meant}{slip.slip}"


def _senseless(one: "Checked", unit: str) -> Iterator[str]:
    off = [f"{t.label} by {_length(abs(t.written_m - t.read_m), unit)}" for t in _farthest(one)[:FEWEST]]
    yield "  no few slips explain it: several tapes, or several corners, are likely wrong"
    if off:
        yield f"  farthest from the corners as read: {', '.join(off)}"
        yield "  take those again first, then the corners that they join"


def _farthest(one: "Checked") -> "list[TapeRead]":
    """Return the check tapes, the one that lies farthest off the corners as read, for how good it is, first."""
    return sorted(one.tapes, key=lambda t: -_off(t))


def _off(tape: "TapeRead") -> float:
    return abs(tape.written_m - tape.read_m) / tape.sigma_m


def table(one: "Checked", units: str) -> Table:
    """Return the check tapes of a compartment that lie off the corners as read, the farthest first."""
    far = _farthest(one)
    shown = [t for t in far if _off(t) > FAR] or far[:FEWEST]
    head = ("from, to", "written", "corners as read", "off", "with the slips undone")
    columns = len(head) if one.again else len(head) - 1
    told = [(t.written_m, t.read_m, t.written_m - t.read_m, t.adjusted_m)[: columns - 1] for t in shown]
    rows = [(t.label, *(on_paper(round(m, 4), units) for m in row)) for t, row in zip(shown, told, strict=True)]
    few = f", {len(rows)} of {len(one.tapes)}, those farthest off" if len(rows) < len(one.tapes) else ""
    return Table(f"{one.compartment}: check tapes{few}, {units}", head[:columns], rows)


def _unseen(one: "Checked", unit: str) -> Iterator[str]:
    blind = [other.words for other in one.unseen if other.up_to_m is None]
    if one.blind and one.tapes:
        more = f", and in {one.blind - len(blind)} more of {one.of}" if one.blind > len(blind) else ""
        yield f"  no tape would show it if something were wrong here: {'; '.join(blind)}{more}"
    seen = next((other for other in one.unseen if other.up_to_m is not None), None)
    if seen is not None:
        least = ", of those that tapes reach," if one.blind else ""
        size = _length(seen.up_to_m or 0.0, unit)
        yield f"  the largest slip that could pass unnoticed{least} is {size}: {seen.words}"


def _next(one: "Checked", unit: str) -> Iterator[str]:
    if not one.next:
        return
    first, *more = (f"{tape.label} (about {_length(tape.length_m, unit)})" for tape in one.next)
    last = one.next[-1]
    then = f"; no tape would then show {last.then_blind} of {one.of}" if last.then_blind else ""
    if not last.then_blind:
        then = f"; the most that may then pass unnoticed is {_length(last.then_up_to_m, unit)}"
    yield f"  the tape that would help most: {first}{''.join(f', then {tape}' for tape in more)}{then}"


def _length(metres: float, unit: str) -> str:
    return format_length(round(metres, 3), unit)
