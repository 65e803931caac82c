"""`frostkit record`: look at a station's record, check it, find, fetch and keep one; the field's own logger."""

import click

from frostkit.errors import nearest
from frostkit.show.commands.options import CACHE, FORCE, JSON, open_behind, open_record, record_options
from frostkit.show.commands.stations import drop, fetch, kept, near, refresh
from frostkit.show.printed import echo

PICTURE = click.option("--picture", type=click.Path(dir_okay=False),
                       help="Draw the record at a glance into this file (.png, .svg, .pdf).")  # fmt: skip
NEIGHBOUR = click.option("--neighbour", "neighbours", multiple=True, metavar="RECORD",
                         help="A record near it to hold it against; again for more.")  # fmt: skip
EACH = click.option("--each", is_flag=True, help="List every season too.")


class Records(click.Group):
    """`frostkit record FILE` is short for `frostkit record show FILE`."""

    def resolve_command(self, ctx, args):
        if args and args[0] not in self.commands:
            close = nearest(args[0], self.commands)
            if close and not any(mark in args[0] for mark in "./\\"):
                raise click.UsageError(f"There is no 'record {args[0]}'.{close}", ctx)
            args = ["show", *args]
        return super().resolve_command(ctx, args)

    def parse_args(self, ctx, args):
        if not args or (args[0].startswith("-") and args[0] not in ("-h", "--help")):
            args = ["show", *args]
        return super().parse_args(ctx, args)


@click.group(
    cls=Records,
    short_help="Look at a station's record, check it, keep it.",
    epilog="""\b
Examples:
  frostkit record station.dly
  frostkit record check station.dly --neighbour next_town.dly
  frostkit record near 49.9 -99.9
  frostkit record fetch "49.9 N, 99.9 W"
  frostkit record field station.dly low_corner.csv""",
)
def command() -> None:
    """A station's record: what it holds, what is wrong with it, how the field differs; and where to get one."""


@command.command("show", short_help="Span, complete seasons, repairs.", epilog="""\b
Examples:
  frostkit record show station.dly
  frostkit record show eccc_folder --each --picture record.png""")  # fmt: skip
@record_options
@EACH
@PICTURE
@FORCE
@JSON
def show(record, input_units, seasons, field_at, each, picture, as_json):
    """What a record holds: span, complete seasons, missing days, and what was repaired on the way in."""
    from frostkit.answers.holdings import holdings

    answer = holdings(open_behind(record, input_units, seasons, field_at))
    if picture:
        _draw(record, input_units, (), picture)
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.record import holdings as as_dict

        echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.record import holdings_text

    echo(holdings_text(answer, each))
    if picture:
        echo(f"Picture: {picture}")


@command.command("check", short_help="What is wrong with it: readings, missing days, a moved thermometer.", epilog="""\b
Examples:
  frostkit record check station.dly
  frostkit record check station.dly --neighbour next_town.dly --picture record.png""")  # fmt: skip
@click.argument("record", required=False, metavar="[RECORD]")
@click.option("--input-units", type=click.Choice(["C", "F"]), help="Units of a plain file whose header doesn't say.")
@NEIGHBOUR
@click.option("--each", is_flag=True, help="List every finding and every season.")
@PICTURE
@FORCE
@CACHE
@JSON
def check(record, input_units, neighbours, each, picture, as_json):
    """Quality checks of every reading, what each season has and lacks, and whether the thermometer was moved.

    Values are masked, never altered. The checks are those of Durre et al. 2010 that suit Tmin and Tmax, and two more.
    """
    answer = _quality(record, input_units, neighbours)
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.record import record_at_a_glance

        save(record_at_a_glance(answer), picture)
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.quality import quality as as_dict

        echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.quality import quality_text

    echo(quality_text(answer, each))
    if picture:
        echo(f"Picture: {picture}")


@command.command("field", short_help="How much colder is the field than the station?", epilog="""\b
Examples:
  frostkit record field station.dly low_corner.csv
  frostkit record field eccc_folder logger.csv --logger-units F
Then: frostkit window station.dly --logger low_corner.csv""")  # fmt: skip
@click.argument("station", metavar="STATION_RECORD")
@click.argument("logger", metavar="LOGGER.csv", type=click.Path(exists=True, dir_okay=False))
@click.option("--input-units", type=click.Choice(["C", "F"]), help="Units of a plain station file that doesn't say.")
@click.option("--logger-units", type=click.Choice(["C", "F"]), help="Units of a logger's file that doesn't say.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw the nights into this file (.png, .svg, .pdf).")
@FORCE
@CACHE
@JSON
def field(station, logger, input_units, logger_units, picture, as_json):
    """The field's own logger against the station: offset of Tmin by season, on clear nights and on others.

    The logger's file has hours (time, temp_C) or days (date, tmin_C, tmax_C), weeks or years of them. Say '-' for
    STATION_RECORD to hold it against the invented place.
    """
    from frostkit.answers.logged import logged
    from frostkit.records.logger import read_logger

    record = open_record(None if station == "-" else station, input_units)
    answer = logged(record, read_logger(logger, logger_units))
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.field import field_and_station

        save(field_and_station(answer), picture)
    if as_json:
        from frostkit.show.machine.field import field as as_dict
        from frostkit.show.machine.parts import text

        echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.field import field_text

    echo(field_text(answer))
    if picture:
        echo(f"Picture: {picture}")


for one in (near, fetch, kept, refresh, drop):
    command.add_command(one)


def _quality(record, input_units, neighbours):
    from frostkit.answers.quality import quality

    of = open_record(record, input_units, check=False)
    return quality(of, [open_record(other, check=False) for other in neighbours])


def _draw(record, input_units, neighbours, picture):
    from frostkit.show.look import save
    from frostkit.show.pictures.record import record_at_a_glance

    save(record_at_a_glance(_quality(record, input_units, neighbours)), picture)
