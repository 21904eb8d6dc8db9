"""What readies the place once a sitting: the first load does it, the others say it still holds."""

import pytest
from trial import Trial

from benchrun.run.offers import Deed

STEPS = """
- load: Bake
  id: bake
  in: [tub, oven]
  steps:
    - do: Switch the oven on.
      id: heat
      set up: yes
      uses: {supply: gas, amount: 1 kg}
    - dwell: Bake the load.
      id: soak
- do: Hang the arm up.
  id: hang
"""
HOUR = 60


@pytest.fixture
def heated(tmp_path):
    trial = Trial(tmp_path, STEPS, "A B C", needs="{supplies: [gas]}")
    trial.do("heat", "A B")
    return trial


def test_the_first_load_of_a_sitting_does_it(heated):
    done = heated.entries[-1].data
    assert done.set_up is None
    assert len(done.uses) == 1


def test_a_later_load_of_the_sitting_says_that_it_still_holds_and_uses_nothing(heated):
    first = heated.run.n - 1
    heated.minute = 3 * HOUR
    assert heated.offered(Deed.DO, "heat").set_up == first
    done = heated.do("heat", "C")
    assert (done.set_up, done.uses) == (first, ())


def test_in_another_sitting_it_is_done_anew(heated):
    heated.minute = 4 * HOUR + 1
    assert heated.offered(Deed.DO, "heat").set_up is None
    assert heated.do("heat", "C").set_up is None


def test_work_between_keeps_a_sitting_going(heated):
    heated.minute = 3 * HOUR
    heated.put_in("soak", "A B")
    heated.minute = 6 * HOUR
    assert heated.offered(Deed.DO, "heat").set_up is not None


def test_where_nobody_knows_how_long_the_machine_was_off_it_is_another_sitting(heated):
    heated.sync = False
    heated.restart(off=10, sync=False)
    assert heated.offered(Deed.DO, "heat").set_up is None


def test_taken_back_it_was_never_done(heated):
    heated.take_back("A")
    assert all(offer.set_up is None for offer in heated.offers())
