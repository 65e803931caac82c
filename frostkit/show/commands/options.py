"""What commands share: the record, crops, days and odds as a person types them."""

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from frostkit.answers.units import celsius as celsius
from frostkit.ensemble.site import Site, northern
from frostkit.errors import RecordError, SettingError, nearest
from frostkit.opening import there
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import from_code, from_date
from frostkit.show.printed import echo

if TYPE_CHECKING:  # commands start without them
    from frostkit.records.cache import Cache
    from frostkit.records.field import Offset


class Day(click.ParamType):
    """A day of the season, given back as its column."""

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


class Within(click.ParamType):
    """A number within a range; beyond it is a slip of the hand.

    what : says what is wrong, with the number as {value}; do : what to do
    """

    name = "NUMBER"

    def __init__(self, low: float, high: float, what: str, do: str):
        self.low, self.high, self.what, self.do = low, high, what, do

    def convert(self, value, param, ctx):
        try:
            number = float(value)
        except (TypeError, ValueError):
            self.fail(f"'{value}' is not a number.", param, ctx)
        if not self.low <= number <= self.high:
            allowed = f"{self.low:,g} to {self.high:,g}"
            raise SettingError(f"{self.what.format(value=f'{number:g}')}; allowed: {allowed}.", self.do)
        return number


class Latitude(click.ParamType):
    """Degrees north, where answers are built for."""

    name = "NUMBER"

    def __init__(self, whose: str):
        self.whose = whose

    def convert(self, value, param, ctx):
        try:
            number = float(value)
        except (TypeError, ValueError):
            self.fail(f"'{value}' is not a number.", param, ctx)
        if number != number:
            self.fail(f"'{value}' is not a number.", param, ctx)
        return northern(number, self.whose)


class Date(click.ParamType):
    """A date with its year, given back as YYYY-MM-DD."""

    name = "YYYY-MM-DD"

    def convert(self, value, param, ctx):
        day = from_date(value)
        if not 1700 <= day.year <= 2200:
            raise SettingError(f"The year {day.year} is outside 1700 to 2200.", "Write YYYY-MM-DD, such as 2020-09-01.")
        return day.isoformat()


DAY, SPAN, DATE = Day(), Span(), Date()
ODDS = Within(0.05, 0.99, "Odds of {value} can't be wanted", "Give odds such as 0.8 for 8 in 10.")
LONGITUDE = Within(-180, 180, "Longitude {value} can't be", "Give degrees east, west with a minus, such as -99.9.")
ELEVATION = Within(-500, 6000, "A height of {value} m can't be", "Give metres above the sea.")
MONEY = Within(-1e9, 1e9, "An amount of {value} can't be weighed", "Give money or any unit, such as 900.")
AFTER = click.IntRange(-60, 60)
_PLACE = re.compile(r"\s*-?\d+(\.\d+)?\s*°?\s*[NSns]?\s*[,; ]\s*-?\d+(\.\d+)?\s*°?\s*[EWew]?\s*")  # as live.place


