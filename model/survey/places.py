"""On which line of a TOML text each thing stands, and what in it is stated twice."""

import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tree_sitter import Node

Place = tuple[str | int, ...]
"""The names that lead to a value, and the numbers, from 0, of places in a list."""
Span = tuple[int, int]


@dataclass
class Places:
    """Where each thing stands, by its place; `repeats` holds (name, first line, second line) of what is there twice.

    spans: from, to, in bytes, of each value and of each in a list; ends: where the last that is said under a heading
    ends, () being what stands before any; remarks: lines that are remarks alone, from, to, and under which heading.
    """

    lines: dict[Place, int] = field(default_factory=dict)
    repeats: list[tuple[str, int, int]] = field(default_factory=list)
    spans: dict[Place, Span] = field(default_factory=dict)
    ends: dict[Place, int] = field(default_factory=dict)
    remarks: list[tuple[Span, Place]] = field(default_factory=list)
    _headings: set[Place] = field(default_factory=set)
    _values: set[Place] = field(default_factory=set)
    _dotted: set[Place] = field(default_factory=set)
    _counts: dict[Place, int] = field(default_factory=dict)

    def heading(self, names: list[str], several: bool, line: int) -> Place | None:
        """Note a [heading], or one of *several* [[headings]]; return the place it opens, None where it cannot."""
        place: Place = ()
        for name in names[:-1]:
            place = (*place, name)
            place = (*place, self._counts[place] - 1) if place in self._counts else place
        place = (*place, names[-1])
        if several:
            taken = place in self.lines and place not in self._counts
        else:
            taken = place in self._headings or place in self._dotted or place in self._counts
        clash = next((p for p in _prefixes(place) if p in self._values), place if taken else None)
        if clash:
            self._repeat(clash, line)
            return None
        if several:
            place = (*place, self._counts.get(place, 0))
            self._counts[place[:-1]] = self._counts.get(place[:-1], 0) + 1
        else:
            self._headings.add(place)
        self._stands(place, line)
        return place

    def value(self, table: Place, names: list[str], line: int) -> Place | None:
        """Note a name with a value in a table; return its place, None where something stands there already."""
        place: Place = (*table, *names)
        between = [place[:length] for length in range(len(table) + 1, len(place))]
        taken = (self._values, self._headings, self._counts)
        clash = next((p for p in between if any(p in kind for kind in taken)), None)
        if clash or place in self.lines:
            self._repeat(clash or place, line)
            return None
        self._values.add(place)
        self._dotted.update(between)
        self._stands(place, line)
        return place

    def element(self, array: Place, number: int, line: int) -> Place:
        """Note one of the values in a list; return its place."""
        place = (*array, number)
        self._stands(place, line)
        return place

    def _stands(self, place: Place, line: int) -> None:
        for prefix in _prefixes(place):
            self.lines.setdefault(prefix, line)

    def _repeat(self, place: Place, line: int) -> None:
        self.repeats.append((".".join(step for step in place if isinstance(step, str)), self.lines[place], line))


def surveyed(text: str) -> Places:
    """Return where everything in a TOML text stands; what cannot be read in it is passed over.

    >>> surveyed('''unit = "mm"
    ... [station.2]
    ... C = [1260,
    ...      231]
    ... C = [1261, 231]''').repeats
    [('station.2.C', 3, 5)]
    """
    # Here, for they cost 30 ms and only a file with something wrong in it needs them.
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    found = Places()
    root = Parser(Language(tree_sitter_toml.language())).parse(text.encode()).root_node
    _note_remarks(found, root, ())
    for node in _children(root):
        first, *rest = _children(node) or [node]
        if node.type == "pair":
            _note_values(found, node, ())
        elif node.type in ("table", "table_array_element") and first is not node:
            table = found.heading(_names(first), node.type == "table_array_element", _line(node))
            if table is not None:
                found.ends[table] = first.end_byte
                _note_remarks(found, node, table)
            for child in rest if table is not None else ():
                _note_values(found, child, table or ())
    return found


def _note_remarks(found: Places, node: "Node", table: Place) -> None:
    """Note the remarks right under a heading that have a line to themselves."""
    taken = -1
    for child in node.named_children:
        if child.type == "comment" and child.start_point.row != taken:
            found.remarks.append(((child.start_byte, child.end_byte), table))
        taken = child.end_point.row


def _note_values(found: Places, node: "Node", table: Place) -> None:
    if node.type == "pair":
        found.ends[table] = node.end_byte
    todo = [(node, table)]
    while todo:
        node, place = todo.pop()
        inner = _children(node)
        if node.type == "pair" and len(inner) == 2:
            stated = found.value(place, _names(inner[0]), _line(node))
            if stated is not None:
                found.spans[stated] = (inner[1].start_byte, inner[1].end_byte)
            todo += [(inner[1], stated)] if stated is not None else []
        elif node.type == "array":
            elements = [(child, found.element(place, number, _line(child))) for number, child in enumerate(inner)]
            found.spans |= {spot: (child.start_byte, child.end_byte) for child, spot in elements}
            todo += reversed(elements)
        elif node.type == "inline_table":
            todo += [(child, place) for child in reversed(inner)]


def _prefixes(place: Place) -> list[Place]:
    return [place[:length] for length in range(1, len(place) + 1)]


def _children(node: "Node") -> list["Node"]:
    return [child for child in node.named_children if child.type not in ("comment", "ERROR")]


def _line(node: "Node") -> int:
    return node.start_point.row + 1


def _names(node: "Node") -> list[str]:
    """Return the parts of a key; a dotted one holds all but its last part in its first child."""
    names: list[str] = []
    while node.type == "dotted_key" and len(_children(node)) == 2:
        node, last = _children(node)
        names.append(_name(last))
    return [_name(node), *reversed(names)]


def _name(node: "Node") -> str:
    text = (node.text or b"").decode()
    if node.type != "quoted_key":
        return text
    try:
        return next(iter(tomllib.loads(f"{text} = 0")))
    except tomllib.TOMLDecodeError:
        return text
