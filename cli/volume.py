"""tapeloft volume."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tapeloft.cli.options import AsJson, Given, Name, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.areas import Areas
    from tapeloft.model.plusminus.stated import Stated
    from tapeloft.model.volume import Volume


def volume(
    survey: SurveyFile,
    compartment: Name = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
) -> None:
    """How big it is: gross, net, bays, centroid, area, clear sizes.

    What each obstruction and part takes is told too, overlaps counted once for the one named first. ± is one standard
    deviation.
    """
    from tapeloft.cli.asking import asked_surveys, built, told_once
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.plusminus import said_of, say_plusminus
    from tapeloft.cli.printing import print_json, print_tables, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.model.areas import areas_to_coat
    from tapeloft.model.cautions import cautions_for, cautions_of_parts
    from tapeloft.model.plusminus.stated import stated
    from tapeloft.model.volume import measured

    surveys = asked_surveys(survey, compartment, given, option)
    spaces = built(surveys)
    answers = []
    for one in each(spaces, "measuring"):
        size = measured(one)
        answers.append((size, areas_to_coat(one), stated(one, size)))
    said = tuple(dict.fromkeys(text for one in surveys for text in (*cautions_for(one), *cautions_of_parts(one))))
    notes = told_once(note for one in spaces for note in one.notes)
    if as_json:
        each_one = zip(answers, spaces, strict=True)
        both = [
            {"volume": v, "areas": a, "plus_minus": said_of(s), "options": one.survey.options}
            for (v, a, s), one in each_one
        ]
        print_json("volume", compartments=both, all=_all(answers), basis=bases(spaces), notes=notes, cautions=said)
        return
    if len(answers) > 1:
        print_tables([summary(answers, units)])
    else:
        print_tables(_whole(*answers[0], units))
    say_bases(spaces)
    say_plusminus([s for _, _, s in answers])
    say_notes(notes, said)


def summary(answers: "Sequence[tuple[Volume, Areas, Stated]]", units: str) -> "Table":
    """Return a table of a line a compartment, and their sum."""
    from tapeloft.cli.plusminus import litres_beside, square_beside
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure_down

    rows = [
        (
            v.compartment,
            litres_beside(v.gross.volume_m3, o.gross.volume_sd_m3 if o.gross else None),
            litres_beside(v.net.volume_m3, o.net.volume_sd_m3 if o.net else None),
            f"{v.net.volume_m3:.4f}",
            f"{_cubic_feet(v.net.volume_m3):.2f}",
            str(len(v.bays)),
            square_beside(a.total_m2, o.area_sd_m2, 2),
            " × ".join(figure_down(run.length_m, units) for run in v.runs),
        )
        for v, a, o in answers
    ]
    every = _all(answers)
    gross, net = every["gross_m3"], every["net_m3"]
    beside = litres_beside(gross, every["gross_sd_m3"]), litres_beside(net, every["net_sd_m3"])
    rows.append(("all", *beside, f"{net:.4f}", f"{_cubic_feet(net):.2f}", "", "", ""))
    head = ("compartment", "gross l", "net l", "net m³", "net ft³", "bays", "to coat m²", f"clear L × B × H, {units}")
    return Table("", head, rows)


def _all(answers: "Sequence[tuple[Volume, Areas, Stated]]") -> dict[str, Any]:
    """Return the sums over all compartments, m³, and how far they may be off; null where one states no ±."""
    from tapeloft.model.plusminus.together import together

    off = together(o.felt for _, _, o in answers)
    return {
        "gross_m3": sum(v.gross.volume_m3 for v, _, _ in answers),
        "net_m3": sum(v.net.volume_m3 for v, _, _ in answers),
        "gross_sd_m3": off and off.gross_sd_m3,
        "net_sd_m3": off and off.net_sd_m3,
    }


def _whole(volume: "Volume", areas: "Areas", off: "Stated", units: str) -> "list[Table]":
    from tapeloft.cli.plusminus import litres_off, place_off, spread_of, square_off, systematic_table
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down

    def place(point: tuple[float, float, float] | None) -> tuple[str, ...]:
        return ("", "", "") if point is None else tuple(figure(p, units) for p in point)

    def spot(point: tuple[float, float, float]) -> str:
        return ", ".join(figure(p, units) for p in point)

    bays = list(zip(volume.bays, off.bays or [None] * len(volume.bays), strict=True)) if len(volume.bays) > 1 else []
    bodies = [("gross", volume.gross, off.gross), ("net", volume.net, off.net), *((b.name, b, o) for b, o in bays)]
    taken = [(f"less {s.name}{_part(s.kind)}", *_volumes(-s.share_m3), "", "") for s in volume.shares]
    gross, net, *parts = [(name, *_volumes(body.volume_m3), *litres_off(one)) for name, body, one in bodies]
    sizes = [gross, *taken, net, *((f"  {name}", *row) for name, *row in parts)]
    centroids = [
        (name, *place(body.centroid_m), *place_off(one, units), *place(body.centroid_in_boat_m))
        for name, body, one in bodies
    ]
    ways = zip(("fore and aft", "athwartships", "upright"), volume.runs, strict=True)
    runs = [
        (way, figure_down(run.length_m, units), spread_of(sd, units), spot(run.start_m), spot(run.end_m))
        for (way, run), sd in zip(ways, off.runs_sd_m or (None,) * 3, strict=True)
    ]
    by_part = {one.name: one.area_sd_m2 for one in off.areas}
    coat = [(p.name, p.kind, f"{p.area_m2:.3f}", square_off(by_part.get(p.name))) for p in areas.parts]
    coat.append(("all", "", f"{areas.total_m2:.3f}", square_off(off.area_sd_m2)))
    half = ("", figure(volume.half_full_m, units), spread_of(off.half_full_sd_m, units))
    axes = ("", "x fwd", "y port", "z up", "± x", "± y", "± z", "boat x", "boat y", "boat z")
    return [
        Table(volume.compartment, ("volume", "litres", "m³", "ft³", "± l", "95 %, l"), sizes),
        Table(f"centroid, {units}", axes, centroids),
        Table(f"longest clear line, {units}", ("", "length", "±", "from x, y, z", "to x, y, z"), runs),
        Table("area to coat", ("part", "kind", "m²", "±"), coat, words=(1,)),
        Table("", ("half the net volume lies below", units, "±"), [half]),
        *systematic_table(off, units),
    ]


def _part(kind: str) -> str:
    return "" if kind == "obstruction" else f", {kind} built in"


def _volumes(m3: float) -> tuple[str, str, str]:
    return f"{m3 * 1000:.2f}", f"{m3:.5f}", f"{_cubic_feet(m3):.3f}"


def _cubic_feet(m3: float) -> float:
    from tapeloft.model.units import CUBIC_FOOT

    return m3 / CUBIC_FOOT
