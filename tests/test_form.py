"""The measuring sheet: what stands on it, that nothing lies on anything else, and what another reader of PDF finds.

The layout is asked for its words and lines; the file is read back by pypdf and by PDFium, which know nothing of it.
"""

import io
from functools import cache
from importlib.resources import files
from itertools import combinations, pairwise
from pathlib import Path

import pypdf
import pypdfium2
import pytest

from tapeloft.model import read_survey
from tapeloft.model.measuring.filled import form_of, sections_of
from tapeloft.model.measuring.form import Form, blank_form
from tapeloft.model.measuring.nominal import letters, nominal_sections
from tapeloft.viewer.form.cells import WRITING
from tapeloft.viewer.form.flow import MARGIN, PAPERS, Page, Size
from tapeloft.viewer.form.ink import FINE, Line, Ring, Words, unknown_letters
from tapeloft.viewer.form.placing import cuts
from tapeloft.viewer.form.sheet import as_pdf, laid_out

BOAT = read_survey(Path(str(files("tapeloft.shapes").joinpath("demo"))))


def blank(stations: int, each: int, *, across: bool = False, unit: str = "mm", side: float = 0.0) -> Form:
    return blank_form(nominal_sections(letters(each, across=across), stations, side or 1.0), unit, side)


FORMS = {
    **{f"{one.name}, to measure": form_of(one, sections_of(one), BOAT.craft) for one in BOAT.compartments},
    **{f"{one.name}, read": form_of(one, sections_of(one), BOAT.craft, readings=True) for one in BOAT.compartments},
    "empty": blank(5, 5),
    "empty, across": blank(4, 4, across=True),
    "empty, to starboard, feet": blank(3, 6, unit="ft-in-8", side=-1.0),
    "empty, three letters": blank(2, 3, unit="cm"),
    "empty, many stations": blank(23, 5),
    "empty, many letters": blank(2, 20, unit="in"),
    "empty, many letters across": blank(2, 12, across=True, unit="m"),
}
SIZES: list[Size] = ["a4", "letter"]
each_sheet = pytest.mark.parametrize(("name", "paper"), [(name, paper) for name in FORMS for paper in SIZES])


@cache
def pages(name: str, paper: Size = "a4") -> tuple[Page, ...]:
    return laid_out(FORMS[name], paper)


def words_of(page: Page) -> list[Words]:
    return [mark for mark in page.marks if isinstance(mark, Words)]


# the layout


@each_sheet
def test_no_two_words_overlap_and_all_lie_within_the_margins(name: str, paper: Size) -> None:
    for page in pages(name, paper):
        assert page.size == PAPERS[paper]
        for one in words_of(page):
            left, top, right, bottom = one.extent
            assert left >= MARGIN - 1e-6, one
            assert top >= MARGIN - 1e-6, one
            assert right <= page.size[0] - MARGIN + 1e-6, one
            assert bottom <= page.size[1] - MARGIN + 1e-6, one
        for one, other in combinations(words_of(page), 2):
            a, b = one.extent, other.extent
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (one, other)


@each_sheet
def test_no_line_runs_through_words(name: str, paper: Size) -> None:
    """Lines of boxes, sketches and arrows; the letters in rings lie on white, over whatever is under them."""
    for page in pages(name, paper):
        rings = [mark for mark in page.marks if isinstance(mark, Ring)]
        for one in words_of(page):
            left, top, right, bottom = one.extent
            middle = ((left + right) / 2, (top + bottom) / 2)
            if any(abs(ring.at[0] - middle[0]) < 1 and abs(ring.at[1] - middle[1]) < 1 for ring in rings):
                continue
            inner = (left + 0.2, top + 0.3, right - 0.2, bottom - 0.3)
            for mark in page.marks:
                if not isinstance(mark, Line) or (mark.dashed and len(one.text) < 12):
                    continue  # a dashed tape may run behind a letter of its sketch
                ends = [*mark.points, *([mark.points[0]] if mark.closed else [])]
                assert not any(cuts(inner, a, b) for a, b in pairwise(ends)), (one, mark)


@each_sheet
def test_everything_drawn_lies_on_the_paper(name: str, paper: Size) -> None:
    for page in pages(name, paper):
        for mark in page.marks:
            spots = [mark.at] if isinstance(mark, Words | Ring) else mark.points
            assert all(MARGIN - 1.5 <= x <= page.size[0] - MARGIN + 1.5 for x, _ in spots), mark
            assert all(MARGIN - 1.5 <= y <= page.size[1] - MARGIN + 1.5 for _, y in spots), mark


