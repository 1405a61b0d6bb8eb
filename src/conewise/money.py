"""Money: an exact amount and the code of its currency, read from what a person writes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from conewise.errors import InputError

# Currencies of ISO 4217:2015, list one; metals, funds and testing codes left out.
_CODES = """
AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLP
CNY COP CRC CUC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HRK HTG
HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD
MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF
SAR SBD SCR SDG SEK SGD SHP SLE SLL SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU
UZS VED VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW ZWL
"""
CURRENCIES = frozenset(_CODES.split())
MOST = Decimal(1_000_000_000)  # more than any part costs in any currency
_WRITTEN = re.compile(r"^\s*([+-]?\d+(?:\.\d+)?)\s*([A-Za-z]{3})?\s*$")


class MoneyError(InputError):
    """An amount of money that cannot be read."""

    code = "money"
    default_hint = 'Write a number, or a number and a currency of ISO 4217, such as "780 EUR" or "49.50 USD".'

    def __init__(self, value: Any, problem: str, *, where: str) -> None:
        shown = f'"{value}"' if isinstance(value, str) else repr(value)
        super().__init__(f"The amount {shown} cannot be used: {problem}.", where=where)


class NoBudgetError(InputError):
    """A budget of nothing."""

    code = "budget-zero"
    default_hint = (
        "Say what there is to spend, such as 1500 EUR, or no budget at all: every change is ranked without one."
    )

    def __init__(self, *, where: str) -> None:
        super().__init__("The budget is 0: nothing can be bought for it.", where=where)


@dataclass(frozen=True, slots=True, order=False)
class Money:
    """An amount; the currency is empty where nobody named one: the money of the reader's budget."""

    amount: Decimal
    currency: str = ""

    def __str__(self) -> str:
        """The amount without needless zeros, and the currency: `780 EUR`, `49.50 USD`."""
        whole = self.amount == self.amount.to_integral_value()
        number = f"{self.amount:.0f}" if whole else f"{self.amount:.2f}"
        return f"{number} {self.currency}".strip()


def money(value: Any, *, where: str, currency: str = "") -> Money:
    """An amount of money from a number or from text with a currency.

    Parameters
    ----------
    value : int, float, Decimal or str
        780, 49.5, "780", "49.50 USD".
    where : str
        File, line and field, or option, for the message.
    currency : str, default ""
        Currency of an amount that names none.

    Raises
    ------
    MoneyError
        If it is no amount, negative, beyond all sense, or in a currency that ISO 4217 does not list.

    Examples
    --------
    >>> str(money("49.50 usd", where="price")), str(money(780, where="price", currency="EUR"))
    ('49.50 USD', '780 EUR')
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal | str):
        raise MoneyError(value, "it is no amount", where=where)
    found = _WRITTEN.match(str(value))
    if found is None:
        raise MoneyError(value, _problem(str(value)), where=where)
    code = (found[2] or currency).upper()
    if code and code not in CURRENCIES:
        raise MoneyError(value, f"ISO 4217 lists no currency '{code}'", where=where)
    amount = Decimal(found[1])
    if amount < 0:
        raise MoneyError(value, "it must be zero or more", where=where)
    if amount > MOST:
        raise MoneyError(value, "it is more than anything costs", where=where)
    return Money(amount, code)


def budget_of(value: str, *, where: str) -> Money:
    """What there is to spend, from what a person writes.

    Raises
    ------
    MoneyError
        If it is no amount, or negative.
    NoBudgetError
        If it is 0.

    Examples
    --------
    >>> str(budget_of("1500 EUR", where="--budget"))
    '1500 EUR'
    """
    found = money(value, where=where)
    if found.amount == 0:
        raise NoBudgetError(where=where)
    return found


def _problem(text: str) -> str:
    if "," in text:
        return "a comma in a number can mean two things; write 1.50 or 1500"
    if re.search(r"[€$£¥]", text):
        return "a sign such as $ can mean several currencies; write the code of ISO 4217"
    return "it is no number with or without a code of three letters"
