"""What commands share: the record, crops, days and odds as a person types them."""

from collections.abc import Callable
from pathlib import Path

import click

from frostkit.answers.station import Behind, behind
from frostkit.errors import RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import from_code


class Day(click.ParamType):
    """A day as MM-DD, given back as its column."""

    name = "MM-DD"

    def convert(self, value, param, ctx):
        if isinstance(value, int):
            return value
        try:
            return from_code(value)
        except SettingError as fault:
            self.fail(f"{fault.what} {fault.do}", param, ctx)


class Span(click.ParamType):
    """Two seasons as 1991-2020."""

    name = "FIRST-LAST"

    def convert(self, value, param, ctx):
        if isinstance(value, tuple):
            return value
        first, dash, last = value.partition("-")
        if not (dash and first.isdigit() and last.isdigit() and int(first) <= int(last)):
            self.fail(f"'{value}' is not a span of seasons; write it as 1991-2020.", param, ctx)
        return int(first), int(last)


DAY, SPAN = Day(), Span()

_RECORD = (
    click.argument("record", required=False, metavar="[RECORD]"),
    click.option(
        "--input-units", type=click.Choice(["C", "F"]), help="Units of a plain file whose header doesn't say."
    ),
    click.option("--seasons", type=SPAN, help="Only these seasons, such as 1991-2020."),
    click.option(
        "--field-at", type=(float, float), metavar="LAT LON", help="Where the field lies, degrees north and east."
    ),
)


def record_options(command: Callable) -> Callable:
    """RECORD and what belongs to it: a file or folder, a kept station, or nothing for the invented place."""
    for option in reversed(_RECORD):
        command = option(command)
    return command


JSON = click.option("--json", "as_json", is_flag=True, help="The answer for programs.")


def celsius(text: str) -> float:
    """A temperature as typed: degrees Celsius, or with F behind it Fahrenheit (32 °F = 0 °C, 28 °F = -2.2 °C).

    Raises `SettingError` for anything else.

    >>> celsius("-2.2"), round(celsius("28F"), 1)
    (-2.2, -2.2)
    """
    plain = text.strip().upper().removesuffix("C").removesuffix("°").strip()
    try:
        if plain.endswith("F"):
            degrees = round((float(plain[:-1].rstrip("° ")) - 32) / 1.8, 1)  # records come in tenths
        else:
            degrees = float(plain)
    except ValueError:
        raise SettingError(f"'{text}' is not a temperature.", "Write it as 0, -2.2 or 28F.") from None
    if not -60 <= degrees <= 60:
        raise SettingError(f"{text} is outside -60 to 60 °C.", "Write °C as 0 or -2.2, °F as 28F.")
    return degrees


def open_record(record: str | None, input_units: str | None = None) -> Record:
    """A record by file, folder or kept station; the invented place where none is named.

    Raises `RecordError` where there is neither such a file nor such a kept station.
    """
    if record is None:
        from frostkit.demo.place import demo_record

        return demo_record()
    if Path(record).exists():
        from frostkit.records.readers import read

        return read(record, input_units=input_units)
    if not set(record) & set("/\\."):
        from frostkit.records.cache import Cache, folder

        kept = Cache(folder())
        if record in kept.ids():
            return kept.get(record)
    raise RecordError(
        f"There is no file or folder '{record}', and no station of that name is kept here.",
        "Check the path; 'frostkit record list' shows the stations that are kept.",
    )


def open_behind(
    record: str | None,
    input_units: str | None = None,
    seasons: tuple[int, int] | None = None,
    field_at: tuple[float, float] | None = None,
) -> Behind:
    """A record by name, folded into seasons, with the field's distance where it is said."""
    field = None if field_at is None else Station("field", "field", *field_at)
    return behind(open_record(record, input_units), field=field, seasons=seasons)
