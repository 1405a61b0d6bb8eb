"""Machine code that is kept on disk."""

import ctypes
import os
from pathlib import Path

import llvmlite.binding as llvm
import pytest

from conewise.solver import kept_code
from conewise.solver.kept_code import machine_code

TRIPLE = """define void @run(double* %x) {
%a = load double, double* %x
%b = fmul double %a, 3.0
store double %b, double* %x
ret void
}"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "code"))
    return tmp_path / "code"


def result(text):
    engine, address = machine_code(text)
    x = ctypes.c_double(2.0)
    ctypes.CFUNCTYPE(None, ctypes.c_void_p)(address)(ctypes.addressof(x))
    del engine
    return x.value


def test_code_is_made_once_and_read_from_then_on(folder, monkeypatch):
    assert result(TRIPLE) == 6.0
    (file,) = folder.iterdir()
    monkeypatch.setattr(kept_code, "_keep", lambda *_: pytest.fail("made again"))
    assert result(TRIPLE) == 6.0
    assert list(folder.iterdir()) == [file]


def test_other_code_is_another_file(folder):
    assert (result(TRIPLE), result(TRIPLE.replace("3.0", "4.0"))) == (6.0, 8.0)
    assert len(list(folder.iterdir())) == 2


@pytest.mark.parametrize("broken", [b"", b"short", None])
def test_a_file_that_is_not_whole_is_made_again(folder, broken):
    result(TRIPLE)
    (file,) = folder.iterdir()
    whole = file.read_bytes()
    file.write_bytes(whole[:-1] if broken is None else broken)
    assert result(TRIPLE) == 6.0
    assert file.read_bytes() == whole


@pytest.fixture
def levels(monkeypatch):
    """How well code was made, each time."""
    made, make = [], llvm.Target.create_target_machine

    def told(self, **options):
        made.append(options["opt"])
        return make(self, **options)

    monkeypatch.setattr(llvm.Target, "create_target_machine", told)
    return made


def test_where_nothing_can_be_kept_quick_code_is_made_all_the_same(tmp_path, monkeypatch, levels):
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file"))
    monkeypatch.setattr(kept_code.platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "file" / "below")
    assert result(TRIPLE) == 6.0
    assert levels == [kept_code.QUICK]
    assert (tmp_path / "file").read_text() == "no folder"


def test_code_made_otherwise_is_another_file(folder, monkeypatch):
    result(TRIPLE)
    monkeypatch.setattr(kept_code, "GOOD", 2)
    assert result(TRIPLE) == 6.0
    assert len(list(folder.iterdir())) == 2


@pytest.mark.skipif(os.name != "posix", reason="owners and modes of files")
@pytest.mark.parametrize("whose", ["everybody's", "another's"])
def test_code_is_not_run_from_a_folder_that_others_write_to(folder, tmp_path, monkeypatch, levels, whose):
    result(TRIPLE)
    (file,) = folder.iterdir()
    monkeypatch.setattr(kept_code.platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "own")
    if whose == "everybody's":
        folder.chmod(0o777)
    else:
        (tmp_path / "own").mkdir()
        mine = (tmp_path / "own").stat().st_uid
        theirs = os.stat_result([0o40700, 0, 0, 0, mine + 1, 0, 0, 0, 0, 0])
        found = Path.stat
        monkeypatch.setattr(Path, "stat", lambda self, **how: theirs if self == folder else found(self, **how))
    assert result(TRIPLE) == 6.0
    assert [one.name for one in (tmp_path / "own").iterdir()] == [file.name]
    assert levels == [kept_code.GOOD] * 2


def test_a_write_that_fails_leaves_nothing_behind(folder, monkeypatch):
    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(kept_code.Path, "replace", full)
    assert result(TRIPLE) == 6.0
    assert list(folder.iterdir()) == []


def test_a_write_that_the_keyboard_stops_leaves_nothing_behind(folder, monkeypatch):
    def stopped(*_args):
        raise KeyboardInterrupt

    monkeypatch.setattr(kept_code.Path, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        result(TRIPLE)
    assert list(folder.iterdir()) == []


def test_code_that_nothing_used_for_a_month_goes_when_other_code_is_kept(folder):
    month = 31 * 86400
    result(TRIPLE)
    (used,) = folder.iterdir()
    unused, foreign = folder / "conewise-0123.o", folder / "notes.o"
    for file in (used, unused, foreign):
        file.touch()
        os.utime(file, (file.stat().st_atime, file.stat().st_mtime - month))
    assert result(TRIPLE) == 6.0  # reading marks it as used
    result(TRIPLE.replace("3.0", "4.0"))
    assert used.exists()
    assert foreign.exists()
    assert not unused.exists()
