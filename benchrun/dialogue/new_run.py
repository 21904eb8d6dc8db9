"""Questions before a run begins: what must hold, the batch, and what tells its parts apart."""

import re
from collections.abc import Callable, Generator, Mapping
from dataclasses import replace
from typing import Final

from benchrun.account.deviations import BEGUN_ANYWAY
from benchrun.approvals import approval_of
from benchrun.board import parts_in_work, uses_beside
from benchrun.dialogue.batch_choice import OTHERS, BatchChoice
from benchrun.dialogue.batch_kinds import ask_kinds
from benchrun.dialogue.batch_tags import last_parts, part_words, typed_tags
from benchrun.dialogue.before_begin import LACKING, before_rows, headed_rows, next_words
from benchrun.dialogue.figures import ask_figure, show_figures
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.people import ask_person
from benchrun.dialogue.prompts import Blank, Choose, Form, Option, Text
from benchrun.dialogue.readying import make_ready
from benchrun.dialogue.revisions import LastRun, last_run_of
from benchrun.dialogue.turns import (
    Flow,
    Say,
    Turn,
    called,
    choose,
    fill,
    pick_batch,
    show_page,
    text,
)
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.plan.progress import parts_progress, parts_to_follow_on, ready_parts
from benchrun.procedure.header_values import JOB
from benchrun.procedure.route import Procedure
from benchrun.record.approval import ApprovalState
from benchrun.run.course import Course
from benchrun.run.entries import FigureSpec, PartSpec
from benchrun.session import Readied
from benchrun.shop.amounts import day_of
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.parts import read_parts
from benchrun.shop.people import Person
from benchrun.shop.vessels import read_vessels
from benchrun.shop_use.book_words import add_thing, book_of
from benchrun.shop_use.figures import figures_in_books, job_of, open_jobs
from benchrun.shop_use.part_states import unfit_parts
from benchrun.shop_use.readiness import not_kept, shortages
from benchrun.shop_use.vessels import too_large
from benchrun.text import count, slug

ANYWAY: Final = "begin anyway"
_COUNTED: Final = re.compile(r"([0-9]{1,4}) ?[^\W\d_]{2,}[^,]*")
"""A number with a word behind it: it may count parts, or be the tag of one."""


