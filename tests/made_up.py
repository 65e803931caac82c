"""Made-up records for tests: whole seasons without holes, on the days of the calendar."""

import numpy as np

from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column


def record(tmin, tmax, first=2001, prcp=None, latitude=50.0, longitude=-100.0) -> Record:
    """A record of seasons [season, 365] in tenths; 29 February repeats the day before."""
    days = np.arange(np.datetime64(f"{first}-01-01"), np.datetime64(f"{first + len(tmin)}-01-01"))
    year = days.astype("datetime64[Y]").astype(int) + 1970 - first
    of_month = [str(day)[5:] for day in days]
    place = np.array([column(2, 28) if day == "02-29" else column(int(day[:2]), int(day[3:])) for day in of_month])
    more = {} if prcp is None else {"prcp": (prcp[year, place] / 10).astype(np.float32)}
    low, high = ((part[year, place] / 10).astype(np.float32) for part in (tmin, tmax))
    station = Station("made-up", "Made-up Flat", latitude, longitude, 400.0)
    return Record(station, days[0], low, high, more=more, invented=True)
