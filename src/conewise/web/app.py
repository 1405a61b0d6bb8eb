"""The application: pages, JSON interface, style and scripts, behind the guard."""

from __future__ import annotations

from contextlib import asynccontextmanager
from importlib.metadata import version
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware

from conewise.web import (
    assets,
    car_pages,
    change_pages,
    choice_pages,
    course_interface,
    course_pages,
    debrief_pages,
    emergency_pages,
    event_pages,
    field_pages,
    first_pages,
    fit_pages,
    help_pages,
    job_pages,
    line_pages,
    phone_pages,
    prove_pages,
    ready_pages,
    results_pages,
    run_pages,
    start_pages,
    step_pages,
)
from conewise.web.failures import Faults, add_failures
from conewise.web.here import Shelf
from conewise.web.pairing import Pairings
from conewise.web.security import Guard, KnownHosts
from conewise.web.visitors import Gate
from conewise.web.workshop import Workshop
from conewise.workflows.book_place import has_book

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from conewise.web.settings import WebSettings

ROUTERS = (
    assets.router,
    start_pages.router,
    choice_pages.router,
    first_pages.router,
    help_pages.router,
    ready_pages.router,
    event_pages.router,
    emergency_pages.router,
    run_pages.router,
    job_pages.router,
    phone_pages.router,
    results_pages.router,
    course_pages.router,
    course_interface.router,
    field_pages.router,
    line_pages.router,
    car_pages.router,
    fit_pages.router,
    debrief_pages.router,
    change_pages.router,
    prove_pages.router,
    step_pages.router,  # last: a step that has a page of its own is answered there
)
_LEAST_PACKED = 1000  # [bytes]


def create_app(settings: WebSettings) -> FastAPI:
    """The application for a book.

    Parameters
    ----------
    settings : WebSettings
    """
    app = FastAPI(
        title="conewise",
        version=version("conewise"),
        docs_url=None,  # they fetch from outside
        redoc_url=None,
        openapi_url="/api/description",
        redirect_slashes=False,
        lifespan=_life,
        middleware=[
            Middleware(Faults),
            Middleware(Guard),
            Middleware(KnownHosts, hosts=settings.hosts),
            Middleware(Gate),
            Middleware(GZipMiddleware, minimum_size=_LEAST_PACKED),
        ],
    )
    app.state.shelf = Shelf(settings, is_demo=settings.is_demo)
    app.state.workshop = Workshop(settings.now, app.state.shelf.books)
    app.state.pairings = Pairings(settings.now)
    add_failures(app)
    for router in ROUTERS:
        app.include_router(router)
    return app


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    """While it is served: what an earlier server left is gone on with; at the end the worker goes too."""
    shelf: Shelf = app.state.shelf
    workshop: Workshop = app.state.workshop
    if has_book(shelf.book):
        workshop.resume(shelf.book)
    yield
    workshop.close()
    shelf.books.close()
