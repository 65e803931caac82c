"""`frostkit crops`: the crop entries with their sources, one whole, and a check of your own."""

from pathlib import Path

import click

from frostkit.errors import CropError, nearest
from frostkit.show.commands.options import JSON, with_options
from frostkit.show.commands.question import OUT, write
from frostkit.show.printed import echo


class Crops(click.Group):
    """`frostkit crops` is short for `frostkit crops list`, `frostkit crops NAME` for `frostkit crops show NAME`."""

    def parse_args(self, ctx, args):
        if not args or (args[0].startswith("-") and args[0] not in ("-h", "--help")):
            args = ["list", *args]
        return super().parse_args(ctx, args)

    def resolve_command(self, ctx, args):
        if args and args[0] not in self.commands:
            from frostkit.crops.entry import listed

            close = nearest(args[0], self.commands)
            if close and args[0] not in listed():
                raise click.UsageError(f"There is no 'crops {args[0]}'.{close}", ctx)
            args = ["show", *args]
        return super().resolve_command(ctx, args)


@click.group(cls=Crops, epilog="""\b
Examples:
  frostkit crops
  frostkit crops show silage-2300
  frostkit crops copy silage-2300 my_hybrid.toml
  frostkit crops check my_hybrid.toml""")  # fmt: skip
def command() -> None:
    """Hybrids and beans: what they need, what kills them, and where every number comes from."""


@command.command("list", short_help="The library, with sources.")
@with_options(*OUT)
def library(language, units, **out):
    """Every entry of the library: what it needs to its goal, what kills it, and the sources of both."""
    from frostkit.public import crops

    write(crops(language=language, units=units), **{**out, "whole": True}, picture=None)


@command.command("show", short_help="One entry whole.", epilog="""\b
Examples:
  frostkit crops show forage-late
  frostkit crops show my_hybrid.toml --json""")  # fmt: skip
@click.argument("name")
@JSON
def show(name, as_json):
    """Every number of one entry, or of a TOML file of yours, with its range and its source."""
    from frostkit.crops.entry import load

    entry = load(name)
    if as_json:
        from frostkit.show.render.machine import json_text

        click.echo(json_text({"name": entry.name, **entry.model_dump(mode="json", by_alias=True, exclude_none=True)}))
        return
    from frostkit.show.entries import crop_text

    echo(crop_text(entry))


@command.command("copy", short_help="Begin an entry of your own.", epilog="""\b
Examples:
  frostkit crops copy forage-late my_bean.toml
  frostkit crops copy silage-2300 my_hybrid.toml --rating 2250 --need 2075 --low 2025 --high 2150 \\
      --source "seed label of 2024; need from my own fields, 2019 to 2024\"
Then: frostkit window --corn my_hybrid.toml""")  # fmt: skip
@click.argument("name")
@click.argument("file", metavar="FILE.toml", type=click.Path(dir_okay=False))
@click.option("--title", help="What your hybrid is called; left out, the file's name.")
@click.option("--rating", type=float, help="Its rating, CHU.")
@click.option("--need", type=float, help="CHU from sowing to its goal. A rating is not a need.")
@click.option("--low", type=float, help="The least it may need.")
@click.option("--high", type=float, help="The most it may need.")
@click.option("--source", help="Where these numbers come from.")
def copy(name, file, title, rating, need, low, high, source):
    """Copy an entry of the library to a file of yours, with the numbers of your own hybrid where they are given."""
    from frostkit.crops.own import as_it_is, copied

    own = {"--rating": rating, "--need": need, "--low": low, "--high": high, "--source": source}
    given = [option for option, value in own.items() if value is not None]
    if given and len(given) < len(own):
        missing = ", ".join(option for option in own if option not in given)
        raise CropError(f"With {given[0]} goes {missing}.", "Give all of them, or none and change the file by hand.")
    if given:
        copied(name, file, title=title or Path(file).stem.replace("_", " "), rating=rating, rating_source=source,
               need=need, low=low, high=high, derived="as its owner gives it", need_source=source)  # fmt: skip
    else:
        as_it_is(name, file)
    echo(f"Written: {file}. Change its numbers with their sources, then: frostkit crops check {file}")


@command.command("check", short_help="What is wrong with an entry of your own.", epilog="""\b
Examples:
  frostkit crops check my_hybrid.toml
Exit code 0 when it can be used, 2 when it has faults.""")  # fmt: skip
@click.argument("file", metavar="FILE.toml")
@JSON
def check(file, as_json):
    """Every fault of an entry at once: table, key, what was found, what is allowed. No source is a fault."""
    if not Path(file).is_file():
        raise CropError(f"There is no file '{file}'.", "Copy an entry from 'frostkit crops', and give its path.")
    if Path(file).suffix != ".toml":
        raise CropError(f"'{file}' does not end in .toml.", "A crop entry is a TOML file; give it that ending.")
    from frostkit.answers.usable import faults as of_plan
    from frostkit.crops.entry import check as faults_of, load

    faults = faults_of(file) or of_plan(load(file))
    if as_json:
        from frostkit.show.render.machine import json_text

        click.echo(json_text({"file": file, "can_be_used": not faults, "faults": list(faults)}))
    else:
        from frostkit.show.entries import faults_text

        echo(faults_text(file, faults))
    return 2 if faults else 0
