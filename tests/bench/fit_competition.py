"""The competition factor of a legume under corn, fitted to field rows; each row left out in turn. Run by hand:

    python tests/bench/fit_competition.py

Needs the folder `shared` beside the clone. Its numbers stand in frostkit/answers/legume/bean_light.toml, [competition].
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.field_rows import ROWS, fit, left_out, measured, simulated


def main():
    low, middle = fit(tuple(row for row in ROWS if row.fitted))
    print(f"competition factor: low {low:.3f}, middle {middle:.3f}, high 1 (light alone)\n")
    print("| field row | measured | low | middle | high | within | used in the fit |\n|---|---|---|---|---|---|---|")
    for row, seen, least, mid, most in left_out():
        digits = 3 if row.of_open else 0
        within = "yes" if least <= seen <= most else "no"
        used = "yes" if row.fitted else f"no: {row.why}"
        print(
            f"| {row.name} | {seen:,.{digits}f} | {least:,.{digits}f} | {mid:,.{digits}f} | {most:,.{digits}f} | {within} | {used} |"
        )
    print("\nlight alone at the three ends, and measured over the high end:")
    for row in ROWS:
        ends = [simulated(row, end) for end in ("low", "middle", "high")]
        print(f"{row.name:48} {' '.join(f'{value:9.3f}' for value in ends)}   {measured(row) / ends[2]:.3f}")


if __name__ == "__main__":
    main()
