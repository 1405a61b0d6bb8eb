"""The command line's edges: help at once, errors in one shape, our own faults in a log."""

from __future__ import annotations

import json
import subprocess
import sys

import platformdirs
import pytest

from conewise.cli import main
from conewise.errors import InputError

HEAVY = (
    "numpy",
    "scipy",
    "casadi",
    "numba",
    "pydantic",
    "shapely",
    "jinja2",
    "typst",
    "polars",
    "sqlalchemy",
    "alembic",
)


def test_help_imports_nothing_heavy():
    code = (
        "import sys; from conewise.cli.main import run; run(['--help']);"
        f"print([name for name in {HEAVY} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stderr.strip() == "[]"
    assert all(name in done.stdout for name in ("line", "course"))


def test_the_version_is_the_package_s(capsys):
    assert main.run(["--version"]) == 0
    assert capsys.readouterr().out.startswith("conewise 0.")


@pytest.mark.parametrize(
    "words", [["nonsense"], ["line"], ["line", "a.toml"], ["line", "a.toml", "--car", "b.toml", "--units", "cubits"]]
)
def test_a_wrong_command_line_is_said_in_the_shape_of_every_error(capsys, words):
    assert main.run(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    head, where, hint = err.splitlines()
    assert head.startswith("error[usage]: ")
    assert where == f"  where: conewise {words[0]}"
    assert hint.startswith("  hint:  ")


def failing(error):
    def command():
        raise error

    return command


@pytest.fixture
def breaks(monkeypatch, tmp_path):
    """Makes the command `line` raise an error."""
    monkeypatch.setattr(platformdirs, "user_log_path", lambda *_, **__: tmp_path)

    def arrange(error):
        module = type(sys)("broken_command")
        module.line = failing(error)
        monkeypatch.setitem(sys.modules, "broken_command", module)
        monkeypatch.setitem(main.COMMANDS, "line", main.Entry("broken_command", "line", "Breaks."))
        monkeypatch.setattr(main, "find_spec", lambda _: True)

    return arrange


def test_an_error_has_three_lines_and_its_exit_code(capsys, breaks):
    breaks(InputError("The mass is -5 kg; wanted is more than 0.", where="car.toml, line 3", hint="Give the mass."))
    assert main.run(["line"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "error[input]: The mass is -5 kg; wanted is more than 0.\n  where: car.toml, line 3\n  hint:  Give the mass.\n"
    )


def test_an_error_without_a_place_leaves_the_line_out(capsys, breaks):
    breaks(InputError("No."))
    main.run(["line"])
    assert "where" not in capsys.readouterr().err


def test_an_unforeseen_failure_is_kept_in_a_log(capsys, breaks, tmp_path):
    breaks(RuntimeError("the inside of something"))
    assert main.run(["line"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert "the inside of something" not in err
    (log,) = tmp_path.iterdir()
    assert str(log) in err
    assert log.stem.removeprefix("report-") in err
    text = log.read_text(encoding="utf-8")
    assert "RuntimeError: the inside of something" in text
    assert "conewise line" in text


def test_a_log_that_cannot_be_written_is_said(capsys, breaks, monkeypatch):
    breaks(RuntimeError("x"))

    def refuse(*_, **__):
        raise PermissionError

    monkeypatch.setattr(platformdirs, "user_log_path", refuse)
    assert main.run(["line"]) == 1
    assert "could not be written" in capsys.readouterr().err


def test_the_keyboard_stops_it(capsys, breaks):
    breaks(KeyboardInterrupt())
    assert main.run(["line"]) == 130
    assert capsys.readouterr().err == "Stopped.\n"


def test_a_stop_that_a_compiler_tells_as_a_fault_is_a_stop(capsys, breaks):
    fault = RuntimeError("lowering failed")
    fault.__cause__ = KeyboardInterrupt()
    breaks(fault)
    assert main.run(["line"]) == 130
    assert capsys.readouterr().err == "Stopped.\n"


def test_main_leaves_with_the_exit_code():
    with pytest.raises(SystemExit) as caught:
        main.main(["nonsense"])
    assert caught.value.code == 2


def test_json_is_asked_for_json_is_given(capsys):
    assert main.run(["line", "no-such-course.toml", "--car", "no-such-car.toml", "--json"]) == 3
    out, _ = capsys.readouterr()
    record = json.loads(out)
    assert record["ok"] is False
    assert set(record) == {"ok", "code", "message", "where", "hint"}
