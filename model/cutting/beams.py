"""How far a batten spans: deflection and stress of straight beams, from the handbooks.

Simply supported, length L: a load P in the middle bends it P·L³/48EI with a moment P·L/4, an even load w 5·w·L⁴/384EI
with w·L²/8. An end that stands out a beyond a span L: P·a²·(L + a)/3EI with P·a, w·a³·(4·L + 3·a)/24EI with w·a²/2.
The Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190, 2010, page 9-2, table 9-1, has those of one span; S. J.
Record, The Mechanical Properties of Wood, has the first as E = P·l³/4·D·b·h³; the American Wood Council, Design Aid 6
(2007), has them all, the last two as a beam overhanging one support. A bar that goes on over a second span bends less
and is stressed no more: w·L⁴/185EI with w·L²/8 over the middle bearer, 0.015·P·L³/EI with 13·P·L/64 (Design Aid 6,
p. 18; T. G. Hicks, Civil Engineering Formulas, 2002, p. 50). Bending through shear is left out: of a batten twelve
times as long as deep it is under a tenth.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Protocol

from tapeloft.model.errors import GeometryError

GRAVITY = 9.80665  # m/s²
FARTHEST = 5.0  # m: a span that no batten needs
HALVINGS = 60
MIDDLE = 5 / 4  # of a span's even load
STIFFLESS, STIFFEST = (
    20.0,
    1e4,
)  # parts of a span: beyond, the formulas of a little bending do not hold, or nothing does


@dataclass(frozen=True)
class Load:
    """What a batten bears: a load that stands on one batten anywhere, kg; an even load, kg/m².

    least_part: it bends no more than 1/least_part of its span. safety: the modulus of rupture is that many times the
    stress. The defaults are common practice, no source.
    """

    point_kg: float = 40.0
    even_kg_m2: float = 200.0
    least_part: float = 200.0
    safety: float = 5.0


def sound_load(load: Load, what: str) -> None:
    """Raise GeometryError where a load on *what* is absurd, or the share of its span that it may bend."""
    for name, figure in {"a point load of": load.point_kg, "an even load of": load.even_kg_m2}.items():
        if not 0 <= figure <= 1e4:
            raise GeometryError(f"{name} {figure:g}: it has to be 0 to 10000")
    if load.point_kg == load.even_kg_m2 == 0:
        raise GeometryError(f"a {what} that bears nothing: give a point load or an even load")
    if not STIFFLESS <= load.least_part <= STIFFEST:
        raise GeometryError(f"a bend of 1/{load.least_part:g} of the span: it has to be 1/20 to 1/10000")


class Material(Protocol):
    """What a bar is of: moduli of elasticity and of rupture, Pa, and its density."""

    @property
    def modulus_pa(self) -> float:
        """Of elasticity."""

    @property
    def rupture_pa(self) -> float:
        """Of rupture."""

    @property
    def density_kg_m3(self) -> float:
        """Dry, kg/m³."""


class Beam(Protocol):
    """A straight bar of any section, as the formulas take it."""

    @property
    def stiffness(self) -> float:
        """E·I, N·m²."""

    @property
    def section_modulus(self) -> float:
        """I over the distance of the outermost fibre, m³."""

    @property
    def breaking_pa(self) -> float:
        """The stress that breaks it, or bends it for good, Pa."""

    @property
    def kg_m(self) -> float:
        """Mass of a metre, kg."""


@dataclass(frozen=True)
class Bar:
    """A straight bar of rectangular section: breadth and depth, m, and what it is of."""

    breadth: float
    depth: float
    timber: Material

    @property
    def stiffness(self) -> float:
        """E·I, N·m²."""
        return self.timber.modulus_pa * self.breadth * self.depth**3 / 12

    @property
    def section_modulus(self) -> float:
        """b·h²/6, m³."""
        return self.breadth * self.depth**2 / 6

    @property
    def breaking_pa(self) -> float:
        """The timber's modulus of rupture, Pa."""
        return self.timber.rupture_pa

    @property
    def kg_m(self) -> float:
        """Mass of a metre, kg."""
        return self.timber.density_kg_m3 * self.breadth * self.depth


