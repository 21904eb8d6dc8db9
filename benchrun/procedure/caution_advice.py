"""Advice on cautions: what they say, and that each stands up front and again where it hurts."""

from collections.abc import Iterator

from benchrun.procedure import words
from benchrun.procedure.ghs import code_text
from benchrun.procedure.marked import Items, Map, Path
from benchrun.procedure.problems import Problems
from benchrun.procedure.verbs import VerbList


def advise_on_cautions(problems: Problems, verbs: VerbList) -> None:
    """Add what could be better in the cautions of a procedure.

    Args:
        problems: Takes the advice.
        verbs: The verbs that tell somebody to do something.
    """
    named: set[str] = set()
    for path, caution in _cautions(problems.data, ()):
        if isinstance(caution, str):
            named.add(caution)
            continue
        _wording(caution, path, problems, verbs)
        if path[0] != "hazards":
            problems.advise(
                path,
                "this caution is here alone and not up front: put it under `hazards` with an "
                "`id`, and name that here",
            )
    if not problems.errors:  # what would name a hazard may be what is wrong
        _unused(problems, named)


def _unused(problems: Problems, named: set[str]) -> None:
    hazards = problems.data.get("hazards")
    for count, hazard in enumerate(hazards if isinstance(hazards, Items) else ()):
        known = hazard.get("id") if isinstance(hazard, Map) else None
        if known not in named:
            who = f"the hazard {known!r}" if known else "this hazard"
            cure = "name it" if known else "give it an `id`, and name that"
            problems.advise(
                ("hazards", count),
                f"no step is cautioned of {who}: {cure} under `cautions` where it can hurt, or "
                "delete it",
            )


def _cautions(data: Map | Items, path: Path) -> Iterator[tuple[Path, str | Map]]:
    """Each caution of the file, or the id of a hazard that stands for one, with its place."""
    for key, value in data.items() if isinstance(data, Map) else enumerate(data):
        where = (*path, key)
        if key in ("hazards", "cautions") and isinstance(value, Items):
            for count, one in enumerate(value):
                if isinstance(one, str | Map):
                    yield (*where, count), one
        elif isinstance(value, Map | Items):
            yield from _cautions(value, where)


def _wording(caution: Map, path: Path, problems: Problems, verbs: VerbList) -> None:
    for key in ("danger", "warning", "caution", "notice", "then"):
        text = caution.get(key)
        if isinstance(text, str) and words.commands(text, verbs):
            problems.advise(
                (*path, key),
                "a caution tells somebody to do something: put it under `avoid`, or in a step",
            )
    if not caution.get("then"):
        problems.advise(path, "the caution does not say what happens: add `then`")
    if not caution.get("avoid"):
        problems.advise(path, "the caution does not say how to avoid it: add `avoid`")
    codes = caution.get("codes")
    for code in codes if isinstance(codes, Items) else [codes] if isinstance(codes, str) else []:
        if isinstance(code, str) and code_text(code) is None:
            problems.advise((*path, "codes"), f"code {code!r} has no text in the table")
