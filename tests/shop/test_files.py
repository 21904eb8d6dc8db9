"""Reading a shop's files: faults have their place, the rest works, hostile values do no harm."""

import datetime as dt
import stat

import pytest

from benchrun.errors import BenchrunError
from benchrun.shop.books import read_books
from benchrun.shop.folder import open_shop
from benchrun.shop.instruments import INSTRUMENTS, read_instruments
from benchrun.shop.parts import PARTS, read_jobs, read_parts
from benchrun.shop.people import people_sheet, read_people
from benchrun.shop.row_editor import add_line, add_row, change_row
from benchrun.shop.settings import read_settings
from benchrun.shop.supplies import SUPPLIES, read_supplies
from benchrun.shop.vessels import VESSELS, read_vessels
from benchrun.signing_keys import change_settings

GAUGES = """\
instruments:
  - id: gauge
    name: film gauge
    range: 0 to 500 um
  - id: wrench
    name: torque wrench
    range: 20 to 200 parsecs
  - id: rule
    name: steel rule
    range: 0 to 300 mm
    calibratd: 2026-01-01
"""


def words(sheet):
    return [fault.words for fault in sheet.faults]


def test_a_new_shop_explains_itself_and_has_nothing_to_put_right(shop):
    found = read_books(shop)
    assert found.faults == ()
    for name in ("instruments", "supplies", "vessels", "parts", "people", "shop"):
        text = (shop.path / f"{name}.yaml").read_text()
        assert len([line for line in text.splitlines() if line.startswith("#  ")]) > 3
    assert "keys/*" in (shop.path / ".gitignore").read_text()
    assert stat.S_IMODE((shop.path / "keys").stat().st_mode) == 0o700


def test_every_key_of_every_row_is_explained_in_a_new_file(shop):
    for form in (INSTRUMENTS, SUPPLIES, VESSELS, PARTS):
        text = (shop.path / form.file).read_text()
        assert [key for key in form.keys if key not in text] == []


