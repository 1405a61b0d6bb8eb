"""A helmet that nobody looked at says so."""

from __future__ import annotations

from conewise.event.helmets import LOOKS, Helmet


def test_nothing_was_looked_at_until_somebody_did():
    helmet = Helmet(id="h1")
    assert {getattr(helmet, name).result for name in LOOKS} == {"not looked at"}


def test_a_helmet_without_owner_is_the_clubs():
    assert Helmet(id="h1").is_loan
    assert not Helmet(id="h1", owner="ana").is_loan
