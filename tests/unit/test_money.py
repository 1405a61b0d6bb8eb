"""Amounts of money: exact, with a currency of ISO 4217 or with none."""

from __future__ import annotations

from decimal import Decimal

import pytest

from conewise.money import CURRENCIES, Money, MoneyError, money


@pytest.mark.parametrize(
    ("value", "amount", "currency"),
    [
        (780, "780", ""),
        (49.5, "49.5", ""),
        ("0", "0", ""),
        ("780 EUR", "780", "EUR"),
        ("49.50usd", "49.50", "USD"),
        (Decimal("0.10"), "0.10", ""),
    ],
)
def test_amounts_are_read_exactly(value, amount, currency):
    assert money(value, where="price") == Money(Decimal(amount), currency)


def test_a_currency_stands_for_amounts_that_name_none():
    assert money(5, where="price", currency="chf") == Money(Decimal(5), "CHF")
    assert money("5 EUR", where="price", currency="CHF").currency == "EUR"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (-1, "zero or more"),
        ("1,500", "comma"),
        ("1500 €", "ISO 4217"),
        ("12 EURO", "no number"),
        ("12 ABC", "lists no currency 'ABC'"),
        (True, "no amount"),
        (None, "no amount"),
        (float("nan"), "no number"),
        ("", "no number"),
        (10**12, "more than anything costs"),
    ],
)
def test_what_is_no_amount_is_said(value, words):
    with pytest.raises(MoneyError) as caught:
        money(value, where="parts.toml, line 3, price")
    assert words in caught.value.message
    assert caught.value.where == "parts.toml, line 3, price"


def test_amounts_are_shown_without_needless_zeros():
    assert [str(money(v, where="")) for v in ("780.00 EUR", "49.5 USD", 3)] == ["780 EUR", "49.50 USD", "3"]


def test_the_currencies_are_codes_of_three_letters():
    """ISO 4217:2015, list one: spot checks of codes in daily use, from memory."""
    assert all(len(code) == 3 and code.isupper() for code in CURRENCIES)
    assert {"EUR", "USD", "GBP", "CHF", "JPY", "AUD", "CAD", "NZD", "SEK", "PLN", "ZAR", "BRL", "MXN"} <= CURRENCIES
    assert not {"XTS", "XAU"} & CURRENCIES  # testing, gold: nobody pays with them