@each_sheet
def test_it_is_read_by_a_torch_and_written_on_with_gloves(name: str, paper: Size) -> None:
    """Common practice, no source: no letter below 7 pt, few below 8, no hairline, boxes 9 mm high and more."""
    assert WRITING >= 9
    every = [one for page in pages(name, paper) for one in words_of(page)]
    assert min(one.size for one in every) >= 7
    assert sum(one.size < 8 for one in every) < 0.12 * len(every)
    lines = [mark for page in pages(name, paper) for mark in page.marks if isinstance(mark, Line)]
    assert min(line.weight for line in lines) >= FINE >= 0.5
    boxes = [line for line in lines if line.closed and len(line.points) == 4 and line.points[0][1] == line.points[1][1]]
    heights = {
        round(abs(line.points[2][1] - line.points[1][1]), 3) for line in boxes if line.weight < 2.2 and not line.dashed
    }
    assert {high for high in heights if high < 9} <= {5.6, 7.0}  # to be ticked, or full of readings: none to write in


@pytest.mark.parametrize("name", [name for name in FORMS if "many" not in name])
def test_none_of_its_own_labels_is_cut_short(name: str) -> None:
    told = [one.text for page in pages(name) for one in words_of(page)]
    assert not [text for text in told if text.endswith("…") and text != "panel …"]  # box, post, panel and what else


def test_it_says_of_which_page_it_is() -> None:
    several = pages("empty, many stations")
    assert len(several) > 8
    for number, page in enumerate(several, start=1):
        assert f"sheet {number} of {len(several)}" in {one.text for one in words_of(page)}


def test_a_station_that_runs_over_goes_on_under_its_name() -> None:
    told = [one.text for page in laid_out(blank(2, 26), "letter") for one in words_of(page)]
    assert "STATION 0, continued" in told


# what stands on it


def text_of(name: str, paper: Size = "a4") -> str:
    """Return all text of a sheet as pypdf reads it from the file."""
    reader = pypdf.PdfReader(io.BytesIO(as_pdf(pages(name, paper), name)))
    return "\n".join(page.extract_text() for page in reader.pages)


@pytest.mark.parametrize("name", FORMS)
def test_another_reader_finds_every_tape_station_and_letter(name: str) -> None:
    text = text_of(name)
    form = FORMS[name]
    for label, _ in form.tapes:
        assert label in text
    for one in form.stations:
        assert f"STATION {one.name}" in text
    for letter, about in form.letters:
        assert letter in text
        assert about.split(" ")[0] in text


@pytest.mark.parametrize("one", BOAT.compartments, ids=lambda one: one.name)
def test_what_the_survey_knows_stands_there_and_its_readings_only_when_asked_for(one) -> None:  # type: ignore[no-untyped-def]
    empty, read = text_of(f"{one.name}, to measure"), text_of(f"{one.name}, read")
    for known in (one.name, "Saltmarsh Heron", one.datum.z_zero.split(" ")[0], *(o.name for o in one.openings)):
        assert known in empty
    for standing in one.obstructions:
        assert standing.name.split(" ")[0] in empty
    breadths = {reading.half_breadth for line in FORMS[f"{one.name}, read"].stations for reading in line.readings}
    told = {figure for figure in breadths if len(figure) > 2}
    assert told
    assert all(figure in read for figure in told)
    assert not [line for line in empty.splitlines() if line.strip() in told]


def test_readings_stand_as_on_paper() -> None:
    form = FORMS["sail locker, read"]
    first = form.stations[0]
    assert [(r.mark, r.half_breadth, r.height) for r in first.readings][:2] == [
        ("Ap", "402", "0"),
        ("Bp", "655", "318"),
    ]
    assert ("0Cp-0Cs", "1935") in first.across
    assert [r.own_at for r in form.stations[4].readings][:2] == ["1880", "2085"]
    berth = FORMS["berth locker, read"].stations[0]
    assert [r.half_breadth for r in berth.readings] == ["17 5/8", "22 1/8", "25 1/4", "27"]  # off the face, as taped
    lazarette = FORMS["lazarette, read"]
    assert [one.at for one in lazarette.stations] == ["0", "430", "900"]  # along the tape, which ran aft
    assert lazarette.stations[2].leans == "rake -215 over 630"


