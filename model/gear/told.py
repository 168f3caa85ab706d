"""How the form of a piece of gear is told to a person."""

from tapeloft.model.gear.body import Body
from tapeloft.model.gear.forms import Board, Capsule, Cylinder, SoftBag
from tapeloft.model.gear.gear import Form
from tapeloft.model.units import LITRE, format_length


def size_told(form: Form, unit: str) -> str:
    """Return the sizes of a *form* in one of `UNITS`, which is not named: a table names it once.

    >>> size_told(Cylinder(0.32, 0.6055), "mm"), size_told(Capsule(0.2, 0.7), "in"), size_told(SoftBag(0.06, 0.15), "m")
    ('⌀ 320 × 605.5', '⌀ 7 7/8 × 27 9/16, round ends', '60 l, 0.15 thick')
    """

    def told(size: float) -> str:
        return format_length(size, unit).removesuffix(f" {unit}" if unit != "ft" else "")

    if isinstance(form, SoftBag):
        return f"{form.volume / LITRE:.4g} l, {told(form.thickness)} thick"
    if isinstance(form, Cylinder):
        return f"⌀ {told(form.diameter)} × {told(form.length)}"
    if isinstance(form, Capsule):
        return f"⌀ {told(form.diameter)} × {told(form.length)}, round ends"
    if isinstance(form, Board):
        flat = " × ".join(map(told, (form.length, form.breadth, form.thickness)))
        return f"{flat}, rocker {told(form.rocker)}" if form.rocker else flat
    over_all = " × ".join(map(told, form.sizes))
    return f"mesh, {over_all} over all" if isinstance(form, Body) else over_all
