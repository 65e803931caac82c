"""The order of fields: what an order comes to, that it is the best, and never below the simple rules."""

from itertools import permutations

import numpy as np
import pytest

from frostkit.answers.silage.order import Work, best_order, carry_out, earliest_first, nearest_first, tonnes_kept


def farm(fields, seed, machines=1, seasons=8, moving=True):
    """A made-up farm: fit times by field and season, rates by season, places."""
    generator = np.random.default_rng(seed)
    fit = generator.uniform(0, 25 * fields, fields) + generator.normal(0, 25, (seasons, fields))
    fit = np.maximum(fit, 0)
    late = fit + generator.uniform(15, 100, fields) * generator.uniform(0.5, 1.5, (seasons, fields))
    fit[generator.random(fit.shape) < 0.03] = np.inf  # never fit in that season
    hours = generator.uniform(5, 30, fields) * generator.uniform(0.8, 1.25, (seasons, 1))
    place = generator.integers(0, 3, fields)
    move = 1.5 * (place[:, None] != place) if moving else np.zeros((fields, fields))
    weight = generator.uniform(0.5, 1.5, seasons)
    haul = generator.uniform(0, 20, fields)
    return Work(hours, fit, late, np.full(seasons, 22.0 * fields), generator.uniform(50, 400, fields),
                weight / weight.sum(), move, machines), haul  # fmt: skip


def by_hand(work, order):
    """One order, season by season and field by field, in plain Python."""
    total = 0.0
    for case in range(work.weight.size):
        free, last = [0.0] * work.machines, [None] * work.machines
        for field in order:
            if work.fit[case, field] == np.inf:
                continue
            machine = free.index(min(free))
            ready = free[machine] + (work.move[last[machine], field] if last[machine] is not None else 0.0)
            start = max(ready, work.fit[case, field])
            done = start + work.hours[case, field]
            in_time = max(0.0, min(done, work.late[case, field], work.end[case]) - start)
            total += work.weight[case] * work.tonnes[field] * in_time / work.hours[case, field]
            free[machine], last[machine] = done, field
    return total


@pytest.mark.parametrize("machines", [1, 2, 3])
def test_tonnes_kept_equal_a_reckoning_field_by_field(machines):
    work, _ = farm(7, 3, machines)
    orders = np.array([np.random.default_rng(s).permutation(7) for s in range(40)])
    np.testing.assert_allclose(tonnes_kept(work, orders), [by_hand(work, order) for order in orders.tolist()])
    run = carry_out(work, orders[0])
    assert (run.kept.sum(1) @ work.weight) == pytest.approx(by_hand(work, orders[0].tolist()))


@pytest.mark.parametrize("machines", [1, 2])
@pytest.mark.parametrize("fields", [1, 2, 3, 4, 5, 6])
def test_the_order_is_the_best_of_all_that_can_be_listed(fields, machines):
    for seed in range(3 if fields == 6 else 8):
        work, haul = farm(fields, 100 * fields + seed, machines, seasons=5)
        best = best_order(work, [nearest_first(haul)])
        assert best.proved
        assert sorted(best.order.tolist()) == list(range(fields))
        assert best.kept == pytest.approx(max(by_hand(work, order) for order in permutations(range(fields))))


@pytest.mark.parametrize("machines", [1, 2])
@pytest.mark.parametrize("fields", [8, 9])
def test_beyond_listing_outright_the_search_still_finds_the_best_of_all(fields, machines):
    # 8 and 9 fields take the other road (climbing, then a search that proves it); every order listed here by arrays
    orders = np.array(list(permutations(range(fields))))
    for seed in range(6 if fields == 8 else 1):
        work, haul = farm(fields, 900 + seed, machines, seasons=4)
        best = best_order(work, [nearest_first(haul)])
        assert best.kept == pytest.approx(float(tonnes_kept(work, orders).max()), rel=1e-9)
        assert best.proved or machines > 1


@pytest.mark.slow
def test_on_200_made_up_farms_it_is_never_below_the_simple_rules():
    gains, proved = [], 0
    for seed in range(200):
        work, haul = farm(2 + seed % 13, seed, 1 + seed % 7 // 6, moving=seed % 3 > 0)
        rules = [earliest_first(work), nearest_first(haul)]
        best = best_order(work, rules, shakes=2)
        simple = tonnes_kept(work, np.array(rules)).max()
        assert best.kept >= simple - 1e-9, seed
        assert best.kept == pytest.approx(by_hand(work, best.order.tolist()))
        gains.append(best.kept / simple - 1)
        proved += best.proved
    print(f"better than the better simple rule by {100 * np.mean(gains):.1f} % on average, {proved} of 200 proved best")
    assert np.mean(gains) > 0.01


def test_the_same_farm_gives_the_same_order():
    work, haul = farm(14, 5)
    first, again = (best_order(work, [nearest_first(haul)], shakes=3) for _ in range(2))
    assert first.order.tolist() == again.order.tolist()


def test_a_second_machine_and_an_earlier_clock_never_cost_tonnes():
    for seed in range(10):
        one, haul = farm(6, seed, 1)
        two, _ = farm(6, seed, 2)
        assert best_order(two, [nearest_first(haul)]).kept >= best_order(one, [nearest_first(haul)]).kept - 1e-9


def test_24_fields_are_improved_over_the_simple_rules_within_the_time_of_a_test():
    work, haul = farm(24, 11, seasons=10)
    rules = np.array([earliest_first(work), nearest_first(haul)])
    best = best_order(work, list(rules), shakes=2)
    assert not best.proved
    assert best.kept > tonnes_kept(work, rules).max()
