"""What is asked of steps."""

from dataclasses import dataclass, field

from tapeloft.model.climbing.person import Person
from tapeloft.model.climbing.rises import Comfort
from tapeloft.model.cutting.timber import TIMBERS, Timber
from tapeloft.model.errors import GeometryError

INCH = 0.0254


@dataclass(frozen=True)
class Wanted:
    """What steps are asked for, m: rises; the widest and deepest tread, and the least; its thickness.

    into: so far nosings stand within the fall, and *going* more for each tread under the highest. The least depth is
    the 4 in of 29 CFR 1910.25(e)(3); the least width is room for two boots, common practice, no source.
    load_kg: of who stands there. timber: that treads are sawn from. cheeks: how thick boards that hold their ends are,
    none where left out.
    """

    comfort: Comfort = field(default_factory=Comfort)
    most: tuple[float, float] = (0.460, 0.250)
    least: tuple[float, float] = (0.250, 4 * INCH)
    thickness: float = 0.020
    into: float = 0.0
    going: float = 0.0
    person: Person = field(default_factory=Person)
    load_kg: float = 120.0
    timber: Timber = TIMBERS["teak"]
    cheeks: float | None = None


def hold(wanted: Wanted) -> None:
    """Raise GeometryError where a size is absurd."""
    comfort = wanted.comfort
    if not (0.05 <= comfort.least <= comfort.most <= 0.6 and 0 <= comfort.uneven <= 0.1):
        raise GeometryError("rises have to be 50 to 600 mm, the least no more than the most, and differ by 0 to 100")
    sizes = {"width of a tread": wanted.most[0], "depth of a tread": wanted.most[1]}
    sizes |= {"least width of a tread": wanted.least[0], "least depth of a tread": wanted.least[1]}
    sizes |= {"breadth of a person": wanted.person.breadth, "depth of a person": wanted.person.depth}
    for name, size in sizes.items():
        if not 0.03 <= size <= 3.0:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 30 to 3000 mm")
    if wanted.least[0] > wanted.most[0] or wanted.least[1] > wanted.most[1]:
        raise GeometryError("the least tread is larger than the largest\n    mend: ask for less, or give it more")
    for name, size in (("going", wanted.going), ("way into the fall", wanted.into)):
        if not 0 <= size <= 1.0:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 0 to 1000 mm")
    _hold_boards(wanted)


def _hold_boards(wanted: Wanted) -> None:
    if not 0.003 <= wanted.thickness <= wanted.comfort.least / 2:
        most = wanted.comfort.least * 500
        raise GeometryError(f"a tread {wanted.thickness * 1000:g} mm thick: it has to be 3 to {most:.0f} mm")
    if wanted.cheeks is not None and not 0.003 <= wanted.cheeks <= 0.1:
        raise GeometryError(f"cheeks {wanted.cheeks * 1000:g} mm thick: they have to be 3 to 100 mm")
