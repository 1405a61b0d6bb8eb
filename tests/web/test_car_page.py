"""The car's page: a set-up is changed, dated and put back; what is known of wheels closes what is open."""

from __future__ import annotations

import math
import re

import pytest

from conewise.cars.car import field
from conewise.store.texts import CarText
from conewise.workflows.book_place import opened

HTML = {"accept": "text/html", "origin": "http://127.0.0.1"}
FIT = {"file": "marigold", "wheel": "15x9 +20", "tyre": "225/45R15 87V"}


def set_up(client, **told):
    asked = {"file": "marigold", "version": 1, "name": "front.camber", "action": "=", "value": "-2.8 deg", "reason": ""}
    return client.post("/prepare/car/setup", data=asked | told, headers=HTML)


def texts_of(settings, car="marigold"):
    with opened(settings.book, now=settings.now) as book:
        return [(one.version, one.reason, one.record.text) for one in book.history(CarText, car)]


def test_a_change_is_a_new_version_and_every_other_line_stays(client, settings):
    answer = set_up(client, reason="more camber for slaloms")
    assert (answer.status_code, answer.headers["location"]) == (303, "/prepare/car?file=marigold#setups")
    (_, _, before), (version, reason, after) = texts_of(settings)
    assert (version, reason) == (2, "more camber for slaloms")
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert changed == [
        (
            'camber = { value = "-2.2 deg", uncertainty = "0.1 deg", origin = "measured" }',
            'camber = {value = "-2.8 deg", origin = "car\'s page"}',
        )
    ]
    page = client.get("/prepare/car?file=marigold", headers=HTML).text
    assert "front.camber: -2.20 deg becomes -2.80 deg" in page
    assert "more camber for slaloms" in page


def test_a_number_that_is_set_is_no_more_as_sure_as_the_one_before(client):
    def row():
        values = client.get("/api/cars/marigold").json()["values"]
        return {one["name"]: one for one in values}["front.camber"]

    assert (row()["origin"], row()["uncertainty_si"]) == ("measured", pytest.approx(math.radians(0.1)))
    set_up(client, action="+=", value="-0.1 deg")
    assert row()["origin"] == "measured"  # it rests on what was measured
    set_up(client, version=2)
    step = field("front.camber").reference_step(row()["value_si"])
    assert (row()["origin"], row()["uncertainty_si"]) == ("car's page", pytest.approx(0.5 * step))
    assert "car&#39;s page" in client.get("/prepare/car?file=marigold", headers=HTML).text


def test_lengths_in_the_drawing_follow_the_units_shown(client):
    def told():
        return re.findall(r"track \d[^<]*", client.get("/prepare/car?file=marigold", headers=HTML).text)[-1]

    assert told() == "track 1.42 m, mass at 0.445 m"
    client.cookies.set("conewise-units", "us")
    assert told() == "track 4.68 ft, mass at 17.5 in"


def test_it_is_put_back_and_the_history_has_both(client, settings):
    set_up(client)
    form = {"file": "marigold", "version": 2, "number": 1}
    assert client.post("/prepare/car/put-back", data=form, headers=HTML).status_code == 303
    first, _, third = texts_of(settings)
    assert third[2] == first[2]
    assert third[:2] == (3, "as in version 1 again")
    page = client.get("/prepare/car?file=marigold", headers=HTML).text
    assert "front.camber: -2.80 deg becomes -2.20 deg" in page


def test_what_was_typical_can_be_set_and_what_hangs_on_a_number_moves_along(client, settings):
    assert set_up(client, name="front.wheel.offset", action="+=", value="-10 mm").status_code == 303
    page = client.get("/prepare/car?file=marigold", headers=HTML).text
    assert "front.wheel.offset: 28 mm becomes 18 mm" in page
    assert "front.track: 1.42 m becomes 1.44 m" in page  # by twice the offset
    assert set_up(client, version=2, name="rear.tyre.rolling_radius", action="+=", value="1 mm").status_code == 303
    [*_, (_, _, after)] = texts_of(settings)
    assert "rolling_radius" in after


