"""Writing a run: its entries, the station's seals, whose keys it needs, the shop's register.

Nothing here knows threads: whoever writes calls it from one.
"""

from typing import Final

from benchrun.errors import BenchrunError
from benchrun.gc_pause import no_collecting
from benchrun.load_run import entry_of
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.recovery import SetAside, sweep
from benchrun.record.register import Register, StationSeal, refuse_ended
from benchrun.record.register_log import RunState
from benchrun.record.seals import seal_data, seal_whole
from benchrun.record.signers import Signer, read_signers
from benchrun.record.soundness import SEAL_MS
from benchrun.record.sshsig import SEAL
from benchrun.record.trouble import NotKept
from benchrun.record.wire import PublicKey, SigningKey
from benchrun.record.writer import LogWriter
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.session.inspection import Inspection, closed_error
from benchrun.session.sitting import Kept, Reply, Sitting
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.signing_keys import STATION, principal, register_of, station_key
from benchrun.version import program

CLOSE: Final = "close"
_SEALS_AT_MOST: Final = 3  # of a close whose disk fails at each


class Keeping(Sitting):
    """A run whose log is written here."""

    def __init__(
        self,
        shop: Shop,
        folder: RunFolder,
        writer: LogWriter,
        procedure: Procedure,
        person: Person | None,
        clock: Clock,
    ) -> None:
        super().__init__(shop, folder, procedure, person, clock)
        self._writer = writer
        self._station: SigningKey = station_key(shop)
        own = StationSeal(self._station, principal(shop, STATION))
        refuse_ended(read_signers(shop.signers), own, clock.now())
        self._sealed_at: Moment | None = None
        self._owed = ""  # what a seal was refused for by the disk

    def _keep(self, command: Command, hand: Hand, at: Moment) -> Reply:
        data = decide(self.run, command, at, hand)
        if isinstance(data, Refusal):
            return data
        return Kept((self._enter(data, hand.id, at),))

    def _enter(self, data: e.Data, by: str, at: Moment) -> e.Entry:
        entry = e.Entry(self.run.n, at, by, data)
        after = fold(self.run, entry)
        self._writer.append(at, by, entry.kind, e.data_of(data))
        self.run = after
        self._entries.append(entry)
        return entry

    def _name_set_aside(self) -> None:
        """Enter what the disk made the writer set aside; never between a statement and its sign."""
        if self._writer.set_aside:
            files = tuple(map(_aside, self._writer.set_aside))
            self._enter(e.Recovered(files), STATION, self.now())

    def _name_set_aside_if_room(self) -> None:
        try:
            self._name_set_aside()
        except NotKept as error:
            self.trouble = error.message

    def _know(self, who: str, key: PublicKey, namespace: str) -> None:
        """Keep a public key in the run's own folder, so that the run stands alone.

        To be done before the first line that needs it.
        """
        kept = self.folder.read_signers()
        if all(row.key != key for row in kept.of(who)):
            row = signer_row(self.shop, who, key, namespace, self.now())
            self.folder.write_signers(kept.add(row))

    def _seal(
        self,
        why: str,
        *,
        raised: int = 0,
        notes: tuple[str, ...] = (),
        by: str = "",
        files: tuple[e.AsideFile, ...] = (),
    ) -> None:
        """Seal all that stands before.

        Args:
            why: What for.
            raised: The number of the format from here on, 0 where it stays.
            notes: What was found when the run was taken up.
            by: The program that takes the run up, or empty.
            files: What was laid beside the log so that it can be read without this program.
        """
        own, now = principal(self.shop, STATION), self.now()
        data = seal_data(self._writer, self._station, own, why)
        sealed = e.Sealed(str(data["sshsig"]), own, why, raised, notes, by, files)
        self._enter(sealed, STATION, now)
        self._sealed_at, self._owed = now, ""

    def _seal_if_room(self, why: str) -> None:
        """Seal what was just kept; where the disk refuses, it stays kept and is sealed later."""
        try:
            self._seal(why)
        except NotKept as error:
            self._owed, self.trouble = why, error.message

    def _seal_when_due(self, now: Moment) -> None:
        if self._owed:
            self._seal(self._owed)
        elif self._seal_is_due(now):
            self._seal("quarter hour")

    def _seal_is_due(self, now: Moment) -> bool:
        sealed = self._sealed_at
        if sealed is None or self._entries[-1].kind == e.Sealed.KIND:
            return False
        if now.boot == sealed.boot and now.up_ms - sealed.up_ms < SEAL_MS:
            return False
        since = self._entries[max(0, self._last_seal()) + 1 :]
        return any(entry.kind != e.Beat.KIND for entry in since)

    def _last_seal(self) -> int:
        for entry in reversed(self._entries):
            if entry.kind == e.Sealed.KIND:
                return entry.n
        return 0

    def _register(self, kind: str, read: Register | None = None) -> None:
        state = RunState(self.folder.run, self.run.n - 1, self._writer.head)
        register_of(self.shop, read).enter(self.now(), STATION, kind, state)

    def _follow(self) -> None:
        self.books.follow(self.run, self._entries)

    def _finish(self, notes: tuple[str, ...] = (), read: Register | None = None) -> None:
        """Do what a signed close needs; what was done before a cut is not done again.

        The seal over the whole file comes last: where it is, nothing lacks.

        Args:
            notes: What was found when the run was taken up.
            read: The register as it was read for the signature, or None.

        Raises:
            BenchrunError: The disk refused; it can be done again.
        """
        self._follow()
        for _ in range(_SEALS_AT_MOST):
            self._name_set_aside()
            last = self._entries[-1].data
            if isinstance(last, e.Sealed) and last.why == CLOSE:
                break
            files = tuple(_aside(kept) for kept in self.folder.keep_reader())
            self._seal(CLOSE, notes=notes, files=files)
        state = RunState(self.folder.run, self.run.n - 1, self._writer.head)
        register = Register(self.shop.path, read=read)
        if all((said.kind, said.state) != ("closed", state) for said in register.read().mentions):
            self._register("closed", register)
        seal_whole(self.folder, self._writer, self._station)
        self.trouble = ""
        self.left = True
        self._writer.close()

    def begin_log(self, command: c.Open) -> None:
        """Write the first entries of a new run.

        Raises:
            BenchrunError: The batch is refused, or the disk refused.
        """
        reply = self._keep(command, self.hand, self.now())
        if isinstance(reply, Refusal):
            raise BenchrunError(reply.text)
        self._seal("open")

    def tell_register_of_begin(self, read: Register) -> None:
        """Enter the run in the shop's register, and let the books follow.

        Args:
            read: The register as its head was read for the first entry.

        Raises:
            BenchrunError: The register does not take it.
        """
        self._register("opened", read)
        self._follow()

    def go_on(self, inspected: Inspection) -> None:
        """Fold what the log holds, put right what was broken off, and take the run up.

        Args:
            inspected: What looking at the log came to.

        Raises:
            BenchrunError: The log does not fit its procedure, or the run is closed.
        """
        with no_collecting():
            for line in self._writer.take_found().lines:
                self._take(entry_of(line))
        if inspected.unknown and self.run.n:
            self._register("opened")
        if inspected.findings:
            doubt = c.KeepDoubt(inspected.findings, inspected.reason)
            self._keep(doubt, self.hand, self.now())
        if inspected.set_back:
            decided = (inspected.set_back,)
            register = register_of(self.shop)
            register.enter_doubt(self.now(), self.hand.id, decided, inspected.reason)
        self._know(principal(self.shop, STATION), self._station.public, SEAL)
        notes = (*inspected.notes, *self._swept())
        if self.run.ended:
            self._finish(notes)
            raise closed_error(self.folder)
        self._follow()
        self._name_set_aside()
        self._seal("resume", raised=inspected.raised, notes=notes, by=program())

    def _swept(self) -> list[str]:
        """Take away what a cut left that nothing names, and say which pictures that were."""
        named = {entry.data.file for entry in self._entries if isinstance(entry.data, e.Photo)}
        try:
            swept = sweep(self.folder.path, self.folder.photos, named)
        except OSError:
            return []  # they are in nobody's way; the next time does it
        return [f"{file} was copied and never entered: the copy was taken away" for file in swept]

    def _suspend(self) -> None:
        """Leave the run so that it can be taken up again, as far as the disk allows."""
        try:
            if self.run.ended:
                self._finish()
            elif self.run.n:
                self._name_set_aside()
                self._seal("suspend")
                self._register("marked")
        except BenchrunError:
            return  # the log holds all that was acknowledged; whoever takes it up is told


def _aside(kept: SetAside) -> e.AsideFile:
    return e.AsideFile(kept.file, kept.sha256, kept.size)


def signer_row(shop: Shop, who: str, key: PublicKey, namespace: str, now: Moment) -> Signer:
    """The row of a key for the signers of a run: the shop's own row where it has one."""
    rows = [row for row in read_signers(shop.signers).of(who) if row.key == key]
    return rows[-1] if rows else Signer(who, key, (namespace,), now.utc_ms // 1000 * 1000, None, "")


def station_row(shop: Shop, now: Moment) -> Signer:
    """The row of the key that seals."""
    return signer_row(shop, principal(shop, STATION), station_key(shop).public, SEAL, now)
