"""Finding, fetching and keeping stations' records: the part of `frostkit record` that may need a network."""

from collections.abc import Callable
from typing import Any

import click

from frostkit.show.commands.options import (
    CACHE,
    ELEVATION,
    LONGITUDE,
    Latitude,
    loaded_with_notes,
    open_cache,
    with_options,
)
from frostkit.show.commands.progress import progress
from frostkit.show.commands.question import OUT, write


def _command(name: str, short: str, examples: str, *options: Callable, loose: bool = False) -> Callable:
    """A command that looks for stations or keeps them: its options, and those of every answer."""

    def made(function: Callable) -> click.Command:
        settings = {"ignore_unknown_options": True} if loose else {}
        epilog = f"\b\nExamples:\n{examples}"
        return click.command(name, short_help=short, context_settings=settings, epilog=epilog)(
            with_options(*options, CACHE, *OUT)(function)
        )

    return made


def _say(answer: Any, out: dict[str, Any]) -> None:
    """An answer, as the options of its output want it; a list of stations with all its rows."""
    from frostkit.public import Shown

    out["whole"] = out["whole"] or answer.question == "stations"
    write(Shown(answer, out.pop("language"), out.pop("units")), **out, picture=None)


@_command(
    "near",
    "Stations near a place, the best one first.",
    "  frostkit record near 49.9 -99.9\n  frostkit record near 49.9 -99.9 --elevation 410",
    click.argument("latitude", type=Latitude("The place"), metavar="LAT"),
    click.argument("longitude", type=LONGITUDE, metavar="LON"),
    click.option(
        "--elevation", type=ELEVATION, metavar="M", help="Height of the field, to compare with the stations'."
    ),
    click.option("--limit", default=8, show_default=True, type=click.IntRange(1, 50), help="How many to list."),
    loose=True,
)
def near(latitude, longitude, elevation, limit, **out):
    """Stations near a place, degrees north and east (west is negative): how far, how long, how whole, which to take."""
    from frostkit.answers.station.stations import near as answer
    from frostkit.records.live import LICENCE, PROVIDER, near as look

    found = look(latitude, longitude, elevation, cache=open_cache(say=True), limit=limit)
    _say(answer(found, PROVIDER, LICENCE), out)


@_command(
    "fetch",
    "Get a station's record and keep it.",
    '  frostkit record fetch 71140\n  frostkit record fetch "49.9 N, 99.9 W"\n'
    "  frostkit record fetch 49.9 -99.9 --elevation 410\nThen: frostkit window 71140",
    click.argument("station_or_place", nargs=-1, required=True, metavar='ID or "LAT, LON"'),
    click.option("--elevation", type=ELEVATION, metavar="M", help="Height of the field, where a place is given."),
    loose=True,
)
def fetch(station_or_place, elevation, **out):
    """Get the record of a station, or of the best station near a place, and keep it for the next time.

    A record that is kept already is shown as it is; 'refresh' adds its new days.
    """
    record, notes = loaded_with_notes(" ".join(station_or_place), elevation)
    _told(record, notes, out)


@_command(
    "list",
    "The records that are kept here.",
    "  frostkit record list\n  frostkit record list --cache data_cache --json",
)
def kept(**out):
    """Every record that is kept: span, days, where it came from and when, and what is wrong with its file."""
    from frostkit.answers.station.stations import kept as answer
    from frostkit.records.cache import where
    from frostkit.show.commands.options import noted

    _say(answer(where(noted("cache")), open_cache().listed()), out)


@_command(
    "refresh",
    "Add the provider's new days to a kept record.",
    "  frostkit record refresh 71140\n  frostkit record refresh 71140 --accept",
    click.argument("station", metavar="ID"),
    click.option(
        "--accept", is_flag=True, help="Take over readings that the provider changed; else the kept ones stand."
    ),
)
def refresh(station, accept, **out):
    """Add new days to a kept record. Nothing kept is lost; what the provider changed is told, not taken over."""
    from frostkit.records.live import refresh as renew

    with progress() as step:
        come = renew(station, accept, cache=open_cache(say=True), progress=step)
    _told(come.record, come.notes, out)


@_command("drop", "Remove a kept record.", "  frostkit record drop 71140", click.argument("station", metavar="ID"))
def drop(station, **out):
    """Remove a station's kept record, its hours, and what was set aside of it."""
    from frostkit.answers.station.stations import dropped

    _say(dropped(open_cache().drop(station)), out)


def _told(record, notes, out):
    """What came: the record as `record show` has it, checked, with what there is to say of its coming."""
    from dataclasses import replace

    from frostkit.answers.answer import Says
    from frostkit.answers.station.record import completeness
    from frostkit.ensemble.site import Site
    from frostkit.show.commands.options import checked

    answer = completeness(Site(checked(record, record.station.id)))
    come = answer.with_more([Says("note", {"note": note}) for note in notes], {"come": list(notes)})
    _say(replace(come, next=Says("do_window", {"id": record.station.id})), out)
