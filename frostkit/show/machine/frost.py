"""`frostkit frost --json`."""

from frostkit.answers.cautions import as_dicts
from frostkit.answers.frosts import FrostAnswer
from frostkit.show.machine.parts import odds_list, pairs, whole


def season_rows(answer: FrostAnswer) -> list[dict]:
    """A row a season: its last spring frost, first fall frost, and the days between."""
    return [
        {
            "season": int(season),
            "last_spring": spring,
            "first_fall": fall,
            "frost_free_days": [whole(least), whole(most)],
        }
        for season, spring, fall, least, most in zip(
            answer.behind.cube.seasons, pairs(answer.spring), pairs(answer.fall), *answer.between, strict=True
        )
    ]


def frost(answer: FrostAnswer) -> dict:
    """`frostkit frost --json`."""
    return {
        "station": answer.behind.as_dict(),
        "threshold_c": answer.threshold,
        "seasons": season_rows(answer),
        "odds": {"first_fall": odds_list(answer.fall_odds), "last_spring": odds_list(answer.spring_odds)},
        "cautions": as_dicts(answer.cautions),
    }
