"""The whole measuring sheet, laid out and written as PDF."""

from collections.abc import Sequence
from functools import partial
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from tapeloft.model.measuring.form import Form
from tapeloft.viewer.form import things
from tapeloft.viewer.form.drawn import draw
from tapeloft.viewer.form.flow import Page, Size, breadth, paged
from tapeloft.viewer.form.front import front, head
from tapeloft.viewer.form.ink import POINT, Words, unknown_letters
from tapeloft.viewer.form.stations import station_group


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
            draw(canvas, mark, high)
        canvas.showPage()
    canvas.save()
    return file.getvalue()
