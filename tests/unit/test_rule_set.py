"""Rule sets are found by name or path; a file that is none is refused with words."""

from __future__ import annotations

import pytest

from conewise.rule_set import SHIPPED, NotARuleFileError, UnknownRulesError, rule_text


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_rule_set_is_found_by_its_name(name):
    found = rule_text(name)
    assert found.name == name
    assert 'title = "' in found.text


def test_a_persons_file_is_found_whatever_line_ends_it_has(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_bytes(b'\xef\xbb\xbftitle = "Ours"\r\n')
    assert rule_text(str(path)).text == 'title = "Ours"\n'


@pytest.mark.parametrize("name", ["nobody", "missing.toml", "rules.txt", "x" * 5000 + ".toml"])
def test_what_is_not_there_is_not_found(name):
    with pytest.raises(UnknownRulesError):
        rule_text(name)


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n\x1a\n\x00\xff\xfe", b"#" * 2_000_001])
def test_what_is_no_text_is_refused(tmp_path, content):
    path = tmp_path / "wrong.toml"
    path.write_bytes(content)
    with pytest.raises(NotARuleFileError) as refused:
        rule_text(str(path))
    assert "wrong.toml" in refused.value.where
