"""The straps behind the joints of a panel, as they are asked for and told."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.printing import Table
from tapeloft.cli.sizes import pair, size

if TYPE_CHECKING:
    from tapeloft.model.cutting.board import Board, Piece
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.straps import Backed, Strapping, Straps
    from tapeloft.model.plusminus.cutagain import Behind
    from tapeloft.viewer.template.plan import Plan
    from tapeloft.viewer.template.template import Lying

Face = Literal["forward", "after", "upper", "lower", "port", "starboard"]
StrapOption = Annotated[
    str, typer.Option("--strap", metavar="B x T", help='breadth and thickness of straps behind joints, mm; "none"')
]
StrapFace = Annotated[
    Face | None, typer.Option("--strap-face", help="the face of the panel that they lie on; left out: the far one")
]
CleatOption = Annotated[
    str,
    typer.Option("--cleat", metavar="LENGTH", help="breadth of cleats on that face, that straps end at; 0: none there"),
]


def strapping_of(strap: str, face: Face | None, cleat: str) -> "Strapping":
    """Return the straps that were asked for."""
    from tapeloft.model.cutting.straps import Strapping

    none = strap.strip().lower() in ("none", "0")
    breadth, thickness = (0.0, 0.0) if none else pair("strap", strap, "breadth x thickness", "60x12")
    return Strapping(breadth, thickness, face or "", size("cleat", cleat))


def joint_list(joints: "Sequence[Backed]", units: str) -> list[Table]:
    """Return the joints and what lies behind them as a table; none of a board that has no joints."""
    from tapeloft.model.units import figure

    rows = [
        (
            " and ".join(one.between),
            figure(one.length_m, units),
            figure(one.strapped_m, units),
            figure(one.cleats_m, units),
            figure(one.bare_m, units),
            ", ".join(one.straps) or "none",
        )
        for one in joints
    ]
    head = ("joint of", f"long, {units}", "on straps", "on cleats", "on nothing", "straps")
    return [Table("joints", head, rows, words=(0, 5))] if rows else []


def of_one_sheet(board: "Board", straps: "Straps") -> "tuple[Piece, ...]":
    """Return what is cut from sheets of the board's thickness."""
    return (*board.pieces, *straps.pieces) if straps.thickness == board.thickness else board.pieces


def left_out(board: "Board", straps: "Straps", on_sheets: bool) -> tuple[str, ...]:
    """Return in words that straps are not laid out on the board's sheets, where they might have been."""
    if not on_sheets or not straps.pieces or straps.thickness == board.thickness:
        return ()
    thick = f"the straps are {straps.thickness * 1000:g} mm thick, the sheets {board.thickness * 1000:g} mm"
    return (f"{thick}: the straps are not laid out on them",)


def behind(straps: "Straps") -> "Behind | None":
    """Return the straps as what may touch a wall besides the board; None where there are none."""
    from tapeloft.model.plusminus.cutagain import Behind

    outlines = tuple(one.outline for one in straps.pieces)
    return Behind(straps.plane, straps.thickness, outlines) if outlines else None


def said_on(strap: "Piece", straps: "Straps", plane: "Plane") -> tuple[str, str]:
    """Return what is written on a strap: which face it shows, behind which joint it lies, how thick it is."""
    from tapeloft.model.cutting.straps import FACES

    far, near = FACES[plane.face]
    side = f"this side: against the {far} face of the panel" if straps.far else f"this side: {near} face"
    (joint,) = (one for one in straps.joints if strap.letter in one.straps)
    where = plane.beneath if straps.far else "on"
    return side, f"{where} the joint of {' and '.join(joint.between)}, {straps.thickness * 1000:g} mm thick"


def lying_on(piece: "Piece", straps: "Straps") -> "list[Lying]":
    """Return the straps that lie on a piece, for its template, with what is said of each there."""
    from tapeloft.viewer.template.template import Lying

    where, outlines = (
        straps.plane.beneath if straps.far else "on it",
        {one.letter: one.outline for one in straps.pieces},
    )
    return [
        Lying(outlines[name], f"{name} {where}, joint to {other}", straps.far)
        for joint in straps.joints
        if piece.letter in joint.between
        for other in [one for one in joint.between if one != piece.letter]
        for name in joint.straps
    ]


def plan_with(board: "Board", straps: "Straps", unit: str) -> "Plan":
    """Return the plan of a board with its straps: where their middles lie is where the joints are."""
    from tapeloft.viewer.template.plan import ON, plan_of

    strips = [(one.letter + ON * (not straps.far), one.outline) for one in straps.pieces]
    runs_across = any(abs(b[0] - a[0]) > abs(b[1] - a[1]) for a, b in board.joints)
    outlines = [(one.letter, one.outline) for one in board.pieces]
    return plan_of(outlines, strips, board.plane, int(runs_across), unit)
