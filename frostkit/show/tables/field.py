"""A field's logger against the station, in the terminal."""

import numpy as np

from frostkit.answers.logged import Logged
from frostkit.records.field import NIGHTS, SEASONS
from frostkit.seasons.calendar import words
from frostkit.show.tables.terminal import behind_text, cautions_text, filled


def field_text(answer: Logged) -> str:
    """Offset by season and kind of night, with scatter and nights, and the frost dates of station and field."""
    offset, kinds = answer.offset, range(len(NIGHTS))[::-1]  # clear nights first: they matter
    lines = [f"{answer.logger} against {answer.behind.station.name or answer.behind.station.id}: "
             f"{', '.join(f'{_degrees(answer.mean(kind))} on {NIGHTS[kind]} nights' for kind in kinds)}.",
             f"  {int(offset.nights.sum())} nights with both, from {answer.first} to {answer.last}"
             f"{' (hours)' if answer.hourly else ''}.", ""]  # fmt: skip
    lines.append(f"  {'':10}" + "".join(f"{f'{NIGHTS[kind]}: °C':>28}{'nights':>8}" for kind in kinds))
    for row, season in enumerate(SEASONS):
        cells = ""
        for kind in kinds:
            seen = offset.nights[row, kind]
            mean = f"{offset.mean[row, kind]:+.1f} (±{offset.error[row, kind]:.1f})" if seen else "not logged"
            cells += f"{mean:>28}{seen:>8}"
        lines.append(f"  {season:10}{cells}")
    spread = "".join(f"{f'±{offset.scatter[kind]:.1f}':>28}{'':>8}" for kind in kinds)
    lines += [f"  {'one night':10}{spread}".rstrip(), ""]
    lines += [part for line in answer.said() for part in filled(line)]
    lines.append(f"  {'half the seasons':22}{'at the station':>18}{'in the field':>18}")
    for title, name in (("last spring frost by", "spring_odds"), ("first fall frost by", "fall_odds")):
        here, there = (_half(getattr(of, name)) for of in (answer.here, answer.there))
        lines.append(f"  {title:22}{here:>18}{there:>18}")
    lines += ["", *behind_text(answer.behind), *cautions_text(answer.here.cautions)]
    return "\n".join(lines)


def _degrees(offset: float) -> str:
    return f"{abs(offset):.1f} °C {'colder' if offset <= 0 else 'warmer'}"


def _half(odds) -> str:
    reached = np.flatnonzero(odds.share >= 0.5 - 1e-12)
    return words(odds.day[reached[0]]) if reached.size else "not known"
