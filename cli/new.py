"""tapeloft new."""

from pathlib import Path
from typing import Annotated

import typer

from tapeloft.cli.options import AsJson, Force


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the survey to begin")],
    schema: Annotated[bool, typer.Option("--schema", help="write the JSON Schema for editors instead")] = False,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Write a commented survey to start from."""
    from tapeloft.cli.printing import print_json, say
    from tapeloft.model.files.writing import write_whole
    from tapeloft.model.survey.example import example

    if schema:
        from tapeloft.model.survey.schema import schema_text

        text = schema_text()
    else:
        text = example()
    write_whole(file, text.encode(), force=force)
    if as_json:
        print_json("new", file=str(file))
        return
    say(f"wrote {file}: put your readings in it, then `tapeloft check {file}`")
