"""Signing a hold or the close: the words, who signs, the passphrase, what is not finished."""

from collections.abc import Callable, Generator, Sequence
from dataclasses import replace
from functools import partial

from benchrun.dialogue.acknowledgement import kept_words, signed_words
from benchrun.dialogue.close_lines import asks_lines, line_words, tick_lines
from benchrun.dialogue.delivery import reason_prompt
from benchrun.dialogue.hand import is_hold
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.readying import count_back
from benchrun.dialogue.run_prompts import ANOTHER_SIGNER, SignaturePrompt
from benchrun.dialogue.turns import (
    Flow,
    Say,
    Turn,
    called,
    choose,
    signed,
    text,
)
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.procedure.route import Hold, Step
from benchrun.run import commands as c
from benchrun.run.commands import Refusal, Want
from benchrun.run.decide import decide, unfinished
from benchrun.run.holds import waiver_words
from benchrun.run.offers import Deed
from benchrun.run.tool_counts import tools_to_count
from benchrun.session import Kept, Sitting, closing_statement, wants_another
from benchrun.shop.people import Person
from benchrun.signing_keys import hand_of, person_key

FOR_ALL = 0


def sign_hold(work: Work, step: Step, detail: Hold, command: c.Do) -> Flow:
    """Sign a hold for parts; before the release each line of the close is ticked."""
    if step.id == work.session.run.route.release and not (yield from tick_lines(work)):
        return False
    command = replace(command, seen=work.seen)
    title = f"{step.number}  {step.text}"
    batch = work.session.run.parts
    releases = step.id == work.session.run.route.release
    prompt = SignaturePrompt(
        title,
        command,
        command.parts,
        work.seen,
        work.people,
        None,
        batch=batch,
        ticked=line_words(work) if releases else (),
    )

    def says(person: Person) -> str:
        return f"{person.name}: {detail.says or step.text}"

    return (yield from _sign(work, prompt, says, lambda person: command))


def sign_waiver(work: Work, step: Step, parts: tuple[str, ...]) -> Flow:
    """Waive a hold: the reason first, then the signature."""
    said = f"{part_names(parts)}: step {step.number} is waived, not met. Why?"
    reason = yield from text(reason_prompt(said, work.session.entries))
    if not reason:
        return False
    command = c.Do(step.id, parts, work.seen, reason=reason, waives=True)
    title = f"Waiver of {step.number}  {step.text}"
    prompt = SignaturePrompt(
        title, command, parts, work.seen, work.people, None, batch=work.session.run.parts
    )

    def says(person: Person) -> str:
        return f"{person.name}: {waiver_words(step)}"

    return (yield from _sign(work, prompt, says, lambda person: command))


def sign_close(work: Work) -> Flow:
    """Close the run: tools counted, lines ticked, a reason for each part left, the signature."""
    if tools_to_count(work.session.run) and not (yield from count_back(work, c.CountBack)):
        return False
    if not (yield from tick_lines(work)):
        return False
    reasons = yield from _reasons(work)
    if reasons is None:
        return False
    run = work.session.run
    prompt = SignaturePrompt(
        "Close the run",
        c.Close(reasons),
        run.parts,
        work.seen,
        work.people,
        None,
        closes=True,
        reasons=reasons,
        batch=run.parts,
        ticked=line_words(work),
    )

    def says(person: Person) -> str:
        return closing_statement(hand_of(person))

    return (yield from _sign(work, prompt, says, lambda person: c.Close(reasons, says(person))))


def _reasons(work: Work) -> Generator[Turn, object, dict[str, str] | None]:
    """Why each part is not finished; None where that was left."""
    left = unfinished(work.session.run)
    if not left:
        return {}
    entries = work.session.entries
    way = (yield from _way(left)) if len(left) > 1 else FOR_ALL
    if way is None:
        return None
    if way == FOR_ALL:
        it = "it" if len(left) == 1 else "them"
        said = f"{part_names(left)}: not finished. Why close without {it}?"
        reason = yield from text(reason_prompt(said, entries, c.Close({}, "")))
        return dict.fromkeys(left, reason) if reason else None
    reasons: dict[str, str] = {}
    for part in left:
        said = f"{part}: not finished. Why close without it?"
        reasons[part] = yield from text(reason_prompt(said, entries, c.Close({}, "")))
        if not reasons[part]:
            return None
    return reasons


def _way(left: tuple[str, ...]) -> Generator[Turn, object, int | None]:
    options = (Option("One reason for all"), Option("A reason for each"))
    return (
        yield from choose(Choose("Close the run", options, f"{part_names(left)}: not finished."))
    )


