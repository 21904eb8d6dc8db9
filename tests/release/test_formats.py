"""Files of every released form are read; those of a newer one refused, and nothing written."""

import hashlib
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from in_process import said

from benchrun.record.chain import FORMAT
from benchrun.record.clock import SystemClock
from benchrun.record.folder import RunFolder
from benchrun.session import take_up
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.shop.settings import read_settings
from benchrun.signing_keys import change_settings, new_shop
from benchrun.version import FILES_FORMAT, VERSION, build

SHOPS = Path(__file__).parent / "shops"
RELEASED = sorted(SHOPS.iterdir())
NEWER = FILES_FORMAT + 1


def copied(source, to):
    shop = Path(shutil.copytree(source, to))
    for key in (shop / "keys").iterdir():
        key.chmod(0o600)
    return shop


def state(folder):
    """Every file of a folder with its bytes' digest."""
    return {
        path.relative_to(folder): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.fixture
def shop(tmp_path):
    return copied(RELEASED[-1], tmp_path / "shop")


def test_there_is_a_shop_of_every_released_version():
    assert RELEASED[-1].name == VERSION


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.name)
def test_a_shop_of_every_release_is_read_whole(released, tmp_path):
    shop = copied(released, tmp_path / "shop")
    code, out, err = said("--shop", shop, "verify", "--all")
    assert (code, err) == (0, ""), out + err
    assert said("--shop", shop, "shop")[0] == 0
    for book in ("instruments", "supplies", "vessels", "parts", "jobs", "people"):
        code, out, _ = said("--shop", shop, book)
        assert code == 0
        assert "put right" not in out
    code, out, _ = said("--shop", shop, "board", "--json")
    assert code == 0
    assert all(run["fault"] == "" for run in json.loads(out)["runs"])
    for log in (shop / "runs").glob("*/log.jsonl"):
        assert said("--shop", shop, "show", log.parent.name)[0] == 0


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.name)
def test_an_open_run_of_every_release_is_resumed(released, tmp_path):
    shop = open_shop(copied(released, tmp_path / "shop"))
    for log in shop.runs.glob("*/log.jsonl"):
        if (log.parent / "log.jsonl.sig").exists():
            continue
        take_up(shop, RunFolder(log.parent), read_people(shop)[0], SystemClock()).leave()
        seal = next(
            line
            for line in map(json.loads, reversed(log.read_bytes().splitlines()))
            if line["data"].get("why") == "resume"
        )
        assert seal["data"]["program"] == f"benchrun {VERSION} build {build()}"
        assert said("--shop", shop.path, "verify", log.parent.name)[0] == 0


COMMANDS = [
    ["--plain"],
    ["--plain", "run", "dry-blasting"],
    ["board"],
    ["shop"],
    ["shop", "repair", "--why", "x"],
    ["people"],
    ["people", "add", "Cara Dell", "--key", "k"],
    ["supplies", "add", "rag"],
    ["instruments"],
    ["ready", "dry-blasting"],
    ["due", "--to", "-"],
    ["lessons"],
    ["history"],
    ["verify", "--all"],
]


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_a_shop_of_a_newer_form_is_refused_in_plain_words_and_nothing_is_written(shop, words):
    file = shop / "shop.yaml"
    old = file.read_text()
    lines = [line for line in old.splitlines() if not line.startswith("format:")]
    file.write_text("\n".join([*lines, f"format: {NEWER}", "tide: high"]) + "\n")
    before = state(shop)
    code, out, err = said("--shop", shop, *words)
    assert (code, out) == (2, "")
    assert err == (
        f"benchrun: the shop in {shop} was made by a newer benchrun: its format is {NEWER}, and "
        f"benchrun {VERSION} reads up to {FILES_FORMAT}. Install the newer benchrun; nothing was "
        "changed\n"
    )
    assert state(shop) == before


@pytest.mark.parametrize("key", ["hours", "other hours"])
@pytest.mark.parametrize("stated", ["format: 1\n", ""])
def test_hours_that_name_people_state_the_form_that_an_older_program_does_not_know(
    tmp_path, key, stated
):
    shop = copied(SHOPS / "0.5.0", tmp_path / "shop")  # its hours name nobody
    file = shop / "shop.yaml"
    before = file.read_text().replace("format: 1\n", stated)
    file.write_text(f"---\n{before}")
    times = {"hours": "Sat 9:00-16:00", "other hours": "2026-12-06 10:00-14:00"}[key]
    change_settings(open_shop(shop), {key: f"{times} 2 people"})
    assert stated_form(file) == stated
    change_settings(open_shop(shop), {key: f"{times} with nell-tarrow"})
    assert stated_form(file) == "format: 2\n"
    change_settings(open_shop(shop), {"currency": "SEK"})
    settings = read_settings(open_shop(shop))
    assert (settings.faults, settings.currency) == ((), "SEK")
    assert settings.hours.named == {"nell-tarrow"}
    rest = [row for row in before.splitlines() if row.startswith("#")]
    assert [row for row in file.read_text().splitlines() if row.startswith("#")] == rest