def _noted(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    """Keep the value for `noted`: options of the record that commands need not pass on."""
    context.meta[f"frostkit.{parameter.name}"] = value
    context.meta[f"frostkit.typed.{parameter.name}"] = typed_now(str(parameter.name))


def noted(name: str, default: Any = None) -> Any:
    """What was typed for an option of the record; the default outside of a command."""
    context = click.get_current_context(silent=True)
    value = None if context is None else context.meta.get(f"frostkit.{name}")
    return default if value is None else value


def typed_now(name: str) -> bool:
    """Whether an option or argument was typed, and does not come from a settings file."""
    context = click.get_current_context(silent=True)
    return context is not None and context.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE


def _quiet(*names: str, **how: Any) -> Callable:
    return click.option(*names, expose_value=False, callback=_noted, **how)


CHECK = _quiet(
    "--check/--no-check",
    default=None,
    help="Mask readings that fail the quality checks; left out: done for stations from the provider, not for files.",
)
CACHE = _quiet("--cache", type=click.Path(file_okay=False), metavar="FOLDER", help="Folder of kept records.")
_RECORD = (
    click.argument("record", required=False, metavar="[RECORD]"),
    click.option(
        "--input-units", type=click.Choice(["C", "F", "K", "tenths"]), help="Units of a file that doesn't say."
    ),
    click.option("--seasons", type=SPAN, help="Only these seasons, such as 1991-2020."),
    click.option(
        "--field-at",
        type=(Latitude("The field"), LONGITUDE),
        metavar="LAT LON",
        help="Where the field lies, degrees north and east.",
    ),
    _quiet(
        "--latitude", type=Latitude("The station"), help="The station's, degrees north, where the file doesn't say."
    ),
    _quiet("--longitude", type=LONGITUDE, help="The station's, degrees east, where the file doesn't say."),
    _quiet("--elevation", type=ELEVATION, help="The station's, m, where the file doesn't say."),
    _quiet("--name", help="The station's name, where the file doesn't say."),
    _quiet("--station", help="Which station of a file that holds several: its name, its number, or lat,lon."),
    CHECK,
    CACHE,
)
_DETAILS = ("name", "latitude", "longitude", "elevation", "station")
_LOW_SPOT = (
    _quiet("--colder-by", type=float, metavar="DEGREES", help="The field is a low spot: so many °C colder than the "
           "station on clear, calm nights."),
    _quiet("--all-nights", is_flag=True, help="--colder-by holds on every night."),
)  # fmt: skip
_FIELD = (
    *_LOW_SPOT,
    _quiet("--logger", type=click.Path(exists=True, dir_okay=False), metavar="FILE",
           help="The field's own logger (CSV): its offset, with its scatter, goes into the odds."),
    _quiet("--logger-units", type=click.Choice(["C", "F"]), help="Units of a logger's file that doesn't say."),
)  # fmt: skip


_CLIMATE = (
    click.option("--climate", type=click.Choice(["today", "as-read"]), default="today", show_default=True,
                 help="Past seasons as they would come in today's climate, or as they were read."),
    click.option("--for-season", type=int, metavar="YEAR",
                 help="Odds for that season, from earlier seasons alone; left out: the coming one."),
    click.option("--neighbour", multiple=True, metavar="RECORD",
                 help="Another station, whose days help to fill holes; again for more."),
)  # fmt: skip
RECORD_ONLY = ("record", "input_units", "seasons", "field_at", "climate", "for_season", "neighbour")


def with_options(*options: Callable) -> Callable:
    """Several options as one decorator, in the order in which help lists them."""

    def decorated(command: Callable) -> Callable:
        for option in reversed(options):
            command = option(command)
        return command

    return decorated


def record_options(command: Callable) -> Callable:
    """RECORD and what belongs to it: a file or folder, a kept station, a place, or nothing for the invented place."""
    return with_options(*_RECORD)(command)


def site_options(command: Callable, field: bool = True) -> Callable:
    """RECORD, the climate asked for and, where `field`, how the field's nights differ from the station's."""
    return with_options(*_RECORD, *_CLIMATE, *(_FIELD if field else ()))(command)


JSON = click.option("--json", "as_json", is_flag=True, help="The answer for programs.")
FORCE = _quiet("--force", is_flag=True, help="Replace a file that frostkit did not write.")
CSV = click.option("--csv", "as_csv", is_flag=True, help="The table for programs; cautions go to the error stream.")


def open_record(
    record: str | None, input_units: str | None = None, check: bool | None = None, told: bool = True
) -> Record:
    """A record by file, folder, kept station or place; the invented place where none is named.

    Parameters
    ----------
    record : file, folder, id of a kept station, or a place such as "49.9 N, 99.9 W", whose station is then fetched
    check : whether readings that fail the quality checks are masked; left out, as typed (`--check`, `--no-check`), else
        only for stations from the provider: a file is taken as it is, for the checks mask some true readings too
    told : whether what was typed of the station (`--name`, `--latitude` ...) is said of this record

    `source["checks"]` of the record says how many readings were masked, or "no" where it was not checked.

    Raises `RecordError` where there is neither such a file nor such a kept station.
    """
    read, own = _read(record, input_units, told)
    wanted = noted("check") if check is None else check
    if wanted or (wanted is None and not own):
        return checked(read, record)
    return read if read.invented else replace(read, source={**read.source, "checks": "no"})


def checked(read: Record, name: str | None) -> Record:
    """A record with the readings masked that fail a quality check.

    Raises `RecordError` where they are over 3 % of Tmin or of Tmax: that is no slip any more.
    """
    from frostkit.records.checks import check, few
    from frostkit.records.gates import counted

    whole, findings = check(read)
    few(read, findings, f"See frostkit record check {name}; --no-check takes the readings as they are.")
    return counted(replace(whole, source={**whole.source, "checks": str(len(findings))}))


def _read(record: str | None, input_units: str | None, told: bool) -> tuple[Record, bool]:
    """A record, and whether it is the person's own: a file, a folder, or the invented place."""
    if record is None:
        from frostkit.demo.place import demo_record

        return demo_record(), True
    if there(record):
        from frostkit.records.readers import read

        of_settings = not typed_now("record")  # what is set up of one station says nothing of another
        if not of_settings and not typed_now("input_units"):
            input_units = None
        said = {name: noted(name) for name in _DETAILS if told and (of_settings or noted(f"typed.{name}"))}
        return read(record, input_units=input_units, **said), True
    if _PLACE.fullmatch(record):
        found, notes = loaded_with_notes(record)
        echo("\n".join(notes), err=True)
        return found, False
    if not set(record) & set("/\\."):
        from frostkit.records.gates import passed

        kept = open_cache()
        if record.upper() in kept.ids():
            return passed(kept.get(record)), False
    raise no_record(record)


def no_record(record: str) -> RecordError:
    """That there is neither such a file nor such a kept station, with what may have been meant."""
    return RecordError(
        f"There is no file or folder '{record}', and no station of that name is kept here.{_meant(record)}",
        "Check the path; 'frostkit record list' shows the stations that are kept.",
    )


def _meant(record: str) -> str:
    """'Did you mean ...?': a file or folder beside what was typed, or a kept station."""
    path = Path(record)
    try:
        beside = [str(one) for one in islice(path.parent.iterdir(), 1000) if not one.name.startswith(".")]
    except (OSError, ValueError):
        beside = []
    return nearest(record, [*beside, *open_cache().ids()]) or nearest(record.upper(), open_cache().ids())


def open_cache(say: bool = False) -> "Cache":
    """The kept records, in the folder asked for; `say`: name that folder, on the error stream, where it is new."""
    from frostkit.records.cache import Cache, where

    at = where(noted("cache"))
    if say and not at.path.is_dir():
        echo(at.words(), err=True)
    return Cache(at.path)


def loaded_with_notes(record: str, elevation: float | None = None) -> tuple[Record, tuple[str, ...]]:
    """The record of a station or place from the provider, or as it is kept, and what there is to say of it."""
    from frostkit.records.live import load, place
    from frostkit.show.commands.progress import progress

    if (at := place(record)) is not None:
        northern(at[0], "The place")

    with progress() as step:
        come = load(record, elevation, cache=open_cache(say=True), progress=step)
    return come.record, come.notes


def offset_of(station: Record) -> "Offset | None":
    """How the field differs from the station, as typed or from its logger; None where nothing was said.

    Raises `SettingError` where both are given.
    """
    degrees, logger = noted("colder_by"), noted("logger")
    if degrees is None and logger is None:
        return None
    if noted("typed.colder_by", False) and not noted("typed.logger", False):
        logger = None  # what is typed goes before the farm's settings
    if degrees is not None and logger is not None:
        raise SettingError("--colder-by and --logger say the same thing twice.", "Give one of them.")
    from frostkit.records.field import compare, low_spot
    from frostkit.records.logger import read_logger

    if logger is None:
        return low_spot(float(degrees), clear_nights_only=not noted("all_nights", False))
    return compare(station, read_logger(logger, noted("logger_units")).record)


def open_site(typed: dict[str, Any]) -> Site:
    """The site of a command, from the options of `site_options`, which are taken out of what was typed."""
    record, input_units, seasons, field_at, climate, for_season, neighbours = (
        typed.pop(name, None) for name in RECORD_ONLY
    )
    station = open_record(record, input_units)
    return Site(
        station,
        None if field_at is None else Station("field", "field", *field_at),
        offset_of(station),
        (climate or "today").replace("-", " "),
        for_season,
        seasons,
        tuple(open_record(name, input_units, told=False) for name in neighbours or ()),
    )
