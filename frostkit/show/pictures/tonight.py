"""Frost tonight: for every field and part, the odds that it is touched, likely hurt, hurt for certain."""

import numpy as np
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, FROST, INK, Sheet, look
from frostkit.show.pictures.parts import foot_of, named_rows, title_of
from frostkit.show.render.words import Words

ROW = 0.36  # inches
MOST = 24  # rows: of more fields, those in most danger
SHADES = (("possible", BAND, 0.62), ("likely", FROST, 0.40), ("certain", INK, 0.16))  # colour, height of the bar


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of a night, from its own table: a row a field, part and place, bars within bars."""
    say, table = words.texts, answer.table("odds")
    odds = {name: np.nan_to_num(np.asarray(table[name].values, float)) for name, _, _ in SHADES}
    order = np.argsort(-odds["possible"], kind="stable")[:MOST]
    order = np.sort(order)  # as the answer has them
    names = []
    for row in order:
        part, place = (words.value(table[key].at(row)) for key in ("part", "place"))
        names.append(f"{words.value(table.index.at(row))}: {part}, {place}")
    with look():
        sheet = Sheet(title_of(answer, words), [ROW * max(len(order), 3)], foot_of(answer, words), left=3.4)
        axes = sheet.panels[0]
        at = np.arange(len(order))
        drawn = [
            axes.barh(at, 100 * odds[name][order], height=high, color=colour, zorder=2 + number)
            for number, (name, colour, high) in enumerate(SHADES)
        ]
        axes.set_xlim(0, 100)
        named_rows(axes, names)
        axes.set_xlabel(say("tonight_picture.x"))
        sheet.legend(0, drawn, [say(f"tonight_picture.{name}") for name, _, _ in SHADES], below=0.5)
    return sheet.figure
