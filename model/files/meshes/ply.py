"""PLY: a head that declares what follows, then text or binary. Format: Stanford, 1994 (from memory)."""

import math
import re
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tapeloft.model.files.meshes import BadMesh, Faces, grouped, shown
from tapeloft.model.moments import Points

ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4",
    "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4", "float32": "f4",
    "double": "f8", "float64": "f8", "int64": "i8", "uint64": "u8",
}  # fmt: skip
CODES = {"i1": "b", "u1": "B", "i2": "h", "u2": "H", "i4": "i", "u4": "I", "i8": "q", "u8": "Q", "f4": "f", "f8": "d"}
LOOPS = ("vertex_indices", "vertex_index")
STRIPS = "tristrips"  # faces in another form, which is not read
Columns = dict[str, Any]  # of one element: a value a row for each property; a list's value is itself a row


@dataclass
class Element:
    """One kind of thing in the file, and how many there are; of each property name, type and a list's type of count."""

    name: str
    count: int
    properties: list[tuple[str, str, str]] = field(default_factory=list)

    def least(self, order: str) -> int:
        """Return the bytes that one takes at least."""
        sizes = [np.dtype(counter or kind).itemsize if order else 2 for _, kind, counter in self.properties]
        return max(sum(sizes), 1)


def read(data: bytes) -> tuple[Points, Faces]:
    """Return the corners and faces, of which a cloud of points has none; whatever else the file holds is passed over.

    >>> read(b"ply\\nformat ascii 1.0\\nelement vertex 50000000\\nproperty float x\\nend_header\\n0")
    Traceback (most recent call last):
    tapeloft.model.files.meshes.BadMesh: declares 50000000 of "vertex", more than the 1 bytes that follow can hold
    """
    end = re.search(rb"^end_header[ \t]*\r?\n", data, re.MULTILINE)
    if not data.startswith(b"ply") or not end:
        raise BadMesh("is no PLY file: its head is missing")
    order, elements = _head(data[: end.start()].decode("ascii", "replace").splitlines()[1:])
    body = data[end.end() :]
    for element in elements:
        if element.count * element.least(order) > len(body) + 1:
            raise BadMesh(
                f'declares {element.count} of "{element.name}", more than the {len(body)} bytes that follow can hold'
            )
    columns = dict(_text(body, elements) if not order else _binary(body, elements, order))
    return _corners(columns), _faces(columns)


def _head(lines: Sequence[str]) -> tuple[str, list[Element]]:
    order, elements = None, list[Element]()
    for line in lines:
        match line.split():
            case ["format", written, "1.0"] if written in ORDERS:
                order = ORDERS[written]
            case ["element", name, count] if count.isdigit() and len(count) < 16:
                elements.append(Element(name, int(count)))
            case ["property", "list", counter, kind, name] if elements and {counter, kind} <= TYPES.keys():
                elements[-1].properties.append((name, TYPES[kind], TYPES[counter]))
            case ["property", kind, name] if elements and kind in TYPES:
                elements[-1].properties.append((name, TYPES[kind], ""))
            case [] | ["comment" | "obj_info", *_]:
                continue
            case _:
                raise BadMesh(f"is no PLY file: its head says “{line[:40]}”")
    if order is None:
        raise BadMesh("is no PLY file: its head does not say how it is written")
    return order, elements


def _text(body: bytes, elements: Sequence[Element]) -> Iterator[tuple[str, Columns]]:
    lines = [line for line in body.splitlines() if line.strip()]
    at = 0
    for element in elements:
        rows = lines[at : at + element.count]
        at += element.count
        if len(rows) < element.count:
            raise BadMesh(f'declares {element.count} of "{element.name}", and has {len(rows)}')
        yield element.name, _even_text(rows, element) or _uneven_text(rows, element)


def _even_text(rows: Sequence[bytes], element: Element) -> Columns | None:
    """Return the columns of an element whose lists are all as long as its first ones; else None.

    Read by numpy, some ten times as fast as row by row.
    """
    try:
        table = np.loadtxt(rows, ndmin=2, comments=None) if rows else np.zeros((0, 0))
    except ValueError:
        return None
    columns: Columns = {}
    at = 0
    for name, _, counter in element.properties if rows else ():
        if at >= table.shape[1]:
            return None
        if not counter:
            columns[name] = table[:, at]
            at += 1
            continue
        counts = table[:, at]
        if not (counts == counts[0]).all() or not 0 <= counts[0] < table.shape[1] - at:
            return None
        columns[name] = table[:, at + 1 : at + 1 + int(counts[0])]
        at += 1 + int(counts[0])
    return columns if at == table.shape[1] else None


