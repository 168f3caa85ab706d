"""3MF, in millimetres: each part a named object.

Written here because trimesh's needs two more libraries and marks each file with random numbers. After the
3MF Core Specification 1.2; its wish for a print bed's positive octant is not met, so that the axes stay
those of the survey. Coordinates carry nine decimals: a volume is kept to 1e-9 and better, as far as the
reader keeps more than float32. The same parts give the same bytes wherever zlib is the same.
"""

import io
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import quoteattr

from tapeloft.model.files.formats.registry import Format, NamedSolid, digits, millimetres, register

MODEL = "3D/3dmodel.model"
XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
TYPES = (
    f'{XML}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
RELATIONS = (
    f'{XML}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{MODEL}" Id="model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
NEVER = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can hold, for want of none


def _encoded(parts: Sequence[NamedSolid]) -> bytes:
    objects = "".join(_object(number, part) for number, part in enumerate(parts, 1))
    items = "".join(f'<item objectid="{number}"/>\n' for number in range(1, len(parts) + 1))
    model = (
        f'{XML}<model unit="millimeter" xml:lang="und" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">\n'
        '<metadata name="Application">tapeloft</metadata>\n'
        f"<resources>\n{objects}</resources>\n<build>\n{items}</build>\n</model>\n"
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in (("[Content_Types].xml", TYPES), ("_rels/.rels", RELATIONS), (MODEL, model)):
            entry = zipfile.ZipInfo(name, NEVER)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0  # the same on every system
            package.writestr(entry, text.encode())
    return packed.getvalue()


def _object(number: int, part: NamedSolid) -> str:
    vertices = "\n".join(
        f'<vertex x="{digits(x)}" y="{digits(y)}" z="{digits(z)}"/>' for x, y, z in millimetres(part.solid).tolist()
    )
    triangles = "\n".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in part.solid.triangles.tolist())
    return (
        f'<object id="{number}" type="model" name={quoteattr(part.name)}><mesh>\n'
        f"<vertices>\n{vertices}\n</vertices>\n<triangles>\n{triangles}\n</triangles>\n</mesh></object>\n"
    )


register(Format("3mf", "3MF: each part a named object", "mm", True, False, _encoded))
