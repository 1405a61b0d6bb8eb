"""The packing list and the money of an event, as somebody ticks and writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.event.day import Event, Expense, Money, Packed
from conewise.money import MoneyError, money
from conewise.records import id_of

if TYPE_CHECKING:
    from conewise.workflows.book_place import BookPlace


class ExpenseError(InputError):
    """Money that was spent on nothing that is known, or an amount that is none."""

    code = "expense"
    default_hint = "Write the amount with its currency, such as 40.00 EUR."

    def __init__(self, problem: str) -> None:
        super().__init__(problem, where="amount")


def pack(source: BookPlace, event_id: str, *, item: str, is_packed: bool, by: str = "") -> None:
    """Tick one thing of the packing list, or take the tick away.

    Raises
    ------
    ConewiseError
        If the event is not in the book, or the book cannot be written.
    """
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        writer.one(Event, event_id)
        kept = next(iter(writer.every(Packed, event=event_id, item=item)), None)
        if kept is not None:
            writer.change(kept.record.changed(is_packed=is_packed), version=kept.version)
        else:
            name = id_of(f"{event_id}-{item}"[:50], writer.ids(Packed))
            writer.add(Packed(id=name, event=event_id, item=item, is_packed=is_packed))


def spend(
    source: BookPlace, event_id: str, *, expense_id: str, kind: str, amount: str, note: str = "", by: str = ""
) -> Expense:
    """Write down money that was spent at an event; the same once more is no second expense.

    Parameters
    ----------
    source : BookPlace
    event_id : str
    expense_id : str
        Made by whoever sends it.
    kind : str
        "entry", "fuel", "tyres", "travel", "parts", "food" or "other".
    amount : str
        With its currency: "40.00 EUR".
    note, by : str, optional

    Raises
    ------
    ExpenseError
        If the amount is none.
    """
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        before = writer.find(Expense, expense_id)
        if before is not None:
            return before.record
        day = writer.one(Event, event_id).record.day
        spent = _money(amount)
        expense = Expense.model_validate(
            {"id": expense_id, "event": event_id, "day": day, "kind": kind, "money": spent, "note": note}
        )
        writer.add(expense)
        return expense


def take_expense_back(source: BookPlace, expense_id: str, *, by: str = "") -> None:
    """Take out an expense that was written down by mistake."""
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        writer.remove(Expense, expense_id)


def _money(amount: str) -> Money:
    try:
        read = money(amount, where="amount")
        return Money(amount=read.amount, currency=read.currency)
    except MoneyError as error:
        raise ExpenseError(error.message) from None
    except ValueError:
        raise ExpenseError(f"'{amount}' is no amount with its currency.") from None
