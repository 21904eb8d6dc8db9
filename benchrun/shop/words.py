"""The verbs that a shop's own procedures begin their steps with, beside those that come along."""

from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.verbs import shipped_verbs
from benchrun.shop.book_file import BookForm
from benchrun.shop.book_row import BookRow


@lean_dataclass(frozen=True, slots=True)
class ShopVerb:
    """A verb of the shop.

    Attributes:
        id: The verb.
        meaning: The one thing that it tells somebody to do.
    """

    id: str
    meaning: str


def _verb(row: BookRow) -> ShopVerb:
    word = row.id()
    if word and not word.isalpha():
        row.wrong("id", f"{word} is no single word: a verb has letters alone, such as burnish")
    known = shipped_verbs().get(word)
    if known is not None:
        row.wrong("id", f"{word} is in the list already, as “{known.meaning}”: strike this row")
    return ShopVerb(word, row.text("meaning", needed=True))


WORDS: Final = BookForm(
    "words.yaml",
    "words",
    "verb",
    {
        "id": "the verb, in small letters",
        "meaning": "the one thing that it tells somebody to do",
    },
    _verb,
    "Verbs that steps of this shop's own procedures may begin with, beside those that come with "
    "benchrun (procedures/TABLES.md lists them). One verb, one meaning: the check asks no more.",
    (
        "Begin like this:",
        "  words:",
        "    - {id: burnish, meaning: rub a face bright with a hard smooth tool}",
    ),
)
