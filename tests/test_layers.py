"""Imports point one way: `maps`, the use cases, the rooms and readers, `raster`, what lies below all."""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

USE_CASES = ("plan", "zones", "freeze_layers", "freeze_surface", "station_freezes", "record", "new_region")
ROOMS = ("climate", "agronomy", "routing")
BELOW_ALL = (
    "store",
    "columns",
    "units",
    "reasons",
    "values",
    "daily",
    "addons",
    "errors",
    "settings",
    "soil",
    "soil_codes",
    "names",
)

# A part may import itself and every part of a lower rank; parts of one rank do not know each other. The
# modules that lie below all are one part.
RANKS = {
    "maps": 5,
    "spatial": 4,  # the package's own front door, for hosts and for maps
    **{f"spatial.{name}": 3 for name in USE_CASES},
    "spatial.growing": 2.4,  # growth on the fields or cells of a place, for plan and zones
    "spatial.zoning": 2.5,  # the parts of zones
    "spatial.notes": 2.5,  # tells of a region and its fields, for the plan
    "spatial.inputs": 2,
    **{f"spatial.{name}": 2 for name in ROOMS},
    "spatial.raster": 1,
    "below all": 0,
}
FILE_LIBRARIES = {"rasterio", "pyogrio", "xarray", "netCDF4"}
FILE_CALLS = re.compile(
    r"open|open_dataset|open_rasterio|unlink|mkdir|(read|write)_\w+|to_(csv|excel|feather|file|json|parquet)"
    r"|load|loadtxt|genfromtxt|fromfile|memmap|save\w*|tofile"
)


def layer_problems(sources: Mapping[str, str]) -> list[str]:
    """Return one line for each import or call that breaks the layers, of modules given as {name: source}."""
    problems = []
    for module, source in sorted(sources.items()):
        tree = ast.parse(source)
        imports = [name for node in ast.walk(tree) for name in imported_names(node)]
        problems += unplaced_problems(module)
        problems += direction_problems(module, imports)
        problems += hidden_import_problems(module, tree)
        if part_of(module) in {f"spatial.{room}" for room in ROOMS}:
            problems += file_problems(module, imports, tree)
    return problems


def unplaced_problems(module: str) -> Iterator[str]:
    if part_of(module) not in RANKS:
        yield f"{module} has no place in the layers"


def direction_problems(module: str, imports: list[str]) -> Iterator[str]:
    here = part_of(module)
    for name in imports:
        there = part_of(name)
        if name.startswith("."):
            yield f"{module} imports {name} by a relative path"
        elif is_ours(name) and there not in (here, "spatial") and there not in RANKS:
            yield f"{module} imports {name}, which has no place in the layers"
        elif is_ours(name) and there != here and RANKS[there] >= RANKS.get(here, 0):
            yield f"{module} imports {name}"


def hidden_import_problems(module: str, tree: ast.Module) -> Iterator[str]:
    if module == "maps.__main__" or module.startswith("maps.commands"):
        return
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
            inside = {name for node in ast.walk(function) for name in imported_names(node)}
            yield from (f"{module}.{function.name} hides the import of {name}" for name in sorted(inside))


def file_problems(module: str, imports: list[str], tree: ast.Module) -> Iterator[str]:
    yield from (f"{module} imports {name}" for name in imports if first_word(name) in FILE_LIBRARIES)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and FILE_CALLS.fullmatch(called_name(node)):
            yield f"{module} calls {called_name(node)}"


