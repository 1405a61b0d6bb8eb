"""What is said of a path that is no file."""

from conewise.errors import no_such_file


def test_a_folder_is_called_one_and_looked_into(tmp_path):
    sentence, folder = no_such_file(tmp_path, "log")
    assert sentence == f"'{tmp_path.name}' is a folder; a log in it is wanted."
    assert folder == tmp_path


def test_what_is_missing_is_looked_for_beside_it(tmp_path):
    sentence, folder = no_such_file(tmp_path / "a.toml")
    assert sentence == "There is no file 'a.toml'."
    assert folder == tmp_path
