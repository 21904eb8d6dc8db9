"""The commands of a shop, as a person and a script meet them."""

import os
import pty
import subprocess
import sys

import pytest
from in_process import said
from patience import PATIENCE_S

from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.shop.supplies import read_supplies


@pytest.fixture
def run(tmp_path):
    """Run a command in the shop; answers what it printed, checks how it ended."""

    def command(*args, code=0):
        ended, out, err = said("--shop", tmp_path / "shed", *args)
        assert ended == code, out + err
        return err.strip() if code == 2 else out

    return command


@pytest.fixture
def shed(run, tmp_path):
    told = run("shop", "new", tmp_path / "shed", "--title", "Trailer shed")
    assert "shop.yaml there says what lies where" in told
    return tmp_path / "shed"


def test_a_shop_is_made_once(run, shed):
    assert run("shop").startswith(f"Trailer shed in {shed}\n0 people, 0 instruments, 0 supplies")
    told = run("shop", "new", shed, code=2)
    assert told == f"benchrun: there is a shop in {shed} already"


def test_without_a_shop_every_command_says_how_to_make_one(run):
    for name in ("board", "shop", "people", "instruments", "supplies", "vessels", "parts", "jobs"):
        told = run(name, code=2)
        assert "benchrun shop new" in told
        assert "\n" not in told


def test_an_instrument_is_added_listed_changed_and_shown(run, shed):
    run("instruments", "add", "torque wrench", "id=wrench", "range=20 to 200 N m",
        "uncertainty=4 %", "until=2001-01-01", "also=wrench for nuts; long wrench")  # fmt: skip
    assert "past its calibration date, 2001-01-01" in run("instruments")
    run("instruments", "change", "wrench", "until=2999-01-01", "by=a laboratory: sheet 7")
    shown = run("instruments", "show", "wrench")
    assert "4 % of the reading" in shown
    assert "a laboratory: sheet 7" in shown
    assert "good until 2999-01-01" in run("instruments", "list")
    assert (shed / "instruments.yaml").read_text().count(
        "also: [wrench for nuts, long wrench]"
    ) == 1


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("instruments", "add", "a", "range=1"), "is no range"),
        (("supplies", "add", "a"), "a has no amount: write it"),
        (("instruments", "add", "a", "colour=red"), "'colour' is no key here"),
        (("instruments", "change", "a", "note=x"), "no instrument 'a': there is none yet"),
        (("instruments", "show", "../../x"), "no instrument '../../x'"),
        (("supplies", "use", "a", "1l"), "no supply 'a'"),
        (("supplies", "add", "a", "amount=1 l", "book=x"), "'book' is no key here"),
        (("supplies", "change", "a", "id=b"), "'id' is no key here"),
        (("parts", "back", "a"), "no part 'a'"),
        (("parts", "list", "--job", "x"), "no job 'x'"),
        (("people", "retire", "x"), "no person 'x'"),
        (("ready", "none-such"), "no procedure 'none-such'"),
        (("vessels", "add", "\x1b[2Jtub"), "which cannot be written down"),
    ],
)
def test_what_will_not_do_is_one_line(run, shed, args, says):
    told = run(*args, code=2)
    assert says in told
    assert told.isprintable()


def test_a_tool_that_reads_nothing_needs_no_range(run, shed):
    assert run("instruments", "add", "bench vice") == "instrument bench-vice added\n"
    assert "bench vice" in run("instruments", "show", "bench-vice")


def test_a_supply_is_used_poured_back_counted_and_reconciles(run, shed):
    run("supplies", "add", "moisture-cured paint", "id=paint", "amount=1 l", "solids=60 %",
        "least=300 ml", "best-before=2999-01-01", "lot=P 7")  # fmt: skip
    assert "960 ml left; good until 2999-01-01" in run("supplies", "use", "paint", "40ml")
    assert "1.01 l left" in run("supplies", "back", "paint", "50ml", "--why", "poured back")
    assert "has 250 ml left of 300 ml to be kept" in run("supplies", "count", "paint", "0.25 l")
    assert run("supplies", "enough", "paint", "--area", "0.8 m2", "--film", "75 um",
               "--coats", "2", "--loss", "20 %") == (
        "moisture-cured paint (paint): 250 ml needed, 250 ml left: that suffices\n"
    )  # fmt: skip
    assert "short by 62.5 ml" in run("supplies", "enough", "paint", "--area", "1 m2", "--film",
                                     "75 um", "--coats", "2", "--loss", "20 %")  # fmt: skip
    shown = run("supplies", "show", "paint")
    assert "poured back  1 time" in shown
    assert [line.deed for line in read_supplies(open_shop(shed)).named("paint").book] == [
        "used",
        "back",
        "counted",
    ]


