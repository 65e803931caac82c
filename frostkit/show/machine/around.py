"""Several stations around a field, for programs."""

from frostkit.answers.around import Around
from frostkit.seasons.calendar import code
from frostkit.show.machine.parts import number


def around_dict(answer: Around) -> dict:
    """Stations taken together, for programs."""
    pooled, run = answer.pooled, answer.window
    return {
        "stations": [{"station": one.behind.as_dict(), "weight": number(weight)}
                     for one, weight in zip(answer.answers, answer.weight, strict=True)],
        "by_nearness": answer.by_nearness,
        "window": None if run is None else {"from": code(run.first), "to": code(run.last)},
        "odds": [{"seeding": code(day), "share": number(share), "low": number(low), "high": number(high),
                  "stations_apart": number(apart)}
                 for day, share, low, high, apart in zip(answer.days, *pooled[:4], strict=True)],
    }  # fmt: skip
