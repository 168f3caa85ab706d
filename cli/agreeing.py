"""How well the tapes agree, in a boatbuilder's words: the short of it, what to measure again, what is not known."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tapeloft.model.units import format_length

if TYPE_CHECKING:
    from tapeloft.model.tapes.checked import Again, Checked, Unseen


def lines(one: "Checked", unit: str) -> Iterator[str]:
    """Yield what the tapes of a compartment say, in *unit*, line by line."""
    yield f"{one.compartment}: {_short(one, unit)}"
    for wrong in one.again:
        yield from _again(wrong.best, unit, "measure again")
        for other in wrong.or_else:
            yield from _again(other, unit, "  or, as likely")
    if not one.explained:
        yield "  no few slips explain all of it: measure the compartment again"
    yield from _unseen(one, unit)
    yield from _next(one, unit)


def _short(one: "Checked", unit: str) -> str:
    count = len(one.tapes)
    if not count:
        return "no check tapes, so nothing would show a slip"
    tapes = f"{count} check tape{'' if count == 1 else 's'}"
    if one.agrees:
        all_ = "within" if count == 1 else "all within"
        return f"{tapes}, {all_} what such tapes do; typically {_length(one.typical_m, unit)} off the corners as read"
    return f"{tapes}, and they do not agree with the readings"


def _again(one: "Again", unit: str, how: str) -> Iterator[str]:
    where = f"{one.problem.file}:{one.problem.line}" if one.problem.line else one.problem.file
    place = f" ({where})" if where else ""
    yield f"  {how}: {one.measure}{place}: {one.problem.what}"
    for slip in one.probably:
        share = f"{slip.probability * 100:.0f} %"
        meant = f"{format_length(slip.meant, unit)} was meant, " if slip.meant is not None else ""
        yield f"      {share:>5}  {meant}{slip.slip}"


def _unseen(one: "Checked", unit: str) -> Iterator[str]:
    blind = [other.words for other in one.unseen if other.up_to_m is None]
    if one.blind and one.tapes:
        more = f", and {one.blind - len(blind)} more" if one.blind > len(blind) else ""
        yield f"  no tape would show a slip in: {'; '.join(blind)}{more}"
    seen = next((other for other in one.unseen if other.up_to_m is not None), None)
    if seen is not None:
        yield f"  a slip of less than {_up_to(seen, unit)} could go unnoticed: {seen.words}"


def _up_to(one: "Unseen", unit: str) -> str:
    return _length(one.up_to_m or 0.0, unit)


def _next(one: "Checked", unit: str) -> Iterator[str]:
    if not one.next:
        return
    tapes = ", then ".join(f"{tape.label} (about {_length(tape.length_m, unit)})" for tape in one.next)
    last = one.next[-1]
    left = (
        f"{last.then_blind} slips of {one.of} would then show nowhere" if last.then_blind else "every slip would show"
    )
    worst = (
        f", the others from {_length(last.then_up_to_m, unit)}"
        if last.then_blind
        else f" from {_length(last.then_up_to_m, unit)}"
    )
    yield f"  the tape that would help most: {tapes}; {left}{worst if last.then_up_to_m else ''}"


def _length(metres: float, unit: str) -> str:
    return format_length(round(metres, 3), unit)