@pytest.mark.parametrize(
    ("told", "status", "words"),
    [
        ({"value": "2 bananas"}, 422, "bananas"),
        ({"value": "-60 deg"}, 422, "front.camber"),
        ({"value": "-2.2 deg"}, 422, "changes nothing"),
        ({"name": "front.colour", "value": "red"}, 422, "front.colour"),
        ({"version": 7}, 409, "Somebody else has changed this car"),
    ],
)
def test_what_cannot_be_is_said_on_the_page_and_nothing_is_kept(client, settings, told, status, words):
    answer = set_up(client, **told)
    assert answer.status_code == status
    assert words in answer.text
    assert len(texts_of(settings)) == 1


def test_two_who_set_one_car_up_lose_nothing(client, settings):
    assert set_up(client).status_code == 303
    assert set_up(client, value="-1 deg").status_code == 409
    assert [reason for _, reason, _ in texts_of(settings)][1:] == ["front.camber = -2.8 deg"]


def n_open(page):
    return len(re.findall(r"<b>\w+, open", page))


def test_what_is_known_closes_what_is_open_and_nothing_else_is_a_pass(client):
    bare = client.get("/prepare/fit", params=FIT, headers=HTML).text
    known = {
        "bolt_pattern": "4x100", "bore": "54.1 mm", "seat": "cone", "turns": "8", "wheel_load": "690 kg",
        "rims": "7 to 9 in", "date_code": "2325", "front_strut": "9 mm", "front_fender": "12 mm",
    }  # fmt: skip
    page = client.get("/prepare/fit", params=FIT | known, headers=HTML).text
    assert n_open(page) < n_open(bare) - 6
    assert "not known yet" in page  # rear gaps and full lock are still open
    assert 'value="4x100"' in page
    wrong = client.get("/prepare/fit", params=FIT | {"bolt_pattern": "5x114.3"}, headers=HTML).text
    assert "Fits as far as is known: no." in wrong


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"bore": "73"}, "&#34;73&#34; cannot be used: the unit is missing. Write &#34;73 mm&#34;."),
        ({"turns": "many"}, "this is no number"),
        ({"tyre": "225"}, "The tyre size is &#34;225&#34;"),
        ({"seat": "cone", "bolt_pattern": "five"}, "The bolt pattern is &#34;five&#34;"),
        ({"wheel_load": "9 kg"}, "it lies outside 150 to 3000 kg"),
        ({"rear_strut": "2 m"}, "&#34;2 m&#34; cannot be used: it lies outside 0 to 300 mm"),
        ({"axle_load_front": "5 t"}, "&#34;5 t&#34; cannot be used: "),
        ({"axle_load_rear": "20 kg"}, "it lies outside 100 to 3000 kg"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field_and_stays_there(client, told, words):
    page = client.get("/prepare/fit", params=FIT | told, headers=HTML)
    assert page.status_code == 200
    name, typed = list(told.items())[-1]
    after = page.text.split(
        f'name="{name}" maxlength="60" value="{typed}" aria-invalid="true" aria-describedby="problem"'
    )[1]
    assert words in after.split("<label>")[0]
    assert page.text.count('class="problem"') == 1
    assert "--" not in re.sub(r"(?s)<(style|script).*?</\1>", "", page.text).replace("<!--", "")


def test_loads_of_axles_that_were_weighed_stand_for_those_of_the_car_file(client):
    weighed = {"axle_load_front": "620 kg", "axle_load_rear": "601 kg"}
    told = client.get("/api/cars/marigold/fit", params=FIT | weighed).json()
    assert {axle: one["axle_load_kg"] for axle, one in told["axles"].items()} == {"front": 620.0, "rear": 601.0}
    page = client.get("/prepare/fit", params=FIT | weighed | {"axle": "front"}, headers=HTML).text
    assert "the axle carries 620 kg at rest with the driver" in page
    assert 'value="620 kg"' in page


def test_the_fit_as_a_record_takes_what_is_known(client):
    told = client.get("/api/cars/marigold/fit", params=FIT | {"bolt_pattern": "5x114.3"}).json()
    assert [one["state"] for one in told["items"] if one["code"] == "bolt-pattern"] == ["no", "no"]
