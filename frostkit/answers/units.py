"""Units as people type them."""

from frostkit.errors import SettingError

COLDEST, WARMEST = -20.0, 5.0  # degC that a growing-season frost can have: beyond it is a slip of the hand


def frost_degrees(degrees: float) -> float:
    """A temperature [degC] that a frost can have. Raises `SettingError` for any other: 28 without F is none.

    >>> frost_degrees(-2.2)
    -2.2
    """
    if not COLDEST <= degrees <= WARMEST:
        raise SettingError(
            f"{degrees:g} °C is no frost in the growing season; allowed: {COLDEST:g} to {WARMEST:g} °C.",
            "Give °C as 0 or -2.2, or °F with F behind it, such as 28F.",
        )
    return float(degrees)


def celsius(text: str) -> float:
    """A temperature as typed: degrees Celsius, or with F behind it Fahrenheit (32 °F = 0 °C, 28 °F = -2.2 °C).

    Raises `SettingError` for anything else.

    >>> celsius("-2.2"), round(celsius("28F"), 1)
    (-2.2, -2.2)
    """
    plain = text.strip().upper().removesuffix("C").removesuffix("°").strip()
    try:
        if plain.endswith("F"):
            degrees = round((float(plain[:-1].rstrip("° ")) - 32) / 1.8, 1)  # records come in tenths
        else:
            degrees = float(plain)
    except ValueError:
        raise SettingError(f"'{text}' is not a temperature.", "Write it as 0, -2.2 or 28F.") from None
    if not -60 <= degrees <= 60:
        raise SettingError(f"{text} is outside -60 to 60 °C.", "Write °C as 0 or -2.2, °F as 28F.")
    return degrees
