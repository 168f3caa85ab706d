"""tapeloft shapes."""

from tapeloft.cli.options import AsJson


def shapes(as_json: AsJson = False) -> None:
    """List the shapes an obstruction can have, and their readings."""
    from tapeloft.cli.printing import Table, print_json, print_tables
    from tapeloft.model.survey.schema import shape_fields
    from tapeloft.shapes.registry import SHAPES

    told = {name: shape_fields(kind) for name, kind in sorted(SHAPES.items())}
    about = {name: (kind.__doc__ or "").splitlines()[0] for name, kind in SHAPES.items()}
    if as_json:
        print_json("shapes", shapes=[{"name": n, "about": about[n], "readings": f} for n, f in told.items()])
        return
    print_tables(
        Table(f"{name}: {about[name]}", ("reading", "is", ""), [(f.name, f.about, f.needed) for f in readings])
        for name, readings in told.items()
    )
