"""What a site keeps for the next question: the same answers, whatever was asked before."""

import frostkit as fk
from frostkit.ensemble.site import KEPT


def fresh():
    return fk.open(seasons=(2012, 2024))


def told(answer):
    return answer.to_dict()


def test_answers_do_not_hang_on_what_was_asked_before():
    site = fresh()
    asked = [
        {"odds": 0.8},
        {"odds": 0.9},
        {"not_after": "05-25"},
        {"store": "bag"},
        {"after": 2},
        {"legume": None},
        {"corn": "silage-2150"},
        {"apart": True},
        {"late_planting": True, "corn": "silage-2600"},
        {"odds": 0.8},
    ]
    for more in asked:
        quick = {"track_record": "odds" in more, **more}
        assert told(fk.window(site, **quick)) == told(fk.window(fresh(), **quick)), more
    chosen = [
        {"seeding": "05-10"},
        {"seeding": "06-05"},
        {"store": "bag"},
        {"after": 2},
        {"growth": "500 degree days"},
        {"bean": ["forage-late", "soybean-00"]},
        {"corn": "silage-2150"},
        {"odds": 0.6},
        {"seeding": "05-10"},
    ]
    for more in chosen:
        assert told(fk.choose(site, **more)) == told(fk.choose(fresh(), **more)), more


def test_a_late_legume_does_not_hang_on_what_was_asked_before():
    site = fresh()
    asked = [
        {},
        {"seeding": "06-03"},
        {"legume": "soybean-00"},
        {"legume": "soybean-00", "cool_nights": False},
        {"corn": "silage-2150"},
        {"store": "upright"},
        {"frost": "tender"},
        {"rows": "wide"},
        {"rows": "wide", "bearing": 90.0},
        {"goal": "0.5 points of protein"},
        {"goal": "90 days"},
        {"corn_yield": 15.0, "goal": "0.5 points of protein"},
        {"ways": ["with corn", "V5"]},
        {"ways": ["2", "V5"]},
        {"ways": ["V5"]},
        {"seen": "V4 06-20"},
        {"seeding": "04-20"},
        {"odds": 0.6},
        {},
    ]
    for more in asked:
        options = {"corn": "silage-2300", "legume": "forage-late", "seeding": "05-22", **more}
        assert told(fk.late_legume(site, **options)) == told(fk.late_legume(fresh(), **options)), more


def test_a_season_under_way_does_not_hang_on_what_was_asked_before():
    site = fk.open()
    for more in ({}, {"emergence": "06-04"}, {"today": "2025-07-20"}, {"seeding": "06-01"}, {"today": "2025-07-10"}):
        options = {"seeding": "05-22", "today": "2025-07-10", **more}
        assert told(fk.season(site, **options)) == told(fk.season(fk.open(), **options)), more


def test_what_is_asked_again_is_not_worked_out_again_and_only_the_newest_stay():
    site, made = fk.demo(), []

    def make(number):
        return lambda: made.append(number) or number

    assert [site.once(("a", n), make(n)) for n in (1, 2, 1)] == [1, 2, 1] and made == [1, 2]
    for n in range(KEPT):
        site.once(("b", n), make(n))
    site.once(("a", 2), make("again"))
    assert made[-1] == "again"
