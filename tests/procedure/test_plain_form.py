"""The plain form of a compiled procedure: it says the same, and is nothing where it does not."""

import hashlib
import json
from pathlib import Path

import pytest

from benchrun.procedure.load import load_bytes
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