def test_an_unsound_row_is_told_by_line_and_column_and_the_others_stand(shop, write):
    write("instruments.yaml", GAUGES)
    sheet = read_instruments(shop)
    assert [one.id for one in sheet.rows] == ["gauge"]
    assert words(sheet)[0].startswith("instruments.yaml:7:12: range: 'parsecs' is no unit")
    assert words(sheet)[1].startswith("instruments.yaml:11:5: 'calibratd' is no key here: did you")
    with pytest.raises(BenchrunError, match=r"no instrument 'wrench'.*instruments.yaml:7:12"):
        sheet.named("wrench")


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("instruments:\n  - id: a\n   name: b\n", "instruments.yaml:3:"),
        ("instruments:\n\t- id: a\n", "instruments.yaml:2:1: a tab"),
        ("- id: a\n", "instruments.yaml:1:1: the file must begin with `instruments:`"),
        ("just words\n", "instruments.yaml:1:1: the file must begin with `instruments:`"),
        ("instruments: gauge\n", "instruments.yaml:1:14: `instruments` must be a list"),
        ("instruments:\n  - gauge\n", "instruments.yaml:2:5: begin the instrument with"),
        ("instrument:\n  - id: a\n", "instruments.yaml:1:1: 'instrument' is no key here: did you"),
        ("instruments:\n  - &a {id: a}\n  - *a\n", "instruments.yaml:2:5: an anchor"),
        ("instruments: !!python/object:os.system x\n", "instruments.yaml:1:14: a tag"),
        ("instruments:\n  - {id: a, id: b}\n", "instruments.yaml:2:13: key 'id' is there twice"),
        ("%YAML 1.1\n---\ninstruments: []\n", "instruments.yaml:1:1: a line beginning with %"),
        (
            "instruments:\n  - {id: ../up, name: a, range: 0 to 1 mm}\n",
            "instruments.yaml:2:10: id:",
        ),
        ("instruments:\n  - {id: a, name: a, range: 5 to 1 mm}\n", "backwards"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(shop, write, text, place):
    write("instruments.yaml", text)
    found = words(read_instruments(shop))
    assert len(found) >= 1
    assert any(place in one for one in found), found


def test_one_broken_file_keeps_no_other_from_being_read(shop, person, write):
    write("instruments.yaml", "instruments:\n  - id: [\n")
    write("vessels.yaml", "vessels:\n  - {id: tub, name: etch tub}\n")
    found = read_books(shop)
    assert [one.id for one in found.vessels.rows] == ["tub"]
    assert [one.id for one in found.people.rows] == [person.id]
    assert [fault.file for fault in found.faults] == ["instruments.yaml"]
    assert not found.instruments.whole


def test_one_broken_row_locks_nobody_else_out(shop, person):
    path = shop.path / "people.yaml"
    path.write_text(path.read_text() + "  - name: Without a Key\n    roles: [checker]\n")
    assert [one.id for one in read_people(shop)] == [person.id]
    assert "neither key nor agent" in words(people_sheet(shop))[0]


def test_a_people_file_that_cannot_be_read_is_not_nobody(shop, person, write):
    write("people.yaml", "people:\n  - {id: a\n")
    with pytest.raises(BenchrunError, match=r"people\.yaml:\d+:\d+"):
        read_people(shop)


def test_two_rows_of_one_id_are_told(shop, write):
    write("vessels.yaml", "vessels:\n  - {id: tub, name: a}\n  - {id: tub, name: b}\n")
    sheet = read_vessels(shop)
    assert [one.name for one in sheet.rows] == ["a"]
    assert words(sheet) == ["vessels.yaml:3:10: the id tub is there twice: give this one another"]


HOSTILE = {
    "escape": 'vessels:\n  - {id: a, name: "\\e[2J"}\n',
    "control": "vessels:\n  - {id: a, name: a\x1b]52;c;x\x07}\n",
    "bidi": "vessels:\n  - {id: a, name: a\u202eb}\n",
    "deep": "vessels: " + "[" * 5000,
    "long text": f"vessels:\n  - {{id: a, name: {'x' * 3000}}}\n",
    "megabytes": "vessels:\n" + "  - {id: a, name: a}\n" * 100_000,
    "digits": f"vessels:\n  - {{id: a, name: a, holds: {'9' * 3900}}}\n",
    "not text": "vessels:\n  - {id: a, name: [a]}\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_values_are_refused_in_one_harmless_line(shop, write, name):
    write("vessels.yaml", HOSTILE[name])
    sheet = read_vessels(shop)
    assert sheet.rows == ()
    assert sheet.faults
    for line in words(sheet):
        assert line.isprintable()
        assert len(line) < 500


def test_odd_bytes_are_refused(shop):
    for content in (b"\xff\xfev\x00e\x00", b"vessels: \xff\n", b"\x00\x00\x00v", b"\x00" * 5000):
        (shop.path / "vessels.yaml").write_bytes(content)
        sheet = read_vessels(shop)
        assert (sheet.rows, len(sheet.faults)) == ((), 1)


def test_a_folder_or_a_pipe_where_a_file_should_be_is_told(shop):
    import os

    (shop.path / "vessels.yaml").unlink()
    os.mkfifo(shop.path / "vessels.yaml")
    assert "not an ordinary file" in words(read_vessels(shop))[0]


@pytest.mark.parametrize("name", ["../../up", "/etc", "a b", "A", "", "a" * 200, "a\x1b"])
def test_an_id_that_could_be_a_path_is_not_taken(shop, name):
    before = (shop.path / "vessels.yaml").read_bytes()
    with pytest.raises(BenchrunError):
        add_row(shop.path, VESSELS, {"id": name, "name": "tub"})
    assert (shop.path / "vessels.yaml").read_bytes() == before


def test_a_picture_outside_the_shop_is_not_taken(shop, write):
    for photo in ("../../secret.jpg", "/etc/passwd", "a/../b", "a\\b"):
        write("parts.yaml", f"parts:\n  - id: a\n    name: a\n    away:\n"
              f"      - {{sent: 2026-01-01, to: x, photo: '{photo}'}}\n")  # fmt: skip
        assert "must be a file inside the shop's folder" in words(read_parts(shop))[0]


def test_comments_order_and_quotes_stay_when_the_program_writes(shop, write):
    path = write(
        "vessels.yaml",
        "# mine\nvessels:   # two\n\n- name: 'etch tub'   # old\n  id: tub\n\n# oven next\n"
        "- {id: oven, name: oven}\n",
    )
    change_row(shop.path, VESSELS, "tub", {"holds": "6"})
    add_row(shop.path, VESSELS, {"id": "rail", "name": "rail"})
    assert path.read_text() == (
        "# mine\nvessels:   # two\n\n- name: 'etch tub'   # old\n  id: tub\n  holds: 6\n\n"
        "# oven next\n- {id: oven, name: oven}\n- id: rail\n  name: rail\n"
    )


def test_a_mark_at_the_head_and_line_ends_of_another_system_stay(shop):
    path = shop.path / "vessels.yaml"
    path.write_bytes(b"\xef\xbb\xbfvessels:\r\n  - id: tub\r\n    name: tub\r\n")
    add_row(shop.path, VESSELS, {"id": "rail", "name": "rail"})
    assert path.read_bytes() == (
        b"\xef\xbb\xbfvessels:\r\n  - id: tub\r\n    name: tub\r\n"
        b"  - id: rail\r\n    name: rail\r\n"
    )


def test_a_value_that_will_not_do_leaves_the_file_as_it_was(shop, write):
    path = write("instruments.yaml", GAUGES)
    with pytest.raises(BenchrunError, match="backwards"):
        change_row(shop.path, INSTRUMENTS, "gauge", {"range": "9 to 1 mm"})
    with pytest.raises(BenchrunError, match="already"):
        add_row(shop.path, INSTRUMENTS, {"id": "wrench", "name": "b", "range": "0 to 1 mm"})
    with pytest.raises(BenchrunError, match="no instrument 'lens'"):
        change_row(shop.path, INSTRUMENTS, "lens", {"note": "x"})
    assert path.read_text() == GAUGES


def test_a_faulty_row_keeps_no_other_from_being_changed_and_stays_as_it_is(shop, write):
    path = write("instruments.yaml", GAUGES)
    change_row(shop.path, INSTRUMENTS, "gauge", {"note": "in the drawer"})
    assert path.read_text() == GAUGES.replace("500 um\n", "500 um\n    note: in the drawer\n")


def test_a_file_that_cannot_be_read_is_not_written(shop, write):
    path = write("vessels.yaml", "vessels: [\n")
    with pytest.raises(BenchrunError, match=r"vessels\.yaml:\d+:\d+.*Put that right first"):
        add_row(shop.path, VESSELS, {"id": "tub", "name": "tub"})
    assert path.read_text() == "vessels: [\n"


def test_a_missing_file_is_begun_with_its_explanation(shop):
    (shop.path / "supplies.yaml").unlink()
    add_row(shop.path, SUPPLIES, {"id": "rags", "name": "rags", "amount": "20"})
    assert (shop.path / "supplies.yaml").read_text().startswith(SUPPLIES.head)
    assert read_supplies(shop).named("rags").left.words == "20"


def test_a_link_stays_a_link_and_permissions_stay(shop, tmp_path):
    there = tmp_path / "kept-elsewhere.yaml"
    there.write_text("vessels: []\n")
    there.chmod(0o600)
    (shop.path / "vessels.yaml").unlink()
    (shop.path / "vessels.yaml").symlink_to(there)
    add_row(shop.path, VESSELS, {"id": "tub", "name": "tub"})
    assert (shop.path / "vessels.yaml").is_symlink()
    assert "id: tub" in there.read_text()
    assert stat.S_IMODE(there.stat().st_mode) == 0o600


def test_parts_and_jobs_share_a_file_and_disturb_each_other_not(shop, write):
    write("parts.yaml", "# mine\njobs:\n  - {id: trailer, name: hose trailer}\nparts:\n"
          "  - {id: arm, name: arm, job: trailer}\n")  # fmt: skip
    add_line(shop.path, PARTS, "arm", "runs", "2026-03-10-etch-abcd")
    assert read_parts(shop).named("arm").runs == ("2026-03-10-etch-abcd",)
    assert read_jobs(shop).named("trailer").name == "hose trailer"
    assert read_jobs(shop).faults == read_parts(shop).faults == ()


def test_settings_that_cannot_be_read_are_not_written(shop, write):
    path = write("shop.yaml", "title: [\n")
    with pytest.raises(BenchrunError, match=r"shop\.yaml:\d+:\d+"):
        change_settings(shop, {"currency": "EUR"})
    assert path.read_text() == "title: [\n"


def test_what_is_no_list_of_lines_is_told(shop, write):
    write("parts.yaml", "parts:\n  - {id: hub, name: hub, away: at the plater}\n")
    assert any(
        "parts.yaml:2:" in one and "away: a list of lines" in one for one in words(read_parts(shop))
    )


def test_settings_have_their_usual_values_and_say_what_is_wrong(shop):
    path = shop.path / "shop.yaml"
    assert read_settings(shop).remind_days == 14
    path.write_text(path.read_text() + "remind days: 30\ncurrency: euro\nleast ratio: 10\n")
    found = read_settings(shop)
    assert (found.remind_days, found.least_ratio, found.currency) == (30, 10, "")
    assert "shop.yaml:" in found.faults[0].words
    assert "currency" in found.faults[0].words


@pytest.mark.parametrize(
    "title", ["Shed", 'The "old" shed', "Shed #2", "Shed: axles", "a\\b", "it's", "#1", "- x", "é"]
)
def test_a_shop_keeps_its_title_whatever_it_is(tmp_path, clock, title):
    from benchrun.signing_keys import new_shop

    made = new_shop(tmp_path / "s", title, clock.now())
    assert open_shop(made.path) == made
    assert made.title == title
    assert read_books(made).faults == ()


@pytest.mark.parametrize("title", ["x" * 100, "a\x1b[2Jb", "a\nb", " ", "é" * 70])
def test_a_title_that_cannot_be_kept_as_it_is_reads_back_as_the_shop_was_made(
    tmp_path, clock, title
):
    from benchrun.record.signers import read_signers
    from benchrun.signing_keys import new_shop, principal, station_key

    made = new_shop(tmp_path / "s", title, clock.now())
    again = open_shop(made.path)
    assert again == made
    (signer,) = read_signers(again.signers).of(principal(again, "station"))
    assert signer.key == station_key(again).public


def test_titles_are_read_as_people_write_them(shop):
    for written, title in (
        ("title: Shed   # ours", "Shed"),
        ("title: 'it''s'  # ours", "it's"),
        ('title: "a # b"', "a # b"),
        ("title: a#b", "a#b"),
        ("name: x", "Shop"),
    ):
        (shop.path / "shop.yaml").write_text(f"# c\n{written}\ncurrency: EUR\n")
        assert open_shop(shop.path).title == title


def test_days_lives_and_money_are_read_as_written():
    from benchrun.shop.amounts import money_totals, read_day, read_life, read_money

    assert read_life("6 months").end(dt.date(2026, 8, 31)) == dt.date(2027, 2, 28)
    assert read_life("1 year").end(dt.date(2028, 2, 29)) == dt.date(2029, 2, 28)
    assert read_life("90 d").end(dt.date(2026, 1, 1)) == dt.date(2026, 4, 1)
    assert read_life("2 weeks").words == "2 weeks"
    totals = money_totals([read_money("1,50 EUR"), read_money("2 EUR"), read_money("3.10 CHF")])
    assert [one.words for one in totals] == ["3.50 EUR", "3.10 CHF"]
    for read, text in (
        (read_day, "2026-02-30"),
        (read_day, "tomorrow"),
        (read_life, "0 days"),
        (read_life, "soon"),
        (read_money, "12.50"),
        (read_money, "1.234 EUR"),
    ):
        with pytest.raises(BenchrunError):
            read(text)


def test_a_tin_that_keeps_beyond_the_last_day_of_the_calendar_keeps_until_then(shop, write):
    write(
        "supplies.yaml",
        "supplies:\n  - {id: p, name: p, amount: 1 l, opened: 9999-12-31, keeps: 9 weeks}\n",
    )
    assert read_supplies(shop).named("p").good_until == dt.date.max


def test_a_file_that_has_grown_too_large_says_what_makes_it_smaller(shop, write):
    line = "      - {on: 2020-05-08, used: 45 ml}\n"
    text = "supplies:\n  - id: p\n    name: p\n    amount: 9 l\n    book:\n" + line * 20_000
    path = write("supplies.yaml", text)
    for said in (read_supplies(shop).faults[0].text, _refusal(shop)):
        assert "supplies.yaml has 742 KiB, at most 512 are read: take old lines out" in said
        assert "counted: WHAT IS LEFT" in said
    assert path.read_text() == text


def _refusal(shop):
    with pytest.raises(BenchrunError) as error:
        add_row(shop.path, SUPPLIES, {"id": "q", "name": "q", "amount": "1 l"})
    return error.value.message
