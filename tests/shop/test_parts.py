"""Parts and jobs: identity, decisions, trips, costs, and what they belong to."""

import datetime as dt

import pytest
from PIL import Image

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.shop.movements import enter_cost, enter_run, send_away, take_back
from benchrun.shop.parts import cost_of, read_jobs, read_parts, runs_of, unlinked
from benchrun.shopkeeping.parts import away

NOW = Moment(1_773_136_800_000, 1000, "boot", True)
DAY = dt.date(2026, 3, 10)
FILE = """\
jobs:
  - {id: trailer, name: Hose trailer, owner: an invented museum, runs: [2026-03-01-look-aaaa]}
parts:
  - id: arm-l
    name: trailing arm
    side: left
    numbers: [cast 4711, stamped L 22]
    job: trailer
    condition: seat worn 0.05 mm
    decision: replace
    where: shelf 3
    runs: [2026-03-02-seat-bbbb]
  - {id: arm-new, name: trailing arm, job: trailer, replaces: arm-l, decision: spare,
     costs: [{on: 2026-03-05, what: bought, price: 80.00 EUR}]}
"""


@pytest.fixture
def parts(shop, write):
    write("parts.yaml", FILE)
    assert read_parts(shop).faults == ()
    return shop


def test_a_part_says_what_it_is(parts):
    one = read_parts(parts).named("arm-l")
    assert one.identity == "left, cast 4711, stamped L 22"
    assert one.whereabouts == "shelf 3"


def test_a_part_goes_away_and_comes_back(parts, tmp_path):
    picture = tmp_path / "Before plating.JPG"
    block = Image.Exif()
    block.get_ifd(0x8825).update({1: "N", 2: (47.0, 11.0, 12.0)})
    Image.new("L", (16, 16), 90).save(picture, "JPEG", exif=block)
    one = send_away(
        parts, "arm-l", "the plater", DAY, count=2, due=dt.date(2026, 3, 20), photo=picture
    )
    assert one.whereabouts == "away at the plater since 2026-03-10, due back 2026-03-20"
    assert one.gone.photo.startswith("photos/before-plating-")
    with Image.open(parts.path / one.gone.photo) as copy:
        assert dict(copy.getexif().get_ifd(0x8825)) == {}
    with pytest.raises(BenchrunError, match=r"arm-l is away at the plater .* receive it first"):
        send_away(parts, "arm-l", "elsewhere", DAY)
    back = take_back(parts, "arm-l", dt.date(2026, 3, 21))
    assert (back.gone, back.whereabouts) == (None, "shelf 3")
    assert back.away[0].back == dt.date(2026, 3, 21)
    with pytest.raises(BenchrunError, match="arm-l is not away"):
        take_back(parts, "arm-l", DAY)


def test_coming_back_before_it_went_is_refused(parts):
    send_away(parts, "arm-l", "the plater", DAY)
    before = (parts.path / "parts.yaml").read_text()
    with pytest.raises(BenchrunError, match="is before it was sent"):
        take_back(parts, "arm-l", dt.date(2026, 3, 9))
    assert (parts.path / "parts.yaml").read_text() == before


def test_a_second_trip_ends_without_touching_the_first(parts):
    send_away(parts, "arm-l", "the plater", DAY)
    take_back(parts, "arm-l", DAY)
    send_away(parts, "arm-l", "the grinder", DAY)
    one = take_back(parts, "arm-l", dt.date(2026, 4, 1))
    assert [(trip.to, str(trip.back)) for trip in one.away] == [
        ("the plater", "2026-03-10"),
        ("the grinder", "2026-04-01"),
    ]


def test_what_did_not_come_back_stays_away(parts, tmp_path):
    picture = tmp_path / "after.jpg"
    Image.new("L", (16, 16), 90).save(picture, "JPEG")
    send_away(parts, "arm-l", "the plater", DAY, count=8, due=dt.date(2026, 3, 20))
    for came in (0, 9):
        with pytest.raises(BenchrunError, match="8 went: say how many came back"):
            take_back(parts, "arm-l", DAY, came=came)
    one = take_back(parts, "arm-l", DAY, came=6, photo=picture)
    assert (one.away[0].came, one.away[0].back, one.gone.count) == (6, DAY, 2)
    assert (parts.path / one.away[0].photo_back).is_file()
    assert one.whereabouts == "away at the plater since 2026-03-10, due back 2026-03-20"
    one = take_back(parts, "arm-l", DAY, came=2)
    assert (one.gone, [trip.came for trip in one.away]) == (None, [6, 2])


