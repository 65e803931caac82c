"""The book beside a farm's settings file, for the commands that stand on what it tells."""

from pathlib import Path
from typing import Any

import click

from frostkit.ensemble.site import Site
from frostkit.show.commands.options import open_site, typed_now

BOOK = click.option(
    "--book", type=click.Path(), metavar="FILE", help="The field's book; the one beside --farm if left out."
)


def with_book(typed: dict[str, Any]) -> Site:
    """The site; and the book with the field that is answered for, which goes before the farm's file.

    The farm's settings file gives way to the book where that tells of this season; what is typed does not.
    """
    typed["book"] = typed["book"] or _beside_farm()
    root = click.get_current_context().find_root()
    typed["field"] = root.params.get("field") or ""
    if root.obj is not None:
        from frostkit.show.farm import load, one_field

        typed["field"] = one_field(load(root.obj), root.params.get("field"))[0]
    site = open_site(typed)
    if typed["book"] is not None and "today" in typed:
        _give_way(typed, site)
    return site


def with_every_field(typed: dict[str, Any]) -> Site:
    """The site; and the book, all of whose fields tell."""
    typed["book"] = typed["book"] or _beside_farm()
    return open_site(typed)


def _beside_farm() -> Path | None:
    """The book beside the farm's settings file; None where there is none."""
    farm = click.get_current_context().find_root().obj
    if farm is None:
        return None
    from frostkit.answers.season.book import beside

    return beside(farm)


def _give_way(typed: dict[str, Any], site: Site) -> None:
    """Leave out the farm file's seeding day where the book tells when the field was sown this season."""
    from frostkit.answers.season.book import read_book
    from frostkit.answers.season.by_book import told_today

    if typed_now("seeding"):
        return
    if told_today(site, read_book(typed["book"]), typed["field"], typed["today"]).seeding is not None:
        typed["seeding"] = None
