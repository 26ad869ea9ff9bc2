"""What can go wrong in a way the user can mend, and how a run is stopped."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong or mended in the user's files: where it is, what was found and what to do."""

    file: str
    place: str
    cause: str
    mend: str

    def __str__(self) -> str:
        """Return the problem as one line: file, place, cause, mend."""
        where = ": ".join(part for part in (self.file, self.place) if part)
        return " ".join(f"{where}: {self.cause}. {self.mend}".split())


class InputError(Exception):
    """The user's files or options cannot be used as they are; `problems` says why, all at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep the problems, one line each."""
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class Stopped(Exception):  # noqa: N818 - not an error: someone pressed Stop
    """The run was stopped from outside, through `tell`; nothing was written."""


Tell = Callable[[str, float], None]
"""Called with a step's name and the share of it that is done, 0 to 1; raises `Stopped` to end the run."""


def quiet(_step: str, _share: float) -> None:
    """Report nothing and never stop: the `Tell` of a host that does not watch."""
