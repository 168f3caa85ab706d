"""The whole measuring sheet, laid out and written as PDF."""

from collections.abc import Sequence
from functools import partial
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from tapeloft.model.measuring.form import Form
from tapeloft.viewer.form import things
from tapeloft.viewer.form.flow import Page, Size, breadth, paged
from tapeloft.viewer.form.front import front, head
from tapeloft.viewer.form.ink import POINT, Line, Mark, Patch, Ring, Spot, Words, face, unknown_letters
from tapeloft.viewer.form.stations import station_group

DASHES = (2.2, 1.6)  # mm


def laid_out(form: Form, paper: Size = "a4") -> tuple[Page, ...]:
    """Return the pages of a measuring sheet: the front, the stations in the order of the tape, and what is left."""
    wide = breadth(paper)
    ends = (0, len(form.stations) - 1)
    breadths = f"off face at {form.from_face}" if form.from_face else "half-breadth"
    groups = [
        *front(form, paper),
        *(station_group(one, wide, breadths, at_an_end=k in ends) for k, one in enumerate(form.stations)),
        *things.over_all(form, wide),
        things.obstructions(form, wide),
        *things.openings(form, wide),
        things.drains(form, wide),
        things.leaving(form, wide),
    ]
    return paged(groups, paper, partial(head, form, paper))


def not_in_the_faces(pages: Sequence[Page]) -> str:
    """Return the letters on *pages* that cannot be drawn, each once; they stand there as empty boxes."""
    return unknown_letters("".join(mark.text for page in pages for mark in page.marks if isinstance(mark, Words)))


def as_pdf(pages: Sequence[Page], title: str) -> bytes:
    """Return pages as a PDF, its faces embedded; the same pages give the same bytes each time."""
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setLineJoin(1)
    for page in pages:
        wide, high = page.size
        canvas.setPageSize((wide / POINT, high / POINT))
        for mark in page.marks:
            _draw(canvas, mark, high)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, mark: Mark, high: float) -> None:
    if isinstance(mark, Words):
        canvas.setFillGray(1.0 if mark.white else 0.0)
        canvas.setFont(face(mark.bold), mark.size)
        canvas.drawString(*_turned(mark.at, high), mark.text)
    elif isinstance(mark, Ring):
        canvas.setFillGray(1.0)
        canvas.setLineWidth(mark.weight)
        canvas.circle(*_turned(mark.at, high), mark.radius / POINT, stroke=1, fill=1)
    else:
        _draw_path(canvas, mark, high)


def _draw_path(canvas: Canvas, mark: Line | Patch, high: float) -> None:
    path = canvas.beginPath()
    first, *rest = (_turned(spot, high) for spot in mark.points)
    path.moveTo(*first)
    for spot in rest:
        path.lineTo(*spot)
    if isinstance(mark, Patch):
        path.close()
        canvas.setFillGray(0.0)
        canvas.drawPath(path, stroke=0, fill=1)
        return
    if mark.closed:
        path.close()
    canvas.setLineWidth(mark.weight)
    canvas.setDash(*([[dash / POINT for dash in DASHES]] if mark.dashed else []))
    canvas.drawPath(path, stroke=1, fill=0)


def _turned(spot: Spot, high: float) -> Spot:
    """Return a spot in the axes of PDF: points, y up from the foot of the page."""
    return (spot[0] / POINT, (high - spot[1]) / POINT)
