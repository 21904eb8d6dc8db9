"""Hostile files: each is answered in one line, soon, in little memory, without a traceback."""

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from procedure_pages import HEAD, page

from benchrun.errors import BenchrunError
from benchrun.procedure.files import read_file
from benchrun.procedure.load import load_bytes
from benchrun.procedure.report import check_files

MERGES = "a0: &a0 {x: 1}\n" + "".join(
    f"a{n}: &a{n}\n  <<: [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 30)
)
BOMB = "a: &a [x, x]\n" + "".join(
    f"{chr(98 + n)}: &{chr(98 + n)} [*{chr(97 + n)}, *{chr(97 + n)}]\n" for n in range(20)
)
HOSTILE: dict[str, tuple[bytes, str]] = {
    "merge keys": (MERGES.encode(), "anchor"),
    "a merge key alone": (b"<<: {a: b}\n", "merge key"),
    "aliases": (BOMB.encode(), "anchor"),
    "an alias to nothing": (b"a: *b\n", "alias"),
    "deep lists": (b"a: " + b"[" * 100_000, "nested more than"),
    "deep maps": (b"{a: " * 100_000, "nested more than"),
    "deep blocks": ("".join(" " * n + "a:\n" for n in range(600)).encode(), "nested more than"),
    "deep block lists": (b"- " * 100_000 + b"x", "nested more than"),
    "50 MB": (b"# " + b"x" * 50_000_000, "larger than 512 KiB"),
    "many values": (b"a: [" + b"x," * 100_000 + b"]", "more than 40000 values"),
    "a long text": (b"title: " + b"x" * 100_000, "text of 100000 letters"),
    "a long key": (b"x" * 300_000 + b": y", "KiB|YAML|colon|letters"),
    "keys twice": ((HEAD + "title: Again\n").encode(), "key 'title' is there twice"),
    "YAML 1.1": (b"%YAML 1.1\n---\n" + HEAD.encode(), "beginning with %"),
    "YAML 9.9": (b"%YAML 9.9\n---\n" + HEAD.encode(), "%|YAML"),
    "a tag directive": (b"%TAG ! tag:x,2000:\n---\n" + HEAD.encode(), "beginning with %"),
    "an unknown tag": (b"a: !!python/object/apply:os.system [ls]\n", "tag"),
    "a local tag": (b"a: !x y\n", "tag"),
    "a NUL": (b"title: a\x00b\n", r"U\+0000"),
    "a NUL escape": (b'title: "a\\0b"\n', r"U\+0000"),
    "an ESC": (b"title: a\x1b[31m\n", r"U\+001B"),
    "an ESC escape": (b'title: "a\\e[31m"\n', r"U\+001B"),
    "a C1 control": ("title: a\x9bm\n".encode(), r"U\+009B"),
    "a bidi control": ("title: a\u202eb\n".encode(), r"U\+202E"),
    "a bidi escape": (b'title: "a\\u202eb"\n', r"U\+202E"),
    "a lone surrogate": (b'title: "\\ud800"\n', r"U\+D800|YAML"),
    "a hidden blank": ("title: a\u200bb\n".encode(), r"U\+200B"),
    "a line separator": ("title: a\u2028b\n".encode(), r"U\+2028"),
    "a huge number": (
        page("- do: Go.").replace("n: 1", "n: " + "9" * 300).encode(),
        "whole number",
    ),
    "a number without end": (
        page("- do: Go.").replace("n: 1", "n: 1e999999").encode(),
        "whole number",
    ),
    "binary": (bytes(range(256)) * 100, "UTF"),
    "UTF-16": (HEAD.encode("utf-16"), "UTF-16"),
    "UTF-16 without a mark": (HEAD.encode("utf-16-le"), "UTF-16"),
    "UTF-32": (HEAD.encode("utf-32"), "UTF-16"),
    "Latin-1": ("title: Gr\xfc\xdfe\n".encode("latin-1"), "byte 0xfc is not UTF-8"),
    "nothing": (b"", "found nothing"),
    "only a comment": (b"# nothing here\n", "found nothing"),
    "a list": (b"- a\n- b\n", "found something else"),
    "two documents": ((HEAD + "---\n" + HEAD).encode(), "a second document"),
    "tabs": (b"a:\n\tb: c\n", "tab"),
    "an open quotation": (b'title: "abc\n', "never closed|YAML"),
    "a key that is a list": (b"? [a, b]\n: c\n", "a key is"),
    "a power tower": (
        page("- work out: Do.\n  unit: none\n  formula: 9**9**9").encode(),
        "power is not a whole number",
    ),
    "a formula without end": (
        page("- work out: Do.\n  unit: none\n  formula: " + "(" * 300).encode(),
        "nested more than",
    ),
    "a unit that does not exist": (
        page("- work out: Do.\n  unit: mm\n  formula: 3 furlong").encode(),
        "unit 'furlong' is not known",
    ),
    "an id that climbs": (page("- do: Go.\n  id: ../../etc/passwd").encode(), "is no id"),
    "a drawing that climbs": (page("- do: Go.\n  drawing: a/../../b").encode(), "no file in"),
    "a procedure that holds itself": (
        page("- carry out: bench-trial\n  revision: 1").encode(),
        "would carry out itself",
    ),
    "a grid without end": (
        page(
            "- reading: Measure.\n  unit: mm\n  times: 10000\n  places: "
            f"{{a: [{','.join(map(str, range(1000)))}], b: [{','.join(map(str, range(1000)))}]}}"
        ).encode(),
        "places",
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_answered_in_one_line(tmp_path: Path, name: str) -> None:
    content, said = HOSTILE[name]
    file = tmp_path / "hostile.yaml"
    file.write_bytes(content)
    begun = time.process_time()
    text, code = check_files([file], advice="hide")
    taken = time.process_time() - begun
    lines = text.splitlines()
    assert code in {1, 2}
    assert re.search(said, lines[0]), lines[0]
    assert len(lines[0]) < 500
    assert (
        lines[-1] == f"1 file: {len(lines) - 1} error{'s' * (len(lines) > 2)}, no pieces of advice"
    )
    # Nobody is kept waiting: each takes less than a second of work; a loop would take for ever.
    assert taken < 10


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
def test_all_hostile_files_together_need_little_memory(tmp_path: Path) -> None:
    for count, (content, _) in enumerate(HOSTILE.values()):
        (tmp_path / f"{count}.yaml").write_bytes(content)
    script = (
        "import re, sys\n"
        "from benchrun.procedure.report import check_files\n"
        "check_files(sys.argv[1:])\n"
        # Not ru_maxrss: a new process begins with that of the one that started it.
        "status = open('/proc/self/status').read()\n"
        "print(int(re.search(r'VmHWM:\\s+(\\d+)', status)[1]) // 1024)\n"
    )
    files = sorted(map(str, tmp_path.iterdir()))
    done = subprocess.run(
        [sys.executable, "-c", script, *files], capture_output=True, text=True, check=True
    )
    assert int(done.stdout) < 300  # MiB


def _refused(path: Path) -> str:
    text, code = check_files([path])
    assert code == 2
    assert len(text.splitlines()) == 2
    return text


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert "not an ordinary file" in _refused(tmp_path)


def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    assert "not an ordinary file" in _refused(pipe)


def test_a_device_is_refused() -> None:
    assert "not an ordinary file" in _refused(Path("/dev/zero"))


def test_a_file_that_is_gone_is_refused(tmp_path: Path) -> None:
    assert "No such file" in _refused(tmp_path / "gone.yaml")


def test_a_name_with_a_control_character_is_shown_without_it(tmp_path: Path) -> None:
    assert "\x1b" not in _refused(tmp_path / "a\x1b[31mb.yaml")


def test_a_message_shows_no_control_character_of_the_file() -> None:
    with pytest.raises(BenchrunError) as caught:
        load_bytes(page('- do: Go.\n  "x\\ty": z').encode(), "a\x1bb")
    assert caught.value.message.isprintable()


SOUND = (Path(__file__).parent / "pages" / "every-word.yaml").read_bytes()


def _answered(content: bytes) -> None:
    """Loading gives a procedure or one kind of error, and nothing else."""
    said = ""
    try:
        load_bytes(content, "fuzzed")
    except BenchrunError as error:
        said = error.message
    assert all(line.isprintable() for line in said.split("\n"))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_answered(content: bytes) -> None:
    _answered(content)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="abo: -\n[]{}\"'#&*!|>%@`,?<=~\\01\t", max_size=120))
