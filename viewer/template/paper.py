"""Templates on paper: a sheet that shows how they lie together, then each piece at true scale, sheet by sheet."""

from collections.abc import Iterator, Sequence
from io import BytesIO

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from tapeloft.viewer.form.drawn import draw
from tapeloft.viewer.form.ink import (
    FINE,
    POINT,
    Line,
    Mark,
    Rings,
    Spot,
    Words,
    centred,
    fitted,
    paragraph,
    width,
    wrapped,
)
from tapeloft.viewer.template.lettering import INK
from tapeloft.viewer.template.marked import marked
from tapeloft.viewer.template.ontiles import on_tiles, within
from tapeloft.viewer.template.plan import Plan, drawn_plan
from tapeloft.viewer.template.template import Template
from tapeloft.viewer.template.tiling import FOOT, MARGIN, OVERLAP, PAPERS, Paper, Tile, Tiling, tiled

CUT, MARK, GRID = 0.8, 0.4, 0.4  # pt
CROSS = 4.0  # mm: half the arm of a registration mark
INCH = 25.4
RULER_MM, RULER_IN = 100, 4
SMALL = 7.0  # pt
SEEN = 0.2  # mm: a hole that is smaller on paper is not drawn on what is not to scale
NAME, NAME_ROOM = 16.0, 70.0  # pt, mm: a sheet's name
HEAD = 15.0  # mm at the top of the first sheet


def as_pdf(
    templates: Sequence[Template],
    paper: Paper,
    title: str,
    remarks: Sequence[str],
    plan: Plan | None = None,
    sheets: Sequence[Template] = (),
) -> bytes:
    """Return the bytes of a PDF that asks to be printed at its own size; the same templates give the same bytes.

    remarks stand on the first page, a plan, dimensioned, on the next; sheets: what is cut from which, one to a page,
    not to scale. Every sheet of a template has a ruler in millimetres and one in inches to check the scale by.
    """
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setLineJoin(1)
    layouts = [tiled(one.cut, paper, one.drawn) for one in templates]
    _page(canvas, PAPERS[paper], _overview(templates, layouts, paper, title, remarks))
    if plan is not None:
        wide, high = PAPERS[paper][::-1]
        _page(canvas, (wide, high), _planned(plan, (wide, high), title))
    for one in sheets:
        _page(canvas, PAPERS[paper][::-1], list(_from_sheet(one, PAPERS[paper][::-1], title)))
    last, number = sum(len(one.tiles) for one in layouts), 0
    for template, layout in zip(templates, layouts, strict=True):
        template = on_tiles(template, layout)
        for tile in layout.tiles:
            number += 1
            _sheet(canvas, template, layout, tile, title, f"sheet {number} of {last}")
    before, rl_config.useA85 = rl_config.useA85, 0  # bytes as they are: text of them takes longer than all the rest
    try:
        canvas.save()
    finally:
        rl_config.useA85 = before
    return file.getvalue()


def _page(canvas: Canvas, size: Spot, marks: Sequence[Mark]) -> None:
    canvas.setPageSize((size[0] / POINT, size[1] / POINT))
    for mark in marks:
        draw(canvas, mark, size[1])
    canvas.showPage()


def _planned(plan: Plan, page: Spot, title: str) -> list[Mark]:
    """Return the marks of the sheet with the plan."""
    wide, high = page
    room = wide - 2 * MARGIN
    whole = Tiling(page, (room, 0.0), 1, 1, ())
    head = Words(f"{title}: plan, {plan.unit}", (MARGIN, MARGIN + 6), 12.0, bold=True)
    marks = [head, Words(plan.told, (MARGIN, MARGIN + 11), 8.0)]
    box = (MARGIN, MARGIN + HEAD, room, high - 2 * MARGIN - HEAD - FOOT)
    dashed = f": what is dashed lies {plan.plane.beneath} it" if plan.under else ""
    foot = _foot(whole, title, f"plan, not to scale{dashed}")
    return [*marks, *drawn_plan(plan, box), *foot]


def _sheet(canvas: Canvas, template: Template, layout: Tiling, tile: Tile, title: str, number: str) -> None:
    """Draw one tile: the window of the piece, clipped; its crosses; the foot."""
    (wide, high), (across, down) = layout.page, layout.window
    canvas.setPageSize((wide / POINT, high / POINT))
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(*(value / POINT for value in (MARGIN, high - MARGIN - down, across, down)))
    canvas.clipPath(window, stroke=0, fill=0)
    shift = (MARGIN - tile.left, MARGIN + tile.bottom + down)
    for mark in drawn(within(template, layout, tile), shift):
        draw(canvas, mark, high)
    for mark in _crosses(layout, tile):
        draw(canvas, mark, high)
    canvas.restoreState()
    foot = _foot(layout, f"{title}, piece {template.name}", f"{number}: {_where(layout, tile)}")
    for mark in (*_frame(layout), *_called(layout, f"{template.name}  {tile.row}.{tile.column}"), *foot):
        draw(canvas, mark, high)
    canvas.showPage()


