"""Finding, fetching and keeping stations' records: the part of `frostkit record` that may need a network."""

import click

from frostkit.show.commands.options import CACHE, ELEVATION, JSON, LONGITUDE, Latitude, loaded_with_notes, open_cache
from frostkit.show.commands.progress import progress
from frostkit.show.printed import echo


@click.command("near", short_help="Stations near a place, the best one first.",
               context_settings={"ignore_unknown_options": True}, epilog="""\b
Examples:
  frostkit record near 49.9 -99.9
  frostkit record near 49.9 -99.9 --elevation 410""")  # fmt: skip
@click.argument("latitude", type=Latitude("The place"), metavar="LAT")
@click.argument("longitude", type=LONGITUDE, metavar="LON")
@click.option("--elevation", type=ELEVATION, metavar="M", help="Height of the field, to compare with the stations'.")
@click.option("--limit", default=8, show_default=True, type=click.IntRange(1, 50), help="How many to list.")
@CACHE
@JSON
def near(latitude, longitude, elevation, limit, as_json):
    """Stations near a place, degrees north and east (west is negative): how far, how long, how whole, which to take."""
    from frostkit.records.live import near as look

    found = look(latitude, longitude, elevation, cache=open_cache(say=True), limit=limit)
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.stations import candidates

        echo(text(candidates(found)))
        return
    from frostkit.show.tables.stations import candidates_text

    echo(candidates_text(found))


@click.command("fetch", short_help="Get a station's record and keep it.",
               context_settings={"ignore_unknown_options": True}, epilog="""\b
Examples:
  frostkit record fetch 71140
  frostkit record fetch "49.9 N, 99.9 W"
  frostkit record fetch 49.9 -99.9 --elevation 410
Then: frostkit window 71140""")  # fmt: skip
@click.argument("station_or_place", nargs=-1, required=True, metavar='ID or "LAT, LON"')
@click.option("--elevation", type=ELEVATION, metavar="M", help="Height of the field, where a place is given.")
@CACHE
@JSON
def fetch(station_or_place, elevation, as_json):
    """Get the record of a station, or of the best station near a place, and keep it for the next time.

    A record that is kept already is shown as it is; 'refresh' adds its new days.
    """
    record, notes = loaded_with_notes(" ".join(station_or_place), elevation)
    _told(record, notes, as_json)


@click.command("list", short_help="The records that are kept here.", epilog="""\b
Examples:
  frostkit record list
  frostkit record list --cache data_cache --json""")  # fmt: skip
@CACHE
@JSON
def kept(as_json):
    """Every record that is kept: span, days, where it came from and when, and what is wrong with its file."""
    from frostkit.records.cache import where
    from frostkit.show.commands.options import noted

    at = where(noted("cache"))
    found = open_cache().listed()
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.stations import kept as as_dict

        echo(text(as_dict(at, found)))
        return
    from frostkit.show.tables.stations import kept_text

    echo(kept_text(at, found))


@click.command("refresh", short_help="Add the provider's new days to a kept record.", epilog="""\b
Examples:
  frostkit record refresh 71140
  frostkit record refresh 71140 --accept""")  # fmt: skip
@click.argument("station", metavar="ID")
@click.option("--accept", is_flag=True, help="Take over readings that the provider changed; else the kept ones stand.")
@CACHE
@JSON
def refresh(station, accept, as_json):
    """Add new days to a kept record. Nothing kept is lost; what the provider changed is told, not taken over."""
    from frostkit.records.live import refresh as renew

    with progress() as step:
        come = renew(station, accept, cache=open_cache(say=True), progress=step)
    _told(come.record, come.notes, as_json)


@click.command("drop", short_help="Remove a kept record.", epilog="""\b
Examples:
  frostkit record drop 71140""")  # fmt: skip
@click.argument("station", metavar="ID")
@CACHE
@JSON
def drop(station, as_json):
    """Remove a station's kept record, its hours, and what was set aside of it."""
    gone = open_cache().drop(station)
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.stations import dropped

        echo(text(dropped(gone)))
        return
    from frostkit.show.tables.stations import dropped_text

    echo(dropped_text(gone))


def _told(record, notes, as_json):
    """What came: the notes, then the record as `record show` has it, checked."""
    from frostkit.answers.holdings import holdings
    from frostkit.answers.station import behind
    from frostkit.show.commands.options import checked

    answer = holdings(behind(checked(record, record.station.id)))
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.record import holdings as as_dict

        echo(text({"notes": list(notes), **as_dict(answer)}))
        return
    from frostkit.show.tables.record import holdings_text

    echo("\n".join([*notes, "", holdings_text(answer)] if notes else [holdings_text(answer)]))
    echo(f"Next: frostkit window {record.station.id}")
