"""What is said first, and what is never left out."""

from __future__ import annotations

from dataclasses import replace

from conewise.cars.car import field, field_names
from conewise.reports import sentences
from conewise.reports.answer import CHANGED_FIRST, is_changed_first
from conewise.reports.units import METRIC
from tests.reports_fixture import fallback_answer, made_up_answer, wet_answer


def test_the_time_comes_first():
    answer = made_up_answer()
    assert sentences.first_sentence(answer).startswith(f"{answer.solution.time:.2f} s is the fastest clean run")


def test_conditions_are_said():
    words = sentences.first_sentence(made_up_answer(driver="novice", pace=0.8, surface=0.7))
    assert words.endswith("for a novice driver at pace 0.80 on 0.70 of the dry friction.")


def test_a_fallback_is_said_before_the_time():
    answer = fallback_answer()
    words = sentences.first_sentence(answer)
    assert words.startswith("Fallback, not the optimum: ")
    assert words.endswith("At hairpin-1: The solver stopped after 300 iterations, station 236.0 m.")
    assert words.index("Fallback") < words.index(f"{answer.solution.time:.2f} s")


def test_a_band_is_a_range():
    band = wet_answer().band
    assert sentences.answer_time(wet_answer()) == f"{band.fastest:.1f} to {band.slowest:.1f} s"


def test_failed_checks_are_named():
    answer = made_up_answer()
    first, *others = answer.solution.checks
    failed = replace(answer, solution=replace(answer.solution, checks=(replace(first, ok=False), *others)))
    assert sentences.check_sentence(failed).startswith("1 of 4 checks failed")
    said = sentences.first_sentence(failed)
    assert said.startswith("1 of 4 checks failed (no fold): do not rely on this answer: ")
    assert said.endswith(sentences.first_sentence(answer))


def test_a_fallback_that_failed_its_check_says_both_before_the_time():
    answer = fallback_answer()
    checks = tuple(replace(check, ok=False) for check in answer.solution.checks)
    words = sentences.first_sentence(replace(answer, solution=replace(answer.solution, checks=checks)))
    assert words.index("4 of 4 checks failed") < words.index("Fallback") < words.index(f"{answer.solution.time:.2f} s")


def test_the_slowest_place_is_inside_the_course():
    labels = dict(sentences.facts(made_up_answer(), METRIC))
    assert "Slowest in hairpin-1" in labels


def test_cautions_name_who_decides():
    words = " ".join(sentences.CAUTIONS)
    for part in ("estimates, not permissions", "officials", "public roads", "qualified mechanic", "phone"):
        assert part in words


def test_what_one_changes_first_comes_first_and_nothing_is_left_out():
    answer = made_up_answer()
    for gradients in (answer.useful_gradients, answer.other_gradients):
        sizes = [abs(g.s_per_step) for g in gradients]
        assert sizes == sorted(sizes, reverse=True)
    assert {g.name for g in answer.other_gradients} == {"body.width", "body.wheelbase", "front.track"}
    assert len(answer.useful_gradients) + len(answer.other_gradients) == len(answer.solution.gradients)


def test_what_one_changes_first_are_numbers_of_a_car_file_or_of_the_driver():
    for name in CHANGED_FIRST:
        assert name.startswith("driver.") or field(name if "." in name and name in field_names() else f"front.{name}")
    assert not any(is_changed_first(f"front.{name}") for name in ("brake.pistons", "tyre.treadwear", "tyre.aspect"))


def test_a_negative_price_of_coming_late_is_put_in_words():
    answer = made_up_answer()
    assert sentences.late_note(answer) == ""
    slow_in = (replace(answer.slow_in[3], entry_speed_price=-0.02), *answer.slow_in[4:])
    assert "arriving slower here gains time (sweeper-1)" in sentences.late_note(replace(answer, slow_in=slow_in))


def test_a_held_gear_that_beats_the_best_side_is_explained():
    answer = made_up_answer()
    assert sentences.sides_note(answer) == ""
    slower = tuple(replace(side, time=side.time + 0.2) for side in answer.sides)
    words = sentences.sides_note(replace(answer, sides=slower))
    assert "'hold 2nd' is faster still" in words
    assert f"{answer.solution.time:.2f} s of the answer" in words


def test_negative_numbers_have_a_minus_sign():
    check = replace(made_up_answer().solution.checks[1], value=-0.004, limit=-0.01)
    assert sentences.check_value(check) == "−0.004 m, limit −0.01 m"
    assert METRIC.margin(-0.012) == "−1"


def test_an_interval_has_a_numerical_and_a_model_part():
    answer = made_up_answer(numerical_part=0.003, model_parts={"engine.peak_power": 0.05})
    power = next(g for g in answer.solution.gradients if g.name == "engine.peak_power")
    mass = next(g for g in answer.solution.gradients if g.name == "mass.total")
    low, high = answer.interval(power)
    assert abs((high - low) / 2 - 0.053) < 1e-12
    low, high = answer.interval(mass)
    assert abs((high - low) / 2 - (0.003 + 0.2 * abs(mass.s_per_step))) < 1e-12
    bent = replace(mass, bend=-0.4 * mass.s_per_unit)
    low, high = answer.interval(bent)
    assert abs((high - low) / 2 - (0.003 + 0.6 * abs(mass.s_per_step))) < 1e-12


def test_the_method_tells_of_both_sides_of_the_limiter_where_something_bends():
    answer = made_up_answer()
    first, *others = answer.solution.gradients
    bent = replace(answer, solution=replace(answer.solution, gradients=(replace(first, bend=0.1), *others)))
    assert [len(sentences.method(a)) for a in (answer, bent)] == [3, 4]
    assert "limiter" in sentences.method(bent)[2]


def test_a_level_with_a_fixed_line_is_not_called_the_fastest_run():
    answer = made_up_answer()
    for level in ("quasi-steady", "point-mass"):
        words = sentences.first_sentence(replace(answer, solution=replace(answer.solution, level=level)))
        assert "fastest clean run" not in words


def test_a_fallback_on_a_band_names_the_surface():
    answer = replace(fallback_answer(), band=wet_answer().band)
    assert "on a wet surface (0.6 to 0.8 of the dry friction)" in sentences.first_sentence(answer)
