"""What check says: lines for people, JSON for editors, and the exit code."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from procedure_pages import page

from benchrun.errors import BenchrunError
from benchrun.procedure.listing import route_listing
from benchrun.procedure.load import load
from benchrun.procedure.report import check_files

PAGES = Path(__file__).parent / "pages"
CHANGES = "changes: {1: First issue.}\n"


def file(folder: Path, steps: str) -> Path:
    made = folder / "bench-trial.yaml"
    made.write_text(page(steps, CHANGES))
    return made


def test_a_clean_file_is_said_to_be_clean(tmp_path: Path) -> None:
    assert check_files([file(tmp_path, "- do: Wipe it.\n  id: wipe")]) == (
        "1 file: no errors, no pieces of advice\n",
        0,
    )


def test_errors_are_lines_with_file_line_and_column(tmp_path: Path) -> None:
    path = file(tmp_path, "- do: Wipe it.\n  id: wipe\n  drawin: x")
    text, code = check_files([path])
    assert text == (
        f"{path}:12:9: key 'drawin' is not known here; did you mean 'drawing'?\n"
        "1 file: 1 error, no pieces of advice\n"
    )
    assert code == 1


@pytest.mark.parametrize(
    ("advice", "code", "lines"), [("show", 0, 2), ("count", 1, 2), ("hide", 0, 1)]
)
def test_advice_counts_where_it_is_asked_to(
    tmp_path: Path, advice: str, code: int, lines: int
) -> None:
    text, found = check_files([file(tmp_path, "- do: The bore.\n  id: bore")], advice)
    assert (found, len(text.splitlines())) == (code, lines)


def test_another_word_for_advice_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BenchrunError, match="show, count or hide"):
        check_files([file(tmp_path, "- do: Go.")], "perhaps")


def test_editors_get_a_list(tmp_path: Path) -> None:
    good, gone = file(tmp_path, "- do: The bore.\n  id: bore"), tmp_path / "gone.yaml"
    text, code = check_files([good, gone], as_json=True)
    first, second = json.loads(text)
    assert code == 2
    assert (first["file"], first["line"], first["column"]) == (str(good), 10, 13)
    assert first["kind"] == "advice"
    assert (second["file"], second["kind"]) == (str(gone), "error")
    assert "No such file" in second["text"]


def test_one_bad_file_does_not_hide_the_next(tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text("a: [")
    text, code = check_files([bad, file(tmp_path, "- do: Wipe.\n  id: go\n  drawin: x")])
    assert code == 1
    assert text.endswith("2 files: 2 errors, no pieces of advice\n")


def test_the_route_is_listed_in_the_order_a_reader_follows() -> None:
    lines = route_listing(load(PAGES / "every-word.yaml")).splitlines()
    wanted = [
        "  from here on: The extraction fan runs.",
        "  1 do: Photograph the casting numbers.   [photo]",
        "  all parts gather here",
        "  5 work out: Work out the widest bore of the batch.   [widest]",
        "  no longer: The extraction fan runs.",
        "      least by bath: 15 degC 20 min, 25 degC 10 min",
        "      may be done while etch runs",
        "      after etch, not later than 1 min",
        '  if cracks is "none seen" and mean_bore > 61.96 mm:   [wide]',
        "    12 do: Mark the part as wide.   [mark-wide]",
        "      in any order within bench",
        "  repeat Coats:   [coats]",
        "    if coat is late, at most 3 times:   [late-coat]",
        "        after coat or rinse, not sooner than 2 h, not later than 1 d",
        "        late: first abrade the coat, or set aside",
        "  again, at least 2, at most 4, until film >= 60 µm   [coats]",
        "  done",
    ]
    places = [lines.index(one) for one in wanted]
    assert places == sorted(places)


def test_reading_a_route_imports_neither_yaml_nor_shapes() -> None:
    script = (
        "import sys\n"
        "import benchrun.procedure.formula, benchrun.procedure.listing, benchrun.procedure.load\n"
        "import benchrun.procedure.report, benchrun.procedure.route\n"
        "print([name for name in ('pydantic', 'ruamel', 'textual') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
