"""`frostkit setup`: units, language and record, said once."""

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from frostkit.errors import RecordError
from frostkit.show.commands.options import ELEVATION, FORCE, LONGITUDE, Latitude, no_record, open_cache
from frostkit.show.printed import echo, plain
from frostkit.show.texts import LANGUAGES

KEYS = {
    "language": ("units", "language"),
    "temperature": ("units", "temperature"),
    "mass": ("units", "mass"),
    "heat": ("units", "heat"),
    "record": ("place", "record"),
    "input_units": ("place", "input_units"),
    "name": ("station", "name"),
    "latitude": ("station", "latitude"),
    "longitude": ("station", "longitude"),
    "elevation": ("station", "elevation"),
}
"""Option: its table and key in the settings file."""
QUESTIONS = (
    ("language", "Language", LANGUAGES, "en"),
    ("temperature", "Degrees", ("C", "F"), "C"),
    ("mass", "Weights and areas", ("kg/ha", "lb/ac"), "kg/ha"),
    ("heat", "Heat: corn heat units or degree days", ("chu", "degree-days"), "degree-days"),
    ("record", "Your record (a file, a folder, or the ID of a kept station; nothing: the invented place)", None, ""),
)
"""What is asked: the option, in words, what is allowed, and what stands for no answer."""


@click.command(
    "setup",
    epilog="""\b
Examples:
  frostkit setup
  frostkit setup --language fr --temperature F --mass lb/ac
  frostkit setup --record station.dly --field-at 50.1 -101.2
  frostkit setup --show
  frostkit setup --forget""",
)
@click.option("--language", type=click.Choice(LANGUAGES), help="Language of answers.")
@click.option("--temperature", type=click.Choice(["C", "F"]), help="Degrees.")
@click.option("--mass", type=click.Choice(["kg/ha", "lb/ac"]), help="Weights and areas.")
@click.option("--heat", type=click.Choice(["chu", "degree-days"]), help="How frostkit heat counts.")
@click.option("--record", type=click.Path(), help="Your record: a file, a folder, or the ID of a kept station.")
@click.option("--input-units", type=click.Choice(["C", "F"]), help="Units of a record that doesn't say.")
@click.option("--field-at", type=(Latitude("The field"), LONGITUDE), metavar="LAT LON", help="Where your field lies.")
@click.option("--name", help="The station's name, where its file doesn't say.")
@click.option("--latitude", type=Latitude("The station"), help="The station's, degrees north, likewise.")
@click.option("--longitude", type=LONGITUDE, help="The station's, degrees east, likewise.")
@click.option("--elevation", type=ELEVATION, help="The station's, m, likewise.")
@click.option("--show", is_flag=True, help="Say what is set.")
@click.option("--forget", is_flag=True, help="Take the settings away.")
@FORCE
def command(show: bool, forget: bool, field_at: tuple[float, float] | None, **said: Any) -> None:
    """Say your units, language and record once: every command, page, picture and notebook then keeps to them.

    A farm's settings file goes before them, and what is typed before both. Without options it asks.
    """
    from frostkit.show import settings
    from frostkit.show.written import settings_file

    if forget:
        there = settings_file().exists()
        echo(f"Taken away: {settings.forget()}." if there else "Nothing is set.")
        return
    known = settings.load() or settings.Settings()
    given = {key: value for key, value in said.items() if value is not None}
    if not given and field_at is None and not show and asks():
        given = _asked(known)
    tables = known.model_dump(exclude_none=True)
    for key, value in given.items():
        table, name = KEYS[key]
        tables[table][name] = _whole(value) if key == "record" else value
    if "record" in given and tables["place"]["record"] != known.place.record:
        _another(tables, given)
    if field_at is not None:
        tables["place"] |= {"latitude": field_at[0], "longitude": field_at[1]}
    kept = settings.Settings.model_validate(tables)
    if given or field_at is not None:
        settings.save(kept)
    echo(f"Settings: {settings_file()}{'' if settings_file().exists() else ' (nothing is set yet)'}")
    for table, values in kept.model_dump(exclude_none=True).items():
        for key, value in values.items():
            echo(f"  {table}.{key} = {plain(str(value))}")


def asks() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin.isatty()


def _asked(known: Any) -> dict[str, str]:
    """Every setting asked for, with what is set as the default."""
    given = {}
    for key, what, allowed, otherwise in QUESTIONS:
        table, name = KEYS[key]
        now = getattr(getattr(known, table), name) or otherwise
        how = {"type": click.Choice(allowed)} if allowed else {"value_proc": _found}
        answer = click.prompt(what, default=now, show_default=bool(now), **how)
        if answer:
            given[key] = answer
    return given


def _found(record: str) -> str:
    """A record as it was answered; one that is not there is asked for again."""
    try:
        return _whole(record) if record else ""
    except RecordError as fault:
        raise click.UsageError(f"{fault.what} {fault.do}") from None


def _another(tables: dict[str, Any], given: Mapping[str, Any]) -> None:
    """Another record: what was said of the last one's file goes, unless it was said again."""
    for key in ("input_units", "name", "latitude", "longitude", "elevation"):
        table, name = KEYS[key]
        if key not in given:
            tables[table].pop(name, None)


def _whole(record: str) -> str:
    """A record's path from the root where it is one, so that it is found from any folder; a station's ID as it is."""
    path = Path(record)
    if path.exists():
        return str(path.resolve())
    if record in open_cache().ids():
        return record
    raise no_record(record)
