"""The sample shop: made anew at any moment, and as it ships."""

import datetime as dt
import json
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from shipped import IDS, ROOT, procedure

from benchrun.board import look, parts_in_work
from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment
from benchrun.plan.evening import plan_shop
from benchrun.plan.progress import parts_progress, ready_parts
from benchrun.plan.score import faults
from benchrun.plan.words import evening_text
from benchrun.procedure.route import Hold
from benchrun.quantity import convert
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.rehearse import sample
from benchrun.run.strengths import strengths
from benchrun.session import take_up
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop, open_shop
from benchrun.shop.hours import Hours, week_of
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import PARTS
from benchrun.shop.people import read_people
from benchrun.shop.supplies import SUPPLIES, read_supplies, short, spoiled
from benchrun.shop.vessels import VESSELS
from benchrun.verify import verify

SHIPPED = ROOT / "samples" / "shop"
FOUND = dt.datetime(2027, 2, 20, 18, 30, tzinfo=dt.UTC)
CLOSED = {
    "hub-bearing-removal",
    "dye-penetrant-inspection",
    "dry-blasting",
    "cylinder-bore-inspection",
}
OPEN = {"brush-coats", "acid-etch-in-loads", "plating-send-out", "spare-part-matching"}


@pytest.fixture(scope="module")
def now() -> Moment:
    return Moment(int(FOUND.timestamp() * 1000), 90_000_000, "this-boot", True)


