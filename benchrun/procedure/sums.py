"""The shop's sums inside formulas: `limits(size=62 mm, class="P7").size_max`."""

from collections.abc import Mapping

from benchrun.procedure.grammar import Call, FormulaError
from benchrun.procedure.units import Kind, Result


def shop_sum(node: Call, inputs: Mapping[str, Result]) -> Result:
    """Work out one of the shop's sums and take the output that is meant.

    Raises:
        FormulaError: There is no such sum, or it refuses its inputs.
    """
    raise FormulaError(f"{node.name!r} is no sum that benchrun knows", node.at)


def shop_kind(node: Call, inputs: Mapping[str, Kind]) -> Kind:
    """What the output of one of the shop's sums measures.

    Raises:
        FormulaError: There is no such sum, input or output, or an input measures something else.
    """
    raise FormulaError(f"{node.name!r} is no sum that benchrun knows", node.at)
