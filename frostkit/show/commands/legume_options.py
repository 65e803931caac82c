"""Options that questions about the legume in corn share."""

import click

from frostkit.show.commands.options import DAY

LEGUME = click.option(
    "--legume", "--bean", "legume", default="forage-late", show_default=True, help="Legume entry, or a TOML file."
)
SEEDING = click.option("--seeding", type=DAY, default="05-20", show_default=True, help="The corn's seeding day.")
BEARING = click.option(
    "--bearing", default=0.0, show_default=True, help="Of the rows, degrees from north: 90 east-west."
)
CORN_YIELD = click.option("--corn-yield", default=12.0, show_default=True, help="Corn alone, t/ha of dry matter.")
