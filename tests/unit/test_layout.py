"""The house rules that no linter holds: top level, sizes, docstrings, annotations, names."""

import ast
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "sim", "scenes", "tests", "viewer", "bench"}
MAX_FILE_LINES = 400
MAX_FUNCTION_LINES = 60

Function = ast.FunctionDef | ast.AsyncFunctionDef
Rule = Callable[[str], list[str]]


def tracked_files() -> list[Path]:
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [Path(name) for name in listing.stdout.split("\0") if name and (ROOT / name).exists()]


def python_files(*folders: str) -> list[Path]:
    return [path for path in tracked_files() if path.suffix == ".py" and path.parts[0] in folders]


def functions(source: str) -> Iterator[Function]:
    return (node for node in ast.walk(ast.parse(source)) if isinstance(node, Function))


def function_lines(function: Function) -> int:
    """Lines from `def` to the last, less the docstring's."""
    total = (function.end_lineno or function.lineno) - function.lineno + 1
    if ast.get_docstring(function, clean=False) is None:
        return total
    docstring = function.body[0]
    return total - ((docstring.end_lineno or docstring.lineno) - docstring.lineno + 1)


def long_file(source: str) -> list[str]:
    lines = len(source.splitlines())
    return [f"{lines} lines"] if lines > MAX_FILE_LINES else []


def long_functions(source: str) -> list[str]:
    sizes = ((function.name, function_lines(function)) for function in functions(source))
    return [f"{name}: {lines} lines" for name, lines in sizes if lines > MAX_FUNCTION_LINES]


def unannotated_returns(source: str) -> list[str]:
    return [function.name for function in functions(source) if function.returns is None]


def star_imports(source: str) -> list[str]:
    imports = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom))
    return [f"from {node.module} import *" for node in imports if node.names[0].name == "*"]


def repeats_a_name(function: Function) -> bool:
    """Whether it is an overload or a property's setter, documented where the name stands first."""
    marks = (ast.unparse(decorator).rpartition(".")[2] for decorator in function.decorator_list)
    return any(mark in {"overload", "setter", "deleter"} for mark in marks)


def undocumented(source: str) -> list[str]:
    def missing(node: ast.Module | ast.ClassDef | Function, name: str) -> Iterator[str]:
        if ast.get_docstring(node) is None:
            yield name
        if isinstance(node, Function):
            return
        for child in node.body:
            if not isinstance(child, ast.ClassDef | Function) or child.name.startswith("_"):
                continue
            if isinstance(child, ast.ClassDef) or not repeats_a_name(child):
                yield from missing(child, f"{name}.{child.name}")

    return list(missing(ast.parse(source), "module"))


def offences(rule: Rule, *folders: str) -> list[str]:
    files = python_files(*folders)
    return [f"{path}: {fault}" for path in files for fault in rule((ROOT / path).read_text(encoding="utf-8"))]


def test_top_level_holds_the_agreed_names_alone() -> None:
    shown = {path.parts[0] for path in tracked_files() if not path.parts[0].startswith(".")}
    assert shown == TOP_LEVEL


@pytest.mark.parametrize(
    ("rule", "folders"),
    [
        (long_file, ("sim", "viewer", "tests", "bench")),
        (long_functions, ("sim", "viewer", "tests", "bench")),
        (unannotated_returns, ("sim", "viewer", "tests", "bench")),
        (star_imports, ("sim", "viewer", "tests", "bench")),
        (undocumented, ("sim", "viewer", "bench")),
    ],
)
def test_every_file_keeps_the_rule(rule: Rule, folders: tuple[str, ...]) -> None:
    assert offences(rule, *folders) == []


def test_no_file_is_a_drawer_for_everything() -> None:
    drawers = {"utils.py", "util.py", "helpers.py", "misc.py", "common.py"}
    assert [str(path) for path in tracked_files() if path.name in drawers] == []


@pytest.mark.parametrize(
    ("rule", "source", "faults"),
    [
        (long_file, "x = 1\n" * 400, []),
        (long_file, "x = 1\n" * 401, ["401 lines"]),
        (long_functions, "def f():\n    '''One.\n\n    Two.\n    '''\n" + "    x = 1\n" * 59, []),
        (long_functions, "def f():\n    '''One.'''\n" + "    x = 1\n" * 60, ["f: 61 lines"]),
        (unannotated_returns, "def f(x: int): ...\nasync def g() -> None: ...", ["f"]),
        (star_imports, "from math import *\nfrom math import pi", ["from math import *"]),
        (undocumented, "'''M.'''\nclass A:\n    def b(self): ...", ["module.A", "module.A.b"]),
        (undocumented, "def _f(): ...\nclass _A:\n    def b(self): ...", ["module"]),
        (undocumented, "'''M.'''\n@overload\ndef f(): ...\ndef f(): ...", ["module.f"]),
    ],
)
def test_each_rule_sees_its_fault_and_only_that(rule: Rule, source: str, faults: list[str]) -> None:
    assert rule(source) == faults
