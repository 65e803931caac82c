"""Heat gathered, in the terminal."""

import numpy as np

from frostkit.answers.warmth import HeatAnswer
from frostkit.seasons.calendar import words
from frostkit.show.tables.terminal import behind_text


def heat_text(answer: HeatAnswer) -> str:
    """Heat gathered, season by season, with the spread."""
    known = answer.least == answer.most
    lines = [f"Heat from {words(answer.first)} to {words(answer.last)}, {answer.clock.unit}"]
    if known.any():
        low, middle, high = np.quantile(answer.least[known], [0.1, 0.5, 0.9], method="median_unbiased")
        lines.append(
            f"  Half of {known.sum()} seasons without a missing day have {middle:,.0f} or more; "
            f"8 in 10 lie between {low:,.0f} and {high:,.0f}."
        )
    lines.append("")
    for season, least, most, missing in zip(
        answer.behind.cube.seasons, answer.least, answer.most, answer.missing, strict=True
    ):
        total = f"{least:,.1f}" if least == most else f"{least:,.1f} to {most:,.1f}"
        lines.append(f"  {season}  {total:>22}" + (f"   {missing} missing days" if missing else ""))
    lines += ["", *behind_text(answer.behind)]
    return "\n".join(lines)
