"""`frostkit record --json`."""

from frostkit.answers.holdings import Holdings
from frostkit.seasons.calendar import code


def holdings(answer: Holdings) -> dict:
    """`frostkit record show --json`."""
    rows = zip(
        answer.behind.cube.seasons,
        answer.missing_tmin,
        answer.missing_tmax,
        answer.longest,
        answer.behind.complete,
        strict=True,
    )
    return {
        "station": answer.behind.as_dict(),
        "judged": [code(answer.first), code(answer.last)],
        "seasons": [
            {
                "season": int(season),
                "missing_tmin": int(tmin),
                "missing_tmax": int(tmax),
                "longest_run": int(run),
                "complete": bool(whole),
            }
            for season, tmin, tmax, run, whole in rows
        ],
    }