def test_a_part_is_sent_away_and_comes_back_with_its_costs(run, shed):
    run("jobs", "add", "Hose trailer")
    run(
        "parts", "add", "lever", "id=lever-l", "side=left", "job=hose-trailer", "numbers=cast 1; L2"
    )
    run("parts", "away", "lever-l", "--to", "the plater", "--due", "2001-01-01", code=2)
    run("parts", "away", "lever-l", "--to", "the plater", "--count", "2", "--due", "2999-01-01")
    assert "Away\n  lever (lever-l), 2 pieces, is away at the plater" in run("board")
    assert run("parts", "back", "lever-l") == "lever-l is back: place unknown\n"
    run("parts", "cost", "lever-l", "40EUR", "plating")
    assert run("parts", "cost", "lever-l", "2.5 EUR", "freight") == (
        "lever-l: freight 2.50 EUR, in all 42.50 EUR\n"
    )
    run("parts", "change", "lever-l", "decision=use", "where=shelf 3")
    assert "42.50 EUR" in run("jobs", "show", "hose-trailer")
    assert "lever-l  lever, left  hose-trailer  use" in run(
        "parts", "list", "--job", "hose-trailer"
    )
    assert "cast 1; L2" in run("parts", "show", "lever-l")
    assert "1 part, 0 runs" in run("jobs")


def test_a_vessel_is_free_until_a_run_has_something_in_it(run, shed):
    run("vessels", "add", "etch tub", "id=tub", "holds=4")
    assert run("vessels") == "tub  etch tub  holds 4  free\n"


def test_what_a_procedure_lacks_ends_with_1(run, shed):
    told = run("ready", "hub-bearing-removal")
    assert (
        "no books are kept of instruments (readings name none) and supplies" in told
    )  # so nobody may say that nothing is lacking
    assert "nothing is lacking" not in told
    run("instruments", "add", "steel rule", "range=0 to 300 mm")
    assert "not in instruments.yaml:" in run("ready", "degrease-etch-coat", code=1)


def test_a_broken_file_is_told_by_line_and_the_rest_still_works(run, shed):
    (shed / "supplies.yaml").write_text("supplies:\n  - {id: a, name: a}\n")
    assert "put right  supplies.yaml:2:5: a has no amount" in run("supplies")
    assert "supplies.yaml:2:5" in run("shop", code=1)
    assert "supplies.yaml:2:5" in run("board")
    run("vessels", "add", "rail")
    run("supplies", "add", "rags", "amount=20")
    assert "rags  rags  20 left  good" in run("supplies")


def test_everything_can_be_printed_in_ascii(run, shed, benchrun):
    run("instruments", "add", "film gauge", "range=0 to 500 µm")
    done = subprocess.run(
        [benchrun, "--shop", shed, "--ascii", "instruments"], capture_output=True, check=True
    )
    assert done.stdout.isascii()
    assert b"0 to 500 um" in done.stdout


def test_somebody_is_taken_on_at_a_terminal_and_the_passphrase_is_not_shown(benchrun, run, shed):
    terminal, other = pty.openpty()
    process = subprocess.Popen(
        [benchrun, "--shop", shed, "people", "add", "Some Body"],
        stdin=other,
        stdout=other,
        stderr=other,
        start_new_session=True,
    )
    os.close(other)
    shown = b""
    for question in (b"A passphrase for the new key: ", b"The same once more: "):
        while question not in shown:
            shown += os.read(terminal, 1024)
        os.write(terminal, b"secret word\n")
    try:
        while more := os.read(terminal, 1024):
            shown += more
    except OSError:
        pass  # how a terminal ends on Linux once its program has gone
    os.close(terminal)
    assert process.wait(PATIENCE_S) == 0
    assert b"secret" not in shown
    assert b"Some Body signs as some-body with SHA256:" in shown
    (person,) = read_people(open_shop(shed))
    assert person.roles == ("restorer", "checker")
    assert "some-body  Some Body" in run("people")
    run("people", "change", "some-body", "roles=checker")
    assert "is trusted no longer" in run("people", "compromised", "some-body", "--why", "lost")
    assert "still verifies" in run("people", "retire", "some-body")


def test_a_script_gives_the_passphrase_on_its_input_and_nothing_is_none(benchrun, run, shed):
    assert "empty passphrase" in run("people", "add", "Some Body", code=2)
    done = subprocess.run(
        [benchrun, "--shop", shed, "people", "add", "Some Body", "--role", "checker"],
        input="word\nword\n",
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0
    assert done.stderr == ""
    assert "with the role checker" in done.stdout


def test_the_command_line_starts_without_what_only_some_commands_need():
    code = (
        "import sys, benchrun.cli.shop; "
        "print([m for m in ('ruamel', 'cryptography', 'pydantic', 'textual', "
        "'benchrun.shop', 'benchrun.run', 'benchrun.record') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
