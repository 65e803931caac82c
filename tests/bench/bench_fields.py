"""How long an order takes to find: run by hand, `python tests/bench/bench_fields.py`. Wall and processor seconds."""

import time

import numpy as np

from frostkit.answers.silage.farm import Field
from frostkit.answers.silage.fields import Chopper, fields
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import Site
from frostkit.seasons.calendar import column

CORN = ("silage-2000", "silage-2150", "silage-2300")


def farm(count: int) -> tuple[Field, ...]:
    """A made-up farm."""
    generator = np.random.default_rng(count)
    return tuple(
        Field(f"Field {number}", float(generator.uniform(10, 60)), column(5, 8) + int(generator.integers(0, 25)),
              CORN[number % 3], place=str(generator.integers(0, 4)), haul=float(generator.uniform(0, 20)))
        for number in range(count)
    )  # fmt: skip


def main() -> None:
    """One line for each size: the order, its calendar, the simple rules, a second machine and longer days."""
    site = Site(demo_record())
    site.ensemble(("tmin", "tmax", "prcp"), 0)
    for count in (5, 10, 20, 40):
        wall, processor = time.perf_counter(), time.process_time()
        answer = fields(site, farm(count), Chopper(rate=4.0))
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
        kept, simple = answer.values["tonnes"].value, max(answer.table("rules")["tonnes"].values)
        proved = ", proved best" if answer.values["proved"] else ""
        print(f"{count:3d} fields: {wall:5.2f} s, {processor:5.2f} s of processor; {kept:.0f} t in range, "
              f"better simple rule {simple:.0f} t{proved}")  # fmt: skip


if __name__ == "__main__":
    main()
