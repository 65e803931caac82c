"""`frostkit choose`: which hybrid and which bean for this place and seeding day?"""

import click

from frostkit.show.commands.booked import BOOK, with_every_field
from frostkit.show.commands.crop_options import AFTER, ODDS, STORE
from frostkit.show.commands.options import DAY
from frostkit.show.commands.question import question

command = question(
    "choose",
    "The largest rating that makes it at the odds wanted from each seeding day, and hybrids and beans ranked by the "
    "seasons in which they make it when you stand ready on one day and sow as soon as the soil is fit.",
    (
        click.option("--seeding", type=DAY, default="05-22", show_default=True, help="The corn's seeding day."),
        AFTER,
        click.option("--corn", multiple=True, help="Choose among these; again for more. Left out: the library."),
        click.option("--bean", multiple=True, help="Choose among these; again for more. Left out: the library."),
        click.option("--growth", help="What beans must make: '500 degree days', or a stage of theirs."),
        ODDS,
        STORE,
        BOOK,
    ),
    (
        "frostkit choose",
        "frostkit choose station.dly --seeding 05-28 --colder-by 2",
        "frostkit choose station.dly --corn silage-2725 --corn my_hybrid.toml --bean forage-late --after 1",
        'frostkit choose eccc_folder --odds 0.9 --growth "500 degree days"',
    ),
    opened=with_every_field,
)
