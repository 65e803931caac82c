"""A forecast of the coming days from a plain CSV: it goes between the record and the past seasons."""

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import cells
from frostkit.records.plain import TO_CELSIUS, name_and_unit

LONGEST = 16  # days ahead: beyond about two weeks forecasts of daily temperature carry no skill; common practice
WIDEST = 15.0  # degC: a spread above it is no forecast
COLDEST, WARMEST = -60.0, 55.0  # degC


@dataclass(frozen=True)
class Forecast:
    """Coming days in a row.

    start : datetime64[D]
    tmin, tmax : float [day], degC, middle of the forecast
    tmin_spread, tmax_spread : float [day], degC, standard deviation; 0 where none was given
    """

    start: np.datetime64
    tmin: NDArray[np.float64]
    tmax: NDArray[np.float64]
    tmin_spread: NDArray[np.float64]
    tmax_spread: NDArray[np.float64]
    file: str = "forecast"

    def since(self, today: np.datetime64) -> "Forecast":
        """The days from `today` on: earlier ones have been read by now.

        Raises `RecordError` for a forecast that ended before today, or starts after it and leaves days between.
        """
        gone = int((today - self.start).astype(int))
        if gone < 0:
            missing = "1 day" if gone == -1 else f"{-gone} days"
            raise RecordError(f"{self.file} starts on {self.start}, {missing} after today, {today}.",
                              "A forecast has no holes: give every day from today on.")  # fmt: skip
        if gone >= self.tmin.size:
            raise RecordError(f"{self.file} ended on {self.start + self.tmin.size - 1}; today is {today}.",
                              "Give a newer forecast, or none.")  # fmt: skip
        return Forecast(self.start + gone, self.tmin[gone:], self.tmax[gone:], self.tmin_spread[gone:],
                        self.tmax_spread[gone:], self.file)  # fmt: skip


def read_forecast(path: str | Path) -> Forecast:
    """A forecast from a CSV file with the columns date, tmin, tmax, and the spread if the forecaster gives one.

    A header such as ``date,tmin_C,tmax_C,tmin_spread_C,tmax_spread_C``; °F is written as ``tmin_F``. The spread is a
    standard deviation.

    Raises
    ------
    RecordError
        Where a column, a unit or a day is missing, days repeat or are not in order, a temperature is none, or Tmin is
        above Tmax: with the line.
    """
    path = Path(path)
    header, table_of = cells.opened(path, "date, tmin_C, tmax_C")
    found = _columns(header, path.name)
    table = table_of(header)
    days = cells.days(table, found["date"][0])
    values = {}
    for name, (index, unit) in found.items():
        if name == "date":
            continue
        numbers = cells.numbers(table, index, "a temperature")
        values[name] = numbers / (1.8 if unit == "F" else 1.0) if "spread" in name else TO_CELSIUS[unit](numbers)
        _whole(values[name], name, table, index)
    _in_a_row(days, table)
    wrong = values["tmin"] > values["tmax"]
    if wrong.any():
        row = int(np.argmax(wrong))
        where, low, high = table.where(row, found["tmin"][0]), values["tmin"][row], values["tmax"][row]
        raise RecordError(f"{where}: {low:.1f} °C on {days[row]} is above tmax {high:.1f}.",
                          "Are the columns swapped? Allowed: tmin <= tmax.")  # fmt: skip
    none = np.zeros(days.size)
    return Forecast(days[0], values["tmin"], values["tmax"], values.get("tmin_spread", none),
                    values.get("tmax_spread", none), path.name)  # fmt: skip


def _columns(header: list[str], file: str) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for index, cell in enumerate(header):
        bare = re.sub(r"[\s_]*spread", "", cell, flags=re.I)
        element, unit = name_and_unit(bare)
        name = element if bare == cell else f"{element}_spread"
        if name in ("date", "tmin", "tmax", "tmin_spread", "tmax_spread"):
            found.setdefault(name, (index, unit))
    missing = [name for name in ("date", "tmin", "tmax") if name not in found]
    if missing:
        raise RecordError(f"{file}: no column for {', '.join(missing)}; the columns are: {', '.join(header)}.",
                          "Name them in a header: date,tmin_C,tmax_C,tmin_spread_C,tmax_spread_C")  # fmt: skip
    for name, (index, unit) in found.items():
        if name != "date" and unit not in TO_CELSIUS:
            raise RecordError(f"{file}: the header '{header[index]}' does not say whether it is °C or °F.",
                              f"Write the unit into it, such as {name}_C.")  # fmt: skip
    return found


def _whole(values: NDArray[np.float64], name: str, table: cells.Table, index: int) -> None:
    low, high = (0.0, WIDEST) if "spread" in name else (COLDEST, WARMEST)
    bad = ~((values >= low) & (values <= high))
    if bad.any():
        row = int(np.argmax(bad))
        what = "is empty" if np.isnan(values[row]) else f"{values[row]:.1f} °C is outside {low:g} to {high:g}"
        raise RecordError(f"{table.where(row, index)}: {what}.",
                          "A forecast has no holes: give every day its values, or end before the hole.")  # fmt: skip


def _in_a_row(days: NDArray[np.datetime64], table: cells.Table) -> None:
    step = np.diff(days).astype(int)
    if (step != 1).any():
        row = int(np.argmax(step != 1))
        if step[row] > 1:
            missing = "1 day is missing" if step[row] == 2 else f"{step[row] - 1} days are missing"
            what = f"{days[row + 1]} follows {days[row]}: {missing}"
        else:
            what = f"{days[row + 1]} follows {days[row]}: days repeat or are out of order"
        raise RecordError(f"{table.file}, line {table.lines[row + 1]}: {what}.",
                          "A forecast has no holes: give every day once, in order.")  # fmt: skip
    if days.size > LONGEST:
        raise RecordError(f"{table.file} has {days.size} days; frostkit takes up to {LONGEST} days ahead.",
                          "Cut it: beyond two weeks past seasons say as much as a forecast.")  # fmt: skip
