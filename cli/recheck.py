"""tapeloft recheck."""

from pathlib import Path
from typing import Annotated

import typer

from tapeloft.cli.options import AsJson


def recheck(
    certificate: Annotated[Path, typer.Argument(metavar="FILE.json", help="as `box` or `fit` saved it")],
    as_json: AsJson = False,
) -> None:
    """Check a saved proof by itself: what it claims, and whether that holds.

    Status 0 where it holds, 1 where it does not.
    """
    from tapeloft.cli.printing import print_json, put, say
    from tapeloft.model.recheck.recheck import read_certificate, rechecked

    found = rechecked(read_certificate(certificate))
    if as_json:
        print_json("recheck", recheck=found)
    else:
        import sys

        for claim in found.claims:
            put(f"claimed: {claim}", sys.stdout)
        put("all of it holds" if found.holds else "it does not hold", sys.stdout)
        for failure in found.failures:
            say(f"wrong: {failure}")
        say(f"checked: {found.leaves} ends of a search; for the bodies in the file, whatever they were made from")
    raise typer.Exit(0 if found.holds else 1)
