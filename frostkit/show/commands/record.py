"""`frostkit record`: look at a station's record: what is there, what was repaired, which seasons are complete."""

import click

from frostkit.errors import nearest
from frostkit.show.commands.options import JSON, open_behind, record_options


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
    short_help="Look at a station's record.",
    epilog="""\b
Examples:
  frostkit record station.dly
  frostkit record show eccc_folder --json""",
)
def command() -> None:
    """Look at a station's record: span, complete seasons, missing days, what was repaired on the way in."""


@command.command("show", short_help="Span, complete seasons, repairs.")
@record_options
@click.option("--each", is_flag=True, help="List every season too.")
@JSON
def show(record, input_units, seasons, field_at, each, as_json):
    """What a record holds: span, complete seasons, missing days, and what was repaired on the way in."""
    from frostkit.answers.holdings import holdings

    answer = holdings(open_behind(record, input_units, seasons, field_at))
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.record import holdings as as_dict

        click.echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.record import holdings_text

    click.echo(holdings_text(answer, each))
