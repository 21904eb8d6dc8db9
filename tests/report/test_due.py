"""The calendar of what falls due: right times, read by a kept parser, by RFC 5545's rules."""

import datetime as dt

import icalendar
import pytest
from calendar_rules import broken_rules
from worked_runs import Worked

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.rehearse.sample import make
from benchrun.report.due import Due, as_calendar, due_in_shop, write_due
from benchrun.run import commands as c
from benchrun.signing_keys import new_shop

DAY = dt.date(2026, 3, 10)
INSTRUMENTS = """\
instruments:
  - id: bg-1
    name: bore gauge
    range: 50 to 160 mm
    resolution: 0.001 mm
    uncertainty: 0.002 mm
    calibrated: 2025-03-10
    until: 2026-03-09
"""
PARTS = """\
parts:
  - id: arm-l
    name: lower arm
    away: [{sent: 2026-03-01, to: the plater, count: 2, due: 2026-04-01}]
  - id: arm-r
    name: other arm
    away: [{sent: 2026-03-01, to: the plater, due: 2026-04-01, back: 2026-03-20}]
"""


def events(path):
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    assert not calendar.errors
    return {str(one["summary"]): one for one in calendar.walk("VEVENT")}


def at(work, minutes):
    now = work.clock.now().utc_ms // 1000 + minutes * 60
    return dt.datetime.fromtimestamp(now, dt.UTC)


@pytest.fixture
def soaking(tmp_path):
    work = Worked(tmp_path, ["arm L", "arm R", "stay"])
    work.do("wipe")
    work.send(c.PutIn("soak", ("arm L", "arm R"), work.seen))
    work.clock.wait(3 * 60_000)
    return work


def test_a_load_is_due_between_least_and_most(soaking, tmp_path):
    said = write_due(soaking.shop, tmp_path / "due.ics", soaking.clock.now())
    assert said.startswith("1 thing due")
    event = events(tmp_path / "due.ics")["Look at the seat: Take out of the hot tub, arm L/R"]
    assert event["dtstart"].dt == at(soaking, 6)
    assert event["dtend"].dt == at(soaking, 16)
    triggers = sorted(alarm["trigger"].dt for alarm in event.walk("VALARM"))
    assert triggers == [dt.timedelta(0), dt.timedelta(minutes=5)]
    assert "10 min to 20 min" in str(event["description"])


def test_a_load_of_which_nobody_knows_how_long_it_was_in_is_given_no_end(soaking, tmp_path):
    soaking.clock.reboot(90_000, False)
    write_due(soaking.shop, tmp_path / "due.ics", soaking.clock.now())
    (words,) = events(tmp_path / "due.ics")
    assert words.endswith("could be late: at least 0 s; machine was off, longest time unknown")
    assert "dtend" not in events(tmp_path / "due.ics")[words]


def test_two_shops_with_one_id_for_different_things_do_not_replace_each_others(tmp_path):
    uids = set()
    for name in ("North shed", "South shed"):
        shop = new_shop(tmp_path / name, name, Moment(0, 0, "boot", True))
        (shop.path / "parts.yaml").write_text(PARTS, "utf-8")
        uids |= {one.uid for one in due_in_shop(shop, DAY)}
    assert uids == {"north-shed.part-arm-l", "south-shed.part-arm-l"}


def test_the_same_thing_keeps_its_identity_and_another_has_another(soaking, tmp_path):
    def uids():
        write_due(soaking.shop, tmp_path / "due.ics", soaking.clock.now())
        return {str(event["uid"]) for event in events(tmp_path / "due.ics").values()}

    first = uids()
    soaking.clock.wait(60_000)
    assert uids() == first
    soaking.send(c.PutIn("soak", ("stay",), soaking.seen))
    assert len(uids()) == 2
    assert first < uids()


