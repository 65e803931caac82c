"""Weather for the invented place: a seeded generator, and its days in the layout of GHCN-Daily.

`python -m frostkit.demo.generate` writes the files anew; a test holds them equal to what comes out here.
The way such generators are built, from memory of Richardson 1981, Water Resources Research 17:182-190: wet and dry
days as a chain of two states, temperatures as spells that fade about the mean of the date, apart for wet and dry days.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from typing import Any

import numpy as np
from numpy.random import RandomState
from numpy.typing import NDArray

from frostkit.demo.place import FILE, LOGGER, settled

MISSING = -9999  # GHCN-Daily readme: no value


@dataclass(frozen=True)
class Weather:
    """Days in a row, whole tenths [degC, mm], int [day]."""

    time: NDArray[np.datetime64]
    tmin: NDArray[np.int64]
    tmax: NDArray[np.int64]
    prcp: NDArray[np.int64]


def weather(climate: dict[str, Any], generator: RandomState) -> Weather:
    """Made-up days from the numbers of `[weather]` in place.toml; the same ones for the same seed.

    `RandomState` and not the newer generator, because numpy promises that its stream stays as it is.
    """
    time = np.arange(climate["first"], np.datetime64(climate["last"]) + 1, dtype="datetime64[D]")
    year = time.astype("datetime64[Y]")
    of_year = (time - year.astype("datetime64[D]")).astype(int)

    def wave(top: float) -> NDArray[np.float64]:
        return np.cos(2 * np.pi * (of_year - top) / 365.25)

    winter = (1 + wave(climate["mean"]["coldest"])) / 2  # 1 in midwinter, 0 in midsummer

    def between(of: dict[str, float], what: str = "") -> NDArray[np.float64]:
        return of["summer" + what] + (of["winter" + what] - of["summer" + what]) * winter

    def fading(keeps: float) -> NDArray[np.float64]:
        noise = generator.standard_normal(time.size) * np.sqrt(1 - keeps**2)
        return np.array(list(accumulate(noise, lambda before, new: keeps * before + new)))

    rain, spread = climate["rain"], climate["range"]
    after_dry = between(rain)
    draws = zip(generator.random_sample(time.size), after_dry, strict=True)
    wet = np.array(list(accumulate(draws, lambda was, of: of[0] < of[1] + rain["persists"] * was, initial=False))[1:])
    fall = generator.gamma(rain["shape"], between(rain, "_fall") / rain["shape"])

    mean = climate["mean"]["level"] - climate["mean"]["swing"] * wave(climate["mean"]["coldest"])
    mean += between(climate["spells"]) * fading(climate["spells"]["keeps"])
    mean += climate["months"]["spread"] * fading(climate["months"]["keeps"])
    mean += climate["warming"] / 10 * (time - time[time.size // 2]).astype(float) / 365.25
    mean += rain["cooler"] * (2 * winter - 1) * (wet - after_dry)

    swing = spread["level"] - spread["swing"] * wave(spread["narrowest"]) + spread["wet"] * wet
    swing = np.maximum(swing + spread["spread"] * fading(spread["keeps"]), spread["least"])
    tmin, tmax = (np.rint(10 * (mean + part * swing)).astype(int) for part in (-0.5, 0.5))
    return Weather(time, tmin, tmax, np.where(wet, np.maximum(np.rint(10 * fall), 1), 0).astype(int))


def layout(
    station_id: str, days: Weather, missing: list[dict[str, Any]], marked: list[dict[str, Any]]
) -> Iterator[str]:
    """The days as lines of a GHCN-Daily `.dly` file: a line for each month and element, 31 values of 5 + 3 places."""
    values = {"TMAX": days.tmax.copy(), "TMIN": days.tmin.copy(), "PRCP": days.prcp.copy()}
    flags = {element: np.full(days.time.size, " ") for element in values}
    for gap in missing:
        gone = (days.time >= np.datetime64(gap["first"])) & (days.time <= np.datetime64(gap["last"]))
        for column in values.values():
            column[gone] = MISSING
    for mark in marked:
        on = days.time == np.datetime64(mark["day"])
        values[mark["element"]][on] = round(10 * mark["value"])
        flags[mark["element"]][on] = mark["flag"]

    months = days.time.astype("datetime64[M]")
    starts = np.flatnonzero(np.r_[True, months[1:] != months[:-1]])
    for start, end in zip(starts, [*starts[1:], days.time.size], strict=True):
        month = str(months[start]).replace("-", "")
        for element, column in values.items():
            cells = [
                f"{value:5d} {flag} " for value, flag in zip(column[start:end], flags[element][start:end], strict=True)
            ]
            yield f"{station_id}{month}{element}" + "".join(cells) + f"{MISSING}   " * (31 - len(cells))


def hours(days: Weather, spot: dict[str, Any], generator: RandomState) -> Iterator[str]:
    """A logger's csv, one line an hour, in a spot that is colder than the station on clear, calm nights.

    A night is as clear as the day's range is wide; between a day's low and high the temperature follows half waves.
    """
    clear = np.clip((days.tmax - days.tmin) / 10 / spot["clear_range"], 0, 1)
    low = days.tmin / 10 - spot["colder"] * clear + spot["scatter"] * generator.standard_normal(days.time.size)
    high = np.maximum(days.tmax / 10 + spot["warmer"] + spot["scatter"] / 2 * generator.standard_normal(low.size), low)
    chosen = (days.time >= np.datetime64(spot["first"])) & (days.time <= np.datetime64(spot["last"]))
    turns = np.ravel([days.time + np.timedelta64(at, "h") for at in (spot["coldest_hour"], spot["warmest_hour"])], "F")
    ends = np.ravel([low, high], "F")
    time = (days.time[chosen][:, None] + np.arange(24) * np.timedelta64(1, "h")).ravel()
    after = np.searchsorted(turns, time, side="right")
    share = (time - turns[after - 1]) / (turns[after] - turns[after - 1])
    celsius = ends[after - 1] + (ends[after] - ends[after - 1]) * (1 - np.cos(np.pi * share)) / 2
    yield f"# {spot['about']}"
    yield "time,temp_C"
    for when, value in zip(time, np.round(celsius, 1) + 0.0, strict=True):  # no minus zero
        yield f"{str(when).replace('T', ' ')}:00,{value:.1f}"


def texts() -> dict[Path, str]:
    """The made-up files by their place: the whole record, and the logger's hours."""
    told = settled()
    seed = told["weather"]["seed"]
    days = weather(told["weather"], RandomState(seed))
    record = layout(told["station"]["id"], days, told["missing"], told["marked"])
    logger = hours(days, told["logger"], RandomState(seed + 1))
    return {path: "\n".join(lines) + "\n" for path, lines in ((FILE, record), (LOGGER, logger))}


if __name__ == "__main__":
    for path, text in texts().items():
        path.write_text(text, encoding="ascii", newline="\n")