def drawn(template: Template, shift: Spot, scale: float = 1.0) -> Iterator[Mark]:
    """Yield the marks of a template; shift: where its left bottom comes to lie, mm from the left top of the page."""

    def at(spot: Spot) -> Spot:
        return spot[0] * scale + shift[0], shift[1] - spot[1] * scale

    if scale >= 1.0:
        yield from (Line(tuple(map(at, line)), MARK, dashed=dashed) for line, dashed in marked(template))
    for ring in template.cut:
        yield Line(tuple(map(at, ring)), CUT, closed=True)
    if template.holes and template.holes[0][2] * scale > SEEN:
        yield Rings(tuple((*at((x, y)), r * scale) for x, y, r in template.holes), CUT * min(1.0, 2 * scale))
    if scale >= 1.0:
        for one in template.written:
            yield Words(one.text, at(one.at), one.height / INK / POINT, turn_deg=one.turn_deg)


def _crosses(layout: Tiling, tile: Tile) -> Iterator[Mark]:
    """Yield the registration marks: neighbours have them in common, in the middle of what both show."""
    (wide, high), half = layout.window, OVERLAP / 2
    for x, column in ((half, tile.column - 1), (wide - half, tile.column)):
        for y, row in ((half, tile.row - 1), (high - half, tile.row)):
            if 0 < column < layout.columns or 0 < row < layout.rows:
                cx, cy = MARGIN + x, MARGIN + y
                yield Line(((cx - CROSS, cy), (cx + CROSS, cy)), FINE)
                yield Line(((cx, cy - CROSS), (cx, cy + CROSS)), FINE)
                yield Words(f"{row}/{column}", (cx + 1, cy - 1), SMALL)


def _frame(layout: Tiling) -> tuple[Mark, ...]:
    wide, high = layout.window
    x0, y0, x1, y1 = MARGIN, MARGIN, MARGIN + wide, MARGIN + high
    return (Line(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), GRID, closed=True, dashed=True),)


def _called(layout: Tiling, name: str) -> Iterator[Mark]:
    """Yield what a sheet is called on the overview, large, in the right of its foot."""
    wide, high = layout.page
    said, size = fitted(name, NAME_ROOM, NAME, SMALL, bold=True)
    yield Words(said, (wide - MARGIN - width(said, size, bold=True), high - MARGIN - FOOT + 19.0), size, bold=True)


def _where(layout: Tiling, tile: Tile) -> str:
    row, column = f"row {tile.row} of {layout.rows}", f"column {tile.column} of {layout.columns}"
    if len(layout.tiles) == 1:
        return "the whole of the piece"
    return f"{row}, {column}, lay like-numbered crosses one on the other, {OVERLAP:.0f} mm overlap"


def _foot(layout: Tiling, title: str, where: str) -> Iterator[Mark]:
    """Yield rulers and words at the foot of a sheet."""
    wide, high = layout.page
    top = high - MARGIN - FOOT + 3
    yield from _ruler(MARGIN, top, 1.0, RULER_MM, 10, "100 mm: measure it; print at 100 %, no fitting to the page")
    yield from _ruler(MARGIN, top + 10, INCH / 8, RULER_IN * 8, 8, "4 in")
    room = wide - 2 * MARGIN
    for k, text in enumerate((title, where)):
        said, size = fitted(text, room, 8.0, 5.0, bold=k == 0)
        yield Words(said, (MARGIN, top + 19.2 + k * 3.6), size, bold=k == 0)


def _ruler(x: float, y: float, step: float, count: int, long: int, text: str) -> Iterator[Mark]:
    yield Line(((x, y), (x + step * count, y)), FINE)
    for k in range(count + 1):
        tall = 4.0 if k % long == 0 else 2.6 if 2 * k % long == 0 else 1.6
        yield Line(((x + k * step, y), (x + k * step, y + tall)), GRID)
    yield Words(text, (x + step * count + 3, y + 3), SMALL)


