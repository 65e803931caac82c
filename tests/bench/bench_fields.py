"""How long an order takes to find: run by hand, `python tests/bench/bench_fields.py`. Wall and processor seconds."""

import time

import numpy as np

from frostkit.answers.farm import Field
from frostkit.answers.fields import Chopper, order_of_fields, rain_days
from frostkit.answers.station import behind
from frostkit.demo.place import demo_record
from frostkit.seasons.calendar import column

CORN = ("silage-2000", "silage-2150", "silage-2300")


def farm(fields: int) -> tuple[Field, ...]:
    """A made-up farm."""
    generator = np.random.default_rng(fields)
    return tuple(
        Field(f"Field {number}", float(generator.uniform(10, 60)), column(5, 8) + int(generator.integers(0, 25)),
              CORN[number % 3], place=str(generator.integers(0, 4)), haul=float(generator.uniform(0, 20)))
        for number in range(fields)
    )  # fmt: skip


def main() -> None:
    """One line for each size: the order, its calendar, the simple rules, a second machine and longer days."""
    demo = demo_record()
    folded = behind(demo)
    rain = rain_days(demo, folded.cube)
    for fields in (5, 10, 20, 40):
        wall, processor = time.perf_counter(), time.process_time()
        answer = order_of_fields(folded, rain, farm(fields), Chopper(rate=4.0))
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
        simple = max(rule.tonnes for rule in answer.rules)
        print(f"{fields:3d} fields: {wall:5.2f} s, {processor:5.2f} s of processor; {answer.tonnes:.0f} t in range, "
              f"better simple rule {simple:.0f} t{', proved best' if answer.proved else ''}")  # fmt: skip


if __name__ == "__main__":
    main()
