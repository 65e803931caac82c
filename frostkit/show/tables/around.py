"""Several stations around a field, in the terminal."""

import numpy as np

from frostkit.answers.around import Around
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY


def around_lines(answer: Around) -> list[str]:
    """The seeding odds of stations around a field taken together, as sentences."""
    names = ", ".join(f"{phrases.station_name(SAY, one.behind)} ({100 * part:.0f} %)"
                      for one, part in zip(answer.answers, answer.weight, strict=True))  # fmt: skip
    how = (
        "by distance and height to the field"
        if answer.by_nearness
        else "the same for each: their distances are not known"
    )
    found = "no day reaches the odds wanted" if answer.window is None else f"seed {phrases.span(SAY, answer.window)}"
    lines = [f"{len(answer.answers)} stations together: {found}. They count {names}, {how}."]
    if answer.window is not None:
        inside = np.arange(answer.window.first, answer.window.last + 1) - int(answer.days[0])
        low = inside[int(np.argmin(answer.pooled.share[inside]))]
        ends = f"{100 * answer.pooled.low[low]:.0f} to {100 * answer.pooled.high[low]:.0f} %"
        lines.append(
            f"Odds there at least {100 * answer.pooled.share[low]:.0f} % ({ends}, wider where stations disagree)."
        )
    return lines
