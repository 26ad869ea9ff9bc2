"""Writes the reference tables of DEVELOPERS.md from the code: keys of region.toml, settings, columns."""

import dataclasses
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from spatial.columns import TABLES, Column  # noqa: E402 - the project is found by the line above
from spatial.inputs.region_file import NAMED_SECTIONS, SECTIONS, TOP, Key  # noqa: E402
from spatial.settings import Settings, about_settings  # noqa: E402
from spatial.units import written_names  # noqa: E402

PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- reference: made by scripts/write_reference.py -->", "<!-- end of reference -->"


def main() -> None:
    """Put the tables between their marks in DEVELOPERS.md."""
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(BEGIN)
    _, _, after = rest.partition(END)
    PAGE.write_text(f"{before}{BEGIN}\n{reference()}\n{END}{after}", encoding="utf-8", newline="\n")


def reference() -> str:
    """Return the tables as Markdown."""
    return "\n".join([*_region_file(), *_settings(), *_columns()])


def _region_file() -> Iterator[str]:
    yield "\n### region.toml\n\n| section | key | what it says |\n|---|---|---|"
    yield from (_key("", name, key) for name, key in TOP.items())
    for section, keys in SECTIONS.items():
        if section != "settings":
            yield from (_key(f"`[{section}]`", name, key) for name, key in keys.items())
    for section, keys in NAMED_SECTIONS.items():
        yield from (_key(f"`[{section}.NAME]`", name, key) for name, key in keys.items())


def _key(section: str, name: str, key: Key) -> str:
    needed, choices = " (needed)" if key.needed else "", f": {', '.join(key.choices)}" if key.choices else ""
    return f"| {section} | `{name}` | {key.help}{choices}{needed} |"


def _settings() -> Iterator[str]:
    yield "\n### `[settings]`\n\n| setting | also written | unit | range | default | what it does |\n|---|---|---|---|---|---|"
    defaults = {part.name: part.default for part in dataclasses.fields(Settings)}
    for name, about in about_settings().items():
        span = ", ".join(about.choices) or f"{about.least:g} to {about.most:g}"
        default = defaults[name] if about.choices else f"{defaults[name]:g}"
        yield f"| `{name}` | {_others(name)} | {about.unit} | {span} | {default} | {about.help} |"


def _columns() -> Iterator[str]:
    for table, columns in TABLES.items():
        yield f"\n### Table {table}\n\n| column | also written | kind | what it is |\n|---|---|---|---|"
        yield from (_column(column) for column in columns)


def _column(column: Column) -> str:
    span = f" ({column.least:g} to {column.most:g})" if column.least is not None else ""
    choices = f" ({', '.join(column.choices)})" if column.choices else ""
    kind = column.kind.replace("_", " ") + (", needed" if column.required else "")
    return (
        f"| `{column.name}` | {_others(column.name, *column.also)} | {kind} | {column.help}{span}{choices} |"
    )


def _others(*names: str) -> str:
    written = [f"`{other}`" for name in names for other in written_names(name)]
    return ", ".join(written[1:])


if __name__ == "__main__":
    main()
