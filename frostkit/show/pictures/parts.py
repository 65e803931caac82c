"""What pictures share: the verdict as title, what it rests on as foot, seasons as rows."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from frostkit.answers.answer import Answer
from frostkit.show.printed import plain
from frostkit.show.render.text import site_says
from frostkit.show.render.words import Words


def title_of(answer: Answer, words: Words) -> tuple[str, str]:
    """The answer, and the first sentence that carries it."""
    under = words.say(answer.question, answer.sentences[0]) if answer.sentences else ""
    return words.say(answer.question, answer.headline).rstrip("."), under


def foot_of(answer: Answer, words: Words) -> list[str]:
    """The record behind it, how its seasons were moved, and where it came from."""
    return [] if answer.site is None else site_says(answer.site, answer.ensemble, words)


def named_rows(axes: Axes, names: Sequence[str]) -> None:
    """Rows from the top, each with its name at the left and no tick."""
    axes.set_ylim(max(len(names), 1) - 0.4, -0.6)
    axes.set_yticks(range(len(names)), [plain(name) for name in names])
    axes.tick_params(axis="y", length=0)


def season_rows(axes: Axes, seasons: NDArray[np.int64]) -> None:
    """Seasons as rows from the top, every one, every fifth or every tenth named."""
    first, last = int(seasons[0]), int(seasons[-1])
    step = next(step for step, most in ((1, 12), (5, 75), (10, np.inf)) if last - first <= most)
    axes.set_ylim(last + 0.8, first - 0.8)
    axes.set_yticks([season for season in range(first, last + 1) if season % step == 0])
