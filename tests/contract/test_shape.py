"""The shape of the code: sizes, depth, arguments, and how failures are raised."""

from __future__ import annotations

import ast
import builtins
import re
import statistics
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import grimp
import pytest

PROJECT = Path(__file__).resolve().parents[2]
SOURCE = PROJECT / "src" / "conewise"
MODULES = sorted(SOURCE.rglob("*.py"))

MOST_LINES = 500
MEDIAN_LINES = 200  # the aim is 150
MOST_BODY = 50
MOST_BODY_ASSEMBLY = 70
AIM_POSITIONAL = 2
AIM_SHARE = 0.85  # of the public functions
MOST_POSITIONAL = 3
MOST_POSITIONAL_INSIDE = 4  # of a private function, of an error that is told its facts, of a law of physics
MOST_ARGUMENTS = 7

# Solver assembly: one long sequence of equations that reads better whole. Up to 70 lines.
ASSEMBLY: frozenset[str] = frozenset()

# Functions with more than seven arguments, by reason.
MANY_ARGUMENTS: dict[str, set[str]] = {
    "a command: its arguments are its options": {
        "conewise.cli.line.line",
        "conewise.cli.walk.walk",
        "conewise.cli.advise.advise",
        "conewise.cli.settings.settings",
        "conewise.cli.debrief.debrief",
        "conewise.cli.prove.prove",
        "conewise.cli.fit.fit",
        "conewise.cli.run.add",
        "conewise.cli.run.plan",
        "conewise.cli.event.plan",
        "conewise.cli.looks.look",
        "conewise.cli.log.day",
        "conewise.cli.log.show",
        "conewise.cli.log.convert",
        "conewise.cli.book.add",
        "conewise.cli.course.check",
        "conewise.cli.weighing.scales",
        "conewise.cli.weighing.lift",
    },
}

# Functions with more arguments by position than the rule, by reason.
MANY_POSITIONAL: dict[str, set[str]] = {
    "declares a field in one line of a table": {"conewise.cars.fields.quantity"},
    "value, dimension, system, digits: as it is said": {"conewise.quantities.show"},
    "force, state, and the two wheels' limits, loads and axle: a law in the order of its formula": {
        "conewise.vehicle.drivetrain.split"
    },
    "one line of the table of checks: name, value, limit, unit, station": {
        "conewise.solver.checks.run_checks.at_most",
        "conewise.solver.checks.run_checks.at_least",
    },
    "the mesh rule: path, speed and cones as the mesh has them": {"conewise.solver.mesh._steps"},
}

# The outermost edges: whatever was not foreseen is said in a sentence there, and kept in a log.
EDGES = {"conewise.cli.main", "conewise.web.failures", "conewise.web.worker"}

BUILTIN_EXCEPTIONS = {
    name for name, value in vars(builtins).items() if isinstance(value, type) and issubclass(value, BaseException)
}


@dataclass(frozen=True)
class Routine:
    """A function of the package, with its place."""

    module: str
    name: str
    node: ast.FunctionDef | ast.AsyncFunctionDef
    is_method: bool

    @property
    def place(self):
        return f"{self.module}.{self.name}"

    @property
    def body_lines(self):
        """Lines of the body without the docstring."""
        body = self.node.body[1:] if ast.get_docstring(self.node) is not None else self.node.body
        return body[-1].end_lineno - body[0].lineno + 1 if body else 0

    @property
    def positional(self):
        arguments = [argument.arg for argument in self.node.args.posonlyargs + self.node.args.args]
        return arguments[1:] if self.is_method and arguments[:1] in (["self"], ["cls"]) else arguments

    @property
    def arguments(self):
        return self.positional + [argument.arg for argument in self.node.args.kwonlyargs]

    @property
    def is_inside(self):
        """Private, the constructor of an error, or a law whose variables stand in the order of the formula."""
        parts = self.place.split(".")
        is_private = any(part.startswith("_") and not part.startswith("__") for part in parts)
        is_error = parts[-1] == "__init__" and parts[-2].endswith("Error")
        return is_private or is_error or parts[1] in {"vehicle", "smooth"}

    @property
    def is_compiled(self):
        """Whether Numba compiles it: a compiled function takes its arguments by position."""
        return any(re.search(r"jit|kernel", ast.unparse(decorator)) for decorator in self.node.decorator_list)


def module_name(path):
    parts = path.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def parsed(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def routines_of(path):
    """Every function and method of a module, nested ones too; none stands inside an expression."""

    def walk(node, prefix, *, in_class):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.expr):
                continue
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                yield Routine(module_name(path), prefix + child.name, child, in_class)
                yield from walk(child, f"{prefix}{child.name}.", in_class=False)
            elif isinstance(child, ast.ClassDef):
                yield from walk(child, f"{prefix}{child.name}.", in_class=True)
            else:
                yield from walk(child, prefix, in_class=in_class)

    yield from walk(parsed(path), "", in_class=False)


ROUTINES = [routine for path in MODULES for routine in routines_of(path)]


def test_modules_are_short():
    long = {module_name(path): n for path in MODULES if (n := n_lines(path)) > MOST_LINES}
    assert not long


