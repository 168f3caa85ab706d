"""tapeloft volume."""

from typing import TYPE_CHECKING

from tapeloft.cli.options import AsJson, Given, Name, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.areas import Areas
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

    What each obstruction takes is told too, overlaps counted once for the one named first.
    """
    from tapeloft.cli.asking import asked_surveys, built, told_once
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.printing import print_json, print_tables, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.model.areas import areas_to_coat
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.volume import measured

    surveys = asked_surveys(survey, compartment, given, option)
    spaces = built(surveys)
    answers = [(measured(one), areas_to_coat(one)) for one in each(spaces, "measuring")]
    said = tuple(dict.fromkeys(text for one in surveys for text in cautions_for(one)))
    notes = told_once(note for one in spaces for note in one.notes)
    if as_json:
        each_one = zip(answers, spaces, strict=True)
        both = [{"volume": v, "areas": a, "options": one.survey.options} for (v, a), one in each_one]
        print_json("volume", compartments=both, basis=bases(spaces), notes=notes, cautions=said)
        return
    if len(answers) > 1:
        print_tables([summary([v for v, _ in answers], [a for _, a in answers], units)])
    else:
        print_tables(_whole(*answers[0], units))
    say_bases(spaces)
    say_notes(notes, said)


def summary(volumes: "list[Volume]", areas: "list[Areas]", units: str) -> "Table":
    """Return a table of a line a compartment, and their sum."""
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure_down

    rows = [
        (
            v.compartment,
            f"{v.gross.volume_m3 * 1000:.1f}",
            f"{v.net.volume_m3 * 1000:.1f}",
            f"{v.net.volume_m3:.4f}",
            f"{_cubic_feet(v.net.volume_m3):.2f}",
            str(len(v.bays)),
            f"{a.total_m2:.2f}",
            " × ".join(figure_down(run.length_m, units) for run in v.runs),
        )
        for v, a in zip(volumes, areas, strict=True)
    ]
    net = sum(v.net.volume_m3 for v in volumes)
    gross = sum(v.gross.volume_m3 for v in volumes)
    rows.append(
        ("all", f"{gross * 1000:.1f}", f"{net * 1000:.1f}", f"{net:.4f}", f"{_cubic_feet(net):.2f}", "", "", "")
    )
    head = ("compartment", "gross l", "net l", "net m³", "net ft³", "bays", "to coat m²", f"clear L × B × H, {units}")
    return Table("", head, rows)


def _whole(volume: "Volume", areas: "Areas", units: str) -> "list[Table]":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down

    def place(point: tuple[float, float, float] | None) -> tuple[str, str, str]:
        return ("", "", "") if point is None else tuple(figure(p, units) for p in point)  # type: ignore[return-value]

    def spot(point: tuple[float, float, float]) -> str:
        return ", ".join(figure(p, units) for p in point)

    bodies = [("gross", volume.gross), ("net", volume.net), *((b.name, b) for b in volume.bays if len(volume.bays) > 1)]
    taken = [(f"less {s.name}", *_volumes(-s.share_m3)) for s in volume.shares]
    sizes = [("gross", *_volumes(volume.gross.volume_m3)), *taken, ("net", *_volumes(volume.net.volume_m3))]
    sizes += [(f"  {b.name}", *_volumes(b.volume_m3)) for b in volume.bays if len(volume.bays) > 1]
    centroids = [(name, *place(body.centroid_m), *place(body.centroid_in_boat_m)) for name, body in bodies]
    ways = zip(("fore and aft", "athwartships", "upright"), volume.runs, strict=True)
    runs = [(way, figure_down(run.length_m, units), spot(run.start_m), spot(run.end_m)) for way, run in ways]
    coat = [(p.name, p.kind, f"{p.area_m2:.3f}") for p in areas.parts]
    return [
        Table(volume.compartment, ("volume", "litres", "m³", "ft³"), sizes),
        Table(f"centroid, {units}", ("", "x fwd", "y port", "z up", "boat x", "boat y", "boat z"), centroids),
        Table(f"longest clear line, {units}", ("", "length", "from x, y, z", "to x, y, z"), runs),
        Table("area to coat", ("part", "kind", "m²"), [*coat, ("all", "", f"{areas.total_m2:.3f}")]),
        Table("", ("half the net volume lies below", units), [("", figure(volume.half_full_m, units))]),
    ]


def _volumes(m3: float) -> tuple[str, str, str]:
    return f"{m3 * 1000:.2f}", f"{m3:.5f}", f"{_cubic_feet(m3):.3f}"


def _cubic_feet(m3: float) -> float:
    from tapeloft.model.units import CUBIC_FOOT

    return m3 / CUBIC_FOOT
