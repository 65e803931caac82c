"""A last line behind a file's bytes that says their sha256: damage anywhere in the file is found before it is read."""

import hashlib

from frostkit.errors import RecordError

_CHECK = b"\nsha256 "
TAIL = len(_CHECK) + 64 + 1  # the hexadecimal digits of sha256 and a line end


def seal(body: bytes) -> bytes:
    """The last line for these bytes."""
    return _CHECK + hashlib.sha256(body).hexdigest().encode() + b"\n"


def is_sealed(data: bytes) -> bool:
    """True where the bytes end in such a line, whether it fits them or not.

    >>> is_sealed(b"days" + seal(b"days")), is_sealed(b"days")
    (True, False)
    """
    return data[-TAIL : -TAIL + len(_CHECK)] == _CHECK


def checksum(data: bytes, where: str = "the file") -> str:
    """The checksum of a whole file, as hexadecimal digits; `RecordError` where it does not fit its bytes.

    >>> checksum(b"half a file")
    Traceback (most recent call last):
    ...
    frostkit.errors.RecordError: the file is cut short or is not a record kept by frostkit (11 bytes).
    Fetch the station again.
    """
    if len(data) <= TAIL or not is_sealed(data):
        raise RecordError(f"{where} is cut short or is not a record kept by frostkit ({len(data)} bytes).",
                          "Fetch the station again.")  # fmt: skip
    written = data[-65:-1].decode("ascii", "replace")
    if (found := hashlib.sha256(data[:-TAIL]).hexdigest()) != written:
        raise RecordError(f"{where} is damaged: its checksum is {found[:12]}..., written down was {written[:12]}...",
                          "Fetch the station again.")  # fmt: skip
    return written