class NewRun:
    """A run that is to begin.

    Args:
        shop: Where.
        procedure: What it follows.
        now: Tells the moment.
        person: Who works, or None while that is not known.

    Attributes:
        procedure: What it follows.
        lacking: What stands against beginning now.
        not_kept: The books that it needs and that list nothing.
        took: How long past runs took, in words, or empty.
        before: The revision that this shop ran last, or None.
        approval: Who approved the procedure, once that is looked up.
        parts: The batch, once it is known.
        figures: What the shop's books say of it, and what was asked at the begin.
        job: The id of the job it is done for, or empty.
        person: Who begins it, once that is known.
        readied: The conditions that were checked, the tools that were counted out.
        anyway: Parts that are begun although something stands against it: what, and the reason.
    """

    def __init__(
        self, shop: Shop, procedure: Procedure, now: Callable[[], Moment], person: Person | None
    ) -> None:
        self._shop = shop
        self._now = now
        self.procedure = procedure
        self.lacking: tuple[str, ...] = ()
        self.took = ""
        self.not_kept: tuple[str, ...] = ()
        self.before: LastRun | None = None
        self.approval = ApprovalState(procedure.status)
        self.parts: tuple[PartSpec, ...] = ()
        self.figures: tuple[FigureSpec, ...] = ()
        self.job = ""
        self.person = person
        self.anyway: dict[str, dict[str, str]] = {}
        self.readied = Readied()

    @property
    def more(self) -> Mapping[str, object]:
        """More for the first entry: the parts that are begun although they are unfit."""
        return {BEGUN_ANYWAY: self.anyway} if self.anyway else {}

    def ask(self) -> Flow:
        """Ask for all that a run needs; at the end its parts are known, if it is to begin."""
        return (
            (yield from self._shown())
            and (yield from self._readied())
            and (yield from self.ask_batch())
        )

    def ask_for(self, parts: tuple[PartSpec, ...]) -> Flow:
        """Ask for all that a run of these very parts needs, which another run has in hand."""
        if not ((yield from self._shown()) and (yield from self._readied())):
            return False
        self.parts = yield from ask_kinds(self._shop, self.procedure, parts)
        known = bool(self.parts) and (yield from self._of_books())
        if known and self.person is None:
            self.person = yield from ask_person(self._shop)
        return known and self.person is not None

    def _readied(self) -> Flow:
        """Ask for each condition, count the tools out; whoever does that is known before."""
        needs = self.procedure.needs
        if not (needs.before_start or needs.counted):
            return True
        if self.person is None:
            self.person = yield from ask_person(self._shop)
        if self.person is None:
            return False
        readied = yield from make_ready(self.procedure, self.person, self._now)
        self.readied = readied or self.readied
        return readied is not None

    def _shown(self) -> Flow:
        """Show what is to be known before the begin, and ask whether it is so."""
        self.lacking, self.took = yield from called(self._looked_up)
        procedure = self.procedure
        title = f"Before you begin: {procedure.title}"
        needs = procedure.needs
        enter = ANYWAY if self.lacking else next_words(needs)
        decides = bool(self.lacking or needs.before_start or needs.counted)
        page = PagePrompt(title, lambda: list(before_rows(self)), enter=enter, decides=decides)
        return (yield from show_page(page))

    def ask_batch(self) -> Flow:
        """Ask for the batch, and for who begins where that is not known."""
        procedure = self.procedure
        batch = procedure.batch
        bounds = f"{batch.least} to {batch.most}" if batch.least < batch.most else f"{batch.least}"
        said = (
            f"Number ({bounds}), or tags with commas; each is one {batch.part}. "
            "Enter accepts what is shown."
        )
        title = f"The batch for: {procedure.title}"
        ready = yield from called(self._ready)
        picked = (yield from self._picked(title, ready, bounds)) if ready else OTHERS
        if not picked:
            return False
        last = yield from called(lambda: last_parts(self._shop, procedure))
        if isinstance(picked, tuple):
            typed, tags = "", picked
        else:
            offered = ", ".join(last) if last else str(batch.least)
            heard = f"The batch, {bounds} or tags with commas, each one {batch.part}"
            typed, tags = yield from self._typed(Text(title, said, offered=offered, heard=heard))
        if not tags or (not typed.isdigit() and not (yield from self._known(tags))):
            return False
        known = yield from self._fit(tags)
        known = known and (yield from self._short(tags))
        known = known and (yield from self._identities(tags))
        if known:
            self.parts = yield from ask_kinds(self._shop, procedure, self.parts)
            known = bool(self.parts) and (yield from self._of_books())
        if known and self.person is None:
            self.person = yield from ask_person(self._shop)
        return known and self.person is not None

    def _typed(self, prompt: Text) -> Generator[Turn, object, tuple[str, tuple[str, ...]]]:
        """Ask for a number of parts or their tags until it is a batch; no tags for going back."""
        while typed := (yield from text(prompt)):
            prompt = replace(prompt, typed=typed)
            meant = yield from self._meant(typed.strip())
            if not meant:
                continue
            try:
                return meant, typed_tags(self.procedure, meant)
            except BenchrunError as error:
                yield Say(error.message, strong=True)
        return "", ()

    def _meant(self, typed: str) -> Generator[Turn, object, str]:
        """Ask whether a number with a word behind it counts parts or names one of them."""
        counted = _COUNTED.fullmatch(typed)
        if counted is None or any(row.id == slug(typed) for row in read_parts(self._shop).rows):
            return typed
        number = str(int(counted[1]))
        lines = (Option(count(int(number), "part")), Option(f"One part named “{typed}”"))
        place = yield from choose(Choose(f"What is meant by “{typed}”", lines))
        return "" if place is None else (number, typed)[place]

    def _of_books(self) -> Flow:
        """Show what the books say, of the job too; ask for what decides where a part begins."""
        figures = self.procedure.route.figures
        if not figures:
            return True
        books = yield from called(lambda: read_books(self._shop))
        self.job = job_of(books, self.parts)
        jobs = open_jobs(books)
        if not self.job and jobs and any(one.belongs == JOB for one in figures.values()):
            options = [*(Option(job.name, job.id) for job in jobs), Option("no job")]
            place = yield from choose(Choose("For which job", tuple(options)))
            if place is None:
                return False
            self.job = jobs[place].id if place < len(jobs) else ""
        known, faults = figures_in_books(books, self.procedure, self.job)
        self.figures = known
        title = f"Figures from the books: {self.procedure.title}"
        if (known or faults) and not (yield from show_figures(title, figures, known, faults)):
            return False
        for name in Course(self.procedure.route).figures_at_begin():
            if all(spec.name != name for spec in self.figures):
                spec = yield from ask_figure(figures[name])
                if spec is None:
                    return False
                self.figures = (*self.figures, spec)
        return True

    def _looked_up(self) -> tuple[tuple[str, ...], str]:
        from benchrun.history.estimates import run_words

        self.before = last_run_of(self._shop, self.procedure.id)
        self.approval = approval_of(self._shop, self.procedure)
        self.not_kept = not_kept(read_books(self._shop), self.procedure)
        return self._lacks(0), run_words(self._shop.path, self.procedure.id)

    def _lacks(self, parts: int) -> tuple[str, ...]:
        """The shortages against beginning now, by the shop's books and its other runs."""
        uses, books = uses_beside(self._shop, ""), read_books(self._shop)
        return shortages(books, self.procedure, day_of(self._now()), uses=uses, parts=parts)

    def _ready(self) -> tuple[str, ...]:
        """The parts whose turn this procedure is by their routes, then those it may follow for."""
        busy, name = parts_in_work(self._shop), self.procedure.id
        ready = ready_parts(parts_progress(self._shop, busy)).get(name, ())
        self._by_route = len(ready)
        return (*ready, *parts_to_follow_on(self._shop, busy).get(name, ()))

    def _picked(
        self, title: str, ready: tuple[str, ...], bounds: str
    ) -> Generator[Turn, object, tuple[str, ...] | str]:
        """Ask which of the parts that are ready; others by their tags."""
        rows = {row.id: row for row in read_parts(self._shop).rows}
        most = self.procedure.batch.most
        offered = tuple(Option(one, part_words(rows[one])) for one in ready if one in rows)
        by_route, follow = self._by_route, len(ready) - self._by_route
        words = [f"{count(by_route, 'part is', 'parts are')} ready for it by their routes"]
        words = words if by_route or not follow else []
        words += [f"it may follow on for {count(follow, 'part')} without one"] if follow else []
        told = "; ".join(words)
        said = (
            f"{told[:1].upper()}{told[1:]}; {bounds} at a time. Scan or type a tag to take another."
        )
        known = {row.id: part_words(row) for row in rows.values()}
        prompt = BatchChoice(title, said, offered, ready[:most], most, known)
        return (yield from pick_batch(prompt))

    def _known(self, tags: tuple[str, ...]) -> Generator[Turn, object, bool]:
        """Ask whether parts that the book does not know are added to it; where it keeps any."""
        rows = {row.id: row for row in read_parts(self._shop).rows}
        new = tuple(tag for tag in tags if slug(tag) not in rows)
        if not new or not rows:
            return True
        names = part_names(new)
        lines = (
            Option(f"Add {names} to the parts book", "to be followed over all its runs"),
            Option("In this run only"),
        )
        place = yield from choose(Choose("Not in the parts book yet", lines))
        if place is None:
            return False
        if place == 0:
            jobs = {rows[slug(tag)].job for tag in tags if slug(tag) in rows}
            job = jobs.pop() if len(jobs) == 1 else ""
            try:
                yield from called(lambda: self._add(new, job), once=True)
            except BenchrunError as error:
                yield Say(error.message, strong=True)
                return False
        return True

    def _add(self, tags: tuple[str, ...], job: str) -> None:
        for tag in tags:
            values = {"id": slug(tag), "name": self.procedure.batch.part, "job": job}
            add_thing(self._shop, book_of("parts"), values)

    def _fit(self, tags: tuple[str, ...]) -> Generator[Turn, object, bool]:
        """Say which parts are scrapped, away or in another run; whether they are begun anyway."""
        unfit = yield from called(lambda: self._unfit(tags))
        self.anyway = {}
        if not unfit:
            return True
        title = f"Not to be begun: {self.procedure.title}"
        rows = [PageRow(f"{tag}: {why}", tone=Tone.CALLS) for tag, why in unfit.items()]
        page = PagePrompt(title, lambda: rows, enter="begin anyway, with a reason", decides=True)
        if not (yield from show_page(page)):
            return False
        reason = yield from text(Text(f"Why is {part_names(tuple(unfit))} begun anyway?"))
        if not reason:
            return False
        self.anyway = {tag: {"although": why, "reason": reason} for tag, why in unfit.items()}
        return True

    def _unfit(self, tags: tuple[str, ...]) -> dict[str, str]:
        rows = read_parts(self._shop).rows
        busy = parts_in_work(self._shop) if rows else {}
        large = {row.id: row.size for row in rows if row.size > 1}
        vessels = read_vessels(self._shop) if large else None
        found = unfit_parts(rows, tags, busy)
        for tag in tags:
            size = large.get(slug(tag), 1)
            why = too_large(vessels, self.procedure, size) if vessels is not None else ""
            if why and tag not in found:
                found[tag] = why
        return found

    def _short(self, tags: tuple[str, ...]) -> Generator[Turn, object, bool]:
        """Say what this very batch lacks; whether it is begun all the same."""
        lacking = yield from called(lambda: self._lacks(len(tags)))
        more = [words for words in lacking if words not in self.lacking]
        if not more:
            return True
        title = f"For {count(len(tags), 'part')}: {self.procedure.title}"
        rows = list(headed_rows(LACKING, [PageRow(words) for words in more], Tone.CALLS))
        page = PagePrompt(title, lambda: rows, enter=ANYWAY, decides=True)
        return (yield from show_page(page))

    def _identities(self, tags: tuple[str, ...]) -> Generator[Turn, object, bool]:
        """Take from the book what tells the parts apart; ask where it does not say it."""
        rows = {row.id: row for row in read_parts(self._shop).rows}
        known = {tag: rows[slug(tag)].identity for tag in tags if slug(tag) in rows}
        sizes = {tag: rows[slug(tag)].size for tag in known}
        identity = self.procedure.batch.identity
        asked = tuple(tag for tag in tags if identity and not known.get(tag))
        if asked:
            said = f"For each part: {identity}. Empty where it cannot be read."
            blanks = tuple(Blank(tag, identity) for tag in asked)
            texts = yield from fill(Form("What tells them apart", blanks, said, "begin"))
            if texts is None:
                return False
            known |= dict(zip(asked, texts, strict=True))
        self.parts = tuple(PartSpec(tag, sizes.get(tag, 1), known.get(tag, "")) for tag in tags)
        return True
