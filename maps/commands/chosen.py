"""One option for every setting, made from the settings' own description."""

import inspect
from collections.abc import Callable, Mapping
from typing import Annotated, Any

import typer

from spatial.settings import Settings, about_settings
from spatial.units import WRITTEN, written_names

US_SUFFIXES = tuple(suffix for suffix in WRITTEN if suffix in ("_mph", "_in", "_ft", "_ac", "_f"))


def with_settings(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command one option for every setting, from the settings' own description."""
    given = [
        p
        for p in inspect.signature(command).parameters.values()
        if p.kind is not inspect.Parameter.VAR_KEYWORD
    ]
    options = [_option(name) for name in about_settings()]
    command.__signature__ = inspect.Signature([*given, *options])  # type: ignore[attr-defined]  # read by typer
    command.__annotations__ |= {option.name: option.annotation for option in options}
    return command


def _option(name: str) -> inspect.Parameter:
    about, written = about_settings()[name], _us_name(name)
    kind = Settings.__annotations__[name]
    number: Any = str if about.choices else int if kind is int else float
    help_line = about.help + (f" ({', '.join(about.choices)})" if about.choices else "")
    annotation = Annotated[number | None, typer.Option(help=help_line)]
    return inspect.Parameter(written, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=annotation)


def _us_name(name: str) -> str:
    return next((other for other in written_names(name) if other.endswith(US_SUFFIXES)), name)


def inside(chosen: Mapping[str, Any]) -> dict[str, Any]:
    """Return the settings chosen by option, in inside units; None where not chosen."""
    found = {}
    for name in about_settings():
        factor, offset = written_names(name)[_us_name(name)]
        value = chosen.get(_us_name(name))
        found[name] = value if value is None or (factor, offset) == (1.0, 0.0) else value * factor + offset
    return found
