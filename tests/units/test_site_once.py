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
    for day in ("05-10", "06-05", "05-10"):
        assert told(fk.choose(site, day)) == told(fk.choose(fresh(), day)), day


def test_what_is_asked_again_is_not_worked_out_again_and_only_the_newest_stay():
    site, made = fk.demo(), []

    def make(number):
        return lambda: made.append(number) or number

    assert [site.once(("a", n), make(n)) for n in (1, 2, 1)] == [1, 2, 1] and made == [1, 2]
    for n in range(KEPT):
        site.once(("b", n), make(n))
    site.once(("a", 2), make("again"))
    assert made[-1] == "again"
