"""Types of one text of a procedure file: a line, a whole number, a time, a formula, an id.

Each type takes the text that stands in the file and explains itself to an editor.
"""

import re
from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Final, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from benchrun.procedure.formula import Formula, FormulaError, parse_formula
from benchrun.procedure.phrases import FINDING_WORD, STEP_ID, consequence, time_span
from benchrun.procedure.route import Consequence
from benchrun.quantity import canonical, known

PAIR: Final = "pair"
_LONGEST_LINE: Final = 600
_LONGEST_ID: Final = 60
_WHOLE: Final = re.compile(r"[0-9]{1,6}")
_NAME: Final = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,39}")
_DRAWING: Final = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_. -]*(?:/[A-Za-z0-9_][A-Za-z0-9_. -]*)*")
_YES: Final = {"yes": True, "true": True, "no": False, "false": False}


def text_of(value: object) -> str:
    """The text of a value of the file on one line.

    Raises:
        ValueError: It is a map or a list, or empty.
    """
    if isinstance(value, dict):
        raise ValueError(
            "a text is needed here, found a map: a text with a colon and a blank in it "
            "needs quotation marks"
        )
    if not isinstance(value, str):
        raise ValueError("a text is needed here, found a list")
    line = " ".join(value.split())
    if not line:
        raise ValueError("nothing is written here: write it, or delete the key")
    if len(line) > _LONGEST_LINE:
        raise ValueError(f"text of {len(line)} letters: at most {_LONGEST_LINE} are taken")
    return line


def _whole(value: object) -> int:
    text = text_of(value)
    if not _WHOLE.fullmatch(text):
        raise ValueError(f"a whole number is needed here, found {text[:40]!r}")
    return int(text)


def _count(value: object) -> int:
    count = _whole(value)
    if not 1 <= count <= 10_000:
        raise ValueError(f"a number from 1 to 10000 is needed here, found {count}")
    return count


def _yes(value: object) -> bool:
    text = text_of(value)
    if text not in _YES:
        raise ValueError(f"yes or no is needed here, found {text[:40]!r}")
    return _YES[text]


def _together(value: object) -> bool | Literal["pair"]:
    if value == PAIR:
        return PAIR
    try:
        return _yes(value)
    except ValueError as error:
        raise ValueError(str(error).replace("yes or no", "yes, no or pair")) from None


def _id(value: object) -> str:
    text = text_of(value)
    if not STEP_ID.fullmatch(text) or len(text) > _LONGEST_ID:
        raise ValueError(
            f"{text[:60]!r} is no id: small letters, digits and single hyphens, beginning with a "
            f"letter, at most {_LONGEST_ID}"
        )
    return text


def _name(value: object) -> str:
    text = text_of(value)
    if STEP_ID.fullmatch(text) and "-" in text:
        raise ValueError(
            f"formulas and tables call a step by its id with _ for the hyphen: write "
            f"{text.replace('-', '_')}"
        )
    if not _NAME.fullmatch(text):
        raise ValueError(
            f"{text[:60]!r} is no name for formulas: letters, digits and _, beginning with a letter"
        )
    return text


def _asked_by(value: object) -> str:
    """A name, or after a point what another procedure found."""
    step, point, found = text_of(value).partition(".")
    return f"{_name(step)}.{_name(found)}" if point else _name(step)


def _unit(value: object) -> str:
    text = text_of(value)
    if text == "none":
        return ""
    unit = text if known(text) else canonical(text)
    if unit is None:
        raise ValueError(
            f"{text[:40]!r} is no unit that benchrun knows: write mm, degC, N m, min …"
        )
    return unit


def _result(value: object) -> str:
    return FINDING_WORD if text_of(value) == FINDING_WORD else _unit(value)


def _time(value: object) -> int:
    return time_span(text_of(value))


def _hours(value: object) -> int:
    span = time_span(text_of(value))
    if span % 3_600_000:
        raise ValueError(f"whole hours are needed here, found {text_of(value)!r}")
    return span // 3_600_000


def _formula(value: object) -> Formula:
    text = text_of(value)
    try:
        return parse_formula(text)
    except FormulaError as error:
        raise PydanticCustomError(
            "formula", "{said}", {"said": error.message, "at": error.at}
        ) from None


def _drawing(value: object) -> str:
    text = text_of(value)
    if not _DRAWING.fullmatch(text):
        raise ValueError(
            f"{text[:60]!r} is no file in the procedure's own folder: write figures/seat.png"
        )
    return text


def _day(value: object) -> str:
    text = text_of(value)
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise ValueError(f"{text[:40]!r} is no date: write year-month-day") from None


def _listed(value: object) -> object:
    return [value] if isinstance(value, (str, dict)) else value


class _OneOrMore:
    """Takes a lone value for a list of one, and says so to editors."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_before_validator_function(_listed, handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        several = handler(core)
        return {"anyOf": [several.get("items", {}), several]}


ONE_OR_MORE: Final = _OneOrMore()


def _schema(kind: str | list[str], description: str, **more: Any) -> WithJsonSchema:
    return WithJsonSchema({"type": kind, "description": description, **more})


class _Plain:
    """Reads a text of the file and no more; the library's own would make ready to write it too."""

    def __init__(self, read: Callable[[object], object]) -> None:
        self._read = read

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)


