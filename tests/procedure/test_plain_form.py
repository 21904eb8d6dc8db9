"""The plain form of a compiled procedure: it says the same, and is nothing where it does not."""

import hashlib
import json
from pathlib import Path

import pytest
from procedure_pages import page

from benchrun.procedure.load import ProcedureError, load, load_bytes, look_at
from benchrun.procedure.plain_form import (
    CACHE_VARIABLE,
    NoPlainForm,
    compiled,
    plain_form,
    procedure_of,
)

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path
    for folder in ("procedures", "tests/rehearse/procedures", "tests/screen/procedures")
    for path in (ROOT / folder).glob("*.yaml")
)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_procedure_is_the_same_by_its_plain_form(path):
    procedure = load_bytes(path.read_bytes(), path.name)
    again = procedure_of(plain_form(procedure))
    assert again == procedure
    assert repr(again) == repr(procedure)


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A procedure whose form is kept, and how often it was compiled."""
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path))
    content = FILES[0].read_bytes()
    digest, times = hashlib.sha256(content).hexdigest(), []

    def get():
        def compile_it():
            times.append(1)
            return load_bytes(content, "x.yaml")

        return compiled(content, digest, compile_it)

    assert get() == get()
    assert len(times) == 1
    [path] = (tmp_path / "procedures").iterdir()
    return path, get, times


def signed(form: bytes) -> bytes:
    return hashlib.sha256(form).hexdigest().encode() + b"\n" + form


@pytest.mark.parametrize(
    "damage",
    [
        lambda said: b"",
        lambda said: said[:-1],
        lambda said: said.replace(b'"etch"', b'"wash"', 1) + b" ",
        lambda said: signed(b"[]"),
        lambda said: signed(b"{"),
        lambda said: signed(b'[["thing","Path","/"]]'),
        lambda said: signed(b'[["thing","Procedure"]]'),
        lambda said: signed(b'[["enum","Kind","no such"]]'),
        lambda said: signed(b'[["tuple",[5]]]'),
        lambda said: signed(b"[" * 100_000),
        lambda said: b"\xff\n",
    ],
)
def test_a_form_that_was_changed_is_as_if_it_were_not_there(kept, damage):
    path, get, times = kept
    whole = path.read_bytes()
    path.write_bytes(damage(whole))
    get()
    assert len(times) == 2
    assert path.read_bytes() == whole


def test_the_form_of_another_procedure_is_not_taken(kept):
    path, get, times = kept
    other = load_bytes(FILES[1].read_bytes(), "other.yaml")
    path.write_bytes(signed(plain_form(other)))
    assert get().id != other.id
    assert len(times) == 2


def test_only_the_classes_of_procedures_are_made(kept):
    path, _, _ = kept
    things = json.loads(path.read_bytes().partition(b"\n")[2])
    assert {thing[0] for thing in things} <= {
        "enum",
        "decimal",
        "bytes",
        "tuple",
        "set",
        "table",
        "thing",
    }
    with pytest.raises(NoPlainForm):
        procedure_of(b'[["thing","partial","print"]]')


def test_a_folder_that_cannot_be_written_is_in_nobodys_way(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "file"))
    content = FILES[0].read_bytes()
    made = compiled(content, hashlib.sha256(content).hexdigest(), lambda: load_bytes(content, "x"))
    assert made == load_bytes(content, "x")


@pytest.fixture
def drawn(tmp_path, monkeypatch):
    """A file that names a drawing, looked at once, so that its form is kept."""
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    path = tmp_path / "bench-trial.yaml"
    path.write_text(page("- do: Go.\n  drawing: there.png"))
    path.with_name("there.png").write_bytes(b"a picture")
    assert look_at(path) == load(path)
    return path


def test_a_file_that_is_looked_at_again_is_not_compiled_and_says_the_same(drawn, monkeypatch):
    loaded = load(drawn)
    monkeypatch.setattr("benchrun.procedure.load._examined", lambda *_args, **_more: 1 / 0)
    assert look_at(drawn) == loaded


def test_what_lies_beside_a_file_is_asked_for_at_each_look(drawn):
    drawn.with_name("there.png").unlink()
    with pytest.raises(ProcedureError, match=r"drawing 'there\.png' is not there"):
        look_at(drawn)


def test_an_approval_that_came_since_is_seen(drawn):
    drawn.with_suffix(".approval").write_bytes(b"approved")
    assert look_at(drawn).approval == b"approved"


def test_a_file_that_changed_is_compiled_anew(drawn):
    drawn.write_text(page("- do: Stay."))
    assert list(look_at(drawn).route.steps) == ["stay"]
    drawn.write_text(page("- go: Go."))
    with pytest.raises(ProcedureError):
        look_at(drawn)


def test_a_copy_that_was_only_compiled_is_no_file_whose_paths_were_walked(tmp_path, monkeypatch):
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    content = page("- do: Go.\n  drawing: there.png").encode()
    compiled(content, hashlib.sha256(content).hexdigest(), lambda: load_bytes(content, "copy"))
    path = tmp_path / "bench-trial.yaml"
    path.write_bytes(content)
    with pytest.raises(ProcedureError):
        look_at(path)
