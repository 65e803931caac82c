"""`frostkit setup`: units, language and record, said once."""

import sys
from typing import Any

import click

from frostkit.show.commands.options import LONGITUDE, Latitude
from frostkit.show.printed import echo, plain
from frostkit.show.texts import LANGUAGES

KEYS = {
    "language": ("units", "language"),
    "temperature": ("units", "temperature"),
    "mass": ("units", "mass"),
    "heat": ("units", "heat"),
    "record": ("place", "record"),
    "input_units": ("place", "input_units"),
}
"""Option: its table and key in the settings file."""
QUESTIONS = (
    ("language", "Language", LANGUAGES),
    ("temperature", "Degrees", ("C", "F")),
    ("mass", "Weights", ("kg/ha", "lb/ac")),
    ("heat", "Heat", ("chu", "degree-days")),
    ("record", "Your record (a file, a folder, or the ID of a kept station; nothing: the invented place)", None),
)


@click.command(
    "setup",
    short_help="Your units, language and record, said once.",
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
@click.option("--show", is_flag=True, help="Say what is set.")
@click.option("--forget", is_flag=True, help="Take the settings away.")
def command(show: bool, forget: bool, field_at: tuple[float, float] | None, **said: Any) -> None:
    """Say your units, language and record once: every command, page, picture and notebook then keeps to them.

    A farm's settings file goes before them, and what is typed before both. Without options it asks.
    """
    from frostkit.show import settings

    if forget:
        settings.path().unlink(missing_ok=True)
        echo(f"Taken away: {settings.path()}. Answers are in English and metric units, for the invented place.")
        return
    known = settings.load() or settings.Settings()
    given = {key: value for key, value in said.items() if value is not None}
    if not given and field_at is None and not show and sys.stdin.isatty():
        given = _asked(known)
    tables = known.model_dump(exclude_none=True)
    for key, value in given.items():
        table, name = KEYS[key]
        tables[table][name] = _whole(value) if key == "record" else value
    if field_at is not None:
        tables["place"] |= {"latitude": field_at[0], "longitude": field_at[1]}
    kept = settings.Settings.model_validate(tables)
    if given or field_at is not None:
        settings.save(kept)
    echo(f"Settings: {settings.path()}{'' if settings.path().exists() else ' (nothing is set yet)'}")
    for table, values in kept.model_dump(exclude_none=True).items():
        for key, value in values.items():
            echo(f"  {table}.{key} = {plain(str(value))}")


def _asked(known: Any) -> dict[str, str]:
    """Every setting asked for, with what is set as the default."""
    given = {}
    for key, what, allowed in QUESTIONS:
        table, name = KEYS[key]
        now = getattr(getattr(known, table), name)
        kind = click.Choice(allowed) if allowed else str
        answer = click.prompt(what, default="" if now is None else now, type=kind, show_default=now is not None)
        if answer:
            given[key] = answer
    return given


def _whole(record: str) -> str:
    """A record's path from the root where it is one, so that it is found from any folder; a station's ID as it is."""
    from pathlib import Path

    from frostkit.errors import SettingError
    from frostkit.show.commands.options import open_cache

    path = Path(record)
    if path.exists():
        return str(path.resolve())
    if record in open_cache().ids():
        return record
    raise SettingError(
        f"There is no file or folder '{record}', and no station of that name is kept here.",
        "Check the path; 'frostkit record list' shows the stations that are kept.",
    )