def test_any_yaml_is_answered(text: str) -> None:
    _answered((HEAD + text).encode())


LINES = SOUND.split(b"\n")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_sound_file_with_lines_changed_is_answered(data: st.DataObject) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        change = data.draw(st.sampled_from(["drop", "double", "swap", "indent", "cut", "key"]))
        line = lines[at]
        if change == "drop":
            del lines[at]
        elif change == "double":
            lines.insert(at, line)
        elif change == "swap":
            other = data.draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], line
        elif change == "indent":
            lines[at] = b"  " + line
        elif change == "cut":
            lines[at] = line[: data.draw(st.integers(0, len(line)))]
        else:
            lines[at] = line.replace(
                b":", data.draw(st.sampled_from([b"", b": x:", b": [", b": {"]))
            )
    _answered(b"\n".join(lines))


@pytest.mark.long
@settings(max_examples=3000, deadline=None)
@given(st.integers(0, len(SOUND) - 1), st.integers(0, 40), st.binary(max_size=12))
def test_a_sound_file_with_bytes_changed_is_answered(at: int, gone: int, put: bytes) -> None:
    _answered(SOUND[:at] + put + SOUND[at + gone :])


def test_every_cut_of_a_sound_file_is_answered() -> None:
    for at in range(0, len(SOUND), 97):
        _answered(SOUND[:at])


def test_a_file_that_does_not_say_how_long_it_is_is_read_whole():
    """As the kernel's own files and those of some network disks."""
    path = Path("/proc/self/environ")
    if not path.is_file():
        pytest.skip("there is no such file on this system")
    assert path.stat().st_size == 0
    assert read_file(path) == path.read_bytes() != b""
