"""When a number counts as confirmed. A right check digit is no witness: misread numbers have had right ones."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from screener.codes.model import CodeRead

Witness = Literal["second reader", "printed digits", "known article"]
DISAGREE = "The two readers disagree: scan again."


def with_witness(code: CodeRead, witness: Witness) -> CodeRead:
    """Return the code with one more independent witness. Naming one twice changes nothing.

    A code on which the two readers disagreed takes no witness: it must be scanned again.
    """
    if witness in code.confirmed_by or DISAGREE in code.remarks:
        return code
    return replace(code, confirmed_by=(*code.confirmed_by, witness))


def with_disagreement(code: CodeRead) -> CodeRead:
    """Return the code as doubtful: another engine read something else in the same symbol."""
    remarks = code.remarks if DISAGREE in code.remarks else (*code.remarks, DISAGREE)
    return replace(code, confirmed_by=(), remarks=remarks)


def printed_digits_agree(code: CodeRead, printed: str) -> bool | None:
    """Compare a retail number with the digits printed under its bars.

    Returns
    -------
    bool or None
        ``None`` when the printed text has not all the digits, so that nothing can be said.
    """
    digits = re.sub(r"[^0-9]", "", printed)
    number = re.sub(r"[^0-9]", "", code.text)
    if not number or len(digits) < len(number.lstrip("0")):
        return None
    return digits.lstrip("0") == number.lstrip("0")
