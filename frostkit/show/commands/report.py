"""`frostkit report`: the page a grower takes home."""

import click

from frostkit.show.commands.options import AFTER, DAY, FORCE, ODDS, field_options, open_behind, record_options
from frostkit.show.printed import echo


@click.command(short_help="One page to take home.", epilog="""\b
Examples:
  frostkit report --out river_flat.html
  frostkit report station.dly --out page.pdf --corn silage-2150 --after 1
  frostkit report eccc_folder --out page.html --fahrenheit --heat degree-days --pounds
  frostkit report --out page.html --language fr""")  # fmt: skip
@record_options
@field_options
@click.option("--out", default="frostkit_report.html", show_default=True, type=click.Path(dir_okay=False),
              help="The page: .html, or .pdf.")  # fmt: skip
@FORCE
@click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, a TOML file, or 'none'.")
@click.option("--legume", default="forage-late", show_default=True, help="Legume entry, a TOML file, or 'none'.")
@click.option("--after", type=AFTER, default=0, show_default=True, help="Days from the corn's seeding to the legume's.")
@click.option("--odds", type=ODDS, default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10.")
@click.option("--not-after", type=DAY, help="Your own last seeding day, an insurer's deadline say.")
@click.option("--fahrenheit", is_flag=True, help="Temperatures in °F, degree days in °F.")
@click.option(
    "--heat", type=click.Choice(["chu", "degree-days"]), default="chu", show_default=True, help="Heat in these."
)
@click.option("--pounds", is_flag=True, help="lb/ac for kg/ha.")
@click.option(
    "--language", type=click.Choice(["en", "fr"]), default="en", show_default=True, help="Language of the page."
)
def command(record, input_units, seasons, field_at, out, corn, legume, after, odds, not_after, fahrenheit, heat, pounds,
            language):  # fmt: skip
    """One to two printed pages: the seeding window, the late legume, frost, the record, cautions and sources."""
    from frostkit.crops.entry import load
    from frostkit.show.page import typed, write
    from frostkit.show.report import Asked, Units, report

    behind = open_behind(record, input_units, seasons, field_at)
    crops = [None if name.lower() == "none" else load(name) for name in (corn, legume)]
    asked = Asked(crops[0], crops[1], after=after, odds=odds, not_after=not_after, command=typed())
    units = Units(fahrenheit, heat, pounds)
    echo(f"Page: {write(report(behind, asked, units, language), out)}")
