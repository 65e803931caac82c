"""The quality of a record in the terminal: what the checks masked, what each season has, whether a break is seen."""

from collections import Counter
from math import isfinite

from frostkit.answers.quality import Quality
from frostkit.records.holes import SeasonDays
from frostkit.show import phrases
from frostkit.show.tables.terminal import SAY, behind_text, filled

SHOWN = 25  # findings listed unless each one is asked for
NAMES = {"tmin": "Tmin", "tmax": "Tmax"}


def quality_text(answer: Quality, each: bool = False) -> str:
    """Findings, seasons and breaks; with `each`, every finding and every season."""
    title, under = phrases.quality_headline(SAY, answer)
    lines = [f"{title}.", f"  {under}."]
    lines += [part for repair in answer.repairs for part in filled(f"Repaired on the way in: {repair}.", "  ", "    ")]
    lines.append("")
    lines += findings_lines(answer, each)
    lines += _seasons(answer, each)
    for warning in answer.breaks:
        lines += filled(f"Break: {warning.words()}")
    if not answer.breaks:
        lines.append(SAY("quality.no_break"))
    lines += _neighbours(answer)
    lines += filled(SAY("quality.meaning"))
    return "\n".join([*lines, *behind_text(answer.behind)])


def findings_lines(answer: Quality, each: bool = False) -> list[str]:
    """Day, value, check, and what was done."""
    if not answer.findings:
        return []
    counts = Counter(finding.check for finding in answer.findings)
    said = ", ".join(f"{check} {count:,}" for check, count in counts.most_common())
    lines = [*filled(f"Failed, by check: {said}.", "  ", "    "), ""]
    lines.append(f"  {'day':12}{'reading':10}{'°C':>7}   {'check':18}what was done")
    shown = answer.findings if each else answer.findings[:SHOWN]
    for of in shown:
        lines.append(f"  {of.day!s:12}{NAMES[of.element]:10}{of.value:>7.1f}   {of.check:18}{of.done}")
    if len(shown) < len(answer.findings):
        lines.append(f"  ... and {len(answer.findings) - len(shown):,} more: --each lists them all.")
    return [*lines, ""]


def _seasons(answer: Quality, each: bool) -> list[str]:
    """Seasons that lack something; all of them where each is asked for."""

    def told(of: SeasonDays) -> bool:
        return each or of.state != "complete" or of.season in answer.masked

    rows = [of for of in answer.seasons if told(of)]
    if not rows:
        return []
    lines = [f"  {'season':9}{'state':12}{'no Tmin':>8}{'no heat':>9}{'longest':>9}{'frost may hide':>16}   masked"]
    for of in rows:
        masked = ", ".join(f"{check} {count}" for check, count in answer.masked.get(of.season, Counter()).items())
        lines.append(f"  {of.season:<9}{of.state:12}{of.tmin_missing:>8}{of.heat_missing:>9}{of.longest:>9}"
                     f"{of.could_hide_frost:>16}   {masked}".rstrip())  # fmt: skip
    return [*lines, "  days from 1 April to 31 October; longest: days in a row without heat", ""]


def _neighbours(answer: Quality) -> list[str]:
    if not answer.neighbours:
        return filled(SAY("quality.alone"))
    lines = []
    for of in answer.neighbours:
        far = f", {of.distance:.0f} km away" if isfinite(of.distance) else ""
        lines += filled(f"Neighbour: {of.name}{far}, {of.days:,} days in common.")
    return [*lines, *(part for said in answer.filled for part in filled(f"Could stand in: {said}"))]
