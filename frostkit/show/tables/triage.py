"""What a frost did, in the terminal: the verdict, what to look at and when, the dangers, then judgement and sources."""

from frostkit.answers.triage import TriageAnswer
from frostkit.show.tables.terminal import cautions_text, filled


def triage_text(answer: TriageAnswer) -> str:
    """What a frost did, for certain, perhaps and not, and what to do about it."""
    first, *rest = answer.says()
    lines = [*filled(first), *(part for line in rest for part in filled(line, "  ", "    "))]
    lines += ["", "Cautions", *cautions_text(answer.cautions)]
    lines += ["", "What is judgement", *(part for line in answer.judgement for part in filled(line, "  - ", "    "))]
    return "\n".join([*lines, *filled("Sources: " + "; ".join(answer.sources) + ".")])
