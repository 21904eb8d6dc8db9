"""The command line as somebody meets it who has only its help: every command, every mistake."""

import json
import shlex
import shutil
import subprocess

import jsonschema
import pytest
from in_process import said

from benchrun.cli import program_parser
from benchrun.cli.completion import next_words

DYED = "2026-04-01-dye-penetrant-inspection-dyed"
BOOKS = ("instruments", "supplies", "vessels", "parts", "jobs")


def every_parser(parser=None, path=()):
    parser = parser or program_parser()
    yield path, parser
    for name, inner in parser.commands().items():
        yield from every_parser(inner, (*path, name))


PARSERS = dict(every_parser())


@pytest.fixture
def shop(root, tmp_path, monkeypatch):
    path = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    monkeypatch.setenv("BENCHRUN_SHOP", str(path))
    return path


def test_there_are_commands_to_look_at():
    assert len(PARSERS) > 50


@pytest.mark.parametrize("path", PARSERS, ids=" ".join)
def test_every_help_says_what_it_does_its_arguments_an_example_and_exit_codes(path):
    code, text, _ = said(*path, "--help")
    assert code == 0
    purpose = PARSERS[path].description
    assert purpose
    assert " ".join(purpose.split()) in " ".join(text.split())
    for argument in PARSERS[path].arguments():
        name = (argument.option_strings or [argument.metavar])[0]
        assert name in text, argument
        assert argument.help, f"{name} is not explained"
    example = text.partition("\nexample:\n  ")[2]
    assert example.startswith(("benchrun", 'eval "$(benchrun')), text
    assert "\nexit code:\n  0   " in text
    assert max(map(len, text.splitlines())) <= 90


@pytest.mark.parametrize("path", PARSERS, ids=" ".join)
def test_every_example_is_taken_by_the_command_line(path):
    parser = PARSERS[path]
    for line in parser.example.splitlines():
        words = shlex.split(line.removeprefix('eval "$(').removesuffix(')"'))
        if ">" in words:
            words = words[: words.index(">")]
        assert words[0] == "benchrun"
        args, strange = program_parser().parse_known_args(words[1:])
        assert not strange, line
        assert args.command is not None


@pytest.mark.parametrize("path", [path for path in PARSERS if path], ids=" ".join)
def test_options_of_the_whole_program_are_taken_behind_every_command(path):
    _, parser = path, PARSERS[path]
    given = ["--shop", "here", "--plain", "--ascii", "--no-mouse", "--theme", "mono"]
    namespace, strange = parser.parse_known_args(
        [*given, *needed(parser)],
    )
    assert strange == []
    assert (str(namespace.shop), namespace.plain, namespace.theme) == ("here", True, "mono")


def needed(parser):
    """What a command cannot do without, made up."""
    words = []
    for argument in parser.arguments():
        if argument.option_strings and argument.required:
            words += [argument.option_strings[0], "x"]
        elif not argument.option_strings and argument.nargs not in ("*", "?"):
            words.append(next(iter(argument.choices or ["x"])))
    return words


def test_the_shop_may_be_named_before_and_behind(shop, monkeypatch):
    monkeypatch.delenv("BENCHRUN_SHOP")
    before, behind = said("--shop", shop, "people"), said("people", "--shop", shop)
    assert before == behind
    assert before[0] == 0


@pytest.mark.parametrize(
    ("words", "near"),
    [
        ("bord", "'board'"),
        ("people ad", "'add'"),
        ("board --wach", "'--watch'"),
        ("verify --al", "'--all'"),
        ("--sohp here board", "'--shop'"),
        ("check x.yaml --advice cuont", "'count'"),
        ("--theme drak", "'dark'"),
        ("schema bord", "'board'"),
    ],
)
def test_a_name_nearly_right_is_answered_with_the_right_one(words, near):
    code, out, err = said(*words.split())
    assert (code, out) == (2, "")
    assert f"did you mean {near}?" in err
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize("many", ["0", "-3", "x", "1.5"])
def test_a_batch_has_at_least_one_part(shop, many):
    code, _, err = said("ready", "dry-blasting", f"--parts={many}")
    assert code == 2
    assert "a batch has at least 1 part" in err