def test_the_median_module_is_short():
    assert statistics.median(n for path in MODULES if (n := n_lines(path)) > 5) <= MEDIAN_LINES


def n_lines(path):
    return len(path.read_text(encoding="utf-8").splitlines())


def test_packages_are_shallow():
    assert not [path for path in MODULES if len(path.relative_to(SOURCE).parts) > 2]


def test_functions_are_short():
    long = {
        routine.place: routine.body_lines
        for routine in ROUTINES
        if routine.body_lines > (MOST_BODY_ASSEMBLY if routine.place in ASSEMBLY else MOST_BODY)
    }
    assert not long


def named(exceptions):
    return set().union(*exceptions.values()) if exceptions else set()


def test_functions_take_few_arguments():
    many = {r.place: len(r.arguments) for r in ROUTINES if len(r.arguments) > MOST_ARGUMENTS and not r.is_compiled}
    assert set(many) == named(MANY_ARGUMENTS), differences(many, MANY_ARGUMENTS)


def test_functions_take_few_arguments_by_position():
    many = {
        r.place: r.positional
        for r in ROUTINES
        if len(r.positional) > (MOST_POSITIONAL_INSIDE if r.is_inside else MOST_POSITIONAL) and not r.is_compiled
    }
    assert set(many) == named(MANY_POSITIONAL), differences(many, MANY_POSITIONAL)


def test_most_public_functions_take_two_arguments_by_position():
    public = [len(r.positional) for r in ROUTINES if not r.is_inside and not r.is_compiled]
    assert sum(n <= AIM_POSITIONAL for n in public) >= AIM_SHARE * len(public)


def differences(many, exceptions):
    """Functions that are too wide, and named exceptions that are none any more."""
    return sorted(set(many) ^ named(exceptions))


def test_exceptions_to_the_rules_are_still_needed():
    bodies = {routine.place: routine.body_lines for routine in ROUTINES}
    assert not [place for place in ASSEMBLY if bodies.get(place, 0) <= MOST_BODY]


def test_names_say_what_a_thing_is():
    banned = ("get_", "compute_", "calc_", "do_", "handle_", "process_")
    asked_for = {"process_bind_param", "process_result_value"}  # by SQLAlchemy, of a type of column
    names = {r.place: r.node.name.lstrip("_") for r in ROUTINES if r.node.name not in asked_for}
    assert not [place for place, name in names.items() if name.startswith(banned)]
    assert not [p for p in MODULES if any(word in p.stem for word in ("util", "helper", "manager", "misc", "common"))]


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_only_own_exceptions_are_raised(path):
    assert not list(builtin_raises(parsed(path)))


def builtin_raises(tree):
    """Every `raise` of a built-in exception with its line, but for two protocols that ask for one."""
    allowed = set(protocol_raises(tree))
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) and node.exc is not None:
            name = raised_name(node)
            if name in BUILTIN_EXCEPTIONS and (node.lineno, name) not in allowed:
                yield f"line {node.lineno}: {name}"


def raised_name(node):
    return ast.unparse(node.exc.func if isinstance(node.exc, ast.Call) else node.exc)


def protocol_raises(tree):
    """A module's `__getattr__` must raise AttributeError; a pydantic validator says no with ValueError."""
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            is_validator = any("_validator" in ast.unparse(decorator) for decorator in function.decorator_list)
            wanted = "ValueError" if is_validator else "AttributeError" if function.name == "__getattr__" else None
            yield from ((node.lineno, wanted) for node in ast.walk(function) if isinstance(node, ast.Raise) and wanted)


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_no_failure_is_swallowed(path):
    found = [place.split(": ")[1] for place in swallowed(parsed(path))]
    assert found == (["except Exception"] if module_name(path) in EDGES else [])


def swallowed(tree):
    """Handlers that catch everything or do nothing, and `suppress` of everything."""
    wide = {"Exception", "BaseException"}
    for node in ast.walk(tree):
        if isinstance(node, ast.ExceptHandler):
            nothing = all(
                isinstance(line, ast.Pass) or (isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant))
                for line in node.body
            )
            raises = any(isinstance(inner, ast.Raise) for line in node.body for inner in ast.walk(line))
            caught = ast.unparse(node.type) if node.type else ""
            if nothing or not caught or (caught in wide and not raises):
                yield f"line {node.lineno}: except {caught}"
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("suppress"):
            yield from (f"line {node.lineno}: suppress" for argument in node.args if ast.unparse(argument) in wide)


def test_no_module_imports_itself_in_a_circle():
    graph = grimp.build_graph("conewise", exclude_type_checking_imports=True, cache_dir=None)
    circles = [
        (module, imported)
        for module in sorted(graph.modules)
        for imported in graph.find_modules_directly_imported_by(module)
        if graph.find_shortest_chain(imported, module) is not None
    ]
    assert not circles


def test_the_checks_of_this_file_can_fail():
    bad = ast.parse("def f():\n    try:\n        g()\n    except OSError:\n        pass\n    raise ValueError('no')\n")
    assert list(builtin_raises(bad)) == ["line 6: ValueError"]
    assert list(swallowed(bad)) == ["line 4: except OSError"]
