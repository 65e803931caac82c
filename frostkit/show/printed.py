"""Text as it may be printed: what came from a file has no control over the terminal, the page or the line it stands in.

A station's name, a crop's title or a column's header can hold anything. Characters that move the cursor, colour, ring,
or turn the direction of reading (Unicode categories Cc, Cf, Cs, Co, Cn; UAX #9 for the bidirectional ones) are left
out where text is printed, and a name that is too long for its place is cut.
"""

import re
from typing import Any
from unicodedata import category

import click

NAME = 80  # characters of a name, a title or a place
LINE = 2000  # characters of a line of an error: room for every fault of a crop entry
_BREAKS = ("Zl", "Zp")  # separators of lines and paragraphs: a space
_SPACES = "\t\n\r\x0b\x0c\x85"
_UNSEEN = re.compile(r"[^\x20-\x7e\n]")
_JSON = re.compile("[\x7f-\x9f\xad\u0600-\u0605\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff]")


def plain(text: str, most: int | None = None) -> str:
    """A text on one line, without characters that are not seen; cut to `most` characters.

    >>> plain("River\\x1b[31m Flat\\u202e\\n"), plain("a long name", 7)
    ('River[31m Flat', 'a long…')
    """
    if not text.isprintable():
        text = "".join(map(_seen, text)).strip()
    return text if most is None or len(text) <= most else text[: most - 1].rstrip() + "…"


def lines(text: str) -> str:
    """A text of several lines, each without characters that are not seen; a tab stays a tab's width.

    >>> lines("a table\\n  of\\x07 two\\tlines")
    'a table\\n  of two lines'
    """
    if text.isascii() and not _UNSEEN.search(text):
        return text
    return "\n".join(line if line.isprintable() else "".join(map(_seen, line)) for line in text.split("\n"))


def _seen(letter: str) -> str:
    if letter.isprintable():
        return letter
    kind = category(letter)
    if letter in _SPACES or kind in _BREAKS:
        return " "
    return letter if kind == "Zs" else ""


def escaped(text: str) -> str:
    r"""JSON with the characters that a terminal would act on written as \uXXXX: nothing is lost to a program.

    >>> escaped('{"name": "a\u202eb"}')
    '{"name": "a\\u202eb"}'
    """
    return _JSON.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def echo(text: Any = "", err: bool = False, nl: bool = True) -> None:
    """Print a text of several lines, filtered by `lines`."""
    click.echo(lines(str(text)), err=err, nl=nl)
