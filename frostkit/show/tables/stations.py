"""Stations near a place, and the records that are kept, in the terminal."""

from collections.abc import Sequence
from math import isfinite

from frostkit.records.cache import Kept, Where
from frostkit.records.live import LICENCE, PROVIDER, Candidate
from frostkit.show.tables.terminal import filled


def candidates_text(found: Sequence[Candidate]) -> str:
    """Stations near a place: the recommended one first, each with its reason."""
    best = found[0]
    called = f"{best.station.name} ({best.station.id})" if best.station.name else best.station.id
    take = "Take" if best.recommended else "Nothing here carries odds; the nearest to it is"
    lines = [*filled(f"{take} {called}: {best.reason}."), ""]
    lines.append(
        f"  {'id':9}{'name':26}{'km':>5}{'m higher':>10}  {'span':12}{'complete':>9}  {'kept':5}why, or why not"
    )
    for one in found:
        span = f"{one.first.year}-{one.last.year}" if one.first and one.last else "not listed"
        higher = f"{one.higher:+.0f}" if isfinite(one.higher) else ""
        whole = f"{100 * one.complete:.0f} %" if isfinite(one.complete) else ""
        mark = "*" if one.recommended else " "
        lines.append(f"{mark} {one.station.id:9}{one.station.name[:25]:26}{one.distance:>5.0f}{higher:>10}  "
                     f"{span:12}{whole:>9}  {'yes' if one.kept else '':5}{one.reason}")  # fmt: skip
    lines += ["", f"Get it: frostkit record fetch {best.station.id}"]
    return "\n".join([*lines, *filled(f"Stations and spans: {PROVIDER}, {LICENCE}.")])


def kept_text(at: Where, found: Sequence[Kept]) -> str:
    """The kept records, and the folder."""
    if not found:
        return (
            f"No record is kept yet. {at.words()}\nGet one: frostkit record near LAT LON, then frostkit record fetch ID"
        )
    lines = [f"  {'id':13}{'name':26}{'first day':12}{'last day':12}{'days':>7}  {'fetched':12}"]
    for one in found:
        if one.problem:
            lines += filled(f"{one.id:13}{one.path.name}: {one.problem}", "! ", " " * 15)
            continue
        name = f"{one.name[:15]} (invented)" if one.invented else one.name[:25]
        first, last = (str(day or "") for day in (one.first, one.last))
        lines.append(f"  {one.id:13}{name:26}{first:12}{last:12}{one.days:>7}  {one.fetched[:10]:12}".rstrip())
        if one.missing_years:
            lines += filled(f"did not come: {one.missing_years}", " " * 15, " " * 15)
    lines += ["", at.words()]
    for source in dict.fromkeys((one.attribution, one.licence) for one in found if one.attribution):
        lines += filled(f"Data: {'; '.join(part for part in source if part)}.")
    return "\n".join(lines)


def dropped_text(gone: Sequence[Kept]) -> str:
    """What was removed."""
    lines = [f"Removed: {one.id}, {one.name or one.path.name}, {one.days:,} days"
             f"{f', {one.first} to {one.last}' if one.first else ''}." for one in gone]  # fmt: skip
    return "\n".join(lines or ["Removed the hours that were kept."])
