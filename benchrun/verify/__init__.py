"""Whether a record is whole: one run, by its keeping and its rules; a whole shop, by its register.

Not here: the checks of the keeping itself, which are record/'s; what a run means is account/'s.
"""

from benchrun.verify.many import Outcome, verify_many
from benchrun.verify.run import (
    COULD_NOT_TELL,
    NOT_WHOLE,
    WHOLE,
    RecordVerdict,
    checked_keys,
    verify,
)
from benchrun.verify.shop import ShopVerdict, verify_shop
from benchrun.verify.trust import Trust, trust_of

__all__ = [
    "COULD_NOT_TELL",
    "NOT_WHOLE",
    "WHOLE",
    "Outcome",
    "RecordVerdict",
    "ShopVerdict",
    "Trust",
    "checked_keys",
    "trust_of",
    "verify",
    "verify_many",
    "verify_shop",
]
