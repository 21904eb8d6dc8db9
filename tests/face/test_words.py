"""One thing, one name: what a person may read says none of the words that were given up.

Read are all texts of the program but docstrings, the README and the guide. What must keep a word,
such as what stands in a log or in a file, is listed below with its reason.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]

GIVEN_UP = {
    "deviation": r"\botherwise\b",
    "resume a run": r"\b(take|takes|taken|took) (the |a )?(run |it )?up\b"
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


def pages() -> Iterator[tuple[str, int, str]]:
    """Everything that may be read: where it stands, and the text."""
    for path in sorted((ROOT / "benchrun").rglob("*.py")):
        for line, text in literals(path):
            yield str(path.relative_to(ROOT)), line, text
    for name in ("README.md", "procedures/README.md"):
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
    ("procedures/README", r"`[^`]*(otherwise|left out|lift: |into play)[^`]*`", "the same keys"),
    ("run/", r"^(too soon|perhaps (early|late)|in play|lift)$", "as they stand in logs"),
    ("run/", r"It is settled: go on|It is not so: leave them out", "answers as logs hold them"),
    ("account/", r"^(too soon|in play)$", "read from logs"),
    ("account/signing_list", r"nothing \(\?:was \)\?left out", "statements as authors write them"),
    ("history/", r"^in play$", "as the index of past runs holds it"),
    ("report/", r"^(in play|perhaps)$", "read from logs"),
    ("wording", r"^(too soon|perhaps (early|late))$", "read from logs, said in other words"),
    ("cli/records", r"^could not tell$", "a key of what --json prints"),
    ("verify/schema", r"^could not tell$", "a key of what --json prints"),
    ("record/record_reader", r"NOT WHOLE|could not tell", "closed runs carry it under seal"),
    ("shopmath/", r"settle|lifts?\b|lifting|let go", "bearings settle, axles lift, shoes grab"),
)


def given_up(where: str, text: str) -> str:
    """The first word in a text that was given up, and what is said instead; empty: none."""
    kept = [words for place, words, _ in KEPT if place in where]
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
    read = list(pages())
    for place, words, why in KEPT:
        hits = [text for where, _, text in read if place in where and re.search(words, text)]
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
