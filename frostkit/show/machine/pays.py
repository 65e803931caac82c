"""The seeding day that pays best, for programs."""

from frostkit.answers.pays import YEARS, PaysAnswer
from frostkit.seasons.calendar import code
from frostkit.show.machine.parts import number


def pays_dict(answer: PaysAnswer) -> dict:
    """The day that pays best, for programs."""
    fails = dict(zip(("share", "low", "high"), (number(part) for part in answer.fails), strict=True))
    return {
        "best": code(answer.best),
        "between": [code(day) for day in answer.between],
        "mean": number(answer.mean, 2),
        "low": number(answer.low, 2),
        "high": number(answer.high, 2),
        "worth": answer.worth,
        "per_day": answer.per_day,
        "loss": answer.loss,
        "fails_once": {"seasons": YEARS, **fails},
        "days": [{"seeding": code(day), "mean": number(mean, 2)}
                 for day, mean in zip(answer.days, answer.pays.mean, strict=True)],
    }  # fmt: skip
