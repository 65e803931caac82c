"""What a person says once, in `frostkit setup`: units, language, and the record and place they ask about."""

import json
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, Field

from frostkit.errors import SettingError
from frostkit.show.farm import Degrees, Place, Table, Written, northerly, read_table
from frostkit.show.written import MARKS, may_replace, settings_file, written

AGAIN = "frostkit setup --forget takes the file away, and all can be said anew."


class Own(Table):
    """What the file of the station does not say of it; holds for the record that is set up alone."""

    name: str | None = None
    latitude: Annotated[Degrees, AfterValidator(northerly)] | None = None
    longitude: Annotated[Degrees, Field(ge=-180, le=180)] | None = None
    elevation: Annotated[Degrees, Field(ge=-500, le=6000)] | None = None


class Settings(Table):
    """The whole file: how answers are written, and the record and place that they are for."""

    units: Written = Written()
    place: Place = Place()
    station: Own = Own()


def load() -> Settings | None:
    """What was said in `frostkit setup`; None where nothing was. Raises `SettingError` for a file with a slip in it."""
    file = settings_file()
    return read_table(file, Settings, AGAIN) if file.exists() else None


def save(settings: Settings) -> Path:
    """Write the settings, whole or not at all. Raises `SettingError` as `written.written`."""
    file = settings_file()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise SettingError(
            f"The settings file could not be written to '{file}': {fault.strerror or fault}.",
            "Name another place for it in FROSTKIT_SETTINGS.",
        ) from None
    return written(file, ("toml",), "settings file", lambda partial, _: _write(partial, settings))


def forget() -> Path:
    """Take the settings away. Raises `SettingError` for a file that frostkit did not write, unless `--force`."""
    file = settings_file()
    if file.exists():
        may_replace(file, "settings file")
        file.unlink()
    return file


def _write(partial: Path, settings: Settings) -> None:
    lines = [MARKS["toml"].decode()]
    for room, table in settings.model_dump(exclude_none=True).items():
        lines += ["", f"[{room}]"]
        lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in table.items()]
    partial.write_text("\n".join(lines) + "\n", encoding="utf-8")


def how() -> dict[str, str]:
    """The language and the units of answers, as `frostkit setup` has them: "en" and "metric" where nothing was said."""
    units = (load() or Settings()).units
    return {"language": units.language, "units": units.system()}


def defaults(settings: Settings) -> dict[str, Any]:
    """What the options of commands start from, by the option's name."""
    station = {name: value for name, value in settings.station.model_dump().items() if value is not None}
    return settings.place.defaults(settings_file().parent) | station | settings.units.defaults()
