"""The settings of a plan; each describes itself: unit, range, default and one line of help."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any, Literal

from spatial.errors import InputError, Problem


@dataclass(frozen=True)
class About:
    """What a person must know to set one setting; `written` is the name and unit suffix people write it in."""

    help: str
    unit: str = ""
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()


def _setting(default: Any, about: About) -> Any:
    return field(default=default, metadata={"about": about})


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How a plan is made. Inside units; `on` is the day the plan is for and has no default."""

    on: date
    chance: float = _setting(
        0.2, About("share of seasons in which the killing freeze has come by the date", "share", 0.02, 0.9)
    )
    horizon_days: int = _setting(10, About("how many days ahead crews are sent out", "days", 1, 60))
    effort: Literal["quick", "normal", "long"] = _setting(
        "quick",
        About(
            "how long to look for a better route: about 2, 10 or 60 s",
            "",
            choices=("quick", "normal", "long"),
        ),
    )
    acre_worth_min: float = _setting(
        100.0, About("minutes of driving that one more acre cut in time is worth", "min", 1, 10_000)
    )
    circuity: float = _setting(
        1.3, About("road distance over straight-line distance where no roads are given", "", 1, 3)
    )
    road_speed_km_h: float = _setting(
        24.14016, About("speed of the machine on the road; local limits go first", "km/h", 5, 60)
    )
    fold_min: float = _setting(
        10.0, About("minutes to fold and unfold the machine at each stop", "min", 0, 120)
    )
    rain_limit_share: float = _setting(
        0.4,
        About("chance of rain from which a day, or a drying day after it, counts as wet", "share", 0.01, 1),
    )
    freeze_cut_days: int = _setting(
        5, About("days after a killing freeze in which a freeze cut is sound", "days", 0, 30)
    )
    min_cover_share: float = _setting(
        0.5, About("share of a field that a layer must cover before its value goes unremarked", "share", 0, 1)
    )
    seed: int = _setting(1, About("seed of the route search; same seed, same plan", "", 0, 2**31 - 1))

    def __post_init__(self) -> None:
        """Refuse values outside the described ranges, all at once, with InputError."""
        problems = [
            p for f in fields(self) if f.name != "on" for p in _problems_of(f.name, getattr(self, f.name))
        ]
        if problems:
            raise InputError(problems)


def about_settings() -> dict[str, About]:
    """Return what each setting means, by name, in the order they are shown."""
    return {f.name: f.metadata["about"] for f in fields(Settings) if f.name != "on"}


def settings_with(on: date, *layers: Mapping[str, Any]) -> Settings:
    """Return the settings for day `on`; later mappings win over earlier ones, absent values keep their default."""
    chosen: dict[str, Any] = {}
    for layer in layers:
        chosen |= {name: value for name, value in layer.items() if value is not None}
    return Settings(on=on, **chosen)


def _problems_of(name: str, value: Any) -> list[Problem]:
    about = about_settings()[name]
    if about.choices:
        if value in about.choices:
            return []
        return [
            Problem("settings", name, f"{value!r} is not known", f"Use one of: {', '.join(about.choices)}")
        ]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return [Problem("settings", name, f"{value!r} is not a number", "Give a number")]
    if Settings.__annotations__[name] is int and not isinstance(value, int):
        return [Problem("settings", name, f"{value:g} is not a whole number", "Give a whole number")]
    if about.least is not None and about.most is not None and about.least <= value <= about.most:
        return []
    span = f"{about.least:g} to {about.most:g} {about.unit}".strip()
    return [Problem("settings", name, f"{value:g} is out of range", f"Use {span}")]