def _sign(
    work: Work,
    prompt: SignaturePrompt,
    says: Callable[[Person], str],
    command_of: Callable[[Person], c.Do | c.Close],
) -> Flow:
    session, people = work.session, prompt.people
    person = session.person
    if not session.has_signed and len(people) > 1:
        person = None
    person = _first_fit(session, person, people, command_of)
    while True:
        fit = yield from _fit_to_sign(session, person, command_of)
        if person is not None and fit is None and len(people) < 2:
            return False
        person, prompt = fit, replace(prompt, person=None)
        if person is not None:
            prompt = yield from _prompt_for(session, prompt, person, says, command_of(person))
        answer = yield prompt
        if answer is None:
            return False
        if person is None and isinstance(answer, int):
            person = people[answer]
        elif person is not None and answer == ANOTHER_SIGNER:
            person = _next(people, person)
        elif person is not None and isinstance(answer, str):
            recorded = yield from _signed(work, prompt.command, answer, person)
            if recorded is not None:
                return recorded


def _prompt_for(
    session: Sitting,
    prompt: SignaturePrompt,
    person: Person,
    says: Callable[[Person], str],
    command: c.Do | c.Close,
) -> Generator[Turn, object, SignaturePrompt]:
    """The prompt for a person's signature: the words, and what the record holds of the parts."""
    remarks = yield from called(partial(session.remarks, command))
    return replace(
        prompt,
        command=command,
        person=person,
        says=says(person),
        locked=_is_locked(session, person, command),
        remarks=remarks,
    )


def _first_fit(
    session: Sitting,
    person: Person | None,
    people: Sequence[Person],
    command_of: Callable[[Person], c.Do | c.Close],
) -> Person | None:
    """Who is asked to sign: where whoever works may not, the first who may."""
    if person is None:
        return None
    among = (person, *people)
    return next((one for one in among if not _why_not(session, one, command_of)), person)


def _fit_to_sign(
    session: Sitting,
    person: Person | None,
    command_of: Callable[[Person], c.Do | c.Close],
) -> Generator[Turn, object, Person | None]:
    """The person, or None where they may not sign: said before the passphrase is typed."""
    why = _why_not(session, person, command_of) if person is not None else ""
    if why:
        yield Say(why, strong=True)
    return None if why else person


def _why_not(
    session: Sitting, person: Person, command_of: Callable[[Person], c.Do | c.Close]
) -> str:
    """Why a person may not sign, whatever reason they give; empty where they may."""
    decided = decide(session.run, command_of(person), session.now(), hand_of(person))
    refused = isinstance(decided, Refusal) and decided.want is not Want.REASON
    return decided.text if isinstance(decided, Refusal) and refused else ""


def _signed(
    work: Work, command: c.Do | c.Close, passphrase: str, person: Person
) -> Generator[Turn, object, bool | None]:
    """Sign; whether it was recorded, or None to be asked for the passphrase again."""
    session = work.session
    while True:
        before = session.run
        reply = yield from signed(command, passphrase, person)
        if isinstance(reply, Kept):
            entry = reply.entries[0]
            closed = session.run.ended
            if closed:
                yield Say(kept_words(entry, before))
            else:
                heard = signed_words(entry, before, person.name, whose=False)
                yield Say(signed_words(entry, before, person.name), heard=heard)
            return True
        if reply.want is not Want.REASON or not isinstance(command, c.Do):
            yield Say(reply.text, strong=True)
            return None
        reason = yield from text(reason_prompt(reply.text, session.entries))
        if not reason:
            return None
        command = replace(command, reason=reason)


def _next(people: tuple[Person, ...], person: Person) -> Person:
    ids = [one.id for one in people]
    at = ids.index(person.id) if person.id in ids else -1
    return people[(at + 1) % len(people)]


def _is_locked(session: Sitting, person: Person, command: c.Do | c.Close) -> bool:
    """Whether the key wants a passphrase; one that is still unlocked does not."""
    if session.unlocked(person) and not wants_another(session.run, command):
        return False
    try:
        return person_key(person).encrypted
    except BenchrunError:
        return True


def opens_by_passphrase(work: Work) -> bool:
    """Whether what is in hand may be signed by typing the passphrase at once.

    It is known who signs then, the key wants a passphrase, and nothing else is asked before.
    """
    session, offer = work.session, work.now.offer
    if offer is None or not (is_hold(offer) or offer.deed is Deed.CLOSE):
        return False
    if offer.deed is Deed.CLOSE and (unfinished(session.run) or tools_to_count(session.run)):
        return False
    releases = offer.step is None or offer.step.id == session.run.route.release
    if releases and asks_lines(session.run):
        return False
    person = session.person
    if person is None or (not session.has_signed and len(work.people) > 1):
        return False
    command = c.Do(offer.step.id, work.parts, work.seen) if offer.step else c.Close()
    return _is_locked(session, person, command)