def _overview(
    templates: Sequence[Template], layouts: Sequence[Tiling], paper: Paper, title: str, remarks: Sequence[str]
) -> list[Mark]:
    """Return the first sheet: every piece small with its grid of sheets, and what is to be known."""
    wide, high = PAPERS[paper]
    room = wide - 2 * MARGIN
    head, size = fitted(title, room, 12.0, 7.0, bold=True)
    sheets = sum(len(one.tiles) for one in layouts)
    many = (
        f"{len(templates)} piece{'s' * (len(templates) != 1)} on {sheets} sheet{'s' * (sheets != 1)} of {paper.title()}"
    )
    told = f"{many}; the sheets at true scale follow, piece by piece, row by row; one that would be blank is left out"
    lines = [line for text in (told, *remarks) for line in wrapped(text, room, 8.0)]
    marks: list[Mark] = [Words(head, (MARGIN, MARGIN + 6), size, bold=True)]
    marks += paragraph(lines, (MARGIN, MARGIN + HEAD - 5), 8.0)
    top = MARGIN + HEAD + len(lines) * 8.0 * POINT * 1.35
    marks += _small(templates, layouts, (MARGIN, top, room, high - MARGIN - FOOT - top))
    whole = Tiling((wide, high), (room, 0.0), 1, 1, ())
    return [*marks, *_foot(whole, title, "overview, not to scale")]


def _small(
    templates: Sequence[Template], layouts: Sequence[Tiling], box: tuple[float, float, float, float]
) -> Iterator[Mark]:
    """Yield all pieces in one scale, in as many columns as let them be largest."""
    x, y, wide, high = box
    count = len(templates)
    need = [max(_covered(one)[k] for one in layouts) for k in (0, 1)]

    def scale_in(columns: int) -> float:
        rows = -(-count // columns)
        return min((wide / columns - 6) / need[0], (high / rows - 10) / need[1])

    columns = max(range(1, count + 1), key=scale_in)
    scale, rows = scale_in(columns), -(-count // columns)
    for k, (template, layout) in enumerate(zip(templates, layouts, strict=True)):
        across, down = wide / columns, high / rows
        left, foot = x + k % columns * across + 3, y + (k // columns + 1) * down - 5
        start = (min(tile.left for tile in layout.tiles), min(tile.bottom for tile in layout.tiles))
        shift = (left - start[0] * scale, foot + start[1] * scale)
        yield from drawn(template, shift, scale)
        yield from _grid(layout, shift, scale)
        yield centred(template.name, (shift[0] + template.size[0] * scale / 2, foot + 4.0), 10.0, bold=True)


def _from_sheet(sheet: Template, page: Spot, title: str) -> Iterator[Mark]:
    """Yield a sheet of material small, with the pieces that are cut from it."""
    wide, high = page
    room = wide - 2 * MARGIN, high - 2 * MARGIN - FOOT - HEAD
    scale = min(side / own for side, own in zip(room, sheet.size, strict=True))
    shift = MARGIN, MARGIN + HEAD + sheet.size[1] * scale
    yield Words(f"{title}: {sheet.name.replace('-', ' ')}", (MARGIN, MARGIN + 6), 12.0, bold=True)
    told = f"{sheet.size[0]:.0f} × {sheet.size[1]:.0f} mm, {sheet.note}, not to scale"
    yield Words(told, (MARGIN, MARGIN + 11), 8.0)
    yield Line(tuple((x * scale + shift[0], shift[1] - y * scale) for x, y in sheet.frame), GRID, closed=True)
    yield from drawn(sheet, shift, scale)
    for one in sheet.written:
        spot = one.at[0] * scale + shift[0], shift[1] - one.at[1] * scale
        yield Words(one.text, spot, max(5.0, one.height * scale / INK / POINT), bold=True, turn_deg=one.turn_deg)
    yield from _foot(Tiling(page, (room[0], 0.0), 1, 1, ()), f"{title}, {sheet.name.replace('-', ' ')}", "not to scale")


def _covered(layout: Tiling) -> Spot:
    return tuple(n * (w - OVERLAP) + OVERLAP for n, w in zip((layout.columns, layout.rows), layout.window, strict=True))  # type: ignore[return-value]


def _grid(layout: Tiling, shift: Spot, scale: float) -> Iterator[Mark]:
    wide, high = (side * scale for side in layout.window)
    for tile in layout.tiles:
        x, y = shift[0] + tile.left * scale, shift[1] - tile.bottom * scale
        yield Line(((x, y), (x + wide, y), (x + wide, y - high), (x, y - high)), GRID, closed=True, dashed=True)
        clear = OVERLAP * scale  # of what the neighbours show too, and their lines with it
        yield Words(f"{tile.row}.{tile.column}", (x + clear + 0.6, y - high + clear + 2.4), 5.0)