def _uneven_text(lines: Sequence[bytes], element: Element) -> Columns:
    rows = [_text_row(line.split(), element) for line in lines]
    names = [name for name, _, _ in element.properties]
    return dict(zip(names, zip(*rows, strict=True) if rows else [()] * len(names), strict=True))


def _text_row(words: list[bytes], element: Element) -> list[Any]:
    """Return the value of each property; a list is its count, then so many numbers."""
    try:
        values = [float(word) for word in words]
    except ValueError:
        raise BadMesh(f'a line of "{element.name}" is not all numbers: {shown(b" ".join(words))}') from None
    row: list[Any] = []
    at = 0
    for _, _, counter in element.properties:
        count = max(int(values[at]), 0) if counter and at < len(values) and math.isfinite(values[at]) else 0
        row.append(values[at + 1 : at + 1 + count] if counter else values[at : at + 1])
        at += 1 + count
    if at != len(values):
        raise BadMesh(f'a line of "{element.name}" has {len(values)} numbers where {at} are needed')
    return [value if counter else value[0] for value, (_, _, counter) in zip(row, element.properties, strict=True)]


def _binary(body: bytes, elements: Sequence[Element], order: str) -> Iterator[tuple[str, Columns]]:
    at = 0
    for element in elements:
        try:
            columns, at = _even(body, at, element, order) or _uneven(body, at, element, order)
        except struct.error:
            raise BadMesh(f'ends before its {element.count} of "{element.name}" do') from None
        yield element.name, columns


def _even(body: bytes, at: int, element: Element, order: str) -> tuple[Columns, int] | None:
    """Return the columns of an element whose lists are all as long as its first ones, and where it ends; else None."""
    if not element.count:
        return {name: () for name, _, _ in element.properties}, at
    first, _ = _row(body, at, element, order)
    parts: list[Any] = []
    for k, ((_, kind, counter), value) in enumerate(zip(element.properties, first, strict=True)):
        if counter:
            parts.append((f"count {k}", order + counter))
        parts.append((str(k), order + kind, (len(value),) if counter else ()))
    row = np.dtype(parts)
    if len(body) - at < row.itemsize * element.count:
        return None
    rows = np.frombuffer(body, row, element.count, at)
    counts = [(f"count {k}", len(value)) for k, value in enumerate(first) if element.properties[k][2]]
    if any((rows[name] != length).any() for name, length in counts):
        return None
    columns: Columns = {name: rows[str(k)] for k, (name, _, _) in enumerate(element.properties)}
    return columns, at + row.itemsize * element.count


def _uneven(body: bytes, at: int, element: Element, order: str) -> tuple[Columns, int]:
    rows = []
    for _ in range(element.count):
        row, at = _row(body, at, element, order)
        rows.append(row)
    return {name: [row[k] for row in rows] for k, (name, _, _) in enumerate(element.properties)}, at


def _row(body: bytes, at: int, element: Element, order: str) -> tuple[list[Any], int]:
    """Return the values of one row from byte *at*, and where it ends; struct.error where the file ends before."""
    row: list[Any] = []
    for _, kind, counter in element.properties:
        count = 1
        if counter:
            (count,) = struct.unpack_from(order + CODES[counter], body, at)
            at += np.dtype(counter).itemsize
        if count * np.dtype(kind).itemsize > len(body) - at or count < 0:
            raise struct.error
        values = struct.unpack_from(f"{order}{int(count)}{CODES[kind]}", body, at)
        at += len(values) * np.dtype(kind).itemsize
        row.append(values if counter else values[0])
    return row, at


def _corners(columns: dict[str, Columns]) -> Points:
    vertices = columns.get("vertex", {})
    if not {"x", "y", "z"} <= vertices.keys():
        raise BadMesh("has no corners with x, y and z")
    corners: Points = np.column_stack([np.asarray(vertices[name], np.float64) for name in "xyz"])
    return corners


def _faces(columns: dict[str, Columns]) -> Faces:
    if STRIPS in columns:
        raise BadMesh("has its faces as strips, which are not read here", "save it with its faces one by one")
    faces = columns.get("face", {})
    name = next((name for name in LOOPS if name in faces), None)
    return () if name is None else grouped(faces[name])