def stated_form(file):
    """The line of a file that states its form, if any does."""
    return "".join(row for row in file.read_text().splitlines(True) if row.startswith("format:"))


def test_a_new_shop_states_the_first_form(tmp_path):
    made = new_shop(tmp_path / "new", "Shed", SystemClock().now())
    assert stated_form(made.path / "shop.yaml") == "format: 1\n"


@pytest.mark.parametrize("name", ["people", "instruments", "supplies", "vessels", "parts"])
def test_a_book_of_a_newer_form_is_told_as_such_and_not_written(shop, name):
    file = shop / f"{name}.yaml"
    file.write_text(f"format: {NEWER}\n" + file.read_text().replace("id:", "mark:"))
    before = file.read_bytes()
    said_of_it = said("--shop", shop, name)[1] + said("--shop", shop, name)[2]
    assert "was made by a newer benchrun" in said_of_it
    assert "is no key here" not in said_of_it
    words = {"people": ["change", "nell-tarrow", "name=N"]}.get(name, ["add", "thing"])
    code, _, err = said("--shop", shop, name, *words)
    assert code == 2
    assert "was made by a newer benchrun" in err
    assert file.read_bytes() == before


def test_a_procedure_and_a_script_of_a_newer_form_are_told_as_such(root, tmp_path):
    name = "hub-bearing-removal"
    own = (root / "procedures" / f"{name}.yaml").read_text()
    newer = tmp_path / "p.yaml"
    newer.write_text(f"format: {NEWER}\nmoon: full\n" + own)
    for words in (["check", newer], ["check", "--route", newer]):
        code, out, err = said(*words)
        assert code in {1, 2}
        assert "was made by a newer benchrun" in out + err
        assert "moon" not in out + err
    script = tmp_path / "a.yaml"
    answers = (root / "samples" / "answers" / f"{name}.yaml").read_text()
    script.write_text(f"format: {NEWER}\n" + answers)
    code, _, err = said("rehearse", name, "--answers", script, "--out", tmp_path / "o")
    assert code == 2
    assert "was made by a newer benchrun" in err
    assert not (tmp_path / "o").exists()


def test_files_that_state_the_form_of_today_are_read(root, tmp_path):
    own = (root / "procedures" / "hub-bearing-removal.yaml").read_text()
    file = tmp_path / "hub-bearing-removal.yaml"
    file.write_text(f"format: {FILES_FORMAT}\n" + own)
    code, out, _ = said("check", "--advice", "hide", file)
    assert (code, out[:18]) == (0, "1 file: no errors,")
    file.write_text("format: first\n" + own)
    code, out, _ = said("check", "--advice", "hide", file)
    assert code == 1
    assert "format: a whole number is needed here" in out


def test_settings_of_a_newer_form_are_told_as_such(tmp_path, monkeypatch):
    from benchrun.screen.user_settings import read_user_settings

    file = tmp_path / "screen.yaml"
    file.write_text(f"format: {NEWER}\nmoon: full\n")
    (fault,) = read_user_settings(tmp_path, file).faults[:1]
    assert "was made by a newer benchrun" in fault.text


def test_a_register_of_a_newer_form_is_neither_judged_nor_written(shop):
    register = shop / "register.jsonl"
    *lines, last = register.read_bytes().splitlines()
    data = json.loads(last)
    data["data"]["format"] = FORMAT + 1
    last = json.dumps(data, sort_keys=True, separators=(",", ":")).encode()
    register.write_bytes(b"\n".join([*lines, last]) + b"\n")
    before = state(shop)
    code, _, err = said("--shop", shop, "verify", "--all")
    assert code == 2
    assert "was made by a newer benchrun" in err
    code, _, err = said("--shop", shop, "people", "retire", "nell-tarrow")
    assert code == 2
    assert "was made by a newer benchrun" in err
    # No file but the lock of the shop, which holds nothing.
    assert {k: v for k, v in state(shop).items() if k.name != ".lock"} == before


def test_reports_and_data_state_the_number_of_their_form(shop):
    run = next((shop / "runs").glob("*dry-blasting*")).name
    for words in (["report", run, "--to", "-", "--form", "json"],):
        done = subprocess.run(
            [sys.executable, "-m", "benchrun", "--shop", str(shop), *words], capture_output=True
        )
        assert json.loads(done.stdout)["format"] == 1
    for words in (["board"], ["people"], ["parts"]):
        assert json.loads(said("--shop", shop, *words, "--json")[1])["format"] == 1
