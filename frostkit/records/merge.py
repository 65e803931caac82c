"""New days joined to a kept record without losing an old one; a history that changed is told, not taken over."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records.record import Hours, Record
from frostkit.records.storage import MISSING, tenths


@dataclass(frozen=True)
class Change:
    """One day on which the provider now says something else; `new` is NaN where it says nothing any more."""

    day: np.datetime64
    column: str
    old: float
    new: float


@dataclass(frozen=True)
class Changes:
    """What a refresh brought."""

    added: int  # days with a Tmin or Tmax that was not known before
    changed: tuple[Change, ...] = ()
    withdrawn: tuple[Change, ...] = ()
    accepted: bool = False  # True: the provider's values were taken over
    aside: str = ""  # the kept file was damaged and stands under this name now

    def words(self) -> tuple[str, ...]:
        """The same in sentences.

        >>> for line in Changes(3, (Change(np.datetime64("2019-05-04"), "tmin", 1.2, -1.2),)).words():
        ...     print(line)
        3 new days.
        The provider changed 1 reading, the first on 2019-05-04 (tmin 1.2, now -1.2): the old ones were kept.
        """
        kept = "the provider's were taken over" if self.accepted else "the old ones were kept"
        said = [f"{self.added or 'no'} new day{'s' * (self.added != 1)}.".capitalize()]
        for what, these in (("changed", self.changed), ("no longer has", self.withdrawn)):
            if these:
                one = these[0]
                now = "nothing" if np.isnan(one.new) else f"{one.new:.1f}"
                count = f"{len(these)} reading{'s' * (len(these) != 1)}"
                first = f"{one.day} ({one.column} {one.old:.1f}, now {now})"
                said.append(f"The provider {what} {count}, the first on {first}: {kept}.")
        if self.aside:
            said.append(f"The kept file was damaged: it was set aside as {self.aside}, and the record fetched anew.")
        return tuple(said)


def merge(old: Record, new: Record, accept: bool = False) -> tuple[Record, Changes]:
    """The old record with the new days added.

    A reading that both have and that differs, or that the new one no longer has, is reported and stays as it was;
    `accept=True` takes the provider's. A year that comes back without any reading never empties a good one.
    Raises `RecordError` where the two are not of one station and one provider.
    """
    _of_one_kind(old, new)
    start = min(old.start, new.start)
    days = int((max(old.start + old.tmin.size, new.start + new.tmin.size) - start).astype(int))
    before, after = _laid_out(old, start, days), _laid_out(new, start, days)
    time = start + np.arange(days)
    answered = _answered(after, time) & (time >= new.start) & (time < new.start + new.tmin.size)
    out: dict[str, NDArray[np.int32]] = {}
    changed: list[Change] = []
    withdrawn: list[Change] = []
    for name in {**before, **after}:
        was, now = before.get(name), after.get(name)
        if was is None or now is None:
            kept = was if now is None else now
            assert kept is not None
            out[name] = kept
            continue
        differs = (was != MISSING) & (now != MISSING) & (was != now)
        gone = (was != MISSING) & (now == MISSING) & answered
        changed += _told(name, time, was, now, differs)
        withdrawn += _told(name, time, was, now, gone)
        out[name] = np.where((was == MISSING) | (accept & (differs | gone)), now, was)
    was_known, known = (_known(columns) for columns in (before, out))
    record = replace(
        new,
        start=start,
        tmin=_degrees(out.pop("tmin")),
        tmax=_degrees(out.pop("tmax")),
        sign=_signs(old, new, start, days),
        more={name: _degrees(values) for name, values in out.items()},
        source=_source(old, new, time[known]),
        repairs=tuple({repair.what: repair for repair in (*old.repairs, *new.repairs)}.values()),
        invented=old.invented or new.invented,
    )
    order = [sorted(these, key=lambda one: (one.day, one.column)) for these in (changed, withdrawn)]
    return record, Changes(int((known & ~was_known).sum()), tuple(order[0]), tuple(order[1]), accept)


def merge_hours(old: Hours, new: Hours) -> Hours:
    """The old hours with the new ones added; an hour that both have stays as it was."""
    _of_one_kind(old, new)
    start = min(old.start, new.start)
    size = int((max(old.start + old.temp.size, new.start + new.temp.size) - start).astype(int))
    temp = np.full(size, np.nan, np.float32)
    for hours in (new, old):
        part = temp[(at := int((hours.start - start).astype(int))) : at + hours.temp.size]
        part[np.isfinite(hours.temp)] = hours.temp[np.isfinite(hours.temp)]
    return replace(new, start=start, temp=temp)


def _of_one_kind(old: Record | Hours, new: Record | Hours) -> None:
    same = {
        "station": (old.station.id.upper(), new.station.id.upper()),
        "server": (old.source.get("endpoint", ""), new.source.get("endpoint", "")),
    }
    for what, (one, two) in same.items():
        if one and two and one != two:
            raise RecordError(
                f"The kept record is of {what} '{one}', the new one of '{two}'; they can't be joined.",
                f"Drop the kept one first: frostkit record drop {old.station.id}",
            )


def _laid_out(record: Record, start: np.datetime64, days: int) -> dict[str, NDArray[np.int32]]:
    at = int((record.start - start).astype(int))
    out = {}
    for name, values in {"tmin": record.tmin, "tmax": record.tmax, **record.more}.items():
        out[name] = np.full(days, MISSING, np.int32)
        out[name][at : at + values.size] = tenths(values)
    return out


def _known(columns: dict[str, NDArray[np.int32]]) -> NDArray[np.bool_]:
    return (columns["tmin"] != MISSING) | (columns["tmax"] != MISSING)


def _answered(columns: dict[str, NDArray[np.int32]], time: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """Days of the calendar years of which the new record holds anything."""
    years = time.astype("datetime64[Y]")
    return np.isin(years, np.unique(years[_known(columns)]))


def _told(name: str, time: NDArray, was: NDArray, now: NDArray, where: NDArray[np.bool_]) -> list[Change]:
    new = np.where(now == MISSING, np.nan, now / 10)
    return [Change(time[i], name, float(was[i] / 10), float(new[i])) for i in np.flatnonzero(where)]


def _degrees(whole: NDArray[np.int32]) -> NDArray[np.float32]:
    return np.where(whole == MISSING, np.nan, whole / 10).astype(np.float32)


def _signs(old: Record, new: Record, start: np.datetime64, days: int) -> NDArray[np.int8] | None:
    if old.sign is None and new.sign is None:
        return None
    out = np.zeros(days, np.int8)
    for record in (new, old):  # what was known first stands
        if record.sign is not None:
            part = out[(at := int((record.start - start).astype(int))) : at + record.sign.size]
            part[record.sign != 0] = record.sign[record.sign != 0]
    return out


def _source(old: Record, new: Record, known: NDArray[np.datetime64]) -> dict[str, str]:
    """Where both came from; a year that one of the two has is not missing."""
    source = {**old.source, **new.source}
    if first := old.source.get("first_fetched", old.source.get("fetched", "")):
        source["first_fetched"] = first
    held = set(known.astype("datetime64[Y]").astype(str))
    missing = missing_years(old) | missing_years(new)
    source.pop("missing_years", None)
    if left := "; ".join(f"{year}: {why}" for year, why in sorted(missing.items()) if str(year) not in held):
        source["missing_years"] = left
    return source


def missing_years(record: Record) -> dict[int, str]:
    """The years that were asked for and did not come, each with its reason.

    >>> from frostkit.records.record import Station
    >>> nothing = np.zeros(0, np.float32)
    >>> missing_years(Record(Station("A"), np.datetime64("1990-01-01"), nothing, nothing,
    ...                      source={"missing_years": "1994: the provider has no file for it"}))
    {1994: 'the provider has no file for it'}
    """
    parts = (part.split(": ", 1) for part in record.source.get("missing_years", "").split("; ") if part)
    return {int(year): why for year, why in parts}
