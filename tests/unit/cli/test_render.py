"""Progress without a terminal: one line for each step, and few within a step."""

from __future__ import annotations

from conewise.cli import render


def test_steps_are_lines_and_within_a_step_they_are_rare(capsys, monkeypatch):
    moment = [100.0]
    monkeypatch.setattr(render, "monotonic", lambda: moment[0])
    with render.progress("Begin", lines=True) as say:
        for count in range(30):
            say(f"Solving: {count} of 30")
            moment[0] += 1.0
        say("Writing")
        say("Writing")
    assert capsys.readouterr().err.splitlines() == [
        "Begin", "Solving: 0 of 30", "Solving: 11 of 30", "Solving: 22 of 30", "Writing",
    ]  # fmt: skip


def test_other_commands_say_nothing_there(capsys):
    with render.progress("Begin") as say:
        say("Solving")
    assert capsys.readouterr().err == ""