def imported_names(node: ast.AST) -> Iterator[str]:
    """Yield the full name of all that an import brings: `from spatial import plan` brings spatial.plan."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        origin = "." * node.level + (node.module or "")
        yield from (f"{origin}.{alias.name}" for alias in node.names)


def called_name(call: ast.Call) -> str:
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def is_ours(name: str) -> bool:
    return first_word(name) in {"maps", "spatial"}


def part_of(name: str) -> str:
    """Return the part that a module or a name in it belongs to: spatial.climate for spatial.climate.frost."""
    if first_word(name) != "spatial":
        return first_word(name)
    words = name.split(".")
    return "below all" if words[1:] and words[1] in BELOW_ALL else ".".join(words[:2])


def first_word(name: str) -> str:
    return name.partition(".")[0]


def read_sources() -> dict[str, str]:
    files = [path for folder in ("spatial", "maps") for path in (ROOT / folder).rglob("*.py")]
    return {module_name(path): path.read_text(encoding="utf-8") for path in files}


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def test_every_import_of_the_project_points_down() -> None:
    sources = read_sources()
    assert {"spatial", "spatial.plan", "maps"} <= set(sources)
    assert layer_problems(sources) == []


@pytest.mark.parametrize(
    ("module", "source", "problem"),
    [
        ("spatial.plan", "import maps.labels", "spatial.plan imports maps.labels"),
        ("spatial.climate.frost", "from maps import labels", "spatial.climate.frost imports maps.labels"),
        ("spatial.errors", "if True:\n    import maps", "spatial.errors imports maps"),
        ("spatial.plan", "from spatial import zones", "spatial.plan imports spatial.zones"),
        ("spatial.record", "import spatial.freeze_layers", "spatial.record imports spatial.freeze_layers"),
        ("spatial.inputs.region", "import spatial.plan", "spatial.inputs.region imports spatial.plan"),
        (
            "spatial.inputs.region",
            "from spatial.agronomy.grass import Grass",
            "spatial.inputs.region imports spatial.agronomy.grass.Grass",
        ),
        (
            "spatial.agronomy.soil",
            "from spatial.inputs import tables",
            "spatial.agronomy.soil imports spatial.inputs.tables",
        ),
        (
            "spatial.climate.frost",
            "from spatial.agronomy import grass",
            "spatial.climate.frost imports spatial.agronomy.grass",
        ),
        (
            "spatial.agronomy.grass",
            "import spatial.routing.route",
            "spatial.agronomy.grass imports spatial.routing.route",
        ),
        (
            "spatial.routing.route",
            "import spatial.climate.frost",
            "spatial.routing.route imports spatial.climate.frost",
        ),
        ("spatial.raster.cover", "import spatial.climate", "spatial.raster.cover imports spatial.climate"),
        (
            "spatial.raster.cover",
            "import spatial.inputs.grids.minima",
            "spatial.raster.cover imports spatial.inputs.grids.minima",
        ),
        ("spatial.store", "from spatial.raster import cover", "spatial.store imports spatial.raster.cover"),
        ("spatial.units", "from spatial.plan import A", "spatial.units imports spatial.plan.A"),
        ("spatial.climate.frost", "import spatial", "spatial.climate.frost imports spatial"),
        ("spatial.helpers", "", "spatial.helpers has no place in the layers"),
        (
            "spatial.plan",
            "from spatial.helpers import a",
            "spatial.plan imports spatial.helpers.a, which has no place in the layers",
        ),
        (
            "spatial.inputs.fields",
            "from . import layers",
            "spatial.inputs.fields imports ..layers by a relative path",
        ),
        ("spatial.units", "def f():\n    import math", "spatial.units.f hides the import of math"),
        (
            "maps.layers",
            "async def f():\n    from numpy import nan",
            "maps.layers.f hides the import of numpy.nan",
        ),
        (
            "spatial.climate.frost",
            "import rasterio.features",
            "spatial.climate.frost imports rasterio.features",
        ),
        (
            "spatial.routing.roads",
            "from pyogrio import read_info",
            "spatial.routing.roads imports pyogrio.read_info",
        ),
        ("spatial.agronomy.soil", "text = open('a')", "spatial.agronomy.soil calls open"),
        (
            "spatial.agronomy.soil",
            "def f(p):\n    return p.read_text()",
            "spatial.agronomy.soil calls read_text",
        ),
    ],
)
def test_a_broken_rule_is_told(module: str, source: str, problem: str) -> None:
    assert problem in layer_problems({module: source})


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("maps.__main__", "def f():\n    from spatial.plan import make_plan"),
        ("maps.layers", "import maps.labels\nimport spatial\nfrom spatial.columns import FIELD_ID"),
        ("spatial", "from spatial.plan import make_plan"),
        ("spatial.plan", "from spatial.inputs.region import Region\nimport spatial.routing.route"),
        ("spatial.inputs.freeze", "import rasterio\nfrom spatial.inputs import checks\nopen('a')"),
        (
            "spatial.climate.frost",
            "from spatial.raster.cover import cells\nfrom spatial.climate import seasons",
        ),
        ("spatial.raster.cover", "from spatial.errors import InputError"),
        ("spatial.addons", "from spatial.errors import InputError"),
    ],
)
def test_what_the_layers_allow_passes(module: str, source: str) -> None:
    assert layer_problems({module: source}) == []
