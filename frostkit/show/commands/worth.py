"""`frostkit worth`: what is the legume worth, line by line?"""

import click

from frostkit.show.commands.crop_options import CORN, STORE
from frostkit.show.commands.legume_options import LEGUME, SEEDING
from frostkit.show.commands.question import question


class Ends(click.ParamType):
    """One number, or three as LEAST,USUAL,MOST."""

    name = "NUMBER"

    def convert(self, value, param, ctx):
        if not isinstance(value, str):
            return value
        try:
            return tuple(float(part) for part in value.split(","))
        except ValueError:
            self.fail(f"'{value}' is not a number, nor three as 300,900,2000.", param, ctx)


class Price(click.ParamType):
    """A price as NAME=AMOUNT."""

    name = "NAME=AMOUNT"

    def convert(self, value, param, ctx):
        if isinstance(value, tuple):
            return value
        name, _, amount = value.partition("=")
        try:
            return name.strip(), float(amount)
        except ValueError:
            self.fail(f"'{value}' is not a price; write it as silage_t=160.", param, ctx)


def _prices(context: click.Context, parameter: click.Parameter, value: tuple) -> dict:
    return dict(value)


command = question(
    "worth",
    "From kilogrammes of legume to protein, nitrogen, grazing, cover and, with your prices, money: each line with its "
    "spread and its source.\n\nNumbers may be given as one, or as three: LEAST,USUAL,MOST.",
    (
        CORN,
        LEGUME,
        SEEDING,
        click.option("--way", default="with corn", show_default=True, help="How it is sown: as in late-legume."),
        click.option("--growth", type=Ends(), help="Legume at the chop, kg/ha; left out: what light lets it make."),
        click.option("--corn-yield", type=Ends(), default="12", show_default=True, help="Corn alone, t/ha dry matter."),
        click.option("--corn-protein", type=Ends(), help="% of dry matter; left out: 7,7.5,8."),
        click.option("--bean-protein", type=Ends(), help="% of dry matter; left out: 15,18,25."),
        click.option("--kept", type=Ends(), help="Corn beside the legume, of corn alone: 0.9, say."),
        click.option("--stubble", type=Ends(), help="Share of the legume below the cut; left out: 0.05,0.15,0.3."),
        click.option("--grazed", is_flag=True, help="The legume is left for grazing and cover, not chopped."),
        click.option("--new-land/--old-land", default=True, help="Whether the field never had the legume."),
        click.option("--animal", default=635.0, show_default=True, help="Weight of one grazing animal, kg."),
        click.option("--price", "prices", type=Price(), multiple=True, callback=_prices, help="seed_kg, silage_t, "
                     "inoculant_dose_ha, pass_ha, protein_kg, nitrogen_kg or grazing_day =AMOUNT; again for more."),
        click.option("--soil-ppm", type=float, help="Nitrate nitrogen of a spring soil test, ppm."),
        click.option("--depth", default=30.0, show_default=True, help="Of the soil test, cm."),
        click.option("--rows", type=click.Choice(["ordinary", "wide", "paired"]), default="ordinary", show_default=True,
                     help="Rows of the corn."),
        STORE,
    ),
    (
        "frostkit worth",
        "frostkit worth station.dly --latitude 50 --way v5 --corn-yield 14",
        "frostkit worth --growth 300,900,2000 --kept 0.9 --price silage_t=160 --price seed_kg=2.5",
        "frostkit worth --grazed --animal 635 --units us",
    ),
)  # fmt: skip
