"""The pages need nothing but this computer, and the proof of it can fail."""

from __future__ import annotations

import socket

import pytest

from conewise.cli import main
from conewise.web import offline
from conewise.web.offline import NeedsOutsideError


def test_serve_proves_it(capsys):
    assert main.run(["serve", "--check-offline"]) == 0
    said = capsys.readouterr().out
    n_pages, n_files = (int(word) for word in said.split() if word.isdecimal())
    assert n_pages > 25
    assert n_files > 15


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("text/html; charset=utf-8", '<script src="https://example.org/x.js"></script>'),
        ("text/html; charset=utf-8", '<link rel="stylesheet" href="//example.org/x.css">'),
        ("text/html; charset=utf-8", '<form method="post" action="http://example.org/">'),
        ("text/css; charset=utf-8", "@font-face{src:url(https://example.org/x.woff2)}"),
        ("text/javascript; charset=utf-8", 'fetch("https://example.org/x")'),
        ("text/javascript; charset=utf-8", 'import x from "https://example.org/x.js"'),
    ],
)
def test_what_would_load_from_elsewhere_is_found(kind, text):
    elsewhere, _ = offline._leads("/a/b", kind, text)
    assert elsewhere
    assert "example.org" in elsewhere[0]


def test_what_is_here_is_followed():
    text = '<a href="/walk?x=1">w</a><img src="c.png"><a href="https://doi.org/10.1">cited</a>'
    assert offline._leads("/help/x", "text/html", text) == ([], ["/help/c.png", "/walk?x=1"])
    assert offline._leads("/static/1/js/main.js", "text/javascript", 'import {a} from "./look.js"') == (
        [],
        ["/static/1/js/look.js"],
    )


def test_nothing_goes_out_meanwhile():
    with offline._alone() as tried, socket.socket() as out:
        out.settimeout(0.1)
        with pytest.raises(NeedsOutsideError):
            out.connect(("192.0.2.1", 9))  # RFC 5737: an address for documents
    assert tried == ["192.0.2.1"]
