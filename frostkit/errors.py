"""How frostkit says no: one line what and where, one line what to do."""

from collections.abc import Iterable
from difflib import get_close_matches


class FrostkitError(ValueError):
    """Input that frostkit can't work with.

    Parameters
    ----------
    what : str
        What is wrong, where it stands, what was found and what is allowed.
    do : str
        What the person can do about it.

    Examples
    --------
    >>> print(FrostkitError("my_farm.csv is empty.", "Give a file with days in it."))
    my_farm.csv is empty.
    Give a file with days in it.
    """

    def __init__(self, what: str, do: str = ""):
        self.what, self.do = what, do
        super().__init__(f"{what}\n{do}" if do else what)


class RecordError(FrostkitError):
    """A record that can't be read, or can't carry the question."""


class CropError(FrostkitError):
    """A crop entry that is not complete, not consistent or not known."""


class SettingError(FrostkitError, KeyError):
    """An option or setting outside what is allowed."""

    __str__ = ValueError.__str__  # a KeyError would quote the message


def nearest(word: str, allowed: Iterable[str]) -> str:
    """'Did you mean ...?' where an allowed word is close, else nothing.

    >>> nearest("maen", ["mean", "clamped"])
    " Did you mean 'mean'?"
    """
    close = get_close_matches(word, list(allowed), n=1)
    return f" Did you mean '{close[0]}'?" if close else ""


def choose(name: str, value: str, allowed: Iterable[str]) -> str:
    """`value` if it is allowed, else an error that lists what is.

    >>> choose("method", "mean", ["mean", "sine"])
    'mean'
    """
    allowed = list(allowed)
    if value in allowed:
        return value
    listed = ", ".join(f"'{a}'" for a in allowed)
    raise SettingError(f"{name}='{value}' is not known.{nearest(value, allowed)}", f"Choose from {listed}.")