@pytest.fixture(scope="module")
def made(now: Moment, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    folder = tmp_path_factory.mktemp("sample") / "shop"
    sample.make(folder, FOUND, now)
    return open_shop(folder)


@pytest.fixture
def kept(tmp_path: Path) -> Shop:
    """A copy of the shop as it ships."""
    return open_shop(Path(shutil.copytree(SHIPPED, tmp_path / "shop")))


def procedures_of(shop: Shop, *, closed: bool) -> set[str]:
    found = set()
    for folder in run_folders(shop.runs):
        verdict = verify(folder.path, shop=shop.path)
        assert verdict.whole, verdict.text()
        if verdict.keeping.closed == closed:
            first = json.loads(folder.log.read_text(encoding="utf-8").splitlines()[0])
            found.add(first["data"]["procedure"]["id"])
    return found


def entries(shop: Shop, name: str) -> list[dict[str, Any]]:
    folder = next(one for one in run_folders(shop.runs) if name in one.run)
    return [json.loads(line) for line in folder.log.read_text(encoding="utf-8").splitlines()]


def test_four_runs_are_closed_and_four_open_and_all_verify_against_the_shop(made: Shop) -> None:
    assert procedures_of(made, closed=True) == CLOSED
    assert procedures_of(made, closed=False) == OPEN


def test_the_shop_that_ships_verifies_too(kept: Shop) -> None:
    assert procedures_of(kept, closed=True) == CLOSED
    assert procedures_of(kept, closed=False) == OPEN


def test_the_files_of_both_shops_are_sound_and_linked(made: Shop, kept: Shop) -> None:
    for shop in (made, kept):
        books = read_books(shop)
        assert books.faults == ()
        assert books.loose_ends == ()
        runs = {folder.run for folder in run_folders(shop.runs)}
        named = {run for part in books.parts.rows for run in part.runs}
        assert named <= runs
        assert len(books.instruments.rows) >= 8
        assert len(books.supplies.rows) >= 4


def test_something_is_past_its_date_something_due_and_a_parcel_late(made: Shop) -> None:
    books = read_books(made)
    today = FOUND.date()
    states = {one.id: one.state(today) for one in books.instruments.rows}
    assert "past its calibration date" in states["bath-glass"]
    assert states["bore-gauge-1"] == ""
    studs, late = books.parts.named("wheel-studs"), books.parts.named("cylinder-r")
    assert studs.gone is not None
    assert late.gone is not None
    assert late.gone.due is not None
    assert late.gone.due < today
    assert (made.path / studs.gone.photo).read_bytes().startswith(b"\x89PNG")


def test_an_etch_load_is_in_the_tub_and_its_clock_is_that_of_this_machine(
    made: Shop, now: Moment
) -> None:
    folder = next(one for one in run_folders(made.runs) if "acid-etch" in one.run)
    clock = VirtualClock(now.utc, up_ms=now.up_ms)
    clock.now = lambda: now  # type: ignore[method-assign]  # the very moment it is found
    session = take_up(made, folder, read_people(made)[0], clock)
    try:
        soaking = {m.part: m.soak for m in session.run.each() if m.soak is not None}
        assert set(soaking) == {"clip-1", "clip-2", "lever-l", "lever-r"}
        since = next(iter(soaking.values()))
        elapsed = session.run.timeline.elapsed(since.mark, now)
        assert elapsed.proven_ms == elapsed.possible_ms
        assert 5 * 60_000 <= elapsed.proven_ms <= 6 * 60_000
    finally:
        session.leave()


def test_the_shop_that_ships_comes_alive_at_any_later_moment(now: Moment, tmp_path: Path) -> None:
    shop = sample.alive(tmp_path / "shop", now)
    assert procedures_of(shop, closed=True) == CLOSED
    assert procedures_of(shop, closed=False) == OPEN
    last = entries(shop, "acid-etch-in-loads")[-1]["at"]
    assert last["boot"] == "this-boot"
    assert abs(last["up_ms"] - now.up_ms) < 5000
    books = read_books(shop)
    assert books.faults == ()
    named = {run for part in books.parts.rows for run in part.runs}
    assert named <= {folder.run for folder in run_folders(shop.runs)}


def test_half_the_parts_have_their_second_coat(made: Shop) -> None:
    coats: dict[str, int] = {}
    for entry in entries(made, "brush-coats"):
        if entry["data"].get("step") == "coat":
            for part in entry["data"]["parts"]:
                coats[part] = coats.get(part, 0) + 1
    assert coats == {"hub-l": 2, "bracket-1": 2, "hub-r": 1, "bracket-2": 1}


def test_everything_says_that_it_is_invented(made: Shop) -> None:
    assert "invented" in made.title
    for folder in run_folders(made.runs):
        first = json.loads(folder.log.read_text(encoding="utf-8").splitlines()[0])
        assert "invented" in first["data"]["rehearsal"]
    for name in ("instruments", "supplies", "vessels", "parts"):
        assert (made.path / f"{name}.yaml").read_text(encoding="utf-8").startswith("# Invented")


def test_whoever_works_has_somebody_else_for_every_hold_of_every_procedure(
    made: Shop, kept: Shop
) -> None:
    asked = {
        step.detail.role
        for name in IDS
        for step in procedure(name).route.steps.values()
        if isinstance(step.detail, Hold) and step.detail.role
    }
    assert asked >= {"checker", "steering and brake examiner", "weld examiner"}
    for shop in (made, kept):
        works, *others = [person for person in read_people(shop) if not person.left]
        assert works.name == sample.PEOPLE["first"]
        for role in asked:
            assert any(role in person.roles for person in others), role


def test_keys_of_the_people_open_with_the_word_that_is_told(made: Shop) -> None:
    from benchrun.record.keys import read_key_file

    for person in read_people(made):
        assert read_key_file(person.key).unlock(sample.PASSPHRASE).public


def test_the_books_of_supplies_agree_with_the_logs_of_all_runs(
    made: Shop, kept: Shop, now: Moment, tmp_path: Path
) -> None:
    alive = sample.alive(tmp_path / "alive", now)
    for shop in (made, kept, alive):
        tins = read_supplies(shop)
        told = 0
        for folder in run_folders(shop.runs):
            run = folded(*read_kept(folder))
            for n, uses in run.used.items():
                for use in uses:
                    if use.name:
                        tin = tins.named(use.name)
                        size = convert(Decimal(use.amount), use.unit, tin.amount.unit)
                        assert tin.used_by(folder.run, n) == size
                        told += 1
        lines = [line for tin in tins.rows for line in tin.book if line.entry is not None]
        assert told == sum(line.deed != "strength" for line in lines)
        assert told >= 6


def test_the_strength_of_the_etch_bath_is_in_the_book_as_the_run_read_it(made: Shop) -> None:
    folder = next(one for one in run_folders(made.runs) if "acid-etch" in one.run)
    procedure, read = read_kept(folder)
    last = read_supplies(made).named("etch-bath").strength
    assert last is not None
    found = strengths(procedure.route, read)
    assert (last.run, last.entry) == (folder.run, max(found))
    assert last.amount.value == found[max(found)].number


def test_the_files_show_each_thing_that_a_shop_can_keep(made: Shop) -> None:
    found, today = read_books(made), FOUND.date()
    supplies = {one.id: one for one in found.supplies.rows}
    wrong = {name: " ".join(spoiled(one, today)) for name, one in supplies.items()}
    assert "6 months after opening" in wrong["black-0"]
    assert "was good until" in wrong["thinner-1"]
    assert "to be kept" in short(supplies["oil-1"])
    assert supplies["degreaser-used"].reuses == 2
    assert supplies["etch-bath"].strength is not None
    assert {one.decision for one in found.parts.rows} >= {
        "use",
        "rework",
        "replace",
        "scrap",
        "spare",
    }
    assert any(trip.back for one in found.parts.rows for trip in one.away)
    assert any(one.replaces for one in found.parts.rows)
    assert any(one.left for one in found.people.rows)
    assert any(one.done for one in found.jobs.rows)
    assert any(one.out_of_use for one in found.vessels.rows)
    assert found.settings.currency == "EUR"
    for form in (INSTRUMENTS, SUPPLIES, VESSELS, PARTS):
        text = (made.path / form.file).read_text(encoding="utf-8")
        assert all(f"#   {key} " in text for key in form.keys)


def test_sixteen_parts_stand_along_their_routes_and_some_are_ready(made: Shop) -> None:
    progress = {one.part.id: one for one in parts_progress(made, parts_in_work(made))}
    assert len(read_books(made).parts.rows) == len(progress) == 16
    assert progress["hub-l"].done == (
        "hub-bearing-removal",
        "dye-penetrant-inspection",
        "dry-blasting",
    )
    assert ready_parts(progress.values()) == {
        "torque-tightening": ("cylinder-l",),
        "rinse-and-force-dry": ("drum-l",),
    }
    assert "spare-part-matching finds another" in progress["hub-spare"].held
    assert progress["cylinder-new"].held.startswith("in work in the open run")
    assert progress["wheel-studs"].held.startswith("away at the plater")


def test_what_closed_runs_did_with_the_parts_is_in_their_rows_however_the_shop_was_made(
    made: Shop, now: Moment, tmp_path: Path
) -> None:
    shops = (made, sample.alive(tmp_path / "alive", now))
    told = [
        {part.id: (len(part.runs), part.stands.partition(":")[0]) for part in rows}
        for rows in (read_books(shop).parts.rows for shop in shops)
    ]
    assert told[0] == told[1]
    assert told[0]["hub-l"] == (4, "in work")
    assert told[0]["hub-spare"][1].startswith("scrapped, entry ")


@pytest.mark.parametrize("hour", [0, 1, 2, 9, 14, 19, 20, 21, 23])
def test_the_hours_put_the_shop_in_the_middle_of_an_evening_at_any_time_of_day(hour: int) -> None:
    found = dt.datetime(2027, 2, 20, hour, 47, 12, tzinfo=dt.UTC)
    hours = Hours(week_of(sample.hours_around(found)))
    at = int(found.timestamp() * 1000)
    begun, later = at - 150 * 60_000, at + 89 * 60_000
    for moment in (begun, at, later):
        assert hours.attended(moment, moment, dt.UTC) == moment
    dark = at + 4 * 3_600_000
    assert hours.attended(dark, dark + 20 * 3_600_000, dt.UTC) is None


def test_the_evening_has_work_for_now_work_for_later_and_work_not_to_begin(
    made: Shop, now: Moment
) -> None:
    evening = plan_shop(made, look(made, now).open_runs, now, rounds=0)
    assert faults(evening.workload, evening.plan) == []
    text = evening_text(evening, now)
    assert "until" in text.splitlines()[0]
    closes = evening.workload.openings[0][1]
    tonight = [start for start in evening.plan.starts.values() if start < closes]
    assert 3 <= len(tonight) < len(evening.plan.starts)  # something does not fit
    assert "Do not begin" in text, text


def test_the_clocks_of_the_sample_are_exact_whenever_this_machine_was_started(
    tmp_path: Path,
) -> None:
    clock = sample.SampleClock()
    moment = clock.now()
    shop = sample.alive(tmp_path / "shop", moment)
    board = look(shop, clock.now())
    assert board.open_runs
    for _, _, one in board.clocks_at(clock.now()):
        assert one.spent.exact, one