def test_offsets_are_asked_for_on_one_side_at_their_heights() -> None:
    chain = FORMS["chain locker, to measure"]
    assert [(r.mark, r.half_breadth, r.height) for r in chain.stations[0].readings] == [
        ("p bottom", "", "0"),
        ("p 120", "", "120"),
        ("p 240", "", "240"),
        ("p top", "", "370"),
    ]


def test_what_stands_in_it_is_read_back_from_the_boxes_or_where_these_cannot_hold_it_from_a_line() -> None:
    told = [one.text for page in pages("cockpit locker, port, read") for one in words_of(page)]
    post = told.index("compression post")
    assert told[post - 3 : post] == ["1010", "p 1030", "70"]
    assert "x 1010, y p 1030, diameter 70" not in told
    berth = [one.text for page in pages("berth locker, read") for one in words_of(page)]
    assert any(text.startswith("diameter 1 3/4, points (aft, s 40, 3)") or "points (aft" in text for text in berth)


CAUTIONS = {
    "gas locker, to measure": ["Gas locker: it must be vapour-tight", "can be short of oxygen"],
    "chain locker, to measure": ["can be short of oxygen"],
    "empty": ["can be short of oxygen or hold gas"],
    "berth locker, to measure": ["can be short of oxygen or hold gas"],
}


@pytest.mark.parametrize("name", CAUTIONS)
def test_cautions_stand_on_the_first_page(name: str) -> None:
    told = " ".join(one.text for one in words_of(pages(name)[0]))
    for caution in CAUTIONS[name]:
        assert caution in told


def test_the_sheet_presumes_nothing() -> None:
    """An empty sheet has neither structure nor lining underlined; a survey that says so has."""
    for name, strokes in (("empty", 0), ("lazarette, to measure", 1)):
        strong = [m for m in pages(name)[0].marks if isinstance(m, Line) and m.weight == 2.2 and len(m.points) == 2]
        assert len(strong) == strokes


def test_a_twin_says_in_whose_sides_she_is_written() -> None:
    text = text_of("cockpit locker, starboard, to measure")
    assert "A twin of cockpit locker, port" in text
    assert "[twin.check]" in text


# the file


@each_sheet
def test_the_file_has_the_pages_their_size_and_its_faces(name: str, paper: Size) -> None:
    laid = pages(name, paper)
    data = as_pdf(laid, name)
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert len(reader.pages) == len(laid)
    assert reader.metadata is not None
    assert reader.metadata.title == name
    for page in reader.pages:
        wide, high = (float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height))
        assert (wide, high) == pytest.approx(PAPERS[paper], abs=0.01)
        for face in page["/Resources"]["/Font"].values():
            told = face.get_object()
            if told["/Subtype"] == "/TrueType":
                assert "/FontFile2" in told["/FontDescriptor"]
                assert "DejaVuSans" in told["/BaseFont"]


def test_the_same_sheet_gives_the_same_bytes() -> None:
    once, again = (as_pdf(laid_out(blank(3, 4, across=True)), "a sheet") for _ in range(2))
    assert once == again


def test_pdfium_draws_it_in_black_and_white() -> None:
    """Ink where a box should be, white where it should be empty; nothing but greys, which smoothed edges make."""
    laid = pages("empty")
    document = pypdfium2.PdfDocument(as_pdf(laid, "a sheet"))
    for number, page in enumerate(laid):
        picture = document[number].render(scale=2).to_pil().convert("RGB")
        colours = picture.getcolors(1 << 24)
        assert colours is not None
        assert all(r == g == b for _, (r, g, b) in colours)
        ink = sum(count for count, (r, _, _) in colours if r < 128) / (picture.width * picture.height)
        assert 0.02 < ink < 0.2
        dots = 2 * 72 / 25.4
        for mark in page.marks:
            if isinstance(mark, Line) and mark.closed and mark.weight >= 1:
                (x, y), (across, _) = mark.points[0], mark.points[1]
                at = (int((x + across) / 2 * dots), int(y * dots))
                patch = picture.crop((at[0] - 2, at[1] - 3, at[0] + 3, at[1] + 4)).convert("L")
                assert min(patch.tobytes()) < 128


def test_letters_that_the_faces_lack_are_told() -> None:
    assert unknown_letters("Ærø, Łódź, Πειραιάς, Калининград") == ""
    assert unknown_letters("船 locker") == "船"
