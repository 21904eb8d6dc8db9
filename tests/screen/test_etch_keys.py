"""How many keys the etch of four parts in two loads costs, counted at the screen act by act."""

from pathlib import Path

from keypad_hand import WORD, Hand
from screen_bench import press, show_run

from benchrun.dialogue.hand import view
from benchrun.procedure.route import Reading
from benchrun.run.offers import Deed

PROCEDURE = Path(__file__).parents[2] / "procedures" / "acid-etch-in-loads.yaml"
GIVEN = {
    "masks-on": "3",
    "masks-off": "3",
    "strength": "12",
    "coupon-before": "1.5",
    "coupon-after": "1.498",
    "bath": "20",
}
MOST = 1.15


class SameHand(Hand):
    """A hand that gives a value once where it is the same for all, or the same again."""

    def __init__(self) -> None:
        super().__init__(GIVEN)
        self.pressed = self.figures = self.secret = 0

    def keys_now(self, screen, run, at, *, alarmed) -> list[str] | int | None:
        """The keys to press, counted: figures and passphrase apart from the others."""
        now = view(run, at, None)
        offer = now.offer
        does = offer is not None and offer.ready and offer.deed is Deed.DO
        if does and "Enter go there" not in screen:
            detail = offer.step.detail
            if isinstance(detail, Reading):
                return self._reading(screen, offer)
        found = self.keys(run, at, other_signs=True, alarm=screen if alarmed else "")
        if isinstance(found, list):
            secret = 0
            if found[-len(WORD) - 1 : -1] == list(WORD):
                secret = len(WORD)
            self.secret += secret
            self.pressed += len(found) - secret
        return found

    def _reading(self, screen, offer) -> list[str]:
        typed = GIVEN[offer.step.id]
        several = len(offer.parts) > 1 and not offer.step.shared
        self.done["readings"] += len(offer.parts) if several else 1
        if f"= {typed} again" in screen and not several:
            self.pressed += 1
            return ["="]
        self.figures += len(typed)
        self.pressed += 1
        return [*typed, "=" if several else "enter"]


async def test_the_etch_of_four_parts_in_two_loads_costs_hardly_more_keys_than_acts(bench):
    text = PROCEDURE.read_text().replace("holds: 4", "holds: 2")
    path = bench.shop.path.parent / "etch.yaml"
    path.write_text(text)
    session = bench.begin(path, [f"arm {n}" for n in (1, 2, 3, 4)])
    hand = SameHand()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        while not session.run.ended:
            screen = bench.screen()
            alarmed = bench.app.screen.alarmed
            keys = hand.keys_now(screen, session.run, bench.clock.now(), alarmed=alarmed)
            if isinstance(keys, int):
                bench.clock.wait(keys)
                bench.app.screen.tick()
                continue
            before = session.run.n
            await press(pilot, *("full_stop" if key == "." else key for key in keys))
            assert session.run.n > before or keys in (["enter"], ["0"]), bench.screen()
    print(
        f"\netch of 4 parts in 2 loads: {hand.acts} acts, {hand.pressed} keys, beside them "
        f"{hand.figures} figures of readings and {hand.secret} of the passphrase"
    )
    assert hand.pressed <= MOST * hand.acts
