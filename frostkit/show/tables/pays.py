"""The seeding day that pays best, in the terminal."""

from frostkit.answers.pays import YEARS, PaysAnswer
from frostkit.seasons.calendar import words


def pays_lines(answer: PaysAnswer) -> list[str]:
    """The day that pays best over the years, as sentences."""
    first, last = answer.between
    span = (
        f"on {words(answer.best)}" if first == last else f"about {words(answer.best)} ({words(first)} to {words(last)})"
    )
    risk, low, high = (f"{100 * part:.0f}" for part in answer.fails)
    ends = f"{answer.low:,.0f} to {answer.high:,.0f}"
    works = f"{answer.worth:,.0f} where it works on {words(answer.days[0])}, {answer.per_day:g} less each day later"
    return [
        f"Seeding pays best {span}: {answer.mean:,.0f} a season over the years ({ends}), with {works} and "
        f"{answer.loss:,.0f} lost where it fails.",
        f"On that day it fails at least once in {YEARS} seasons with odds of {risk} % ({low} to {high} %).",
    ]
