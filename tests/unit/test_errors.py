"""What is said of a path that is no file, and errors on their way between processes."""

import pickle

from conewise.errors import ByFace, ConflictError, no_such_file


def test_an_error_keeps_the_words_of_both_faces_on_its_way_from_a_worker():
    error = ConflictError("Two of them.", where="here", hint=ByFace("Choose one.", typed="Say --one."))
    back = pickle.loads(pickle.dumps(error))
    assert (back.as_dict(), back.as_typed()) == (error.as_dict(), error.as_typed())
    assert back.as_typed()["hint"] == "Say --one."


def test_a_folder_is_called_one_and_looked_into(tmp_path):
    sentence, folder = no_such_file(tmp_path, "log")
    assert sentence == f"'{tmp_path.name}' is a folder; a log in it is wanted."
    assert folder == tmp_path


def test_what_is_missing_is_looked_for_beside_it(tmp_path):
    sentence, folder = no_such_file(tmp_path / "a.toml")
    assert sentence == "There is no file 'a.toml'."
    assert folder == tmp_path
