"""The formulas that rule files name: each must be there before a plan is made."""

from collections.abc import Iterable
from typing import Any

from spatial.addons import add_on
from spatial.errors import InputError
from spatial.inputs.checks import Report


def refuse_unknown(file: str, offer: tuple[str, str], built_in: Iterable[str], report: Report) -> None:
    """Report a formula, an entry-point group and a name, that is neither built in nor an add-on that loads."""
    group, name = offer
    try:
        add_on(group, name, dict.fromkeys(built_in, _nothing))
    except InputError as error:
        for problem in error.problems:
            report.refuse(file, f"formula {name!r}", f"{problem.cause} ({group})", problem.mend)


def _nothing(*_given: Any) -> None:
    """Stand for a built-in formula, which is not called here."""
