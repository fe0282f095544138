"""The house stays one to live in: short files and functions, few files in a room, no two rooms that need each other."""

import ast
import re
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import bodygen

ROOT = Path(bodygen.__file__).parent
FILES = sorted(ROOT.rglob("*.py"))
LONGEST_FILE, LONGEST_FUNCTION, FULLEST_ROOM = 350, 60, 12


@cache
def tree_of(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def module_of(path):
    """Dotted name; a package is named by its folder."""
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_of(path): path for path in FILES}


def imports_of(tree):
    """Every module of ours that a file loads, also within its functions; not what is there for type checkers alone."""
    hidden = {
        id(node)
        for test in ast.walk(tree)
        if isinstance(test, ast.If) and getattr(test.test, "id", "") == "TYPE_CHECKING"
        for node in ast.walk(test)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0 and id(node) not in hidden:
            for name in node.names:
                within = f"{node.module}.{name.name}"
                yield within if within in MODULES else node.module


def lines_of(function):
    """Lines of a function, its docstring apart: a handbook's page about it does not make it harder to read."""
    first = function.body[0]
    said = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str)
    return function.end_lineno - function.lineno + 1 - (first.end_lineno - first.lineno + 1 if said else 0)


def room_of(module):
    """The folder of a module; one that lies in no folder is a room of its own."""
    package = module if MODULES[module].name == "__init__.py" else module.rpartition(".")[0]
    return module if package == "bodygen" else package


def sorted_out(graph):
    """Say which of them need each other, in words; empty where they can be put in an order."""
    try:
        list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        return " -> ".join(error.args[1])
    return ""


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_a_file_and_its_functions_are_short(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE
    functions = [node for node in ast.walk(tree_of(path)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    assert not [node.name for node in functions if lines_of(node) > LONGEST_FUNCTION]


def test_no_room_is_crowded():
    rooms = {path.parent for path in FILES}
    crowded = {
        room.relative_to(ROOT).as_posix(): count
        for room in rooms
        if (count := sum(path.name != "__init__.py" for path in room.glob("*.py"))) > FULLEST_ROOM
    }
    assert not crowded


def test_no_two_modules_need_each_other():
    graph = {
        module: {other for other in imports_of(tree_of(path)) if other in MODULES and other != module}
        for module, path in MODULES.items()
    }
    assert not sorted_out(graph)


def test_no_two_rooms_need_each_other():
    graph: dict[str, set[str]] = {}
    for module, path in MODULES.items():
        room = room_of(module)
        others = {room_of(other) for other in imports_of(tree_of(path)) if other in MODULES}
        graph.setdefault(room, set()).update(others - {room})
    assert not sorted_out(graph)


def test_no_two_classes_have_one_name():
    names = [node.name for path in FILES for node in ast.walk(tree_of(path)) if isinstance(node, ast.ClassDef)]
    assert not {name for name in names if names.count(name) > 1}


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_a_file_that_another_names_is_there(path):
    """As written: from the room that names it, or from one that this lies in."""
    named = re.findall(r"(?<![\w/.])((?:[a-z_]+/)*[a-z_]+\.py)\b", path.read_text(encoding="utf-8"))
    assert not [name for name in named if not any((folder / name).exists() for folder in path.parents)]