def test_days_come_from_the_shops_registers(tmp_path):
    work = Worked(tmp_path, ["a"])
    shop = work.shop
    (shop.path / "instruments.yaml").write_text(INSTRUMENTS, "utf-8")
    (shop.path / "parts.yaml").write_text(PARTS, "utf-8")
    found = {one.uid: (str(one.begin), one.words) for one in due_in_shop(shop, DAY)}
    gauge = "Calibration expired on 2026-03-09: bore gauge (bg-1)"
    assert found == {
        "invented-shop.part-arm-l": ("2026-04-01", "Due back from the plater: lower arm (arm-l)"),
        "invented-shop.instrument-bg-1": ("2026-03-10", gauge),
    }
    write_due(shop, tmp_path / "due.ics", work.clock.now())
    event = events(tmp_path / "due.ics")["Last day of calibration: bore gauge (bg-1)"]
    assert event["dtstart"].dt == dt.date(2026, 3, 9)
    (alarm,) = event.walk("VALARM")
    assert alarm["trigger"].dt == dt.timedelta(hours=8)


def test_nothing_in_the_calendar_lies_in_the_past(soaking, tmp_path):
    (soaking.shop.path / "instruments.yaml").write_text(INSTRUMENTS, "utf-8")
    for minutes in (1, 8, 5, 10, 3000):
        soaking.clock.wait(minutes * 60_000)
        write_due(soaking.shop, tmp_path / "due.ics", soaking.clock.now())
        now = at(soaking, 0)
        for event in events(tmp_path / "due.ics").values():
            begin = event["dtstart"].dt
            assert begin >= (now if isinstance(begin, dt.datetime) else now.date())
            alarms = [alarm["trigger"].dt for alarm in event.walk("VALARM")]
            assert alarms
            assert min(alarms) >= dt.timedelta(0)


def test_a_recoat_window_is_due_for_the_parts_that_wait(tmp_path):
    work = Worked(tmp_path, ["arm L", "arm R"])
    work.do("wipe")
    work.soak()
    for part in work.parts:
        work.read(part, "61.96")
        work.read(part, "61.96")
    work.do("bore-mean")
    work.do("cracks", finding="none seen")
    work.do("coat", "arm L")
    work.do("cover", "arm L", finding="even")
    write_due(work.shop, tmp_path / "due.ics", work.clock.now())
    (name,) = [name for name in events(tmp_path / "due.ics") if "step 6" in name.lower()]
    assert name.startswith("Look at the seat: Step 6, ")
    assert name.endswith(", arm L")
    event = events(tmp_path / "due.ics")[name]
    assert event["dtstart"].dt == at(work, 0)
    assert event["dtend"].dt == at(work, 24 * 60 - 2)
    work.clock.wait(24 * 3_600_000)
    write_due(work.shop, tmp_path / "due.ics", work.clock.now())
    event = events(tmp_path / "due.ics")[f"{name}: late by 2 min"]
    assert event["dtstart"].dt == at(work, 0)
    assert "dtend" not in event


def test_a_window_stays_the_same_thing_when_some_of_its_parts_go_on(tmp_path):
    work = Worked(tmp_path, ["arm L", "arm R"])
    work.do("wipe")
    work.soak()
    for part in work.parts:
        work.read(part, "61.96")
        work.read(part, "61.96")
    work.do("bore-mean")
    work.do("cracks", finding="none seen")
    work.do("coat", "arm L", "arm R")
    work.do("cover", "arm L", finding="even")
    work.do("cover", "arm R", finding="even")

    def windows():
        write_due(work.shop, tmp_path / "due.ics", work.clock.now())
        found = events(tmp_path / "due.ics")
        return {name.rsplit(", ", 1)[1]: str(one["uid"]) for name, one in found.items()}

    both = windows()
    assert list(both) == ["arm L/R"]
    work.clock.wait(3600_000)
    work.do("coat", "arm L")
    left = windows()
    assert left["arm R"] == both["arm L/R"]


def test_a_closed_run_and_a_quiet_one_have_nothing_due(work, tmp_path):
    with pytest.raises(BenchrunError, match="nothing is due"):
        write_due(work.shop, tmp_path / "due.ics", work.clock.now())
    assert not (tmp_path / "due.ics").exists()


