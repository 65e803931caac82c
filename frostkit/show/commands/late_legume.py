"""`frostkit late-legume`: how late can the legume still go in, and what do I get for it?"""

import click

from frostkit.show.commands.crop_options import CORN, ODDS, STORE
from frostkit.show.commands.legume_options import BEARING, CORN_YIELD, LEGUME, SEEDING
from frostkit.show.commands.question import question

command = question(
    "late-legume",
    "What a legume sown with, into or between corn still makes before the chop, in kilogrammes on the light that the "
    "corn leaves it, as odds over possible seasons.\n\nIts time ends at the corn's chop or its own killing frost, "
    "whichever is first; the corn shelters it from its closing until it browns or is chopped.",
    (
        CORN,
        LEGUME,
        SEEDING,
        click.option("--way", "--when", "ways", multiple=True, default=("with corn", "-1", "1", "v3", "v5", "v7"),
                     show_default=True, help="'with corn', days after it, a collar (V5), a stage, or MM-DD; again for "
                     "more."),
        click.option("--goal", help="What it must give: '300 kg/ha' (where left out), '0.5 points of protein', "
                     "'30 kg N' or '90 days'."),
        ODDS,
        STORE,
        click.option("--rows", type=click.Choice(["ordinary", "wide", "paired"]), default="ordinary", show_default=True,
                     help="Rows of the corn: 30 inches, 60 inches, or pairs."),
        BEARING,
        click.option("--seen", metavar="'V4 06-18'", help="A collar of this year's corn and the day it was seen."),
        CORN_YIELD,
        click.option("--frost", type=click.Choice(["usual", "tender", "hardy"]), default="usual", show_default=True,
                     help="Which end of the killing temperatures' range counts."),
        click.option("--cool-nights/--no-cool-nights", default=None, help="Slowing by cool nights."),
        click.option("--label-days", type=int, help="Days from the last spraying to feeding, by your label."),
    ),
    (
        "frostkit late-legume",
        "frostkit late-legume station.dly --latitude 45.4 --seeding 05-20 --way 'with corn' --way v5 --way 06-25",
        "frostkit late-legume --goal '0.5 points of protein' --corn-yield 14",
        "frostkit late-legume eccc_folder --seen 'V4 06-18' --rows wide --bearing 90",
        "frostkit late-legume --csv --table days > days.csv",
    ),
)  # fmt: skip
