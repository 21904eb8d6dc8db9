"""The quick reader of YAML, by libyaml, against the one in Python: same data, same refusals."""

import random
from pathlib import Path

import pytest

from benchrun.procedure import yamlread
from benchrun.procedure.marked import Items, Map, Unreadable

pytest.importorskip("ruamel.yaml.cyaml", reason="libyaml's extension is not installed")

ROOT = Path(__file__).parents[2]
FILES = sorted(
    {
        path.read_bytes()
        for folder in ("procedures", "samples")
        for path in (ROOT / folder).rglob("*.yaml")
    }
)
BITS = (
    *(
        ": ",
        "- ",
        "\n",
        " ",
        '"',
        "'",
        "[",
        "]",
        "{",
        "}",
        "#",
        "|",
        ">",
        "&a",
        "*a",
        "!t",
        "!!str ",
    ),
    *("%", "---\n", "...\n", "\t", "? ", ",", "\\", '\\n"', "<<: ", "\u2028", "\x85", "@", "`"),
    *(
        "\r\n",
        "\r",
        "~",
        "-",
        ":",
        "%YAML 1.1\n",
        "\U0001f600",
        "=",
        "|2-\n",
        ">+\n",
        "é",
        "!!str ",
    ),
)


def drawn(value: object) -> object:
    """What was read, with every place."""
    if isinstance(value, Map):
        rows = [(k, value.keys_at[k], value.values_at[k], drawn(v)) for k, v in value.items()]
        return ("map", value.at, rows)
    if isinstance(value, Items):
        return ("list", value.values_at, [drawn(item) for item in value])
    return value


def outcome(content: bytes) -> object:
    try:
        return drawn(yamlread.read_yaml(content))
    except Unreadable as error:
        return ("refused", str(error), error.at)


def both(content: bytes, monkeypatch: pytest.MonkeyPatch) -> tuple[object, object]:
    quick = outcome(content)
    with monkeypatch.context() as patch:
        patch.setattr(yamlread, "quick_events", lambda text: None)
        return quick, outcome(content)


def damaged(rng: random.Random) -> bytes:
    """A piece of a real file with up to six small damages."""
    whole = rng.choice(FILES)
    start = whole.rfind(b"\n", 0, rng.randrange(max(1, len(whole) - 900))) + 1
    text = whole[start : start + rng.randrange(40, 1000)].decode("utf-8", "ignore")
    for _ in range(rng.choice((0, 1, 1, 2, 3, 6))):
        at = rng.randrange(len(text) + 1)
        text = text[:at] + rng.choice(BITS) + text[at + rng.choice((0, 0, 0, 1, 1, 9)) :]
    return text.encode()


def test_whole_files_are_read_alike_and_by_libyaml(monkeypatch):
    """Every shipped procedure and sample, and the quick reader really takes part."""
    taken = 0
    for content in FILES:
        events = yamlread.quick_events(content.decode())
        taken += events is not None
        quick, slow = both(content, monkeypatch)
        assert quick == slow
    assert taken > len(FILES) * 0.9


def test_damaged_files_are_read_or_refused_alike(monkeypatch):
    rng = random.Random(20)
    for _ in range(400):
        content = damaged(rng)
        quick, slow = both(content, monkeypatch)
        assert quick == slow, content


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_twenty_thousand_damaged_files_are_read_or_refused_alike(monkeypatch):
    rng = random.Random(21)
    for _ in range(20_000):
        content = damaged(rng)
        quick, slow = both(content, monkeypatch)
        assert quick == slow, content
