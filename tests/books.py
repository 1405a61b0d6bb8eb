"""Books for tests: one written out, and any that people might fill, drawn by Hypothesis."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from hypothesis import strategies as st

from conewise.event.cars import CHANGE_KINDS, CarChange, CheckEntry, EventCar, TyreState, WheelTorque
from conewise.event.day import EXPENSE_KINDS, Entry, Event, EventDay, Expense, Money, Packed, Registration, Schedule
from conewise.event.helmets import Helmet, Loan, Look
from conewise.event.people import EmergencyContact, Guardian, Licence, Person
from conewise.event.runs import FeatureLoss, RideAlong, Run
from conewise.store.book import open_book
from conewise.store.kinds import KINDS
from conewise.store.texts import CarText, ChangesText, CourseText, DriverText, RulesText

DEMO = Path(__file__).resolve().parents[1] / "src" / "conewise" / "demo"
RULES = DEMO.parent / "reference" / "rules" / "club.toml"
CAR = (DEMO / "cars" / "pepper.toml").read_text(encoding="utf-8")
COURSE = (DEMO / "courses" / "harbour-yard.toml").read_text(encoding="utf-8")
CHANGES = (DEMO / "changes" / "winter.toml").read_text(encoding="utf-8")
DRIVER = 'name = "Somebody"  # a comment that must stay\nlevel = "novice"\n'


class Clock:
    """A clock that goes on by a second whenever it is read."""

    def __init__(self, start=datetime(2026, 5, 1, 8, tzinfo=UTC)):
        self.moment = start

    def __call__(self):
        self.moment += timedelta(seconds=1)
        return self.moment


def opened(folder, **options):
    return open_book(folder, now=options.pop("now", Clock()), **options)


def example_day():
    """A small day with everything in it."""
    people = (
        Person(id="ada", name="Ada Quill", level="expert", can_mentor=True),
        Person(
            id="ben", name="Ben Tarn", level="novice", mentor="ada", born=date(2010, 2, 28), medical="bee stings",
            guardian=Guardian(name="Cy Tarn", phone="555", waiver_signed=date(2026, 4, 1)),
            emergency=EmergencyContact(name="Cy Tarn", phone="555", relation="father"),
            licence=Licence(number="T-1", seen=date(2026, 4, 1)),
        ),
    )  # fmt: skip
    event = Event(
        id="lot-1", name="Back lot", day=date(2026, 5, 1), classes=("novice",), heats=("A", "B"),
        fee=Money(amount=Decimal("35.00"), currency="EUR"), schedule=Schedule(first_car=time(10, 0)),
        entries=(Entry(person="ben", car="pepper", helmet="club-1", number="7"), Entry(person="ada", car="pepper")),
    )  # fmt: skip
    moment = datetime(2026, 5, 1, 8, 30)  # noqa: DTZ001  # the clock of the event
    return EventDay(
        event=event,
        people=people,
        cars=(EventCar(id="pepper", name="Pepper", owner="ada", wheel_torque=WheelTorque(written="98 N m")),),
        helmets=(Helmet(id="club-1", labels=("SA2020",), size="M", fit=Look(result="passed", looked_by="Ada Quill")),),
        loans=(Loan(id="loan-1", event="lot-1", helmet="club-1", person="ben"),),
        checks=(
            CheckEntry(
                id="check-1", event="lot-1", car="pepper", item="belts", result="passed", looked_by="Ada Quill",
                looked_at=moment,
            ),
        ),
        changes=(CarChange(id="change-1", car="pepper", kind="brakes", happened_at=moment, note="new pads"),),
        runs=(
            Run(id="run-1", event="lot-1", person="ben", car="pepper", order=1, raw_time=62.345, cones=1),
            Run(id="run-2", event="lot-1", person="ben", car="pepper", order=2, outcome="dnf", passenger="ada"),
        ),
        ride_alongs=(RideAlong(id="ride-1", event="lot-1", driver="ben", passenger="ada", run="run-2", said="Look"),),
        expenses=(Expense(id="cost-1", event="lot-1", day=event.day, money=Money(amount="12.50", currency="EUR")),),
        packed=(Packed(id="packed-1", event="lot-1", person="ben", item="water"),),
    )  # fmt: skip


TEXTS = (
    CarText(id="pepper", text=CAR),
    CourseText(id="harbour-yard", text=COURSE),
    ChangesText(id="winter", text=CHANGES),
    DriverText(id="somebody", text=DRIVER),
    RulesText(id="ours", text=RULES.read_text(encoding="utf-8")),
)


def contents(book):
    """Everything that a book says, to compare two: records with their versions, histories, files."""
    from sqlalchemy import select

    from conewise.store.tables import KeptFile, Revision

    with book.reading() as reader:
        keys = reader.session.execute(select(Revision.kind, Revision.record).distinct()).all()
        by_name = {kind.name: kind.record for kind in KINDS}
        return {
            "now": {kind.name: reader.every(kind.record) for kind in KINDS},
            "ever": {(kind, name): reader.history(by_name[kind], name) for kind, name in keys},
            "files": {
                file.address: (file.name, book.files.content(file.address))
                for file in reader.session.scalars(select(KeptFile))
            },
        }


# What people write. No lone surrogates, which no file could hold; controls only where several lines are allowed.
_LINE = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=12).map(str.strip)
_NAME = _LINE.filter(bool)
_TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
_DAYS = st.dates(date(1920, 1, 1), date(2100, 1, 1))
_SPAN = (datetime(1990, 1, 1), datetime(2100, 1, 1))  # noqa: DTZ001  # the clock of the event
_MOMENTS = st.datetimes(*_SPAN)
_LOOKS = st.builds(
    Look, result=st.sampled_from(["passed", "failed", "not looked at"]), looked_by=_LINE, looked_at=st.none() | _DAYS,
    note=_LINE,
)  # fmt: skip
_MONEY = st.builds(Money, amount=st.decimals(0, 99999, places=2), currency=st.sampled_from(["EUR", "USD", "JPY"]))
_PRESSURES = st.none() | st.tuples(*[st.floats(1e4, 1e6, exclude_min=True)] * 4)
_PEOPLE = ("ada", "ben", "cleo")
_CARS = ("pepper", "thistle")
_HELMETS = ("club-1", "blue")
_EVENTS = ("lot-1", "lot-2")


def _or_empty(ids):
    return st.sampled_from([*ids, ""])


def _person(name):
    return st.builds(
        Person, id=st.just(name), name=_NAME, born=st.none() | _DAYS, level=st.sampled_from(["novice", "expert"]),
        events_driven=st.integers(0, 99), waiver_signed=st.none() | _DAYS,
        mentor=_or_empty(set(_PEOPLE) - {name}), can_mentor=st.booleans(), ride_alongs=st.none() | st.booleans(),
        licence=st.none() | st.builds(Licence, number=_LINE, valid_until=st.none() | _DAYS),
        guardian=st.none() | st.builds(Guardian, name=_LINE, phone=_LINE, waiver_signed=st.none() | _DAYS),
        emergency=st.none() | st.builds(EmergencyContact, name=_LINE, phone=_LINE, relation=_LINE), medical=_TEXT,
    )  # fmt: skip


def _car(name):
    tyres = st.lists(
        st.builds(TyreState, axle=st.sampled_from(["front", "rear"]), tread=st.none() | st.floats(0, 0.03))
    )
    return st.builds(
        EventCar, id=st.just(name), name=_NAME, owner=_or_empty(_PEOPLE), tyres=tyres.map(lambda rows: tuple(rows[:2])),
        wheel_torque=st.none() | st.builds(WheelTorque, written=st.just("98 N m"), source=_LINE),
    )  # fmt: skip


def _helmet(name):
    return st.builds(
        Helmet, id=st.just(name), owner=_or_empty(_PEOPLE), size=_LINE, made=st.none() | _DAYS,
        labels=st.lists(_NAME, max_size=2).map(tuple), goggles=st.booleans(), fit=_LOOKS, impact=_LOOKS,
    )  # fmt: skip


def _event(name):
    entries = st.lists(
        st.builds(
            Entry, person=st.sampled_from(_PEOPLE), car=st.sampled_from(_CARS), helmet=_or_empty(_HELMETS),
            number=_LINE, index=st.none() | st.floats(0.5, 1.0),
        ),
        max_size=3,
    )  # fmt: skip
    return st.builds(
        Event, id=st.just(name), name=_NAME, day=_DAYS, place=_LINE, fee=st.none() | _MONEY,
        registration=st.builds(Registration, opens=st.none() | _DAYS, on_the_day=st.booleans()),
        schedule=st.none() | st.builds(Schedule, first_car=st.times()), classes=st.lists(_NAME, max_size=2).map(tuple),
        entries=entries.map(tuple),
    )  # fmt: skip


def _run(name):
    losses = st.lists(
        st.builds(FeatureLoss, feature=_LINE, kind=_LINE, seconds=st.floats(-9, 9).filter(math.isfinite)), max_size=2
    )
    return st.builds(
        Run, id=st.just(name), event=st.sampled_from(_EVENTS), person=st.just("ada"), car=_or_empty(_CARS),
        order=st.integers(1, 9), raw_time=st.floats(5, 600), cones=st.integers(0, 9), is_void=st.booleans(),
        written=_LINE, driven_at=st.none() | _MOMENTS, passenger=_or_empty(("ben", "cleo")), tyres=_LINE, notes=_TEXT,
        cold_pressures=_PRESSURES, hot_pressures=_PRESSURES, losses=losses.map(tuple),
    )  # fmt: skip


def _others():
    event, person, car = st.sampled_from(_EVENTS), st.sampled_from(_PEOPLE), st.sampled_from(_CARS)
    return [
        st.builds(Loan, id=st.just("loan-1"), event=event, helmet=st.sampled_from(_HELMETS), person=person),
        st.builds(
            CheckEntry, id=st.just("check-1"), event=event, car=car, item=st.just("belts"),
            result=st.sampled_from(["passed", "failed", "does not apply"]), looked_by=_NAME, looked_at=_MOMENTS,
            note=_LINE,
        ),
        st.builds(
            CarChange, id=st.just("change-1"), event=_or_empty(_EVENTS), car=car, kind=st.sampled_from(CHANGE_KINDS),
            happened_at=_MOMENTS, note=_LINE,
        ),
        st.builds(
            RideAlong, id=st.just("ride-1"), event=event, driver=person, passenger=person, run=_or_empty(("run-1",)),
            said=_TEXT,
        ),
        st.builds(
            Expense, id=st.just("cost-1"), event=_or_empty(_EVENTS), person=_or_empty(_PEOPLE), day=_DAYS,
            kind=st.sampled_from(EXPENSE_KINDS), money=_MONEY, note=_LINE,
        ),
        st.builds(Packed, id=st.just("packed-1"), event=event, person=_or_empty(_PEOPLE), item=_NAME),
    ]  # fmt: skip


_COMMENTS = _LINE.map(lambda words: CAR + f"# {words}\n")


@st.composite
def filled(draw):
    """Steps that fill a book: "add", "change" or "remove", a record, a reason. Every link leads somewhere."""
    makers = [
        *map(_person, _PEOPLE), *map(_car, _CARS), *map(_helmet, _HELMETS), *map(_event, _EVENTS),
        *map(_run, ("run-1", "run-2", "run-3")), *_others(), st.builds(CarText, id=st.just("pepper"), text=_COMMENTS),
    ]  # fmt: skip
    steps = [("add", draw(maker), draw(_LINE)) for maker in makers]
    removable = [record for _, record, _ in steps if isinstance(record, Packed | Expense | Loan | CarText)]
    changed = draw(st.lists(st.sampled_from(makers), max_size=4))
    steps += [("change", draw(maker), draw(_LINE)) for maker in changed]
    gone = {(type(one), one.id): one for one in draw(st.lists(st.sampled_from(removable), max_size=2))}
    steps += [("remove", one, draw(_LINE)) for one in gone.values()]
    steps += [("add", one, "back again") for one in gone.values() if draw(st.booleans())]
    return steps


def fill(book, steps):
    """Do the steps, the first additions in one transaction."""
    n_first = next((i for i, step in enumerate(steps) if step[0] != "add"), len(steps))
    with book.writing(by="Ada Quill") as writer:
        for _, record, reason in steps[:n_first]:
            writer.add(record, reason=reason)
    for what, record, reason in steps[n_first:]:
        if what == "remove":
            book.remove(type(record), record.id, reason=reason)
        elif what == "add":
            book.add(record, reason=reason)
        else:
            version = book.one(type(record), record.id).version
            book.change(record, version=version, by="Ben Tarn", reason=reason)
