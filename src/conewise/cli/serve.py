"""`conewise serve`: the pages, for this computer."""

from __future__ import annotations

from typing import Annotated

import typer

from conewise.cli.options import BookFolder, clock


def serve(
    *,
    port: Annotated[int, typer.Option(min=1024, max=65535, help="Port on this computer.")] = 8460,
    book: BookFolder = None,
    demo: Annotated[bool, typer.Option("--demo", help="Show the invented season, not your own book.")] = False,
) -> None:
    """Serve the pages to browsers on this computer, until Ctrl-C.

    Nothing is fetched from the internet.
    """
    from conewise.web import server

    asked = server.Asked(port=port, book=book, is_demo=demo, now=clock)
    server.serve(asked, say=typer.echo)
