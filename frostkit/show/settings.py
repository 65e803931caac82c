"""What a person says once, in `frostkit setup`: units, language, and the record and place they ask about."""

import json
import os
from pathlib import Path
from typing import Any

import click

from frostkit.show.farm import Place, Table, Written, read_table
from frostkit.show.written import MARKS, written

AGAIN = "Say it anew with frostkit setup, or put the file away with frostkit setup --forget."


class Settings(Table):
    """The whole file: how answers are written, and the record and place that they are for."""

    units: Written = Written()
    place: Place = Place()


def path() -> Path:
    """Where the settings lie: FROSTKIT_SETTINGS, or the folder that the system keeps settings in."""
    named = os.environ.get("FROSTKIT_SETTINGS")
    return Path(named) if named else Path(click.get_app_dir("frostkit")) / "settings.toml"


def load() -> Settings | None:
    """What was said in `frostkit setup`; None where nothing was. Raises `SettingError` for a file with a slip in it."""
    file = path()
    return read_table(file, Settings, AGAIN) if file.exists() else None


def save(settings: Settings) -> Path:
    """Write the settings, whole or not at all. Raises `SettingError` as `written.written`."""
    file = path()
    file.parent.mkdir(parents=True, exist_ok=True)
    return written(file, ("toml",), "settings file", lambda partial, _: _write(partial, settings))


def _write(partial: Path, settings: Settings) -> None:
    lines = [MARKS["toml"].decode()]
    for room, table in settings.model_dump(exclude_none=True).items():
        lines += ["", f"[{room}]"]
        lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in table.items()]
    partial.write_text("\n".join(lines) + "\n", encoding="utf-8")


def how() -> dict[str, str]:
    """The language and the units of answers, as `frostkit setup` has them: "en" and "metric" where nothing was said."""
    found = load()
    return (
        {"language": "en", "units": "metric"}
        if found is None
        else {
            "language": found.units.language,
            "units": found.units.system(),
        }
    )


def defaults(settings: Settings) -> dict[str, Any]:
    """What the options of commands start from, by the option's name."""
    return settings.place.defaults(path().parent) | settings.units.defaults()
