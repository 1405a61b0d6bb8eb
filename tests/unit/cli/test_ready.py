"""`conewise ready`, as it is typed."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.event.event_file import event_text
from tests import days


@pytest.fixture
def typed(capsys, tmp_path):
    """Writes a day and runs a command line on it: exit code, stdout, stderr."""

    def command(*words, **facts):
        path = tmp_path / "spring.toml"
        path.write_text(event_text(days.event_day(**facts)), encoding="utf-8")
        code = run(["ready", str(path), *words])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


def test_ready_leaves_with_nothing_and_says_who_decides(typed):
    code, out, _ = typed()
    assert code == 0
    assert "Nothing open on your list; the event's inspection decides." in out


def test_an_open_item_leaves_with_ten(typed):
    code, out, _ = typed(checks=days.checks(days.car(), but={"seat", "mats"}))
    assert code == 10
    assert "2 items are open" in out
    assert "Nobody has looked at it yet." in out


def test_json_is_one_object(typed):
    code, out, _ = typed("--json", checks=())
    record = json.loads(out)
    assert (code, record["ready"]) == (10, False)
    assert record["cars"][0]["open_items"]


def test_another_rule_set_is_said(typed):
    _, out, _ = typed("--rules", "student")
    assert "club practice stands for it" in out


def test_a_file_that_is_not_there(capsys, tmp_path):
    assert run(["ready", str(tmp_path / "none.toml")]) == 3
    assert "event-file-missing" in capsys.readouterr().err


def test_the_inspection_sheet_is_written(typed, tmp_path):
    code, _, _ = typed("--pdf", str(tmp_path / "sheet.pdf"), "--paper", "letter", checks=())
    assert code == 10  # the sheet does not change the answer
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-")
    code, _, err = typed("--pdf", str(tmp_path / "sheet.txt"))
    assert code == 2
    assert ".pdf" in err
