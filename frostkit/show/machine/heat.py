"""`frostkit heat --json`."""

from dataclasses import asdict

from frostkit.answers.warmth import HeatAnswer
from frostkit.seasons.calendar import code
from frostkit.show.machine.parts import number


def season_rows(answer: HeatAnswer) -> list[dict]:
    """A row a season: heat gathered, a range where days are missing, and how many are."""
    return [
        {"season": int(season), "total": [number(low, 2), number(high, 2)], "missing_days": int(days)}
        for season, low, high, days in zip(
            answer.behind.cube.seasons, answer.least, answer.most, answer.missing, strict=True
        )
    ]


def heat(answer: HeatAnswer) -> dict:
    """`frostkit heat --json`."""
    return {
        "station": answer.behind.as_dict(),
        "unit": answer.clock.unit,
        "method": {**asdict(answer.clock), "from": code(answer.first), "to": code(answer.last)},
        "seasons": season_rows(answer),
    }