def test_a_due_day_before_the_sending_is_refused(parts):
    with pytest.raises(BenchrunError, match="before it goes"):
        send_away(parts, "arm-l", "the plater", DAY, due=dt.date(2026, 3, 9))


def test_a_picture_that_may_tell_where_it_was_taken_goes_along_only_when_that_is_said(
    parts, tmp_path
):
    picture = tmp_path / "old.tif"
    picture.write_bytes(b"II*\0 whatever")
    with pytest.raises(BenchrunError, match=r"With --as-it-is it is kept anyway"):
        away(parts, "arm-l", "the plater", NOW, photo=picture)
    assert read_parts(parts).named("arm-l").gone is None
    away(parts, "arm-l", "the plater", NOW, photo=picture, unsure=True)
    kept = read_parts(parts).named("arm-l").gone.photo
    assert (parts.path / kept).read_bytes() == picture.read_bytes()


def test_a_picture_that_is_not_there_is_told(parts, tmp_path):
    with pytest.raises(BenchrunError, match="no such file"):
        send_away(parts, "arm-l", "the plater", DAY, photo=tmp_path / "none.jpg")


def test_costs_add_up_by_currency_and_never_across(parts):
    enter_cost(parts, "arm-l", "plating", "40,50 EUR", DAY)
    enter_cost(parts, "arm-l", "freight", "12 CHF", DAY)
    job = read_jobs(parts).named("trailer")
    totals = cost_of(job, read_parts(parts).rows)
    assert [one.words for one in totals] == ["120.50 EUR", "12.00 CHF"]


def test_a_price_without_a_currency_is_in_the_shops_own(parts):
    with pytest.raises(BenchrunError, match="three capital letters"):
        enter_cost(parts, "arm-l", "plating", "40", DAY)
    path = parts.path / "shop.yaml"
    path.write_text(path.read_text() + "currency: NOK\n")
    assert enter_cost(parts, "arm-l", "plating", "40", DAY).costs[-1].price.words == "40.00 NOK"


def test_a_job_has_its_own_runs_and_those_of_its_parts_once(parts):
    enter_run(parts, "arm-new", "2026-03-02-seat-bbbb")
    enter_run(parts, "arm-new", "2026-03-09-fit-cccc")
    enter_run(parts, "arm-new", "2026-03-09-fit-cccc")
    job = read_jobs(parts).named("trailer")
    assert runs_of(job, read_parts(parts).rows) == (
        "2026-03-01-look-aaaa",
        "2026-03-02-seat-bbbb",
        "2026-03-09-fit-cccc",
    )


def test_a_spare_is_linked_to_what_it_replaces_and_loose_links_are_told(parts, write):
    rows, jobs = read_parts(parts).rows, read_jobs(parts).rows
    assert unlinked(rows, jobs) == ()
    write("parts.yaml", FILE.replace("replaces: arm-l", "replaces: arm-r").replace(
        "id: trailer", "id: wagon"))  # fmt: skip
    found = unlinked(read_parts(parts).rows, read_jobs(parts).rows)
    assert "arm-l belongs to trailer, which is no job" in found
    assert "arm-new replaces arm-r, which is no part" in found


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("decision: replace", "decision: perhaps", "'perhaps' is none of use, rework, replace"),
        ("replaces: arm-l", "replaces: arm-new", "cannot replace itself"),
        ("price: 80.00 EUR", "price: 80", "is no price"),
        ("on: 2026-03-05", "on: yesterday", "is no day"),
        ("numbers: [cast 4711, stamped L 22]", "numbers: {a: b}", "a list of texts"),
        ("runs: [2026-03-02-seat-bbbb]", "runs: [../../x]", "is no id"),
    ],
)
def test_what_no_part_can_be_is_told(parts, write, old, new, says):
    assert FILE.count(old) == 1
    write("parts.yaml", FILE.replace(old, new))
    assert any(says in fault.words for fault in read_parts(parts).faults)
