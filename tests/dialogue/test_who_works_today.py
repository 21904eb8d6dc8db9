"""Who works today is asked where it decides what can be signed, and kept with the hours."""

import datetime as dt

import pytest
from scripted_face import ScriptedFace

from benchrun.dialogue.conversation import converse
from benchrun.dialogue.hours import stay_today, today_in_words
from benchrun.record.clock import VirtualClock
from benchrun.shop.settings import hours_of
from benchrun.signing_keys import change_settings, enrol, new_shop


@pytest.fixture
def now():
    return VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000).now()


@pytest.fixture
def shop(tmp_path, now):
    shop = new_shop(tmp_path / "shop", "Ropewalk shop", now)
    for name, roles in (("Ada Brook", ("restorer",)), ("Bo Mill", ("checker",)), ("Cy Ode", ())):
        enrol(shop, name, now, passphrase="1234", roles=roles)
    return change_settings(
        shop, {"hours": "Wed 13:00-17:00, Sat 9:00-16:00 with ada-brook bo-mill"}
    )


def stays(shop, now, *answers):
    face = ScriptedFace(None, answers)
    converse(stay_today(shop, now, dt.UTC), face)
    assert not face.left
    return face


def test_some_of_several_are_named_one_by_one(shop, now):
    face = stays(shop, now, "2200", "2", "3", "1")
    assert [one.title for one in face.asked[2:]] == [
        "Who works today, 1 of 2",
        "Who works today, 2 of 2",
    ]
    assert face.said == ["Hours today: 13:00-22:00 with cy-ode ada-brook."]
    hours = hours_of(shop)
    assert hours.names_on(dt.date(2026, 11, 25)) == ("cy-ode", "ada-brook")
    assert hours.people_on(dt.date(2026, 11, 25)) == 2
    assert hours.names_on(dt.date(2026, 11, 28)) == ("ada-brook", "bo-mill")
    assert today_in_words(shop, now, dt.UTC) == "13:00-22:00 with cy-ode ada-brook"


def test_their_number_alone_may_be_kept(shop, now):
    face = stays(shop, now, "2200", "2", "4")
    assert face.said == ["Hours today: 13:00-22:00 2 people."]
    assert hours_of(shop).names_on(dt.date(2026, 11, 25)) == ()


def test_where_all_are_here_nobody_is_asked_who(shop, now):
    assert stays(shop, now, "2200", "3").said == ["Hours today: 13:00-22:00 3 people."]


def test_where_all_may_do_the_same_nobody_is_asked_who(tmp_path, now):
    shop = new_shop(tmp_path / "other", "Other shop", now)
    for name in ("Ada Brook", "Bo Mill", "Cy Ode"):
        enrol(shop, name, now, passphrase="1234")
    shop = change_settings(shop, {"hours": "Wed 13:00-17:00"})
    assert stays(shop, now, "2200", "2").said == ["Hours today: 13:00-22:00 2 people."]


def test_another_day_keeps_whom_it_names(shop, now):
    shop = change_settings(shop, {"other hours": "2026-12-06 10:00-14:00 with bo-mill"})
    stays(shop, now, "2200", "1", "1")
    hours = hours_of(shop)
    assert hours.names_on(dt.date(2026, 12, 6)) == ("bo-mill",)
    assert hours.names_on(dt.date(2026, 11, 25)) == ("ada-brook",)
