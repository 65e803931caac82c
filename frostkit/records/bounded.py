"""A server's answer, never larger than a year of hours can be, and never another file than the one asked for.

The provider's client reads its files through `urllib.request.urlopen`, whole and without a limit; `bounded` puts an
opener in its way for as long as a question lasts.
"""

import contextlib
import http.client
import io
import urllib.request
import urllib.response
import zlib
from collections.abc import Iterator
from pathlib import Path
from posixpath import basename
from urllib.parse import urlsplit

LARGEST = 5_000_000  # bytes as they come; a year of hours has under half a million
LARGEST_UNPACKED = 20_000_000
LARGEST_LIST = 300_000_000  # bytes of the list of stations; it has some ten million
_STEP = 1 << 16


class TooLargeError(Exception):
    """An answer beyond its limit."""


class OtherFileError(Exception):
    """The server sends on to a file of another name: another station's, or another year's."""


class _SameFile(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, req, fp, code, msg, headers, newurl):
        if basename(urlsplit(newurl).path) != basename(urlsplit(req.full_url).path):
            raise OtherFileError
        return super().redirect_request(req, fp, code, msg, headers, newurl)


class _Bounded(urllib.request.BaseHandler):
    """Hands on what was read up to the limit, and tried by unpacking it."""

    def http_response(self, request, response):
        if "stations" in basename(urlsplit(request.full_url).path) or response.status != 200:
            return response
        body = response.read(LARGEST + 1)
        if len(body) > LARGEST or _unpacks_beyond(body):
            raise TooLargeError
        if response.length:  # the client's own way of reading would notice
            raise http.client.IncompleteRead(body, response.length)
        whole = urllib.response.addinfourl(io.BytesIO(body), response.headers, response.geturl(), response.status)
        whole.msg = response.msg  # type: ignore[attr-defined]  # the opener looks at it
        return whole

    https_response = http_response


def _unpacks_beyond(body: bytes) -> bool:
    """True for gzip that unpacks to more than the limit; damaged gzip is left for its reader to say."""
    if not body.startswith(b"\x1f\x8b"):
        return False
    with contextlib.suppress(zlib.error):
        return len(zlib.decompressobj(31).decompress(body, LARGEST_UNPACKED + 1)) > LARGEST_UNPACKED
    return False


@contextlib.contextmanager
def bounded() -> Iterator[None]:
    """While it lasts, whatever `urlopen` opens is bounded; what was there before is put back."""
    before = urllib.request._opener  # type: ignore[attr-defined]
    urllib.request.install_opener(urllib.request.build_opener(_SameFile, _Bounded))
    try:
        yield
    finally:
        urllib.request._opener = before  # type: ignore[attr-defined]


def download(address: str, to: Path, seconds: float) -> None:
    """A file from a server, up to `LARGEST_LIST` bytes; `seconds` without a byte end it. Raises what `urlopen` does."""
    with urllib.request.urlopen(address, timeout=seconds) as answer, to.open("wb") as file:
        left = LARGEST_LIST
        while part := answer.read(_STEP):
            left -= len(part)
            if left < 0:
                raise TooLargeError
            file.write(part)
        if answer.length:
            raise http.client.IncompleteRead(b"", answer.length)
