"""Ready, made it and plan of one season by plain loops over its days; needs and limits as the entries name them.

Written for tests from the words of docs/method.md; of the package it knows the columns of days alone. tmin, tmax, prcp:
tenths of degC and mm, one season, [365].
"""

import datetime

import numpy as np

from tests.plain_loops import heat_of

END = (datetime.date(2001, 10, 31) - datetime.date(2001, 1, 1)).days
SPLIT = (datetime.date(2001, 8, 1) - datetime.date(2001, 1, 1)).days
CLOSE = 1e-6  # of sums in floats


class Chu:
    """What `heat_of` asks of a clock of corn heat units (Brown and Bootsma 1993)."""

    method, day, night_base = "chu", (3.33, 0.084), 4.4


def season(tmin, tmax, prcp=None):
    """Heat of each day by the three clocks of the entries, and the seedbed's temperature."""
    low, high = np.asarray(tmin, float) / 10, np.asarray(tmax, float) / 10
    leaves = (np.clip(low, 10, 30) + np.clip(high, 10, 30)) / 2 - 10  # 86/50 degF rule
    growth = np.maximum((low + high) / 2 - 10, 0)
    soil, weight, total = [], 0.0, 0.0
    for day in range(365):  # a fifth of the way to the day's air, each day; 0.8 warmer (docs/crops.md)
        total = 0.8 * total + 0.2 * (low[day] + high[day]) / 2
        weight = 0.8 * weight + 0.2
        soil.append(total / weight + 0.8)
    rain = None if prcp is None else np.asarray(prcp, float) / 10
    return {"low": low, "chu": heat_of(Chu, low, high), "leaves": leaves, "growth": growth, "soil": soil,
            "air": (low + high) / 2, "rain": rain}  # fmt: skip


def comes(heat, after, need):
    """The day by whose end the need is met, from the day after `after` on; None where not by the season's end."""
    total = 0.0
    for day in range(after + 1, END + 1):
        total += heat[day]
        if total >= need - CLOSE:
            return day
    return None


def ready(of, day, rain=None):
    """10 degC in the seedbed on the day and the next, from 1 April; no cold rain on either, where asked for [mm]."""
    if day < 90:
        return False
    for at in (day, day + 1):
        if of["soil"][at] < 10 - 1e-9:
            return False
        if rain is not None and of["rain"] is not None and of["rain"][at] >= rain and of["air"][at] < 10:
            return False
    return True


def killed(of, up, colder, limit, then):
    """First day from emergence `up` on at or below `limit` degC, and below `then` from day `colder` on."""
    for day in range(up, END + 1):
        at = then if colder is not None and day >= colder else limit
        if round(10 * of["low"][day]) <= round(10 * at):
            return day
    return None


def corn(of, sown, need):
    """(made it, the day it dies or None): up with 115, fifth leaf with 410 more degree days (degF), fit with `need` CHU.

    -4 degC kills from emergence on, -2 from the fifth leaf.
    """
    up = comes(of["leaves"], sown, 115 / 1.8 - 0.005)  # whole hundredths, rounded
    if up is None:
        return False, None
    fifth = comes(of["leaves"], up, 410 / 1.8 - 0.005)
    dead = killed(of, up, fifth, -4.0, -2.0)
    fit = comes(of["chu"], sown, need)
    return fit is not None and (dead is None or fit < dead), dead


def bean(of, sown):
    """The same for the late forage bean in the open: up with 145 degree days (degF), 350 more (degC) by the mean."""
    up = comes(of["leaves"], sown, 145 / 1.8 - 0.005)
    if up is None:
        return False, None
    dead = killed(of, up, None, -2.2, -2.2)
    enough = comes(of["growth"], up, 350)
    return enough is not None and (dead is None or enough < dead), dead


def plan(made, fit):
    """Sown on the first fit day from each day on: it made it."""
    out = []
    for day in range(len(made)):
        first = next((at for at in range(day, len(made)) if fit[at]), None)
        out.append(first is not None and made[first])
    return out
