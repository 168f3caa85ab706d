"""OBJ, in millimetres: each part a named group.

Written here because trimesh rounds to eight decimals and states no unit. A blank ends a group's name in the
format, so "bay 1" is written bay_1. Coordinates carry nine decimals: a volume is kept to 1e-9 and better.
"""

from collections.abc import Sequence

from tapeloft.model.files.formats.registry import AXES, Format, NamedSolid, digits, millimetres, register
from tapeloft.model.files.naming import distinct


def _encoded(parts: Sequence[NamedSolid]) -> bytes:
    lines = [f"# tapeloft, unit mm, {AXES}"]
    first = 1
    groups = distinct((part.name.replace(" ", "_") for part in parts), joint="_")
    for part, group in zip(parts, groups, strict=True):
        lines += [f"o {group}", f"g {group}"]  # some readers split by object, some by group
        lines += [f"v {digits(x)} {digits(y)} {digits(z)}" for x, y, z in millimetres(part.solid).tolist()]
        lines += [f"f {a} {b} {c}" for a, b, c in (part.solid.triangles + first).tolist()]
        first += len(part.solid.vertices)
    return "\n".join([*lines, ""]).encode()


register(Format("obj", "OBJ: each part a named group", "mm", True, False, _encoded))
