"""How much colder the field is than the station, from the field's own logger, and what that does to its frost dates."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.field import in_field, over
from frostkit.answers.frosts import FrostAnswer, frosts
from frostkit.answers.station import Behind, behind
from frostkit.records.field import NIGHTS, Offset, compare, nights
from frostkit.records.logger import Logger
from frostkit.records.record import Record


@dataclass(frozen=True)
class Logged:
    """The field's logger against the station.

    behind : the station's record; logger : the field's name; hourly : whether it has hours
    first, last : days with a minimum in the field
    offset : by season and kind of night; nights : each night, see `records.field.nights`
    here, there : frost at or below the threshold at the station, and in the field over every draw of the offset
    """

    behind: Behind
    logger: str
    hourly: bool
    first: np.datetime64
    last: np.datetime64
    offset: Offset
    nights: tuple[NDArray[np.datetime64], NDArray[np.float64], NDArray[np.bool_]]
    here: FrostAnswer
    there: FrostAnswer

    def mean(self, kind: int) -> float:
        """Offset of one kind of night (a place in `NIGHTS`) over the seasons that were logged [degC]."""
        seen = np.maximum(self.offset.nights[:, kind], 1e-9)
        return float(np.average(self.offset.mean[:, kind], weights=seen))

    def said(self) -> tuple[str, ...]:
        """What else there is to say of the offset: kinds of night that are missing, the clock, the days."""
        return tuple(line for line in self.offset.said if not line.lower().startswith(tuple(NIGHTS)))


def logged(station: Record, logger: Logger, threshold: float = 0.0) -> Logged:
    """Hold a field's logger against the station.

    Parameters
    ----------
    station : Record
        Checked.
    logger : Logger
        From `records.logger.read_logger`.
    threshold : float [degC] of the frost that is compared

    Raises
    ------
    RecordError
        With fewer than 10 nights in common, or an offset that no field has.
    """
    offset = compare(station, logger.record)
    day = logger.record.time()[np.isfinite(logger.record.tmin)]
    at = behind(station)
    here, there = frosts(at, threshold), over(in_field(station, offset), frosts, threshold)
    name = logger.record.station.name or "logger"
    each = nights(station, logger.record)
    return Logged(at, name, logger.hourly is not None, day[0], day[-1], offset, each, here, there)
