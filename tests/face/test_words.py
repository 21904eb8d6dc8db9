"""One thing, one name: what a person may read says none of the words that were given up.

Read are all texts of the program but docstrings, the README and the guide. What must keep a word,
such as what stands in a log or in a file, is listed below with its reason.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]

GIVEN_UP = {
    "deviation": r"\botherwise\b",
    "resume a run": r"\b(take|takes|taken|took) (\S+ ){0,3}up\b"
    r"|\bbring\w* \w+ back into",
    "has left, leave": r"\blet go\b|\bwindow let go\b",
    "put in, take out": r"\blift(s|ed|ing)?\b",
    "early, late": r"\btoo soon\b|\bperhaps\b",
    "over, under a limit": r"\bbeyond (the|its|a) (upper |lower )?limit|not go at both ends",
    "query, answer": r"\b(to be )?settled?\b|\bsettles\b",
    "skip": r"\b(leave|leaves|left|leaving) (\S+ ){0,3}out\b",
    "undo": r"\bmis-?tap\b|\b(take|takes|taken|took) (it |\S+ \S+ )?back\b",
    "late entry": r"\btold late\b|\ba while ago\b",
    "in work": r"\bin(to)? play\b",
    "supply, container": r"\btins?\b",
    "stock book, parts book": r"\bshop's book\b",
    "past runs": r"\blearned lately\b",
    "needs attention": r"\bsee(ing|n)? to\b(?! (it )?that)|\bamiss\b|\bshort or spoiled\b",
    "intact, damaged": r"\b(not|is|are|all|0) whole\b|\bcould not tell\b",
    "next": r"^ ?then(?= |$)",
    "remaining": r"\bleft to (put|do)\b",
    "check before you begin": r"\bmust hold now\b",
    "plain English": r"\bcannot be told\b|\bshall\b|\banew\b|\ball the same\b",
}


def literals(path: Path) -> Iterator[tuple[int, str]]:
    """The texts of a module but its docstrings; `{}` is where a value comes in."""
    tree = ast.parse(path.read_text())
    silent: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", ())
        for line in body if isinstance(body, list) else ():
            if isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant):
                silent.add(id(line.value))
        if isinstance(node, ast.JoinedStr):
            silent.update(id(part) for part in node.values)
            known = [part.value for part in node.values if isinstance(part, ast.Constant)]
            texts = iter(map(str, known))
            yield (
                node.lineno,
                "".join(
                    next(texts) if isinstance(part, ast.Constant) else "{}" for part in node.values
                ),
            )
    for node in ast.walk(tree):
        spoken = isinstance(node, ast.Constant) and isinstance(node.value, str)
        if spoken and id(node) not in silent:
            yield node.lineno, node.value


@cache
def pages() -> list[tuple[str, int, str]]:
    """Everything that may be read: where it stands, and the text."""
    return [*_pages()]


def _pages() -> Iterator[tuple[str, int, str]]:
    for path in sorted((ROOT / "benchrun").rglob("*.py")):
        for line, text in literals(path):
            yield str(path.relative_to(ROOT)), line, text
    prose = ["README.md", "samples/README.md", "benchrun/CHANGELOG.md", "benchrun/report/SCHEMA.md"]
    prose += [str(path.relative_to(ROOT)) for path in sorted((ROOT / "procedures").iterdir())]
    for name in prose:
        for line, text in enumerate((ROOT / name).read_text().splitlines(), 1):
            yield name, line, text


KEPT = (
    # where it stands, which words, why they stay
    (
        "procedure/",
        r"otherwise|left out|^then$",
        "keys of a procedure: files of old depend on them",
    ),
    (
        "rehearse/",
        r"otherwise|^(lift|leave out|settle|into play|then)$|take back",
        "keys of scripts",
    ),
    (
        "procedures/",
        r"`[^`]*(otherwise|left out|leave out|lift: |into play|take back)[^`]*`|^ *otherwise:"
        r"|: left out$",
        "the same keys",
    ),
    (
        "procedures/",
        r"(?i)\b(re)?settl\w+|\blift\w*|\blets? go\b|\btins?\b|takes up|\bcoating is whole",
        "springs settle, axles lift, bosses let go, paint comes in tins and takes up moisture",
    ),
    ("samples/README", r"an old tin", "it is one, of primer"),
    ("report/SCHEMA", r"`settled`", "a key of the report's JSON"),
    (
        "procedures/",
        r"or otherwise( qualified|$)|taken in, top back",
        "plain English, nothing's name",
    ),
    (
        "procedures/",
        r"too soon traps|the shop's book keeps watch|baked anew",
        "the runs of the sample shop carry these words",
    ),
    ("run/", r"^(too soon|perhaps (early|late)|in play|lift)$", "as they stand in logs"),
    ("run/", r"It is settled: go on|It is not so: leave them out", "answers as logs hold them"),
    ("account/", r"^(too soon|in play)$", "read from logs"),
    ("account/signing_list", r"nothing \(\?:was \)\?left out", "statements as authors write them"),
    ("procedure/words", r"see to\||must\|shall", "what advice looks for in a procedure's text"),
    ("history/", r"^in play$", "as the index of past runs holds it"),
    ("report/", r"^(in play|perhaps)$", "read from logs"),
    (
        "wording",
        r"^(too soon|perhaps (early|late)|in play)$",
        "read from logs, said in other words",
    ),
    ("cli/records", r"^could not tell$", "a key of what --json prints"),
    ("verify/schema", r"^could not tell$", "a key of what --json prints"),
    ("record/record_reader", r"NOT WHOLE|could not tell", "closed runs carry it under seal"),
    ("shopmath/", r"settle|lifts?\b|lifting|let go", "bearings settle, axles lift, shoes grab"),
)


def lies_in(where: str, place: str) -> bool:
    """Whether a file lies in a room or is one of a name; `benchrun/` is not the room `run/`."""
    return f"/{place}" in f"/{where}"


def given_up(where: str, text: str) -> str:
    """The first word in a text that was given up, and what is said instead; empty: none."""
    kept = [words for place, words, _ in KEPT if lies_in(where, place)]
    rest = text
    for words in kept:
        rest = re.sub(words, "", rest)
    for say, word in GIVEN_UP.items():
        found = re.search(word, rest, re.IGNORECASE)
        if found:
            return f"{found[0]!r}; say {say!r}"
    return ""


def test_nothing_says_a_word_that_was_given_up():
    wrong = [
        f"{where}:{line}: {found} in {text[:80]!r}"
        for where, line, text in pages()
        if (found := given_up(where, text))
    ]
    assert not wrong, "\n".join(wrong)


def test_each_exception_is_still_needed():
    read = pages()
    for place, words, why in KEPT:
        hits = [text for where, _, text in read if lies_in(where, place) and re.search(words, text)]
        assert hits, (place, words, why)


def refusals() -> Iterator[tuple[str, int, str]]:
    """The sentences with which the rules refuse."""
    for path in sorted((ROOT / "benchrun" / "run").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            named = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Refusal"
            if not named or not node.args:
                continue
            first = node.args[0]
            parts = first.values if isinstance(first, ast.JoinedStr) else [first]
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in parts
            )
            yield str(path.relative_to(ROOT)), node.lineno, text


def test_a_refusal_says_each_thing_in_twelve_words():
    wrong = [
        f"{where}:{line}: {len(sentence.split())} words: {sentence}"
        for where, line, text in refusals()
        for sentence in re.split(r"(?<=[.;:?]) ", text)
        if len(sentence.split()) > 12
    ]
    assert not wrong, "\n".join(wrong)


def test_a_label_stands_for_one_thing():
    """`then`, `next` and `left` alone once stood for three and four things."""
    for where, line, text in pages():
        if where.startswith("benchrun/screen/run") and text.strip() in ("then", "next", "left"):
            raise AssertionError(f"{where}:{line}: the label {text.strip()!r} says not of what")
    said = [text for where, _, text in pages() if where.startswith("benchrun/screen")]
    for label in ("next step", "next part"):
        assert label in said, label


GUTTER = {
    # a label in the gutter of a page, what stands beside it, and the places that put it there
    "also": ("what else of the batch may be done now", 1),
    "batch": ("where each part stands", 2),
    "close": ("the lines that are ticked at the close", 1),
    "critical": ("why a step is critical", 1),
    "dark": ("what would end or close while nobody is there", 1),
    "done": ("a set-up that is done in this sitting", 1),
    "figure": ("a figure that the manual or a sheet says", 1),
    "for": ("the parts that an act is for", 5),
    "found": ("what was read and found so far", 1),
    "from": ("the numbers that a sum is made of", 2),
    "later": ("what comes after the next step", 1),
    "lesson": ("what past work taught", 3),
    "limits": ("the limits of a reading", 2),
    "load": ("what goes in together, where and for how long", 1),
    "log": ("the last entries", 1),
    "next part": ("the part that comes after this one", 1),
    "next step": ("the steps that come after this one", 1),
    "sign": ("the words that are signed", 1),
    "signer": ("who signs", 2),
    "takes": ("how long a step took in past runs", 1),
    "tend": ("what is done while parts are in", 3),
    "times": ("the times of day of a clock", 1),
    "tools out": ("the tools that are counted back", 1),
    "uses": ("what a step takes out of containers", 1),
    "vessel": ("where a load is from here on", 1),
    "waits": ("why an act must wait", 1),
    "window": ("the time between two steps", 2),
}


def test_each_label_of_the_gutter_is_listed_with_the_one_thing_that_it_stands_for():
    """Whoever gives a label a further place says here that the same thing stands there."""
    found: dict[str, int] = {}
    for path in sorted((ROOT / "benchrun" / "screen").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            drawn = isinstance(node, ast.Call) and getattr(node.func, "attr", "").startswith(
                "label"
            )
            first = node.args[0] if drawn and node.args else None
            either = [first.body, first.orelse] if isinstance(first, ast.IfExp) else [first]
            for one in either:
                if isinstance(one, ast.Constant) and one.value:
                    found[one.value] = found.get(one.value, 0) + 1
    assert found == {label: places for label, (_, places) in GUTTER.items()}


STANDS = r"\b(stands?|stood)\b"
STANDING = (
    r"^stands?$|what the short source marks stand for|Let it stand|^as it stands$|Where it stands"
    r"|^# |^The instruments of this shop|register said by then still stands|undid or corrected"
    r"|: \{\} stands$"
)


def test_a_refusal_says_is_and_not_stands():
    """In no room but that of the sums, where parts stand, and of files' own heads."""
    wrong = [
        f"{where}:{line}: {text[:80]!r}"
        for where, line, text in pages()
        if where.endswith(".py") and "shopmath/" not in where
        if re.search(STANDS, text, re.IGNORECASE)
        and not re.search(STANDING, text, re.IGNORECASE | re.MULTILINE)
    ]
    assert not wrong, "\n".join(wrong)
