"""The reader that lies beside a closed run agrees with the program; vectors try both."""

import base64
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import benchrun.record
from benchrun.errors import BenchrunError
from benchrun.record.check import check_run
from benchrun.record.record_reader import main
from benchrun.verify import trust_of, verify

READER = Path(benchrun.record.__file__).with_name("record_reader.py")
KEPT = json.loads((Path(__file__).parent / "vectors" / "vectors.json").read_text("utf-8"))
VECTORS = {vector["name"]: vector for vector in KEPT["vectors"]}
VERDICTS = ("whole", "not whole", "could not tell")


@pytest.fixture(autouse=True)
def stock_tool():
    if shutil.which("ssh-keygen") is None:
        pytest.skip("ssh-keygen is not installed")


def content(row):
    return row["text"].encode() if "text" in row else base64.b64decode(row["base64"])


def lay(path, vector=None):
    """The shop of the vectors, with the edits of one of them."""
    for name, row in KEPT["shop"].items():
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_bytes(content(row))
    for edit in vector["edits"] if vector else ():
        file = path / edit["file"]
        if edit.get("gone"):
            file.unlink()
        else:
            raw = file.read_bytes() if file.exists() else b""
            at, end = edit["at"], edit["at"] + edit["cut"]
            file.write_bytes(raw[:at] + content(edit) + raw[end:])
    return path


def by_program(run):
    try:
        return "whole" if verify(run).whole else "not whole"
    except BenchrunError:
        return "could not tell"


def test_there_are_vectors_of_each_verdict():
    assert len(VECTORS) == len(KEPT["vectors"]) >= 60
    assert {vector["verdict"] for vector in KEPT["vectors"]} == set(VERDICTS)
    assert all(vector["reason"] for vector in KEPT["vectors"])


@pytest.mark.parametrize("name", VECTORS)
def test_the_program_and_the_reader_agree_on_a_vector(tmp_path, name):
    vector = VECTORS[name]
    run = lay(tmp_path, vector) / "runs" / vector["run"]
    assert by_program(run) == vector["verdict"]
    assert VERDICTS[main([str(run)])] == vector["verdict"]


def test_the_reader_is_one_file_of_less_than_300_lines_that_needs_nothing_of_the_program(tmp_path):
    source = READER.read_text("utf-8")
    assert len(source.splitlines()) < 300
    assert "import benchrun" not in source
    assert "from benchrun" not in source
    copy = shutil.copy(READER, tmp_path / "reader.py")
    run = lay(tmp_path / "shop") / "runs" / VECTORS["a closed run"]["run"]
    words = [sys.executable, "-I", "-S", str(copy), str(run)]
    done = subprocess.run(words, capture_output=True, text=True, cwd="/")
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, f"{run.name}: whole")
    assert "signed by ada-brook@shed, key SHA256:" in done.stdout


FILES = ("log.jsonl", "log.jsonl", "log.jsonl", "log.jsonl.sig", "signers", "procedure.yaml")
HOW = ("another byte", "gone", "slipped in", "swapped", "cut off", "a line gone", "a line twice")


def tampered(raw, how, at, byte):
    """Bytes with something done to them somewhere."""
    at %= max(1, len(raw))
    rows = raw.splitlines(keepends=True)
    row = at % max(1, len(rows))
    match how:
        case "another byte":
            return raw[:at] + bytes([byte]) + raw[at + 1 :]
        case "gone":
            return raw[:at] + raw[at + 1 :]
        case "slipped in":
            return raw[:at] + bytes([byte]) + raw[at:]
        case "swapped":
            return raw[:at] + raw[at : at + 2][::-1] + raw[at + 2 :]
        case "cut off":
            return raw[:at]
        case "a line gone":
            return b"".join(rows[:row] + rows[row + 1 :])
    return b"".join(rows[: row + 1] + rows[row:])


def agree(shop, closed, file, how, at, byte):
    """Tamper, ask both, and put it back."""
    run = shop / "runs" / VECTORS["a closed run" if closed else "an open run"]["run"]
    path = shop / file if file.startswith("shop/") else run / file
    path = shop / file.removeprefix("shop/") if file.startswith("shop/") else path
    before = path.read_bytes() if path.exists() else None
    if before is None:
        return
    path.write_bytes(tampered(before, how, at, byte))
    try:
        # What no signature covers yet only the rules can judge, which the reader does not know.
        ours = by_program(run) if closed else by_keeping(run)
        theirs = VERDICTS[main([str(run)])]
    finally:
        path.write_bytes(before)
    assert (ours == "whole") == (theirs == "whole"), (ours, theirs)


def by_keeping(run):
    try:
        trust = trust_of(run.parent.parent)
        report = check_run(run, trusted=trust.signers, register=trust.register)
    except BenchrunError:
        return "could not tell"
    return "whole" if report.whole and not trust.fault else "not whole"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return lay(tmp_path_factory.mktemp("tampered") / "shop")


TAMPERING = given(
    closed=st.sampled_from((True, True, False)),
    file=st.sampled_from((*FILES, "shop/signers", "shop/register.jsonl")),
    how=st.sampled_from(HOW),
    at=st.integers(0, 1 << 16),
    byte=st.integers(0, 255),
)
SLOW = (HealthCheck.too_slow, HealthCheck.function_scoped_fixture)


@settings(max_examples=60, deadline=None, suppress_health_check=SLOW)
@TAMPERING
def test_the_program_and_the_reader_agree_on_tamperings(shop, closed, file, how, at, byte):
    agree(shop, closed, file, how, at, byte)


@pytest.mark.long
@pytest.mark.timeout(3600)
@settings(max_examples=2000, deadline=None, suppress_health_check=SLOW)
@TAMPERING
def test_the_program_and_the_reader_agree_on_2000_tamperings(shop, closed, file, how, at, byte):
    agree(shop, closed, file, how, at, byte)
