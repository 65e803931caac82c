"""`frostkit window --json`."""

from frostkit.answers.cautions import as_dicts
from frostkit.answers.seeding import Run, SeedingAnswer
from frostkit.seasons.calendar import code
from frostkit.show.machine.parts import share_dict


def one_day(answer: SeedingAnswer, day: int) -> dict:
    """The odds of one seeding day, for `--seeding`."""
    return {"seeding": odds_rows(answer, day)[0]}


def odds_rows(answer: SeedingAnswer, day: int | None = None) -> list[dict]:
    """A row a seeding day with the odds of corn, legume and both; one day alone where it is asked for."""
    if day is not None:
        answer.at(day)
    return [
        {"seeding": code(one), **{name: share_dict(of, index) for name, of in answer.odds.items()}}
        for index, one in enumerate(answer.days)
        if day is None or int(one) == day
    ]


def window(answer: SeedingAnswer) -> dict:
    """`frostkit window --json`. In a season that perhaps never worked the first end of `earliest` and the last end of
    `latest` are None; the other end is then the last, or first, day that may have worked.
    """
    seasons = []
    certain, possible = (end.astype(int) for end in answer.worked)
    for index, season in enumerate(answer.seasons):
        first, last = answer.earliest, answer.latest
        early: list[str | None]
        late: list[str | None]
        if possible[index] == 0:
            early, late = [None, None], [None, None]
        elif certain[index] == 0:
            early, late = [None, code(last.last[index])], [code(first.first[index]), None]
        else:
            early = [code(first.first[index]), code(first.last[index])]
            late = [code(last.first[index]), code(last.last[index])]
        seasons.append(
            {
                "season": int(season),
                "earliest": early,
                "latest": late,
                "days_worked": [int(certain[index]), int(possible[index])],
                "complete": bool(answer.behind.complete[index]),
                "began": answer.began[index]._asdict(),
                "ended": answer.ended[index]._asdict(),
            }
        )

    def run(of: Run) -> dict:
        return {"from": code(of.first), "to": code(of.last)}

    return {
        "station": answer.behind.as_dict(),
        "corn": answer.corn.name if answer.corn else None,
        "legume": answer.legume.name if answer.legume else None,
        "after": answer.after,
        "chopped_together": answer.chopped,
        "subject": answer.subject,
        "not_after": None if answer.not_after is None else code(answer.not_after),
        "season_end": code(answer.season_end),
        "late_planting": answer.late_planting,
        "window": None if answer.window is None else {"odds_wanted": answer.odds_wanted, **run(answer.window)},
        "at_edge": {
            "from": answer.window is not None and answer.window.first == int(answer.days[0]),
            "to": answer.window is not None and answer.window.last == int(answer.days[-1]),
        },
        "odds_wanted": answer.odds_wanted,
        "best": None if answer.best is None else run(answer.best),
        "newest": None if answer.newest is None else run(answer.newest),
        "before": answer.before._asdict(),
        "after_window": answer.after_window._asdict(),
        "seasons": seasons,
        "odds": odds_rows(answer),
        "does_not_know": list(answer.does_not_know()),
        "cautions": as_dicts(answer.cautions),
    }
