"""What a file of a person never needs is refused in one line before it costs memory or time."""

import time

import pytest
from drydown import InputError
from drydown.casefile import reading
from drydown.catalogue.file import read_catalogue
from drydown.toml import parse_toml, read_toml

#: name: (text, words of the error)
COSTLY = {
    "brackets": ("a = " + "[" * 200_000, "brackets are open at once"),
    "braces": ("a = " + "{a=" * 100_000, "brackets are open at once"),
    "long key": (".".join("a" * 100_000) + " = 1", "a key has more than"),
    "long table name": ("[" + " . ".join("a" * 50_000) + "]", "a key has more than"),
    "digits": ("a = " + "9" * 5000, "digits"),
    "digits in a list": ("a = [1, " + "1_" * 3000 + "1]", "digits"),
    "hexadecimal": ("a = 0x" + "f" * 5000, "digits"),
    "great number": ("a = 99999999999999999999", "too great"),
    "large": ("#" * 5_000_000, "MB"),
    "no text": ("a = \ud800", "UTF-8"),
}


@pytest.mark.parametrize("name", COSTLY)
def test_costly_files_are_refused_at_once(tmp_path, name):
    text, said = COSTLY[name]
    path = tmp_path / "wall.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    for read in (read_toml, reading.load, read_catalogue):
        began = time.monotonic()
        with pytest.raises(InputError, match=said) as caught:
            read(path)
        assert time.monotonic() - began < 5.0
        assert "\n" not in str(caught.value) and len(str(caught.value)) < 400


def test_a_million_layers_are_refused(tmp_path):
    path = tmp_path / "wall.toml"
    path.write_text("[period]\nstart = 2022-01-01\ndays = 1\n" + "[[layer]]\n" * 100_000)
    with pytest.raises(InputError, match="at most 200 can be run"):
        reading.read_case(path)


def test_deep_and_long_texts_that_are_harmless_are_read():
    deep = "a = " + "[" * 20 + "]" * 20
    many = "a = [" + ", ".join(["0.125"] * 500) + "]"
    text = 'a = "' + "[" * 500 + ".".join("b" * 100) + "9" * 100 + '"  # ' + "[" * 100
    assert parse_toml(deep, "t") and len(parse_toml(many, "t")["a"]) == 500 and len(parse_toml(text, "t")["a"]) > 700
    assert parse_toml('a = """\n[[[' + "[" * 100 + '\n"""', "t")


@pytest.mark.parametrize("head", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_a_mark_at_the_head_and_ends_of_lines_of_windows_are_read(tmp_path, head, end):
    (tmp_path / "a.toml").write_bytes(
        head + b'title = "x"' + end + b"[note]" + end + b'a = """one' + end + b'two"""' + end
    )
    assert read_toml(tmp_path / "a.toml") == {"title": "x", "note": {"a": "one\ntwo"}}


def test_what_is_no_plain_file_is_said(tmp_path):
    import os

    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    os.mkfifo(tmp_path / "pipe.toml")
    for name, said in (("loop", "a link that leads to no file"), ("pipe.toml", "no plain file"), (".", "is a folder")):
        for read in (read_toml, reading.load):
            with pytest.raises(InputError, match=said):
                read(tmp_path / name)
