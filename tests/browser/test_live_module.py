"""Following long work: who leaves it hears no more, also where it goes on for others."""

from __future__ import annotations

import json

import pytest

from tests.browser.modules import module_page

pytestmark = pytest.mark.browser

JOB = {"id": "a", "kind": "line", "is_over": False, "progress": 0.2, "message": "", "result": None, "error": None}
LEAVE = """async ({forAll}) => {
  const {follow, stop} = await import("/js/live.js");
  let heard = 0;
  const following = follow("a", {news: () => { heard += 1; }}).then(() => "done", (refusal) => refusal.code);
  while (!heard) await new Promise((on) => setTimeout(on, 20));
  const job = await stop("a", {forAll});
  const pending = new Promise((on) => setTimeout(() => on("still followed"), 300));
  return [job.state, await Promise.race([following, pending])];
}"""


@pytest.fixture(scope="module")
def page(browser):
    with module_page(browser) as page:
        yield page


@pytest.mark.parametrize(
    ("state", "for_all", "ended"),
    [
        ("running", False, "job-stopped"),  # others wait for it
        ("waiting", False, "job-stopped"),
        ("stopping", True, "still followed"),  # until it says that it has stopped
    ],
)
def test_who_leaves_a_job_hears_no_more(page, state, for_all, ended):
    asked = []

    def answer(route):
        asked.append((route.request.method, route.request.url.partition("/api/")[2]))
        if route.request.url.endswith("/events"):
            told = f"event: job\ndata: {json.dumps(JOB | {'state': 'running'})}\n\n"
            route.fulfill(content_type="text/event-stream", body=told)
        else:
            route.fulfill(json=JOB | {"state": state})

    page.route("**/api/jobs/**", answer)
    assert page.evaluate(LEAVE, {"forAll": for_all}) == [state, ended]
    assert ("DELETE", "jobs/a?for_all=true" if for_all else "jobs/a") in asked
    page.unroute("**/api/jobs/**")
