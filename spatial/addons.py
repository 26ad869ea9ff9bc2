"""Add-ons: writers and formulas that other packages offer, loaded only when named."""

from collections.abc import Callable, Mapping
from importlib.metadata import EntryPoint, entry_points
from typing import Any

from spatial.errors import InputError, Problem

FAILS = (Exception, SystemExit)  # an add-on may fail in any way, and only its own run may suffer


def add_on(group: str, name: str, built_in: Mapping[str, Callable[..., Any]]) -> Callable[..., Any]:
    """Return what is offered as `name` in entry-point group `group`, built in or by an installed package.

    Raises InputError for an unknown name (listing the known), for two offers of one name, and for an offer that
    fails to load, naming its package and version.
    """
    offers = [entry for entry in entry_points(group=group) if entry.name == name]
    if len(offers) + (name in built_in) > 1:
        sources = ", ".join(
            [*(_package(entry) for entry in offers), *(["lastcut itself"] if name in built_in else [])]
        )
        raise InputError(
            [Problem(group, name, f"is offered more than once: {sources}", "Remove all but one")]
        )
    if name in built_in:
        return built_in[name]
    if not offers:
        known = ", ".join(sorted({*built_in, *(entry.name for entry in entry_points(group=group))}))
        mend = f"Use one of: {known}" if known else "None is installed: install the package that offers it"
        raise InputError([Problem(group, repr(name), "is not known", mend)])
    return _load(group, offers[0])


def _load(group: str, entry: EntryPoint) -> Callable[..., Any]:
    try:
        found: Callable[..., Any] = entry.load()
    except FAILS as error:
        cause = f"of {_package(entry)} does not load ({type(error).__name__}: {error})"
        raise InputError([Problem(group, entry.name, cause, "Update or remove that package")]) from error
    if not callable(found):
        cause = f"of {_package(entry)} cannot be called"
        raise InputError([Problem(group, entry.name, cause, "Update or remove that package")])
    return found


def _package(entry: EntryPoint) -> str:
    return f"{entry.dist.name} {entry.dist.version}" if entry.dist else entry.value
