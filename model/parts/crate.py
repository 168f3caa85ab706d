"""Crates, as a survey asks for them."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from tapeloft.model.parts.registry import Made, Stage, kind
from tapeloft.shapes.readings import Height, Length

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.gear.forms import Block


@kind("crate", Stage.STOWED)
@dataclass(frozen=True, kw_only=True)
class Crates:
    """Crates of one size as they are laid to come out through a lid; each counts as a whole box."""

    item: str
    number: int | None = None
    opening: str | None = None
    on: Annotated[float | None, Height("of the shelf or grate that they stand on; left out: all that is level")] = None
    clearance: Annotated[float, Length("between any two, and to walls")] = 0.005

    @property
    def form(self) -> "Block":
        """What one is; raises UnknownName for gear that there is not, GeometryError for what is no box."""
        from tapeloft.model.errors import GeometryError
        from tapeloft.model.gear.asked import gear_asked
        from tapeloft.model.gear.forms import Block

        form = gear_asked(self.item).form
        if not isinstance(form, Block):
            raise GeometryError(f'"{self.item}" is no crate\n    mend: write its sizes, as "box 600x400x280"')
        return form

    def made(self, space: "Compartment") -> Made:
        """Return the crates in a space: as many as asked for, or as come out; raises GeometryError for too many."""
        from tapeloft.model.crating.ground import floors_of
        from tapeloft.model.crating.stood import laid_to_come_out
        from tapeloft.model.fall import lids_of

        floors = floors_of(space, None if self.on is None else [self.on])
        lids, form = lids_of(space, self.opening), self.form
        found, notes = laid_to_come_out(space.inside, floors, lids, form, self.clearance, self.number)
        return Made(tuple((f"crate {number}", one.solid) for number, one in enumerate(found, start=1)), notes)