# An editor takes a bare 12, 1.5 or true for no text; a procedure reads each as it is written.
_TEXT: Final = ["string", "number", "boolean"]
_DRAWN: Final = f"^{_DRAWING.pattern}$"
_COUNT: Final = r"(,?\s+(at\s+most\s+)?(once|twice|0*[1-9][0-9]*\s+times))"
_ID_PATTERN: Final = "[a-z][a-z0-9]*(-[a-z0-9]+)*"
_TIME_PATTERN: Final = (
    r"^\s*[0-9]+(\.[0-9]+)?\s?(s|min|h|d|seconds?|minutes?|hours?|days?|weeks?)(\s*[0-9].*)?$"
)

Line = Annotated[
    str, _Plain(text_of), _schema(_TEXT, "One line of text.", minLength=1, maxLength=_LONGEST_LINE)
]
Spot = Annotated[str, _Plain(text_of), _schema(_TEXT, "The name of a place.")]
Lines = Annotated[list[Line], ONE_OR_MORE]
Whole = Annotated[
    int,
    _Plain(_count),
    _schema(
        ["integer", "string"], "A whole number.", minimum=1, maximum=10_000, pattern="^[0-9]{1,6}$"
    ),
]
_YES_OR_NO: Final = [True, False, *_YES]
YesNo = Annotated[
    bool,
    _Plain(_yes),
    _schema(["boolean", "string"], "yes or no.", enum=_YES_OR_NO),
]
Together = Annotated[
    bool | Literal["pair"],
    _Plain(_together),
    _schema(["boolean", "string"], "yes, no or pair.", enum=[*_YES_OR_NO, PAIR]),
]
Id = Annotated[
    str,
    _Plain(_id),
    _schema(
        "string",
        "A stable name: small letters, digits and hyphens.",
        pattern=f"^{_ID_PATTERN}$",
        maxLength=_LONGEST_ID,
    ),
]
Ids = Annotated[list[Id], ONE_OR_MORE]
NameText = Annotated[
    str,
    _Plain(_name),
    _schema("string", "What formulas call it.", pattern="^[A-Za-z][A-Za-z0-9_]{0,39}$"),
]
AskedBy = Annotated[
    str,
    _Plain(_asked_by),
    _schema(
        "string",
        "A name, or what another procedure found: crack_check.depth.",
        pattern="^[A-Za-z][A-Za-z0-9_]{0,39}([.][A-Za-z][A-Za-z0-9_]{0,39})?$",
    ),
]
UnitText = Annotated[
    str, _Plain(_unit), _schema("string", "A unit such as mm, degC, N m, min; none for a count.")
]
ResultText = Annotated[
    str,
    _Plain(_result),
    _schema("string", "A unit such as mm, degC; none for a count; finding for a finding."),
]
Time = Annotated[
    int,
    _Plain(_time),
    _schema(
        "string", "A length of time: 90 s, 10 min, 2 h, 1 h 30 min, 2 d.", pattern=_TIME_PATTERN
    ),
]
Hours = Annotated[
    int, _Plain(_hours), _schema("string", "Whole hours: 12 h, 2 d.", pattern=_TIME_PATTERN)
]
FormulaText = Annotated[
    Formula,
    _Plain(_formula),
    _schema(["string", "number"], "A formula: 61.949 mm, mean(bore) - ring, bore > 62 mm."),
]
ParameterText = Annotated[
    str,
    _Plain(text_of),
    _schema(["string", "number"], "A quantity, a length of time, or a formula: 61.949 mm, 10 min."),
]
FitText = Annotated[
    str,
    _Plain(text_of),
    _schema(
        "string",
        "A size with its ISO 286 class: 62 P7, 50 k6.",
        pattern=r"^\s*[0-9.]+\s?(mm)?\s+[A-Za-z]{1,2}[0-9]{1,2}\s*$",
    ),
]
TimeText = Annotated[
    str,
    _Plain(text_of),
    _schema(
        "string",
        "A length of time, or a formula for one: 10 min, 1 h 30 min, film / 20 µm * 1 min.",
        pattern="[A-Za-z]",
    ),
]
Drawing = Annotated[
    str,
    _Plain(_drawing),
    _schema("string", "A picture in the procedure's own folder.", pattern=_DRAWN),
]
Day = Annotated[
    str,
    _Plain(_day),
    _schema("string", "A date: year-month-day.", format="date", pattern="^[0-9]{4}"),
]
One = Annotated[
    Consequence,
    _Plain(lambda value: consequence(text_of(value))),
    _schema(
        "string",
        "go on, again, rework from STEP at most 2 times, set aside, send away to PLACE, scrap, "
        "stop the run.",
        pattern=rf"^\s*(go\s+on|again{_COUNT}?|rework\s+from\s+{_ID_PATTERN}{_COUNT}|set\s+aside|"
        rf"send\s+away\s+to\s+.+|scrap|stop\s+the\s+run)\s*$",
    ),
]
Ways = Annotated[list[One], ONE_OR_MORE]
