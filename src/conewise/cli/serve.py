"""`conewise serve`: the pages, for this computer."""

from __future__ import annotations

from typing import Annotated

import typer

from conewise.cli.options import BookFolder, clock


def serve(
    *,
    port: Annotated[int, typer.Option(min=1024, max=65535, help="Port on this computer.")] = 8460,
    book: BookFolder = None,
    lan: Annotated[bool, typer.Option("--lan", help="Answer phones in the same network too, once let in.")] = False,
    address: Annotated[str, typer.Option(help="Of this computer in the network, where it has several.")] = "",
    check_offline: Annotated[
        bool, typer.Option("--check-offline", help="Prove that the pages need nothing but this computer, and stop.")
    ] = False,
    demo: Annotated[bool, typer.Option("--demo", help="Show the invented season, not your own book.")] = False,
) -> None:
    """Serve the pages to browsers on this computer, until Ctrl-C.

    Nothing is fetched from the internet. With --lan, phones are let in one by one with a code that their camera reads.
    """
    from conewise.web import offline, server

    if check_offline:
        found = offline.proved_offline(now=clock)
        typer.echo(f"Nothing is needed but this computer: {found.n_pages} pages and {found.n_files} files are here.")
        return
    asked = server.Asked(port=port, book=book, is_demo=demo, is_networked=lan, address=address, now=clock)
    server.serve(asked, say=typer.echo)
