"""A function's body has 30 lines at most, a module 300."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MOST_BODY_LINES = 30
MOST_MODULE_LINES = 300


def size_problems(name: str, source: str) -> list[str]:
    """Return one line for each function and module that is too long; a docstring does not count."""
    module_lines = len(source.splitlines())
    nodes = ast.walk(ast.parse(source))
    functions = [node for node in nodes if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    return [f"{name} has {module_lines} lines"] * (module_lines > MOST_MODULE_LINES) + [
        f"{name}: the body of {function.name} has {body_lines(function)} lines"
        for function in functions
        if body_lines(function) > MOST_BODY_LINES
    ]


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_every_function_and_module_is_short() -> None:
    files = [path for folder in ("spatial", "maps", "scripts") for path in (ROOT / folder).rglob("*.py")]
    assert len(files) > 10
    names = {path: path.relative_to(ROOT).as_posix() for path in files}
    assert [line for path in files for line in size_problems(names[path], path.read_text("utf-8"))] == []


@pytest.mark.parametrize("lines", [31, 60])
def test_a_long_body_is_told_also_inside_a_class(lines: int) -> None:
    source = "class A:\n    def f(self):\n" + "        self.a = 1\n" * lines
    assert size_problems("a.py", source) == [f"a.py: the body of f has {lines} lines"]


def test_a_long_module_is_told() -> None:
    assert size_problems("a.py", "a = 1\n" * 301) == ["a.py has 301 lines"]


def test_a_docstring_is_no_part_of_the_body() -> None:
    docstring = '    """First.\n' + "    more\n" * 40 + '    """\n'
    assert size_problems("a.py", "def f():\n" + docstring + "    a = 1\n" * 30) == []


def test_a_module_of_300_lines_is_short_enough() -> None:
    assert size_problems("a.py", "a = 1\n" * 300) == []
