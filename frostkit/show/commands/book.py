"""`frostkit book`: what was done and seen in the fields, and how it went against the odds."""

from datetime import date
from pathlib import Path

import click

from frostkit.show.commands.crop_options import CORN, STORE
from frostkit.show.commands.options import DATE
from frostkit.show.commands.question import question
from frostkit.show.commands.tonight import with_farm
from frostkit.show.printed import echo


class Books(click.Group):
    """`frostkit book` is short for `frostkit book show`."""

    def parse_args(self, ctx, args):
        if not args or (args[0] not in self.commands and args[0] not in ("-h", "--help")):
            args = ["show", *args]
        return super().parse_args(ctx, args)


@click.group(
    cls=Books,
    epilog="""\b
Examples:
  frostkit --farm farm.toml book add north sown --on 2026-05-22
  frostkit --farm farm.toml book add north moisture 68.5 --on 2026-09-02
  frostkit --farm farm.toml book
  frostkit book show station.dly --book book.csv""",
)
def command() -> None:
    """The field's book: add to it, and look back: what the odds said on each day, what happened."""


show = question(
    "book",
    "Looking back: what the odds said on each day, what happened, over fields and years; and the need of your own "
    "hybrids by their dried samples.",
    (
        click.option(
            "--book", type=click.Path(), metavar="FILE", help="TOML or CSV; the one beside --farm if left out."
        ),
        CORN,
        STORE,
    ),
    ("frostkit --farm farm.toml book", "frostkit book show station.dly --book book.csv --corn silage-2300"),
    opened=with_farm,
    short="What stands in it, what the odds said, what happened.",
)


@click.command(short_help="Add a line: nothing that stands there is changed.", epilog="""\b
Examples:
  frostkit --farm farm.toml book add north sown --on 2026-05-22 --crop silage-2300
  frostkit book add north collars 7 --on 2026-06-28 --book book.csv
  frostkit --farm farm.toml book add slough frost 29F --on 2026-09-09 --note "in the hollow only\"""")  # fmt: skip
@click.argument("field")
@click.argument("what")
@click.argument("value", required=False)
@click.option("--on", type=DATE, help="The day; today where left out.")
@click.option("--unit", default="", help="Of the value: %, C, F, t/ha, ton/ac, ppm.")
@click.option("--crop", default="", help="What was sown: the entry's name.")
@click.option("--note", default="", help="Your own words.")
@click.option("--book", type=click.Path(), metavar="FILE", help="TOML or CSV; begun where it is not there.")
def add(field, what, value, on, unit, crop, note, book) -> None:
    """Add one line to the book.

    WHAT is sown, legume_sown, emerged, legume_emerged, collars, silking, milk_line, moisture, frost, chopped, yield,
    protein, starch, fibre, nitrate, soil_nitrate or note.
    """
    from frostkit.answers.season.book import NAMES, added, beside, entry_of
    from frostkit.errors import SettingError
    from frostkit.show.farm import load

    farm = click.get_current_context().find_root().obj
    fields = None if farm is None else tuple(load(farm).field)
    if book is None:
        if farm is None:
            raise SettingError("There is no book to add to.", "Name it with --book FILE, or the farm with --farm FILE.")
        book = beside(farm) or Path(farm).resolve().parent / NAMES[0]
    entry = entry_of(field, on or date.today().isoformat(), what, value, unit, crop, note, fields)
    after = added(book, entry, fields)
    echo(f"Added to {Path(book).name}: {entry.says()}. It has {len(after.entries)} lines now.")


command.add_command(show, "show")
command.add_command(add, "add")
