"""The sections that are told in words: parts, signatures, what was odd, pictures, supplies."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from benchrun.account.act_facts import ActFacts, SupplyFacts, WitnessFacts
from benchrun.account.facts import PartFacts, QuestionFacts, RemarkFacts, RunFacts
from benchrun.account.figures import document_words
from benchrun.account.value_facts import (
    CorrectionFacts,
    FigureFacts,
)
from benchrun.approvals import level_words
from benchrun.quantity import in_words
from benchrun.record.chain import WHERE
from benchrun.report.doc import (
    Block,
    Bullets,
    Cell,
    Fields,
    Para,
    Picture,
    Section,
    Strip,
    Under,
    table_of,
)
from benchrun.report.wording import parts_words
from benchrun.text import listed, span
from benchrun.wording import STATES, grouped, minute_words, misgivings_words

_FEW = 12
_STATUS_MARKS = {"done": "", "scrap": "bad"}
_STATES = {
    "agrees": "digest agrees with the log",
    "missing": "THE FILE IS MISSING",
    "differs": "THE FILE IS NOT THE ONE IN THE LOG",
    "outside": "the log names a file outside photos/, which is not opened",
}


def batch(facts: RunFacts) -> tuple[str, ...]:
    """The tags of all parts of a run."""
    return tuple(part.part for part in facts.parts)


def parts_section(facts: RunFacts) -> Section:
    """The deeds to parts, and how each ended."""
    rows: dict[tuple[str, str, tuple[int, ...], str], list[PartFacts]] = {}
    for part in facts.parts:
        verdicts = [r.verdict for r in facts.readings if r.part == part.part and not r.taken_back]
        # Parts of a large batch that cannot be told apart but by their tags share a row.
        alone = part.part if part.known_as or len(facts.parts) <= _FEW else ""
        why = "; ".join(dict.fromkeys(w for w in (part.reason, part.stands, *part.questions) if w))
        counts = tuple(verdicts.count(said) for said in ("inside", "outside", "in doubt"))
        rows.setdefault((alone, part.status, counts, why), []).append(part)
    table_rows = [
        (
            parts_words((part.part for part in group), batch(facts)),
            group[0].known_as,
            Cell(STATES.get(status, status), mark=_STATUS_MARKS.get(status, "doubt")),
            _values_cell(*counts),
            why,
        )
        for (_, status, counts, why), group in rows.items()
    ]
    columns = ("Part", "Identity", "Result", "Values against limits", "Remarks")
    blocks: list[Block] = [Para(facts.scope)] if facts.scope else []
    blocks.append(table_of(columns, table_rows))
    stages = tuple(dict.fromkeys(a.stage for a in facts.acts if a.stage and not a.taken_back))
    if stages:
        blocks.append(Para(f"Stages worked: {', '.join(stages)}."))
    return Section("What was done to which parts", tuple(blocks))


def _values_cell(inside: int, outside: int, doubtful: int) -> Cell:
    words = [f"{inside} inside"] if inside else []
    words += [f"{outside} outside"] if outside else []
    words += [f"{doubtful} in doubt"] if doubtful else []
    mark = "bad" if outside else "doubt" if doubtful else ""
    return Cell(", ".join(words) or "none", mark=mark)


def signatures_section(facts: RunFacts) -> Section:
    """Who signed for what."""
    if not facts.signatures:
        return Section("Who signed for what", (Para("Nobody has signed anything.", "bad"),))
    rows = []
    for signed in facts.signatures:
        about = f"step {signed.number}" if signed.number else "the run"
        parts = parts_words(signed.parts, batch(facts)) if signed.parts else "all"
        says = f"{signed.says} ({listed(signed.flags)})" if signed.flags else signed.says
        if signed.remarks:
            says = f"{says} Signed over: {'; '.join(signed.remarks)}."
        statement = Cell(says, mark="doubt" if signed.flags or signed.remarks else "")
        over = f"entries 0 to {signed.covers - 1}"
        rows.append((signed.name, statement, about, parts, minute_words(signed.utc), over))
    columns = ("Name", "Statement signed", "For", "Parts", "When", "Signs over")
    return Section("Who signed for what", (table_of(columns, rows),))


def witnesses_section(facts: RunFacts) -> Section | None:
    """The witness points: who was told when, who came, or that nobody did."""
    rows = [
        (
            Cell(f"{one.number}. {one.text}", mark="gone" if one.taken_back else ""),
            parts_words(one.parts, batch(facts)),
            f"{minute_words(one.utc)}, {facts.name_of(one.by)}",
            span(one.notice) if one.notice is not None else "",
            _witness_cell(facts, one),
        )
        for one in facts.witnesses
    ]
    if not rows:
        return None
    columns = ("Witness point", "Parts", "Told", "Notice", "Who came")
    return Section("Witness points", (table_of(columns, rows),))


def _witness_cell(facts: RunFacts, one: WitnessFacts) -> Cell:
    if one.taken_back:
        return Cell("undone", mark="gone")
    if not one.end:
        return Cell("still waited for", mark="doubt")
    return Cell(f"{one.words}; {minute_words(one.ended)}, {facts.name_of(one.ended_by)}")


def odd_section(facts: RunFacts) -> Section:
    """Deviations, corrections, questions and doubts in plain sight."""
    tables = (
        ("Deviations", _odd_table(facts, facts.deviations)),
        ("Corrections", _corrections(facts)),
        ("Questions and their answers", _questions(facts)),
        ("Doubts", _odd_table(facts, facts.doubts)),
    )
    blocks: list[Block] = []
    for title, rows in tables:
        blocks += [Under(title), rows] if rows else []
    nothing = [title.lower() for title, rows in tables if not rows]
    if nothing:
        blocks.append(Para(f"Nothing to tell under: {', '.join(nothing)}."))
    return Section("Deviations, corrections and doubts", tuple(blocks))


def _odd_table(facts: RunFacts, odds: Sequence[RemarkFacts]) -> Block | None:
    rows = [
        (
            str(deviation.n),
            minute_words(deviation.utc),
            facts.name_of(deviation.by),
            str(deviation.number or ""),
            parts_words(deviation.parts, batch(facts)),
            deviation.words,
            deviation.reason,
        )
        for deviation in odds
    ]
    columns = ("Entry", "When", "Who", "Step", "Parts", "What", "Reason given")
    return table_of(columns, rows, (0, 3)) if rows else None


def _corrections(facts: RunFacts) -> Block | None:
    rows = [
        (
            str(correction.n),
            minute_words(correction.utc),
            facts.name_of(correction.by),
            correction.part,
            f"{correction.number}. {correction.name} {correction.place}".strip(),
            Cell(correction.now, correction.was),
            correction.reason if correction.taken_back is None else _undone(correction),
        )
        for correction in facts.corrections
    ]
    columns = ("Entry", "When", "Who", "Part", "Value", "Now, and before", "Reason given")
    return table_of(columns, rows, (0,)) if rows else None


def _undone(correction: CorrectionFacts) -> str:
    return f"{correction.reason}; undone in entry {correction.taken_back}: {correction.was} stands"


def _questions(facts: RunFacts) -> Block | None:
    rows = []
    for _, same in groupby(facts.questions, key=_asked_alike):
        group = list(same)
        question = group[0]
        answer = question.answer or "STILL OPEN"
        settled = [answer, f"reason: {question.reason}" if question.reason else ""]
        rows.append(
            (
                str(question.n),
                parts_words((q.part for q in group), batch(facts)),
                str(question.number or ""),
                question.says,
                Cell("; ".join(w for w in settled if w), mark="" if question.answer else "bad"),
                facts.name_of(question.by) if question.by else "",
            )
        )
    columns = ("Entry", "Parts", "Step", "Question", "Answer", "Who")
    return table_of(columns, rows, (0, 2)) if rows else None


def _asked_alike(question: QuestionFacts) -> tuple[object, ...]:
    return (question.n, question.says, question.answer, question.reason, question.settled)


def words_section(facts: RunFacts) -> Section | None:
    """Lessons and notes."""
    blocks: list[Block] = []
    for title, words in (("Lessons", facts.lessons), ("Notes", facts.notes)):
        if words:
            rows = [
                (
                    f"step {w.number}" if w.number else "the run",
                    w.text,
                    parts_words(w.parts, batch(facts)),
                    facts.name_of(w.by),
                    minute_words(w.utc),
                )
                for w in words
            ]
            blocks.append(Under(title))
            blocks.append(table_of(("About", "Text", "Parts", "Who", "When"), rows))
    return Section("Lessons and notes", tuple(blocks)) if blocks else None


def photos_section(facts: RunFacts, contents: Sequence[tuple[str, bytes | None]]) -> Section | None:
    """The pictures with step, part and time below each; then what the log holds of their files.

    Those of one part stand side by side, the earliest first, so that before and after compare.

    Args:
        facts: The run.
        contents: For each picture its media type and its bytes, or None where it is not shown.
    """
    if not facts.photos:
        return None
    strips: dict[tuple[str, ...], list[Picture]] = {}
    rows: list[tuple[Cell | str, ...]] = []
    for number, (photo, (kind, content)) in enumerate(zip(facts.photos, contents, strict=True), 1):
        about = f"step {photo.number}" if photo.number else ""
        parts = parts_words(photo.parts, batch(facts))
        words = [photo.text, about, parts, minute_words(photo.utc), facts.name_of(photo.by)]
        caption = f"{number}. {', '.join(word for word in words if word)}"
        state = _STATES[photo.state]
        if photo.state == "agrees" and content is None:
            state += "; not shown here, it lies in the run's folder"
            caption += " (not shown)"
        strips.setdefault(photo.parts, []).append(Picture(caption, kind, content))
        bad = "" if photo.state == "agrees" else "bad"
        size = f"{photo.bytes / 1000:.0f} kB" if photo.bytes else ""
        rows.append(
            (str(number), photo.file, photo.sha256, size, Cell(state, mark=bad), photo.position)
        )
    blocks: list[Block] = [Strip(tuple(pictures)) for pictures in strips.values()]
    columns = ("No.", "File", "SHA-256 of the original", "Size", "State", "Position")
    return Section("Photographs", (*blocks, table_of(columns, rows, (0, 3))))


def drawings_section(
    facts: RunFacts, contents: Sequence[tuple[str, bytes | None]]
) -> Section | None:
    """The drawings of the procedure, each with the steps that name it.

    Args:
        facts: The run.
        contents: For each drawing its media type and its bytes, or None where it is not shown.
    """
    if not facts.drawings:
        return None
    pictures: list[Picture] = []
    rows: list[tuple[Cell | str, ...]] = []
    for number, (one, (kind, content)) in enumerate(zip(facts.drawings, contents, strict=True), 1):
        steps = listed(tuple(f"step {place}" for place, _ in one.steps))
        caption = f"Drawing {number}, {steps}: {one.steps[0][1] if one.steps else one.name}"
        pictures.append(Picture(caption, kind, content))
        state = _STATES[one.state].replace("photos/", "drawings/")
        if one.state == "agrees" and content is None:
            state += "; not shown here, it lies in the run's folder"
        bad = "" if one.state == "agrees" else "bad"
        places = ", ".join(str(place) for place, _ in one.steps)
        rows.append((str(number), places, one.file, one.sha256, Cell(state, mark=bad)))
    shown = [Strip((one,)) for one in pictures if one.content is not None]
    columns = ("No.", "Steps", "File", "SHA-256", "State")
    return Section("Drawings of the procedure", (*shown, table_of(columns, rows, (0,))))


def procedure_section(facts: RunFacts) -> Section:
    """Which procedure was followed, and what its sources are."""
    edition = ", ".join(filter(None, (facts.status, facts.dated, level_words(facts.use))))
    fields = Fields(
        (
            ("Procedure", f"{facts.title} ({facts.procedure})"),
            ("Revision", f"{facts.revision}, {edition}"),
            ("Approval", facts.approval),
            ("Applies to", facts.applies_to),
            ("SHA-256 of its file", facts.procedure_sha256),
        )
    )
    blocks: list[Block] = [fields]
    if facts.first_aid:
        blocks += [Under("First aid"), Bullets(facts.first_aid)]
    if facts.sources:
        sources = tuple(f"{mark}: {source}" for mark, source in facts.sources.items())
        blocks += [Under("Sources of its figures"), Bullets(sources)]
    return Section("The procedure", tuple(blocks))


def account_section(facts: RunFacts) -> Section:
    """The work, entry by entry; a step that several entries in a row carried out is one row."""
    rows = []
    for act in _joined(facts.acts):
        mark = "gone" if act.taken_back else ""
        text = f"{act.number}. {act.text}" if act.number else act.text
        rows.append(
            (
                str(act.n),
                minute_words(act.utc),
                f"{facts.name_of(act.by)}, by key" if act.proved else facts.name_of(act.by),
                Cell(f"{text} (undone)" if mark else text, mark=mark),
                "; ".join(_act_parts(facts, act)),
            )
        )
    columns = ("Entry", "When", "Who", "What", "Parts, and what came of it")
    note = Para(
        f"{WHERE}. Entries of one step in a row are one here; seals and tendings are not told "
        "here. Times are UTC. By key: a signature of theirs is in the same sitting before it, "
        "or right behind it; all others were chosen on the screen."
    )
    return Section("The work, entry by entry", (note, table_of(columns, rows, (0,))))


def _joined(acts: Sequence[ActFacts]) -> Iterator[ActFacts]:
    for _, same in groupby(acts, key=_one_row):
        group = list(same)
        first = group[0]
        if len(group) == 1 or not first.step or first.kind in ("in", "out"):
            yield from group
            continue
        parts = tuple(dict.fromkeys(part for act in group for part in act.parts))
        outcomes: dict[str, list[str]] = {}
        for act in group:
            for said, named in act.outcomes:
                for part in named:
                    outcomes.setdefault(part, []).append(said)
        yield ActFacts(
            first.n,
            first.utc,
            first.by,
            first.kind,
            first.step,
            first.number,
            first.stage,
            first.text,
            parts,
            grouped({part: "; ".join(said) for part, said in outcomes.items()}),
            first.reason,
            first.taken_back,
            first.proved,
        )


def _one_row(act: ActFacts) -> tuple[object, ...]:
    """All in which entries in a row must be alike to be told as one."""
    return act.step, act.kind, act.by, act.proved, act.taken_back, act.reason


def _act_parts(facts: RunFacts, act: ActFacts) -> Iterator[str]:
    if len(act.outcomes) > _FEW and act.number:
        yield f"{parts_words(act.parts, batch(facts))}: what came of it is told above, part by part"
        return
    parts_named = {part for _, parts in act.outcomes for part in parts}
    silent = tuple(part for part in act.parts if part not in parts_named)
    if silent:
        yield parts_words(silent, batch(facts))
    for said, parts in act.outcomes:
        yield f"{parts_words(parts, batch(facts))}: {said}"
    if act.reason:
        yield f"reason: {act.reason}"


def figures_section(facts: RunFacts) -> Section | None:
    """The figures out of manuals and data sheets, with the document and who entered each."""
    rows = [
        (
            figure.text,
            _figure_cell(figure),
            document_words(figure.document, figure.page),
            f"{figure.book}, {figure.who} {figure.day}".strip(", ") if figure.book else figure.by,
            minute_words(figure.utc),
        )
        for figure in facts.figures
    ]
    if not rows:
        return None
    columns = ("Figure", "Value", "Document", "Entered by", "In this run since")
    return Section("Figures from manuals and sheets", (table_of(columns, rows),))


def _figure_cell(figure: FigureFacts) -> Cell:
    if not figure.value:
        return Cell("none: the run went on without it", mark="doubt")
    said = in_words(Decimal(figure.value), figure.unit)
    if figure.odd:
        said += ", outside the plausible band"
    if figure.corrected_by is not None:
        was = in_words(Decimal(figure.first), figure.unit) if figure.first else "none"
        said += f" (was {was}; entry {figure.corrected_by}: {figure.correction})"
    return Cell(said, mark="doubt" if figure.odd or figure.corrected_by is not None else "")


def supplies_section(facts: RunFacts) -> Section | None:
    """The use of each supply, with its lot; a row an act."""
    rows = [
        (
            Cell(supply.supply, mark="gone" if supply.taken_back else ""),
            _amount(supply),
            Cell(_tin(supply), mark="bad" if supply.misgivings else ""),
            f"step {supply.number}",
            parts_words(supply.parts, (part.part for part in facts.parts)),
            minute_words(supply.utc),
        )
        for supply in facts.supplies
    ]
    if not rows:
        return None
    columns = ("Supply", "Amount", "Lot and dates", "For", "Parts", "When")
    return Section("Supplies used", (table_of(columns, rows),))


def _amount(supply: SupplyFacts) -> Cell:
    said = in_words(Decimal(supply.amount), supply.unit) if supply.amount else "not known"
    was = (
        in_words(Decimal(supply.first), supply.unit)
        if supply.first and supply.first != supply.amount
        else ""
    )
    said = f"{said} poured back" if supply.back else said
    return Cell(f"{said}, undone" if supply.taken_back else said, was)


def _tin(supply: SupplyFacts) -> str:
    if not supply.name:
        return "not in the stock book"
    return misgivings_words(f"{supply.name}: {supply.about}".removesuffix(": "), supply.misgivings)
