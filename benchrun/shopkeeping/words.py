"""Text that the commands of a shop have in common: faults, and values given as key=value."""

from collections.abc import Collection, Iterable, Sequence

from benchrun.errors import BenchrunError
from benchrun.shop.book_row import BookFault
from benchrun.shop.yaml_editor import Plain
from benchrun.text import columns, meant, shown


def column_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows of a book in columns, of which no cell is cut short."""
    return "\n".join(columns(rows, widest=48, longest=200))


def with_faults(text: str, faults: Iterable[BookFault]) -> str:
    """A text, with what is wrong in the file below it."""
    wrong = [f"put right  {fault.words}" for fault in faults]
    return "\n".join([*([text] if text else []), *wrong])


def values_from(pairs: Iterable[str], keys: Collection[str]) -> dict[str, Plain]:
    """Read the `key=value` words of a command line.

    A key's blanks may be written as hyphens; a list's items stand apart by semicolons.

    Args:
        pairs: The words.
        keys: The keys that a row has.

    Raises:
        BenchrunError: A word has no `=`, its key is not known, or a key comes twice.
    """
    from benchrun.shop_use.book_words import listed_texts  # it knows every book

    found: dict[str, Plain] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        key = " ".join(name.strip().replace("-", " ").split())
        if not equals or not key:
            raise BenchrunError(f"{shown(pair, 40)!r} is not key=value, such as note=spare")
        if key not in keys:
            would = meant(key, keys, len(keys))
            raise BenchrunError(f"{shown(name, 40)!r} is no key here: {would}")
        if key in found:
            raise BenchrunError(f"{key} is given twice")
        found[key] = listed_texts(key, value)
    return found


def facts(pairs: Iterable[tuple[str, str]]) -> str:
    """The facts of one thing, a line each; the empty are left out."""
    return column_text([(name, value) for name, value in pairs if value])
