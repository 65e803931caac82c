"""`frostkit report`: the page a grower takes home."""

from typing import Any

import click

from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, ODDS, STORE, TRACK_RECORD
from frostkit.show.commands.options import DAY, FORCE, open_site, site_options
from frostkit.show.commands.question import OPEN, show_file
from frostkit.show.printed import echo
from frostkit.show.texts import LANGUAGES, UNITS


@click.command(
    epilog="""\b
Examples:
  frostkit report --out river_flat.html
  frostkit report station.dly --out page.pdf --corn silage-2150 --after 1
  frostkit report eccc_folder --out page.html --tables --units us
  frostkit report --out page.html --language fr""",
)
@site_options
@click.option(
    "--out", default="frostkit_report.html", show_default=True, type=click.Path(dir_okay=False), help=".html, or .pdf."
)
@FORCE
@CORN
@LEGUME
@AFTER
@ODDS
@STORE
@TRACK_RECORD
@click.option("--tables", is_flag=True, help="With every table, sentence and caution in full: two sheets.")
@click.option("--not-after", type=DAY, help="Your own last seeding day, an insurer's deadline say.")
@click.option("--units", type=click.Choice(UNITS), default="metric", show_default=True, help="Units.")
@click.option("--language", type=click.Choice(LANGUAGES), default="en", show_default=True, help="Language of the page.")
@OPEN
def command(out: str, opens: bool, **typed: Any) -> None:
    """One printed page: the seeding window, the late legume, frost, heat, the record, cautions and sources.

    Written over an older page (.html) of the same place and question, it says what moved since.
    """
    from frostkit.public import report
    from frostkit.show.pages.page import typed as as_typed

    site = open_site(typed)
    echo(f"Page: {report(site, **typed, since=out, command=as_typed()).save(out)}")
    if opens:
        show_file(out)
