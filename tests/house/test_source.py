"""Sizes, names, docstrings and literals of the package's own source."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "roof3d"
MODULES = sorted(PACKAGE.rglob("*.py"))
FORBIDDEN_NAMES = {
    "util", "utils", "helper", "helpers", "common", "misc", "base", "core", "manager", "managers",
}  # fmt: skip
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef

each_module = pytest.mark.parametrize(
    "module", MODULES, ids=[str(path.relative_to(PACKAGE)) for path in MODULES]
)


def functions(tree: ast.Module) -> Iterator[FunctionNode]:
    """Every function of a module, methods and inner functions too."""
    return (node for node in ast.walk(tree) if isinstance(node, FunctionNode))


def words(name: str) -> set[str]:
    """Words of a name, whether joined by underscores or by capitals."""
    return {word.lower() for word in re.findall(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+", name)}


@each_module
def test_module_has_at_most_400_lines(module: Path) -> None:
    assert len(module.read_text().splitlines()) <= 400


@each_module
def test_functions_have_at_most_60_lines_and_a_docstring_where_public(module: Path) -> None:
    tree = ast.parse(module.read_text())
    long = {
        f"{node.name}: {lines} lines"
        for node in functions(tree)
        if (lines := (node.end_lineno or 0) - node.lineno + 1 - docstring_lines(node)) > 60
    }
    public = [tree, *public_definitions(tree)]
    silent = {getattr(node, "name", "module") for node in public if not ast.get_docstring(node)}
    assert (long, silent) == (set(), set())


@each_module
def test_names_say_what_a_thing_is(module: Path) -> None:
    tree = ast.parse(module.read_text())
    classes = {node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef)}
    rooms = set(module.relative_to(PACKAGE).with_suffix("").parts)
    vague = {name for name in classes | rooms if words(name) & FORBIDDEN_NAMES}
    vague |= {node.name for node in functions(tree) if node.name.strip("_") in FORBIDDEN_NAMES}
    assert vague == set()


@each_module
def test_small_numbers_are_named_in_the_tolerance(module: Path) -> None:
    if module == PACKAGE / "tolerance.py":
        pytest.skip("the one place for them")
    small = {
        f"line {node.lineno}: {node.value}"
        for node in ast.walk(ast.parse(module.read_text()))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, float)
        and 0.0 < abs(node.value) < 5e-3  # a quarter inch is 0.00635 m, and a size
    }
    assert small == set()


@each_module
def test_nothing_is_compared_by_a_hidden_tolerance(module: Path) -> None:
    called = {
        node.attr if isinstance(node, ast.Attribute) else node.id
        for node in ast.walk(ast.parse(module.read_text()))
        if isinstance(node, ast.Attribute | ast.Name)
    }
    assert called & {"isclose", "allclose", "assert_allclose", "equals_exact"} == set()


@each_module
def test_no_input_is_checked_by_an_assert_and_only_cli_prints(module: Path) -> None:
    tree = ast.parse(module.read_text())
    asserts = [node.lineno for node in ast.walk(tree) if isinstance(node, ast.Assert)]
    prints = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    ]
    assert (asserts, prints) == ([], [])


def test_a_room_has_at_most_ten_modules() -> None:
    crowded = {
        str(room.relative_to(PACKAGE)): count
        for room in [path for path in PACKAGE.rglob("*") if path.is_dir()]
        if (count := len([path for path in room.glob("*.py") if path.name != "__init__.py"])) > 10
    }
    assert crowded == {}


def docstring_lines(node: FunctionNode) -> int:
    """Lines of a function's docstring; a full one must not make a short function long."""
    if ast.get_docstring(node) is None:
        return 0
    return (node.body[0].end_lineno or 0) - node.body[0].lineno + 1


def public_definitions(tree: ast.Module) -> Iterator[FunctionNode | ast.ClassDef]:
    """Public functions and classes of a module, and public methods of its public classes."""
    for node in tree.body:
        if isinstance(node, FunctionNode | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                for member in node.body:
                    if isinstance(member, FunctionNode) and not member.name.startswith("_"):
                        yield member