def test_a_shop_with_empty_books_is_not_said_to_lack_nothing(tmp_path):
    place = tmp_path / "new"
    assert said("shop", "new", place)[0] == 0
    code, out, _ = said("--shop", place, "ready", "dry-blasting")
    assert code == 0
    assert "nothing is lacking" not in out
    assert "no books are kept of instruments (readings name none) and supplies" in out
    assert (
        "supplies"
        in json.loads(said("--shop", place, "ready", "dry-blasting", "--json")[1])["not_listed"]
    )


@pytest.mark.parametrize("name", [*BOOKS, "board", "people", "plan", "ready", "verify"])
def test_data_for_other_programs_is_as_its_schema_says(shop, name):
    words = {"ready": ["dry-blasting"], "verify": ["--all", "no-such-run"]}.get(name, [])
    code, out, _ = said(name, *words, "--json")
    assert code in {0, 1, 2}
    data = json.loads(out)
    form = {"people": "people-list"}.get(name, "book-list" if name in BOOKS else name)
    schema = json.loads(said("schema", form)[1])
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(data, schema)
    # The control: what lacks everything is not as the schema says.
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate([{}] if name == "verify" else {}, schema)


def test_the_books_and_the_board_as_data_hold_what_the_text_tells(shop):
    board = json.loads(said("board", "--json")[1])
    assert {run["id"] for run in board["runs"]} == {
        "2026-05-04-plating-send-out-stud",
        "2026-05-09-brush-coats-coat",
        "2026-05-09-spare-part-matching-newc",
        "2026-05-09-acid-etch-in-loads-etch",
    }
    assert board["format"] == 1
    for clock in board["clocks"]:
        assert clock["run"] in {run["id"] for run in board["runs"]}
    people = json.loads(said("people", "--json")[1])
    listed = said("people")[1]
    assert all(one["keys"][0]["fingerprint"] in listed for one in people["people"])
    for name in BOOKS:
        things = json.loads(said(name, "--json")[1])["things"]
        assert things
        assert all(thing["id"] in said(name)[1] for thing in things)


def test_the_parts_of_one_job_as_data(shop):
    job = json.loads(said("jobs", "--json")[1])["things"][0]["id"]
    every = json.loads(said("parts", "--json")[1])["things"]
    some = json.loads(said("parts", "list", "--job", job, "--json")[1])["things"]
    assert 0 < len(some) <= len(every)


@pytest.mark.parametrize("form", ["html", "csv", "json", "txt", "md"])
def test_a_report_can_be_printed(benchrun, shop, tmp_path, form):
    words = ["--shop", shop, "report", DYED]
    done = subprocess.run([benchrun, *words, "--to", "-", "--form", form], capture_output=True)
    file = tmp_path / f"record.{form}"
    subprocess.run([benchrun, *words, "--to", file], check=True, capture_output=True)
    assert done.returncode == 0
    # Each names the second of its issue.
    assert done.stdout.splitlines()[:3] == file.read_bytes().splitlines()[:3]
    assert abs(len(done.stdout) - len(file.read_bytes())) < 10


def test_the_calendar_can_be_printed(shop, benchrun):
    done = subprocess.run([benchrun, "--shop", shop, "due", "--to", "-"], capture_output=True)
    assert done.returncode == 0
    assert done.stdout.startswith(b"BEGIN:VCALENDAR\r\n")


@pytest.mark.parametrize("ending", ["html", "csv", "json", "txt", "md"])
def test_a_file_that_benchrun_did_not_write_is_not_replaced_unless_it_is_forced(
    shop, tmp_path, ending
):
    file = tmp_path / f"record.{ending}"
    file.write_text("my own list of things to buy\n")
    code, _, err = said("report", DYED, "--to", file)
    assert code == 2
    assert "was not written by benchrun" in err
    assert file.read_text() == "my own list of things to buy\n"
    assert said("report", DYED, "--to", file, "--force")[0] == 0
    assert said("report", DYED, "--to", file)[0] == 0  # its own it replaces


