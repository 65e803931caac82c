"""Options that several questions share: crops, odds, store and days."""

import click

CORN = click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, a TOML file, or 'none'.")
LEGUME = click.option(
    "--legume", default="forage-late", show_default=True, help="Legume entry, a TOML file, or 'none'."
)
AFTER = click.option(
    "--after", default=0, show_default=True, help="Days from the corn's seeding to the legume's: -1, 0, 1, 2 ..."
)
ODDS = click.option("--odds", default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10.")
STORE = click.option("--store", default="bunker", show_default=True, help="Where the silage goes: it decides what fit is.")
