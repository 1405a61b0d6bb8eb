"""Whom to call: two taps from every page on the laptop."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("path", ["/", "/prepare/ready", "/drive/results", "/choices"])
def test_every_page_leads_there(client, path):
    assert 'href="/emergency' in client.get(path).text  # the first tap


def test_contact_and_notes_of_everybody_entered(client):
    page = client.get("/emergency?event=september").text
    assert page.count("555 0100") == 16  # eight people, as a link and as a text
    assert "Guardian: Pat Ivers" in page
    own = client.get("/emergency?event=september&driver=robin").text
    assert own.count('<details class="judged" open>') == 1


def test_without_a_book(empty):
    assert "Nobody is entered." in empty.get("/emergency").text
