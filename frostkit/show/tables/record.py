"""A record in the terminal."""

from math import isfinite

from frostkit.answers.holdings import Holdings
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text


def holdings_text(answer: Holdings, each: bool = False) -> str:
    """What a record holds, in words."""
    behind = answer.behind
    station = behind.station
    lines = [
        f"{phrases.station_name(SAY, behind)}"
        + (f" ({station.id})" if station.id and station.id != station.name else "")
    ]
    if isfinite(station.latitude):
        lines.append(
            f"  {abs(station.latitude):.3f} °{'N' if station.latitude >= 0 else 'S'}, "
            f"{abs(station.longitude):.3f} °{'E' if station.longitude >= 0 else 'W'}"
            + (f", {station.elevation:.0f} m" if isfinite(station.elevation) else "")
        )
    first, last = behind.span
    lines.append(
        f"  {first}-{last}: {int(behind.complete.sum())} of {behind.complete.size} seasons complete from "
        f"{words(answer.first)} to {words(answer.last)}."
    )
    days = (answer.last - answer.first + 1) * behind.complete.size
    lines.append(
        f"  Missing in that time of year: minimum {100 * answer.missing_tmin.sum() / days:.1f} %, maximum "
        f"{100 * answer.missing_tmax.sum() / days:.1f} % of days."
    )
    lines.append("  Complete: no run of more than 3 days without heat, and no missing day that could have been 0 °C.")
    lines += [f"  Repaired on the way in: {repair}" for repair in behind.repairs]
    if each or not behind.complete.all():
        lines += ["", f"  {'season':8}{'no minimum':>12}{'no maximum':>12}{'longest run':>13}  complete"]
        for index, season in enumerate(behind.cube.seasons):
            if each or not behind.complete[index]:
                lines.append(
                    f"  {season:<8}{answer.missing_tmin[index]:>12}{answer.missing_tmax[index]:>12}"
                    f"{answer.longest[index]:>13}  {'yes' if behind.complete[index] else 'no'}"
                )
    return "\n".join([*lines, "", *behind_text(behind)])