def span(bar: Beam, load: Load, share: float) -> float:
    """Return the longest span, m, between two bearers; *share*: the breadth that one bar bears, m.

    Both loads together, the bar taken as one that goes from bearer to bearer; going on over several does no harm.
    """
    return _longest(lambda length: _bent(bar, load, share, length) and _held(bar, load, share, length))


def blocks_apart(bearer: Beam, load: Load, spacing: float, least: float) -> float:
    """Return how far apart, m, what holds a bearer up may be: bearers *spacing* m apart, what stands on one *least* m.

    Under the middle of two spans a bearer carries 5/4 of a span's even load (Design Aid 6, p. 18).
    """
    return span(bearer, load, max(MIDDLE * spacing, least))


def sag(bar: Beam, load: Load, share: float, length: float) -> float:
    """Return how far a bar bends in the middle, m, over a span of *length*, m, under both loads together.

    >>> from tapeloft.model.cutting.timber import TIMBERS
    >>> bar, load = Bar(0.3, 0.012, TIMBERS["teak"]), Load(point_kg=0, even_kg_m2=100)
    >>> round(sag(bar, load, 0.3, 0.6) * 1000, 2), round(5 * 294.2 * 0.6**4 / (384 * bar.stiffness) * 1000, 2)
    (1.22, 1.22)
    """
    point, even = _loads(load, share)
    return (point * length**3 / 48 + 5 * even * length**4 / 384) / bar.stiffness


def overhang(bar: Beam, load: Load, share: float) -> float:
    """Return how far a bar may stand out over its last bearer, m.

    Its end goes down no farther than the middle of its longest span may, both loads on it and none on that span, which
    then gives way the most.
    """
    beside = span(bar, load, share)
    return _longest(
        lambda length: (
            dip(bar, load, share, length, beside) <= beside / load.least_part and _carried(bar, load, share, length)
        )
    )


def spans_of(depth: float, timber: Material, load: Load, share: float) -> Callable[[float], tuple[float, float]]:
    """Return what tells how far a bar of a *depth* spans and stands out, m, by its breadth, m."""

    @cache
    def spans(breadth: float) -> tuple[float, float]:
        bar = Bar(breadth, depth, timber)
        return (span(bar, load, share), overhang(bar, load, share)) if breadth > 0 else (0.0, 0.0)

    return spans


def dip(bar: Beam, load: Load, share: float, length: float, beside: float) -> float:
    """Return how far the end of a bar goes down, m, that stands out a *length* beyond a span *beside*, m.

    >>> from tapeloft.model.cutting.timber import TIMBERS
    >>> bar, load = Bar(0.04, 0.018, TIMBERS["teak"]), Load(point_kg=40, even_kg_m2=0)
    >>> cantilever = 40 * GRAVITY * 0.1**3 / (3 * bar.stiffness)
    >>> round(dip(bar, load, 0.06, 0.1, 0.3) / cantilever, 9)
    4.0
    """
    point, even = _loads(load, share)
    bends = point * length**2 * (beside + length) / 3 + even * length**3 * (4 * beside + 3 * length) / 24
    return bends / bar.stiffness


def _loads(load: Load, share: float) -> tuple[float, float]:
    return load.point_kg * GRAVITY, load.even_kg_m2 * GRAVITY * share


def _bent(bar: Beam, load: Load, share: float, length: float) -> bool:
    return sag(bar, load, share, length) <= length / load.least_part


def _held(bar: Beam, load: Load, share: float, length: float) -> bool:
    point, even = _loads(load, share)
    moment = point * length / 4 + even * length**2 / 8
    return moment / bar.section_modulus <= bar.breaking_pa / load.safety


def _carried(bar: Beam, load: Load, share: float, length: float) -> bool:
    point, even = _loads(load, share)
    moment = point * length + even * length**2 / 2
    return moment / bar.section_modulus <= bar.breaking_pa / load.safety


def _longest(does: Callable[[float], bool]) -> float:
    """Return the longest length that does; what is longer does not."""
    low, high = 0.0, FARTHEST
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if does(middle) else (low, middle)
    return low
