"""`frostkit record check --json`."""

from typing import Any

from frostkit.answers.quality import STATES, Quality
from frostkit.show.machine.parts import number


def quality(answer: Quality) -> dict[str, Any]:
    """Every finding, every season, and the breaks."""
    return {
        "station": answer.behind.as_dict(),
        "readings": answer.readings,
        "repaired_on_the_way_in": list(answer.repairs),
        "masked": len(answer.findings),
        "findings": [
            {
                "day": str(of.day),
                "reading": of.element,
                "value": number(of.value, 2),
                "check": of.check,
                "done": of.done,
            }
            for of in answer.findings
        ],
        "states": {state: answer.in_state(state) for state in STATES},
        "seasons": [
            {
                "season": of.season,
                "state": of.state,
                "missing_tmin": of.tmin_missing,
                "without_heat": of.heat_missing,
                "longest_run": of.longest,
                "could_hide_frost": of.could_hide_frost,
                "months_not_formed": list(of.months_not_formed),
                "masked": dict(answer.masked.get(of.season, {})),
            }
            for of in answer.seasons
        ],
        "breaks": [
            {
                "from": of.year,
                "of": of.element,
                "shift_c": number(of.shift, 2),
                "statistic": number(of.statistic, 2),
                "critical": number(of.critical, 2),
                "against": of.against,
            }
            for of in answer.breaks
        ],
        "neighbours": [
            {"name": of.name, "distance_km": number(of.distance, 1), "days_in_common": of.days}
            for of in answer.neighbours
        ],
        "filled_for_heat": list(answer.filled),
    }
