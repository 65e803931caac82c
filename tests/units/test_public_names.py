"""Names of the public face that are names of rooms too: callable, whichever was asked for first."""

import importlib

import pytest

import frostkit as fk


@pytest.mark.parametrize("name", ["demo", "crops", "region"])
def test_a_room_of_the_same_name_can_be_called(name):
    room = importlib.import_module(f"frostkit.{name}")
    assert callable(getattr(fk, name)) and callable(room)
    assert name in fk.PUBLIC


def test_the_invented_place_can_be_asked_for_again_and_again():
    first, again = fk.demo(), fk.demo()
    assert first.record.invented and again.record.invented
    assert len(fk.crops().to_frame()) == len(fk.crops().to_frame()) > 20
