"""The description of the JSON interface is true, and no request that it allows ends in a fault."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings

from conewise.web.app import create_app
from tests.web_app import demo_folder, settings_over

LOOPBACK = {"host": "127.0.0.1", "accept": "application/json", "origin": "http://127.0.0.1"}
EXAMPLES = 6  # of each request


@pytest.fixture(scope="module")
def described(tmp_path_factory):
    """The description, over a copy of the demo book that all requests of this module share."""
    folder = tmp_path_factory.mktemp("described")
    app = create_app(settings_over(folder, demo_folder(tmp_path_factory)))
    app.state.workshop.open = lambda _: None  # nothing is worked out here
    app.openapi_schema = without_classes(app.openapi())
    return schemathesis.openapi.from_asgi("/api/description", at_the_laptop(app), headers=LOOPBACK)


def without_classes(part):
    """The description without patterns of Unicode classes, which nothing here can draw from: texts are wilder then."""
    if isinstance(part, dict):
        kept = {key: without_classes(value) for key, value in part.items()}
        return {key: value for key, value in kept.items() if key != "pattern" or "\\p{" not in str(value)}
    return [without_classes(one) for one in part] if isinstance(part, list) else part


def at_the_laptop(app):
    """The app as a browser on this computer asks it."""

    async def asked(scope, receive, send):
        if scope["type"] == "http":
            scope["client"] = ("127.0.0.1", 50000)
        await app(scope, receive, send)

    return asked


@pytest.mark.slow
def test_nothing_that_the_description_allows_ends_in_a_fault(described):
    operations = [found.ok() for found in described.get_all_operations()]
    assert len(operations) > 25
    faults = [words for operation in operations if (words := fault_of(operation))]
    assert not faults


def fault_of(operation):
    """What a drawn request ended in, where that was a fault; empty where none did."""

    @settings(max_examples=EXAMPLES, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy())
    def ask(case):
        if case.path.endswith("/events"):
            return  # a stream
        if case.path_parameters and "event" in case.path_parameters:
            case.path_parameters["event"] = "september"  # one that is there: what comes behind it is reached
        response = case.call(headers=LOOPBACK)
        assert response.status_code < 500, (
            f"{case.method} {case.path} {case.path_parameters} {case.body}: {response.text}"
        )

    try:
        ask()
    except AssertionError as fault:
        return str(fault)[:500]
    return ""
