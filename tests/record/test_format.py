"""What FORMAT.md says, done as it says it, with no line of this program's code involved."""

import hashlib
import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
import rfc8785

import benchrun.record
from benchrun.record.chain import FORMAT, read_log
from benchrun.record.check import check_run
from benchrun.record.register import Register
from benchrun.record.signers import read_signers

PAGE = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")
COMMANDS = re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL)
RELEASED = sorted((Path(__file__).parent / "released").iterdir())


@pytest.fixture(autouse=True)
def stock_tools():
    for tool in ("bash", "jq", "sha256sum", "ssh-keygen"):
        if shutil.which(tool) is None:
            pytest.skip(f"{tool} is not installed")


def run(commands, folder, tmp_path):
    return subprocess.run(
        ["bash", "-eu", "-o", "pipefail", "-c", commands],
        cwd=folder,
        env={"PATH": "/usr/local/bin:/usr/bin:/bin", "TMPDIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_page_has_its_six_checks():
    assert len(COMMANDS) == 6


def test_the_stock_tools_find_a_closed_run_whole(closed, tmp_path):
    _, folder = closed
    done = [run(commands, folder.path, tmp_path) for commands in COMMANDS]
    assert [one.returncode for one in done] == [0] * 6, [one.stderr for one in done]
    lines = read_log(folder.log).lines
    assert done[0].stdout == f"chain holds, head {lines[-1].head}\n"
    assert done[1].stdout.count('Good "sign@benchrun" signature for ann-bench@museum-shed') == 2
    assert done[1].stdout.count('Good "seal@benchrun" signature for station@museum-shed') == 2
    assert 'Good "seal@benchrun"' in done[2].stdout
    assert done[3].stdout.count(": OK") == 2
    assert f"closed n={len(lines) - 1} head={lines[-1].head}" in done[4].stdout


def test_the_stock_tools_find_a_run_without_pictures_whole_and_leave_no_file_behind(shop, tmp_path):
    folder, writer = shop.begin()
    shop.close(folder, writer)
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    done = [run(commands, folder.path, temporary) for commands in COMMANDS]
    assert [one.returncode for one in done] == [0] * 6, [one.stderr for one in done]
    assert list(temporary.iterdir()) == []
    assert "/tmp" not in "".join(COMMANDS)


def test_the_stock_tools_find_a_line_that_is_not_canonical(closed, copy_of, tmp_path):
    _, folder = closed
    copied = copy_of(folder)
    rows = copied.log.read_bytes().splitlines(keepends=True)
    rows[-1] = rows[-1].replace(b'"by":', b'"by": ')
    copied.log.write_bytes(b"".join(rows))  # the chain still holds, as nothing follows
    done = run(COMMANDS[0], copied.path, tmp_path)
    assert (done.returncode, done.stdout.startswith("not canonical")) == (1, True)


def test_the_command_within_a_line_gives_the_head_that_the_register_has(closed, tmp_path):
    _, folder = closed
    inline = [one for one in re.findall(r"`([^`\n]+)`", PAGE) if "|" in one and "sha256sum" in one]
    assert inline == ['sed -n "$((n + 1))p" log.jsonl | sha256sum']
    said = run(COMMANDS[4], folder.path, tmp_path).stdout
    found = re.findall(r"n=(\d+) head=(\w+)", said)
    assert len(found) == 2
    for n, head in found:
        done = run(f"n={n}; {inline[0]}", folder.path, tmp_path)
        assert done.stdout.split()[0] == head


def test_the_stock_tools_find_a_changed_run_not_whole(closed, copy_of, tmp_path):
    _, folder = closed
    copied = copy_of(folder)
    copied.log.write_bytes(copied.log.read_bytes().replace(b"lift-hub-0", b"drop-hub-0"))
    copied.procedure.write_bytes(b"another\n")
    assert [run(commands, copied.path, tmp_path).returncode == 0 for commands in COMMANDS[:4]] == [
        False,
        False,
        False,
        False,
    ]


def test_every_line_is_what_an_rfc_8785_encoder_writes(closed):
    _, folder = closed
    for raw in folder.log.read_bytes().splitlines():
        assert rfc8785.dumps(json.loads(raw)) == raw


def test_the_one_line_check_of_a_signature_works(closed, tmp_path):
    _, folder = closed
    n = next(line.n for line in read_log(folder.log).lines if line.kind == "sign")
    done = run(
        f"sed -n {n + 1}p log.jsonl | jq -rj .data.sshsig > $TMPDIR/k.sig; head -n {n} log.jsonl |"
        " ssh-keygen -Y verify -f signers -I ann-bench@museum-shed -n sign@benchrun"
        " -s $TMPDIR/k.sig -O verify-time=20261120180100Z",
        folder.path,
        tmp_path,
    )
    assert done.returncode == 0, done.stderr


def test_there_is_a_sample_of_every_released_format():
    assert [path.name for path in RELEASED] == [str(n + 1) for n in range(FORMAT)]


@pytest.mark.parametrize("sample", RELEASED, ids=lambda path: f"format {path.name}")
def test_logs_of_every_released_format_verify(sample, tmp_path):
    (folder,) = (sample / "runs").iterdir()
    report = check_run(
        folder,
        trusted=read_signers(sample / "signers"),
        register=Register(sample).read(),
    )
    assert (report.faults, report.closed) == ((), True)
    # The registers of the first two are older than seals, keys and people.
    early = sample.name in ("1", "2")
    unsealed = [
        "the shop's register is not sealed, as an earlier program left it: nobody can tell whether "
        "it was changed"
    ]
    assert [doubt.text for doubt in report.doubts] == (unsealed if early else [])
    assert (report.signatures, report.seals, report.photos) == (2, 3 if early else 4, 1)
    # The last command looks at the seal of the register.
    asked = COMMANDS[:5] if early else COMMANDS
    done = [run(commands, folder, tmp_path) for commands in asked]
    assert {one.returncode for one in done} == {0}, [one.stderr for one in done]
    # The control: it is the signatures that hold it together.
    (copy,) = [shutil.copytree(folder, tmp_path / folder.name)]
    log = copy / "log.jsonl"
    for was, became in ((b"lift-hub-1", b"lift-hub-7"), (b"61.960", b"61.969")):
        log.write_bytes(log.read_bytes().replace(was, became))
    assert not check_run(copy).whole
    assert (
        hashlib.sha256(log.read_bytes()).digest()
        != hashlib.sha256((folder / "log.jsonl").read_bytes()).digest()
    )


def table_rows(head):
    """The rows of the table of the page that begins with this head."""
    _, _, below = PAGE.partition(head)
    rows = below.split("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]


def test_each_line_of_the_rules_for_electronic_records_has_its_answer():
    lines = [f"11.10({letter})" for letter in "abcdefghijk"]
    lines += ["11.30", "11.50(a)", "11.50(b)", "11.70", "11.100(a)", "11.100(b)", "11.100(c)"]
    lines += ["11.200(a)(1)", "11.200(a)(2)", "11.200(a)(3)", "11.200(b)"]
    lines += [f"11.300({letter})" for letter in "abcde"]
    rows = table_rows("| 21 CFR | asks for |")
    assert [row[0] for row in rows] == lines
    for row in rows:
        assert row[1], row
        assert row[2] or row[3], row  # by the record, or said to be a duty of the shop


def test_each_heading_of_annex_11_and_each_letter_of_alcoa_plus_has_its_answer():
    words = " ".join(row[0] for row in table_rows("| EU GMP Annex 11 (2011) |"))
    assert re.findall(r"\d+", words) == [str(number) for number in range(1, 18)]
    letters = [row[0] for row in table_rows("| ALCOA+ | how |")]
    assert "".join(word[0] for word in letters) == "alcoaccea"
    assert all(row[1] for row in table_rows("| ALCOA+ | how |"))


def test_the_page_gives_the_number_that_the_program_writes():
    assert f"record, version {FORMAT}\n" in PAGE
    assert f"`format` ({FORMAT})" in PAGE
