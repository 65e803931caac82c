"""`frostkit winter`: what do we plan?"""

import click

from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, ODDS, STORE
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question
from frostkit.show.commands.season import PAGE, page
from frostkit.show.commands.tonight import with_farm

command = question(
    "winter",
    "One page for a place and a farm: soil ready, frosts, heat and largest rating by seeding day, a plan a field, seed "
    "and inoculant, what to clear with the label, the insurer's day, working days.",
    (
        CORN,
        LEGUME,
        AFTER,
        ODDS,
        STORE,
        click.option("--not-after", type=DAY, help="Your insurer's last seeding day."),
        PAGE,
    ),
    (
        "frostkit winter --page plan.html",
        "frostkit winter station.dly --corn silage-2300 --not-after 06-05",
        "frostkit --farm farm.toml winter --page plan.pdf",
    ),
    opened=with_farm,
    files={"page": page},
)