@pytest.mark.parametrize("ending", ["html", "txt"])
def test_a_plan_replaces_its_own_file_and_no_other(tmp_path, ending):
    place, file = tmp_path / "empty", tmp_path / f"evening.{ending}"
    assert said("shop", "new", place)[0] == 0
    file.write_text("my own list of things to buy\n")
    assert said("--shop", place, "plan", "--to", file)[0] == 2
    assert said("--shop", place, "plan", "--to", file, "--force")[0] == 0
    assert said("--shop", place, "plan", "--to", file)[0] == 0


def test_a_calendar_that_benchrun_did_not_write_is_not_replaced(shop, tmp_path):
    file = tmp_path / "mine.ics"
    file.write_text("BEGIN:VCALENDAR\r\nPRODID:-//another//EN\r\n")
    assert said("due", "--to", file)[0] == 2
    assert said("due", "--to", file, "--force")[0] == 0
    assert said("due", "--to", file)[0] == 0


def test_a_shop_that_is_not_there_is_told_and_none_is_made(tmp_path, monkeypatch):
    place = tmp_path / "my shed"
    for words in (["--plain"], ["--plain", "run", "dry-blasting"], ["board"]):
        code, _, err = said("--shop", place, *words)
        assert code == 2
        hint = err.strip().rpartition("make one: ")[2]
        assert shlex.split(hint) == ["benchrun", "shop", "new", str(place)]
    monkeypatch.setenv("BENCHRUN_SHOP", str(place))
    assert said("--plain")[0] == 2
    assert not place.exists()
    assert said(*shlex.split(hint)[1:])[0] == 0
    assert place.is_dir()


def test_hints_name_the_shop_where_another_is_meant(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHRUN_SHOP", str(tmp_path / "usual"))
    place = tmp_path / "my shed"
    out = said("shop", "new", place)[1]
    hint = out.splitlines()[-1].partition("benchrun ")[2]
    assert shlex.split(hint) == ["--shop", str(place), "people", "add", "YOUR NAME"]
    out = said("--shop", place, "shop")[1]
    later = next(line for line in out.splitlines() if line.startswith("head "))
    hint = later.partition("benchrun ")[2]
    assert said(*shlex.split(hint))[0] == 0


def completed(*words):
    return next_words(program_parser(), list(words))


def test_commands_options_and_values_are_completed():
    assert completed("sh") == ["show", "shop"]
    assert completed("people", "re") == ["retire"]
    assert completed("board", "--w") == ["--watch"]
    assert completed("--theme", "d") == ["dark"]
    assert completed("check", "--advice", "c") == ["count"]


def test_ids_of_the_shop_are_completed(shop):
    assert completed("show", "2026-04-01") == [DYED]
    assert DYED in completed("run", "2026-04")
    assert completed("ready", "dry-b") == ["dry-blasting"]
    assert completed("people", "key", "nell") == ["nell-tarrow"]
    assert completed("--shop", "/no/such", "show", "2") == []


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
def test_bash_completes_by_the_script_that_is_printed(benchrun, shop):
    script = (
        'PATH="$1:$PATH"; eval "$(benchrun completion bash)"; '
        "COMP_WORDS=(benchrun show 2026-04-01); COMP_CWORD=2; _benchrun; "
        'printf "%s\\n" "${COMPREPLY[@]}"'
    )
    folder = benchrun.rpartition("/")[0]
    done = subprocess.run(
        ["bash", "-c", script, "bash", folder], capture_output=True, text=True, check=True
    )
    assert done.stdout == f"{DYED}\n"


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_other_shells_read_their_script(benchrun, shell):
    code, script, _ = said("completion", shell)
    assert code == 0
    assert "benchrun completion words" in script
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    setup = "autoload -U compinit; compinit -D; " if shell == "zsh" else ""
    done = subprocess.run([shell, "-c", setup + script], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
