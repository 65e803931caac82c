"""`frostkit rows`: which way should the corn's rows run, and how far apart?"""

import click

from frostkit.show.commands.crop_options import CORN, STORE
from frostkit.show.commands.legume_options import SEEDING
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question

command = question(
    "rows",
    "Light on the ground between rows of corn, hour by hour and over the season: north-south against east-west and the "
    "field's own bearing, 30-inch against 60-inch rows.",
    (
        CORN,
        SEEDING,
        click.option("--bearing", type=float, help="Of your own rows, degrees from north: 30, say."),
        click.option("--day", type=DAY, default="06-21", show_default=True, help="The day whose hours are told."),
        STORE,
    ),
    (
        "frostkit rows",
        "frostkit rows station.dly --latitude 50 --bearing 30 --day 07-15",
        "frostkit rows eccc_folder --seeding 05-12 --picture rows.png",
        "frostkit rows --csv --table hours > hours.csv",
    ),
)
