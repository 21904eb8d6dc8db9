"""What costs start-up time is imported only when it is used."""

import shutil
import subprocess
import sys

import pytest
from patience import PATIENCE_S

HEAVY = ("PIL", "orjson", "cryptography", "ruamel", "textual", "pydantic", "numpy")


def loaded_by(code):
    look = f"import sys\n{code}\nprint([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", look], capture_output=True, text=True, timeout=PATIENCE_S, check=True
    )
    return done.stdout.strip().splitlines()[-1]


def test_the_command_line_itself_loads_nothing_heavy():
    assert loaded_by("import benchrun.cli") == "[]"


@pytest.mark.parametrize("module", ["run.decide", "run.offers", "run.fold", "procedure.route"])
def test_the_rules_load_nothing_heavy(module):
    assert loaded_by(f"import benchrun.{module}") == "[]"


def test_the_look_at_sys_modules_can_fail():
    assert "pydantic" in loaded_by("import pydantic")


def test_help_loads_nothing_heavy():
    code = "from benchrun.cli import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass"
    assert loaded_by(code) == "[]"


READING = "benchrun.procedure.shapes"
INDEX = "benchrun.history.index"


@pytest.fixture(scope="module")
def sample(tmp_path_factory, root):
    """The sample shop, where each command that is tried here was given once before."""
    shop = tmp_path_factory.mktemp("sample") / "shop"
    shutil.copytree(root / "samples" / "shop", shop)
    return shop


@pytest.mark.parametrize(
    ("words", "without"),
    [
        ("people list", ("benchrun.run", "benchrun.procedure.route", "benchrun.shopmath")),
        ("ready brush-coats", (READING, INDEX, "benchrun.account", "benchrun.shopmath.catalogue")),
        ("board", (READING, INDEX, "benchrun.account", "benchrun.plan")),
        ("shop", (READING, INDEX)),
        ("supplies list", (READING, INDEX)),
        ("verify --all", ("benchrun.plan", "benchrun.screen", INDEX)),
    ],
)
def test_a_command_loads_no_room_that_it_does_not_need(sample, words, without):
    code = f"from benchrun.cli import main\nmain({['--shop', str(sample), *words.split()]!r})"
    look = f"import sys\n{code}\nprint([m for m in {without!r} if m in sys.modules])"
    for _ in range(2):  # what a first time makes of a file is there for the second
        done = subprocess.run(
            [sys.executable, "-c", look], capture_output=True, text=True, timeout=PATIENCE_S
        )
    assert done.stdout.splitlines()[-1] == "[]", done.stderr


def test_commands_but_the_screens_never_load_textual(tmp_path, root):
    answers = root / "samples" / "answers" / "hub-bearing-removal.yaml"
    out = tmp_path / "run"
    commands = [
        ["check", str(root / "procedures" / "hub-bearing-removal.yaml")],
        ["rehearse", "hub-bearing-removal", "--answers", str(answers), "--out", str(out)],
        ["verify", str(out)],
        ["show", str(out)],
        ["calc", "limits", "size=62", "class=P7"],
        ["schema"],
    ]
    code = f"from benchrun.cli import main\nfor args in {commands!r}:\n    assert main(args) == 0"
    assert "textual" not in loaded_by(code)
