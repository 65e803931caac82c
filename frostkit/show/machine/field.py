"""`frostkit record field --json`."""

from typing import Any

from frostkit.answers.cautions import as_dicts
from frostkit.answers.logged import Logged
from frostkit.records.field import NIGHTS, SEASONS
from frostkit.show.machine.parts import number, odds_list


def field(answer: Logged) -> dict[str, Any]:
    """The offset, cell by cell, and the frost odds of station and field."""
    offset = answer.offset
    return {
        "station": answer.behind.as_dict(),
        "logger": {
            "name": answer.logger,
            "from": str(answer.first),
            "to": str(answer.last),
            "hourly": answer.hourly,
            "nights": int(offset.nights.sum()),
        },
        "offset_c": [
            {
                "season": season,
                "nights_are": kind,
                "mean": number(offset.mean[row, column], 2),
                "error": number(offset.error[row, column], 2),
                "scatter_of_a_night": number(offset.scatter[column], 2),
                "nights": int(offset.nights[row, column]),
            }
            for row, season in enumerate(SEASONS)
            for column, kind in enumerate(NIGHTS)
        ],
        "said": list(answer.said()),
        "threshold_c": answer.here.threshold,
        "odds": {
            where: {"first_fall": odds_list(of.fall_odds), "last_spring": odds_list(of.spring_odds)}
            for where, of in (("station", answer.here), ("field", answer.there))
        },
        "cautions": as_dicts(answer.here.cautions),
    }
