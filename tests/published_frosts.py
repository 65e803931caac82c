"""Published frost probabilities of the folder `shared`, read in, with the record there that lies nearest.

What each is: shared/data/PROVENANCE.md. No record there has a table of its own, so this is plausibility only: another
place, at times another height and other years.
"""

import csv
from pathlib import Path
from typing import NamedTuple

from frostkit.seasons.calendar import column

# place -> (name in tests.real_records, seasons to compare, how near)
NEAREST = {
    "TORONTO ON": ("toronto", (1981, 2010), "the airport, 20 km out of town"),
    "BRANDON A": ("valleyview", (2003, 2023), "1,300 km west and 290 m higher, later years"),
    "HORBURG AB": ("valleyview", (2003, 2023), "320 km north, later years"),
    "UNIVERSITY OF ALBERTA METABOLIC CENTRE AB": ("valleyview", (2003, 2023), "310 km north-west, later years"),
    "REDWATER AB": ("valleyview", (2003, 2023), "310 km north-west, later years"),
    "LEBANON MUNI AP, NH US": ("farnham", (1991, 2017), "190 km north and 110 m lower"),
}


class Rows(NamedTuple):
    """One place: odds, and the columns by which a frost is due.

    fall : the first fall frost comes on or before, spring : the last spring frost comes on or after, with odds `p`
    """

    place: str
    period: str
    p: list[float]
    spring: list[int]
    fall: list[int]


def read_published(shared: Path) -> dict[str, Rows]:
    """All places, by name."""
    folder = shared / "data" / "normals"
    brandon = _table(folder / "eccc_brandon_a_5010480_1981-2010_frost.csv")
    found = [Rows(brandon[0]["station"], brandon[0]["period"], [int(row["prob"].rstrip("%")) / 100 for row in brandon],
                  [int(row["last_spring_le0_on_or_after_doy"]) - 1 for row in brandon],
                  [int(row["first_fall_le0_on_or_before_doy"]) - 1 for row in brandon])]  # fmt: skip
    for row in _table(folder / "eccc_other_1981-2010_frost.csv"):
        days = [[_column(cell, row["encoding"]) for cell in row[key].split("/")]
                for key in ("last_spring_le0", "first_fall_le0")]  # fmt: skip
        found.append(Rows(row["station"], row["period"], [int(p) / 100 for p in row["prob"].split("/")], *days))
    [us] = _table(folder / "noaa_annualseasonal_1991-2020_USW00094765.csv")
    tenths = range(10, 100, 10)
    days = [[column(*map(int, us[f"ANN-TMIN-{which}-T32FP{p}"].strip().split("/"))) for p in tenths]
            for which in ("PRBLST", "PRBFST")]  # fmt: skip
    found.append(Rows(us["NAME"].strip(), "1991-2020", [p / 100 for p in tenths], *days))
    return {rows.place: rows for rows in found}


def _table(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def _column(cell: str, encoding: str) -> int:
    return column(int(cell[:2]), int(cell[2:])) if encoding == "mmdd" else int(cell) - 1
