"""One source for the colours of pages and reports."""

from __future__ import annotations

import re

from conewise.reports.looks import look_style
from conewise.web.assets import assets


def block(style, selector):
    return dict(
        re.findall(r"(--[\w-]+):([^;}]+)", re.search(rf"{re.escape(selector)}\{{(.*?)\n?\}}", style, re.DOTALL)[1])
    )


def test_a_file_that_nobody_serves_is_dark_where_its_reader_s_system_is():
    style = look_style(follows_system=True)
    assert style.count("{") == style.count("}")
    by_system = block(style, ":root:not([data-look])")
    assert by_system == block(style, ":root[data-look=dark]")
    assert by_system["--paper"] != block(style, ":root")["--paper"]


def test_pages_have_the_same_and_choose_by_themselves():
    served = assets()["css/tokens.css"].content.decode()
    assert served == look_style()
    assert "prefers-color-scheme" not in served


def test_dark_is_light_in_other_colours():
    """Nothing stands elsewhere or is larger: what is measured in light need not be measured in dark."""
    dark = block(look_style(), ":root[data-look=dark]")
    assert all(re.fullmatch(r"#[0-9a-f]{3,6}", value) for value in dark.values())
    sheets = {path: asset.content.decode() for path, asset in assets().items() if path.endswith(".css")}
    assert [path for path, style in sheets.items() if "data-look=dark" in style] == ["css/tokens.css"]


def test_no_other_style_sheet_names_a_colour_of_a_look():
    """A second list of them would drift."""
    named = set(block(look_style(), ":root"))
    assert {"--paper", "--ink", "--signal", "--faster", "--slower"} <= named
    for path, asset in assets().items():
        if path.endswith(".css") and path != "css/tokens.css":
            assert not re.search(r"--(?:paper|ink|quiet|rule|signal|faster|slower|wash):", asset.content.decode()), path