def test_a_damaged_run_is_told_and_the_others_are_written(soaking, tmp_path):
    folder = soaking.shop.runs / "2026-01-01-other-abcd"
    folder.mkdir()
    (folder / "log.jsonl").write_bytes(b"{}\n")
    said = write_due(soaking.shop, tmp_path / "due.ics", soaking.clock.now())
    assert "not read, damaged: 2026-01-01-other-abcd" in said
    assert len(events(tmp_path / "due.ics")) == 1


def test_another_ending_is_refused(soaking, tmp_path):
    with pytest.raises(BenchrunError, match=r"ends in \.ics"):
        write_due(soaking.shop, tmp_path / "due.txt", soaking.clock.now())


HOSTILE = "BEGIN:VEVENT\r\nSUMMARY:x;y,z\\n\x07 " + "\N{SNOWMAN}" * 60 + " long" * 60 + ' \\;\\,:"'


def test_the_rules_of_the_standard_hold_for_hostile_text(soaking):
    day = dt.date(2026, 3, 9)
    moment = dt.datetime(2026, 3, 9, 12, tzinfo=dt.UTC)
    later = moment + dt.timedelta(minutes=90)
    found = [
        Due("a", HOSTILE, day),
        Due("b", HOSTILE, moment, moment, f"{HOSTILE}\nsecond line"),
        Due("c", HOSTILE, moment, later, HOSTILE),
    ]
    content = as_calendar(found, soaking.clock.now())
    assert broken_rules(content) == []
    calendar = icalendar.Calendar.from_ical(content)
    assert len(calendar.walk("VEVENT")) == 3
    for event in calendar.walk("VEVENT"):
        assert str(event["summary"]).startswith("BEGIN:VEVENT SUMMARY:x;y,z\\n")
        assert "\N{SNOWMAN}" * 60 in str(event["summary"])


def test_everything_that_a_shop_waits_for_is_written_by_the_rules_of_the_standard(tmp_path):
    shop = make(tmp_path / "sample", dt.datetime(2026, 11, 25, 14, tzinfo=dt.UTC))
    now = Moment(int(dt.datetime(2026, 11, 25, 14, tzinfo=dt.UTC).timestamp() * 1000), 1, "b", True)
    write_due(shop, tmp_path / "due.ics", now)
    content = (tmp_path / "due.ics").read_bytes()
    assert broken_rules(content) == []
    kinds = {name.split(":")[0].split(" ")[0] for name in events(tmp_path / "due.ics")}
    assert {"Last", "Good"} <= kinds
    names = " ".join(events(tmp_path / "due.ics"))
    assert ": Take out of the " in names
    assert ": Step " in names
    assert "ue back " in names


@pytest.mark.parametrize(
    ("before", "after", "rule"),
    [
        (b"\r\n", b"\n", "3.1"),
        (b"\r\n ", b"", "octets"),
        (b"UID:", b"X-UID:", "without UID"),
        (b"DTSTAMP:20", b"DTSTAMP;TZID=X:20", "DTSTAMP"),
        (b"T120000Z", b"T120000", "DTSTART"),
        (b"VERSION:2.0", b"VERSION:1.0", "version"),
        (b"PRODID", b"X-PRODID", "without PRODID"),
        (b"\\;", b";", "SUMMARY"),
        (b"END:VALARM\r\n", b"", "END:VEVENT"),
        (b"UID:b", b"UID:a", "twice"),
        (b"TRIGGER:", b"TRIGGER:x", "TRIGGER"),
    ],
)
def test_a_file_that_breaks_a_rule_of_the_standard_is_found_out(soaking, before, after, rule):
    moment = dt.datetime(2026, 3, 9, 12, tzinfo=dt.UTC)
    good = as_calendar([Due(uid, HOSTILE, moment) for uid in "ab"], soaking.clock.now())
    assert before in good
    assert any(rule in fault for fault in broken_rules(good.replace(before, after)))
