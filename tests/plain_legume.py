"""A legume's growth under corn in one season by plain loops over its days: light, collars, leaves, kilogrammes.

Written for tests from the words of docs/legume.md; its numbers are those of bean_light.toml and legume.toml, typed again.
"""

from math import acos, cos, exp, floor, pi, sin, sqrt, tan

import numpy as np

from tests.plain_window import END, comes

COLLAR_LEAF = [(0, 0.0025), (2, 0.02), (3, 0.045), (5, 0.11), (8, 0.35), (10, 0.55), (12, 0.75), (15, 1.0)]
LOW, MIDDLE, HIGH = 0.062, 0.245, 1.0  # what competition leaves of light alone
PARTS = (3, 4, 3)
STEPS = 60  # of a day's light


def above_air(latitude, day):
    """MJ/m2 (FAO-56, eq. 21 to 25). day : 1 = 1 January"""
    lat = latitude * pi / 180
    sun = 0.409 * sin(2 * pi * day / 365 - 1.39)
    set_ = acos(-tan(lat) * tan(sun))
    near = 1 + 0.033 * cos(2 * pi * day / 365)
    return 24 * 60 / pi * 0.0820 * near * (set_ * sin(lat) * sin(sun) + cos(lat) * cos(sun) * sin(set_))


def light(of, high, latitude=50.0):
    """PAR of each day, a mean of nine, x what its warmth allows. high : tmax, degC"""
    each = []
    for day in range(365):
        above = above_air(latitude, day + 1)
        each.append(min(0.16 * sqrt(max(high[day] - of["low"][day], 0)) * above, 0.75 * above))
    out = []
    for day in range(365):
        near = each[max(day - 4, 0) : day + 5]
        mean = (high[day] + of["low"][day]) / 2
        warm = min((mean - 8) / 14, 1, (40 - mean) / 10)
        out.append(0.48 * sum(near) / len(near) * max(warm, 0))
    return out


def collar_need(number):
    """Degree days (degC) from sowing: up with 115 degF days, 82 a collar to the tenth, 50 after it."""
    return (115 + 82 * min(number, 10) + 50 * max(number - 10, 0)) / 1.8


def gathered(of, day):
    """Whole degree days of the corn's leaves on the days before `day`."""
    return floor(round(sum(of["leaves"][:day]), 6))


def reaching(units):
    """Share of the light that reaches the legume, whole degree days after the corn was sown."""
    at = [0.0, *(collar_need(number) for number, _ in COLLAR_LEAF)]
    leaf = np.interp(min(units, floor(at[-1]) + 1), at, [0.0, *(share for _, share in COLLAR_LEAF)])
    depth = 0.55 * 3.2 * float(leaf)
    beside = 0.4 * depth
    return exp(-0.6 * depth) * ((1 - exp(-beside)) / beside if beside > 1e-6 else 1.0)


def grown(of, par, corn_sown, sown, end):
    """Dry matter on light alone at day `end`, kg/ha: leaves and stems built in small steps of light."""
    up = comes(of["leaves"], sown, 145 / 1.8 - 0.005)
    if up is None or up >= end:
        return 0.0
    begun = gathered(of, corn_sown + 1)
    days = range(up + 1, end)
    below = [par[day] * reaching(gathered(of, day) - begun) for day in days]
    whole = sum(par[day] for day in days)
    thin = min(0.030 * max(sum(below) / whole, 1e-3) ** -0.3, 0.095) if whole > 0 else 0.030
    leaf, mass = 0.04, 0.04 / thin
    for day in below:
        for _ in range(STEPS):
            step = day / STEPS
            half = leaf if leaf >= 4.5 else leaf + thin * 0.6 * 2.0 * step / 2 * (1 - exp(-0.48 * leaf))
            new = 2.0 * step * (1 - exp(-0.48 * half))
            mass += new
            if leaf < 4.5:
                leaf = min(leaf + 0.6 * thin * new, 4.5)
    return 10 * mass


def collar_day(of, corn_sown, number, end):
    """The day on which a collar comes, by a share of the heat from emergence to it."""
    need = round((collar_need(number) - collar_need(0)) * end + collar_need(0))
    begun = gathered(of, corn_sown + 1)
    for day in range(corn_sown + 1, END + 1):
        if gathered(of, day + 1) - begun >= need:
            return day
    return None


def tenths(values):
    """10, 50 and 90 % of a list: the first value by which so many have come."""
    rising = sorted(values)
    return [rising[max(-(-level * len(rising) // 10), 1) - 1] for level in (1, 5, 9)]


def with_model(alone):
    """The same with what competition leaves: low, middle and high three, four and three times."""
    return tenths([value * factor for value in alone for factor, part in zip((LOW, MIDDLE, HIGH), PARTS, strict=True)
                   for _ in range(part)])  # fmt: skip
